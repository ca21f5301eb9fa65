package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// insideTolerance is how far, relative to its radius, a point may lie beyond a circle and still count as held by it.
const insideTolerance = 1e-12

// MinimumCircumscribed returns the smallest circle that holds all points (MCCI), by adding one point after another: a point outside lies on the next circle
// (E. Welzl, New Results and New Trends in Computer Science, LNCS 555 (1991) 359, without the shuffling). Two contacts across a diameter or three in a triangle that
// is not obtuse prove it. Two or more points.
func MinimumCircumscribed(points []Point) (Zone, error) {
	const what = "minimum circumscribed circle"
	if err := checkPoints(what, points, 2); err != nil {
		return Zone{}, err
	}
	c, contacts := across(points, 0, 1)
	for i := 2; i < len(points); i++ {
		if c.holds(points[i]) {
			continue
		}
		c, contacts = across(points, 0, i)
		for j := 1; j < i; j++ {
			if c.holds(points[j]) {
				continue
			}
			c, contacts = across(points, j, i)
			for k := range j {
				if c.holds(points[k]) {
					continue
				}
				through, ok := throughThree(points[i], points[j], points[k])
				if !ok {
					return Zone{}, StationError{what, len(points), fmt.Sprintf("points %d, %d and %d lie on one line", k, j, i), ErrDegenerate}
				}
				c, contacts = through, []int{k, j, i}
			}
		}
	}
	z := Zone{X: c.X, Y: c.Y, Contacts: contacts}
	z.Rmin, z.Rmax = c.reach(points)
	if z.Rmax == 0 {
		return Zone{}, StationError{what, len(points), "the points are all the same", ErrDegenerate}
	}
	if !z.ProvesMinimumCircumscribed(points) {
		return Zone{}, StationError{what, len(points), "report the least-squares circle", ErrNotConverged}
	}
	return z, nil
}

func (c Circle) holds(p Point) bool {
	return c.distance(p) <= c.R+float64(insideTolerance*c.R)
}

func across(points []Point, i, j int) (Circle, []int) {
	p, q := points[i], points[j]
	c := Circle{X: p.X + float64(0.5*(q.X-p.X)), Y: p.Y + float64(0.5*(q.Y-p.Y))}
	c.R = math.Max(c.distance(p), c.distance(q))
	return c, []int{i, j}
}

// throughThree returns the circle through three points; ok is false where they lie on one line.
func throughThree(p, q, s Point) (Circle, bool) {
	ax, ay, bx, by := q.X-p.X, q.Y-p.Y, s.X-p.X, s.Y-p.Y
	d := float64(2 * (float64(ax*by) - float64(ay*bx)))
	aa, bb := float64(ax*ax)+float64(ay*ay), float64(bx*bx)+float64(by*by)
	if math.Abs(d) <= float64(1e-14*(aa+bb)) {
		return Circle{}, false
	}
	ux := (float64(by*aa) - float64(ay*bb)) / d
	uy := (float64(ax*bb) - float64(bx*aa)) / d
	return Circle{X: p.X + ux, Y: p.Y + uy, R: portablemath.Hypot(ux, uy)}, true
}

// ProvesMinimumCircumscribed reports whether the contacts lie on the outer circle, two of them across a diameter or three in a triangle that is not obtuse.
func (z Zone) ProvesMinimumCircumscribed(points []Point) bool {
	if len(z.Contacts) != 2 && len(z.Contacts) != 3 {
		return false
	}
	c := Circle{X: z.X, Y: z.Y}
	for _, at := range z.Contacts {
		if math.Abs(c.distance(points[at])-z.Rmax) > float64(proofTolerance*z.Rmax) {
			return false
		}
	}
	_, gap := c.inOrder(points, z.Contacts).widestGap()
	return gap <= 180+1e-6
}
