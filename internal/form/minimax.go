package form

import (
	"math"

	"runtrue/internal/portablemath"
)

// zone is the best fit of c + a·cos θ + b·sin θ to readings in the sense of the least greatest deviation.
type zone struct {
	c, a, b  float64 // µm
	width    float64 // 2·greatest deviation
	contacts []int   // four places, alternately above and below, in the order of the angles; fewer stations than four: none
}

const exchanges = 2000

// flattestZone returns the minimum zone of readings around a turn, linear in the displacement of the centre.
//
// 1, cos θ, sin θ can be matched exactly at any three different angles within a turn, so the best fit is the one where four readings deviate equally and with alternating sign
// (the alternation theorem of Chebyshev and Haar; E. W. Cheney, Introduction to Approximation Theory, 1966, chapter 3). It is found by exchanging one reading at a time
// (Stiefel's method): the levelled deviation grows with each exchange until no reading deviates more.
func (r round) flattestZone() (zone, error) {
	if len(r) < 4 {
		return zone{c: r.mean()}, nil
	}
	n := len(r)
	reference := [4]int{0, n / 4, n / 2, n * 3 / 4}
	scale := 0.0
	for _, s := range r {
		scale = math.Max(scale, math.Abs(s.Um))
	}
	tolerance := float64(1e-12 * scale)
	sines, cosines := make([]float64, n), make([]float64, n)
	for i, s := range r {
		sines[i], cosines[i] = portablemath.SincosDegrees(s.AngleDeg)
	}
	var rows [4][4]float64
	a := [][]float64{rows[0][:], rows[1][:], rows[2][:], rows[3][:]}
	y := make([]float64, 4)
	for range exchanges {
		for i, at := range reference {
			a[i][0], a[i][1], a[i][2], a[i][3] = 1, cosines[at], sines[at], alternating(i)
			y[i] = r[at].Um
		}
		x, ok := solveSquare(a, y)
		if !ok {
			return zone{}, StationError{"minimum zone", n, "spread the stations around the turn", ErrDegenerate}
		}
		z := zone{c: x[0], a: x[1], b: x[2], width: float64(2 * math.Abs(x[3])), contacts: reference[:]}
		worst, deviation := 0, 0.0
		for i, s := range r {
			if d := s.Um - (z.c + (float64(z.a*cosines[i]) + float64(z.b*sines[i]))); math.Abs(d) > math.Abs(deviation) {
				worst, deviation = i, d
			}
		}
		if math.Abs(deviation) <= math.Abs(x[3])+tolerance {
			z.contacts = append([]int{}, z.contacts...)
			return z, nil
		}
		// The new reading takes the place of that neighbour in the reference which deviates to the same side.
		after := 0
		for after < 4 && reference[after] < worst {
			after++
		}
		before, next := (after+3)&3, after&3
		sideOf := func(i int) bool { return (alternating(i) > 0) == (x[3] >= 0) }
		switch up := deviation > 0; {
		case sideOf(next) == up:
			reference[next] = worst
		default:
			reference[before] = worst
		}
		sortFour(&reference)
	}
	return zone{}, StationError{"minimum zone", n, "report the readings", ErrNotConverged}
}

func alternating(i int) float64 {
	if i&1 == 0 {
		return 1
	}
	return -1
}

func sortFour(a *[4]int) {
	for i := 1; i < 4; i++ {
		for j := i; j > 0 && a[j] < a[j-1]; j-- {
			a[j], a[j-1] = a[j-1], a[j]
		}
	}
}
