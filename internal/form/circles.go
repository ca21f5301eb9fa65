package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Point is a point of a section, in µm (or any one unit of length).
type Point struct{ X, Y float64 }

// Circle is a circle in the unit of the points.
type Circle struct {
	X, Y, R float64
}

func (c Circle) distance(p Point) float64 { return portablemath.Hypot(p.X-c.X, p.Y-c.Y) }

// LeastSquaresCircle is the circle with the least sum of squared distances (LSCI), and how far the points lie off it.
type LeastSquaresCircle struct {
	Circle
	SumOfSquares float64 // of the distances to the circle
	FormUm       float64 // peak to valley of the distances: RONt (LSCI)
}

// Zone is a reference circle that touches the points, with the places of those that prove it.
type Zone struct {
	X, Y     float64 // centre
	Rmax     float64 // largest and smallest distance of a point from it
	Rmin     float64
	Contacts []int // minimum zone: four, alternately outer and inner; circumscribed: two or three; inscribed: three
}

// Width returns Rmax − Rmin: the roundness deviation about this centre.
func (z Zone) Width() float64 { return z.Rmax - z.Rmin }

func checkPoints(what string, points []Point, least int) error {
	if len(points) < least {
		return StationError{what, len(points), fmt.Sprintf("take at least %d points", least), ErrTooFewStations}
	}
	for i, p := range points {
		if math.IsNaN(p.X) || math.IsInf(p.X, 0) || math.IsNaN(p.Y) || math.IsInf(p.Y, 0) {
			return fmt.Errorf("%s: point %d is (%g, %g): %w; correct or strike it", what, i, p.X, p.Y, ErrMalformed)
		}
	}
	return nil
}

func centroid(points []Point) (x, y, spread float64) {
	for _, p := range points {
		x += p.X
		y += p.Y
	}
	n := float64(len(points))
	x, y = x/n, y/n
	for _, p := range points {
		spread = math.Max(spread, portablemath.Hypot(p.X-x, p.Y-y))
	}
	return x, y, spread
}

// AlgebraicCircle returns the circle that least squares in x² + y² gives (I. Kåsa, IEEE Trans. Instrum. Meas. 25 (1976) 8), its radius the mean distance from that
// centre. It is a starting point: on a short arc it is far too small. Points on one line are ErrDegenerate.
func AlgebraicCircle(points []Point) (Circle, error) {
	const what = "algebraic circle"
	if err := checkPoints(what, points, 3); err != nil {
		return Circle{}, err
	}
	cx, cy, spread := centroid(points)
	if spread == 0 {
		return Circle{}, StationError{what, len(points), "the points are all the same", ErrDegenerate}
	}
	rows := make([][]float64, len(points))
	y := make([]float64, len(points))
	for i, p := range points {
		u, v := (p.X-cx)/spread, (p.Y-cy)/spread
		rows[i] = []float64{u, v, 1}
		y[i] = float64(u*u) + float64(v*v)
	}
	fit, ok := leastSquares(rows, y)
	if !ok {
		return Circle{}, StationError{what, len(points), "they lie on one line", ErrDegenerate}
	}
	c := Circle{X: cx + float64(0.5*fit.x[0]*spread), Y: cy + float64(0.5*fit.x[1]*spread)}
	for _, p := range points {
		c.R += c.distance(p)
	}
	c.R /= float64(len(points))
	return c, nil
}

// LeastSquares returns the circle with the least sum of squared orthogonal distances, found by the Gauss–Newton method with halved steps from the
// algebraic one (W. Gander, G. H. Golub, R. Strebel, BIT 34 (1994) 558). At least three points, not on one line; ErrNotConverged where the points fit a line as well as any circle.
func LeastSquares(points []Point) (LeastSquaresCircle, error) {
	const what = "least-squares circle"
	start, err := AlgebraicCircle(points)
	if err != nil {
		return LeastSquaresCircle{}, fmt.Errorf("%s: %w", what, err)
	}
	c := start
	sum := c.sumOfSquares(points)
	for range 200 {
		rows := make([][]float64, len(points))
		y := make([]float64, len(points))
		for i, p := range points {
			d := c.distance(p)
			if d == 0 {
				return LeastSquaresCircle{}, StationError{what, len(points), "one of them lies at the centre", ErrDegenerate}
			}
			rows[i] = []float64{(c.X - p.X) / d, (c.Y - p.Y) / d, -1}
			y[i] = c.R - d
		}
		fit, ok := leastSquares(rows, y)
		if !ok {
			return LeastSquaresCircle{}, StationError{what, len(points), "spread them around the circle", ErrDegenerate}
		}
		step := 1.0
		next := c
		better := false
		for range 30 {
			next = Circle{c.X + float64(step*fit.x[0]), c.Y + float64(step*fit.x[1]), c.R + float64(step*fit.x[2])}
			if s := next.sumOfSquares(points); s < sum {
				sum, better = s, true
				break
			}
			step = float64(0.5 * step)
		}
		size := portablemath.Hypot(fit.x[0], fit.x[1])
		if !better || size < float64(1e-12*c.R) {
			if better {
				c = next
			}
			if size > float64(1e-5*c.R) {
				break // halved to nothing far from a minimum
			}
			return LeastSquaresCircle{Circle: c, SumOfSquares: c.sumOfSquares(points), FormUm: c.formOf(points)}, nil
		}
		c = next
	}
	return LeastSquaresCircle{}, StationError{what, len(points), "look whether they lie on a circle at all", ErrNotConverged}
}

func (c Circle) sumOfSquares(points []Point) float64 {
	sum := 0.0
	for _, p := range points {
		d := c.distance(p) - c.R
		sum += float64(d * d)
	}
	return sum
}

func (c Circle) formOf(points []Point) float64 {
	low, high := c.reach(points)
	return high - low
}

// reach returns the smallest and the largest distance of the points from the centre.
func (c Circle) reach(points []Point) (low, high float64) {
	low = math.Inf(1)
	for _, p := range points {
		d := c.distance(p)
		low, high = math.Min(low, d), math.Max(high, d)
	}
	return low, high
}

// polar returns the points seen from the centre, as a round in the order of the angles, and for each its place in points.
func (c Circle) polar(points []Point) (round, []int, error) {
	stations := make([]Station, len(points))
	for i, p := range points {
		if p.X == c.X && p.Y == c.Y {
			return nil, nil, StationError{"circle", len(points), "one of them lies at the centre", ErrDegenerate}
		}
		stations[i] = Station{direction(p.X-c.X, p.Y-c.Y), c.distance(p)}
	}
	places := make([]int, len(points))
	for i := range places {
		places[i] = i
	}
	for i := 1; i < len(places); i++ { // insertion: from one step to the next the order hardly changes
		for j := i; j > 0 && stations[places[j]].AngleDeg < stations[places[j-1]].AngleDeg; j-- {
			places[j], places[j-1] = places[j-1], places[j]
		}
	}
	sorted := make(round, len(points))
	for i, p := range places {
		sorted[i] = stations[p]
	}
	return sorted, places, nil
}

// approach moves a centre by linear solutions until it rests. next gives the displacement from a centre and worth what is to become smaller.
func approach(start Circle, scale float64, next func(Circle) (dx, dy float64, err error), worth func(Circle) float64) (Circle, error) {
	c := start
	value := worth(c)
	for range 200 {
		dx, dy, err := next(c)
		if err != nil {
			return Circle{}, err
		}
		if portablemath.Hypot(dx, dy) < float64(1e-13*scale) {
			return c, nil
		}
		moved := false
		step := 1.0
		for range 40 {
			trial := Circle{X: c.X + float64(step*dx), Y: c.Y + float64(step*dy)}
			if v := worth(trial); v < value {
				c, value, moved = trial, v, true
				break
			}
			step = float64(0.5 * step)
		}
		if !moved { // at rest to the last digits
			return c, nil
		}
	}
	return c, nil
}

// proofTolerance is how far, relative to the radius, contacts may be off their circle and others beyond it.
const proofTolerance = 1e-9

// MinimumZone returns the two concentric circles of least distance that hold the points between them (MZCI, ISO 12181-1), near the least-squares circle.
// The four contacts prove it; where they do not, the error is ErrNotConverged rather than a doubtful figure. Four or more points around the centre.
func MinimumZone(points []Point) (Zone, error) {
	const what = "minimum zone circles"
	if err := checkPoints(what, points, 4); err != nil {
		return Zone{}, err
	}
	start, err := LeastSquares(points)
	if err != nil {
		return Zone{}, fmt.Errorf("%s: %w", what, err)
	}
	var contacts []int
	next := func(c Circle) (dx, dy float64, err error) {
		r, places, err := c.polar(points)
		if err != nil {
			return 0, 0, err
		}
		z, err := r.flattestZone()
		if err != nil {
			return 0, 0, err
		}
		contacts = contacts[:0]
		for _, at := range z.contacts {
			contacts = append(contacts, places[at])
		}
		return z.a, z.b, nil
	}
	c, err := approach(start.Circle, start.R, next, func(c Circle) float64 { return c.formOf(points) })
	if err != nil {
		return Zone{}, fmt.Errorf("%s: %w", what, err)
	}
	if _, _, err = next(c); err != nil {
		return Zone{}, fmt.Errorf("%s: %w", what, err)
	}
	z := Zone{X: c.X, Y: c.Y, Contacts: contacts}
	z.Rmin, z.Rmax = c.reach(points)
	if !z.ProvesMinimumZone(points) {
		return Zone{}, StationError{what, len(points), "report the least-squares circle", ErrNotConverged}
	}
	return z, nil
}

// ProvesMinimumZone reports whether the contacts are four points in the order of their angles, alternately on the outer and on the inner circle.
func (z Zone) ProvesMinimumZone(points []Point) bool {
	if len(z.Contacts) != 4 {
		return false
	}
	c := Circle{X: z.X, Y: z.Y}
	outerFirst := c.distance(points[z.Contacts[0]]) > z.Rmin+float64(0.5*z.Width())
	last := -1.0
	for i, at := range z.Contacts {
		want := z.Rmin
		if (i&1 == 0) == outerFirst {
			want = z.Rmax
		}
		if math.Abs(c.distance(points[at])-want) > float64(proofTolerance*z.Rmax) {
			return false
		}
		angle := direction(points[at].X-z.X, points[at].Y-z.Y)
		if angle <= last {
			return false
		}
		last = angle
	}
	return true
}
