package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// touchTolerance is how far, relative to the radius, a point may be from the growing circle and count as touching it.
const touchTolerance = 1e-11

// MaximumInscribed returns the largest circle that has no point inside and is reached from the least-squares centre by always growing (MICI). Its three contacts form a
// triangle that holds the centre. Error ErrDegenerate where the points leave half a turn open: then there is no largest one.
//
// The circle grows while its centre moves towards the middle of the widest gap between the points that it touches, the direction in which it grows
// fastest, until it meets another; it is largest when no gap of half a turn is left.
func MaximumInscribed(points []Point) (Zone, error) {
	const what = "maximum inscribed circle"
	if err := checkPoints(what, points, 3); err != nil {
		return Zone{}, err
	}
	start, err := LeastSquares(points)
	if err != nil {
		return Zone{}, fmt.Errorf("%s: %w", what, err)
	}
	c := start.Circle
	touching := []int{}
	for i, p := range points {
		switch d := c.distance(p); {
		case i == 0 || d < c.R:
			c.R, touching = d, []int{i}
		}
	}
	for range 20 * len(points) {
		seen := c.inOrder(points, touching)
		from, gap := seen.widestGap()
		if gap < 180-1e-9 {
			break
		}
		towards := from + float64(0.5*gap)
		sin, cos := portablemath.SincosDegrees(towards)
		ahead := func(p Point) float64 { return float64((p.X-c.X)*cos) + float64((p.Y-c.Y)*sin) }
		left := ahead(points[touching[0]]) // of the points that bound the gap; all touching ones fall back at least as fast
		for _, at := range touching {
			left = math.Max(left, ahead(points[at]))
		}
		met, way := -1, math.Inf(1)
		for i, p := range points {
			d := c.distance(p)
			if gain := ahead(p) - left; gain > float64(1e-9*c.R) && !contains(touching, i) {
				if t := math.Max(0, float64((d-c.R)*(d+c.R))/float64(2*gain)); t < way {
					met, way = i, t
				}
			}
		}
		if met < 0 {
			return Zone{}, StationError{what, len(points), "take points all around", ErrDegenerate}
		}
		c.X, c.Y = c.X+float64(way*cos), c.Y+float64(way*sin)
		c.R = c.distance(points[met])
		touching = touching[:0]
		for i, p := range points {
			if i == met || c.distance(p) <= c.R+float64(touchTolerance*start.R) {
				touching = append(touching, i)
			}
		}
	}
	contacts := c.threeAround(points, touching)
	if contacts != nil {
		if exact, ok := throughThree(points[contacts[0]], points[contacts[1]], points[contacts[2]]); ok {
			c = exact
		}
	}
	z := Zone{X: c.X, Y: c.Y, Contacts: contacts}
	z.Rmin, z.Rmax = c.reach(points)
	if !z.ProvesMaximumInscribed(points) {
		return Zone{}, StationError{what, len(points), "report the least-squares circle", ErrNotConverged}
	}
	return z, nil
}

func contains(places []int, i int) bool {
	for _, p := range places {
		if p == i {
			return true
		}
	}
	return false
}

// inOrder returns the places as stations seen from the centre, in the order of their angles; Um is the distance.
func (c Circle) inOrder(points []Point, places []int) round {
	var seen round
	for _, at := range places {
		s := Station{direction(points[at].X-c.X, points[at].Y-c.Y), c.distance(points[at])}
		place := len(seen)
		for place > 0 && seen[place-1].AngleDeg > s.AngleDeg {
			place--
		}
		seen = append(seen, Station{})
		copy(seen[place+1:], seen[place:])
		seen[place] = s
	}
	return seen
}

// widestGap returns where the widest gap between stations begins, and its width in degrees; 360 for one station.
func (r round) widestGap() (from, width float64) {
	for i, s := range r {
		gap := r[(i+1)%len(r)].AngleDeg - s.AngleDeg
		if i == len(r)-1 {
			gap += 360
		}
		if gap > width {
			from, width = s.AngleDeg, gap
		}
	}
	return from, width
}

// threeAround picks three of the places that leave no gap above half a turn; nil if there are none.
func (c Circle) threeAround(points []Point, places []int) []int {
	for i, p := range places {
		for j, q := range places[i+1:] {
			for _, s := range places[i+j+2:] {
				three := []int{p, q, s}
				if _, gap := c.inOrder(points, three).widestGap(); gap <= 180+1e-6 {
					return three
				}
			}
		}
	}
	return nil
}

// ProvesMaximumInscribed reports whether three contacts lie on the inner circle and leave no gap above half a turn.
func (z Zone) ProvesMaximumInscribed(points []Point) bool {
	if len(z.Contacts) != 3 {
		return false
	}
	c := Circle{X: z.X, Y: z.Y}
	for _, at := range z.Contacts {
		if math.Abs(c.distance(points[at])-z.Rmin) > float64(proofTolerance*z.Rmax) {
			return false
		}
	}
	_, gap := c.inOrder(points, z.Contacts).widestGap()
	return gap <= 180+1e-6
}
