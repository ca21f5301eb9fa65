package verdict

import (
	"math"

	"runtrue/internal/portablemath"
)

// first is the least-squares fit of mean + a·cos θ + b·sin θ to the readings of a round: what eccentricity, tilt or a wedge leaves in them.
// For stations equally spaced this is the first harmonic; for uneven ones it is still the best such curve.
type first struct {
	mean, a, b float64
	// weights of each reading in a and in b, for the uncertainty of the amplitude
	inA, inB []float64
	cos, sin []float64
}

// fitFirst fits readings at angles in degrees. It is false where the stations do not fix the curve: fewer than three different angles.
func fitFirst(deg, values []float64) (first, bool) {
	n := len(deg)
	f := first{inA: make([]float64, n), inB: make([]float64, n), cos: make([]float64, n), sin: make([]float64, n)}
	var c, s, cc, ss, cs float64
	for i, d := range deg {
		f.sin[i], f.cos[i] = portablemath.SincosDegrees(d)
		c += f.cos[i]
		s += f.sin[i]
	}
	c, s = c/float64(n), s/float64(n)
	for i := range deg {
		x, y := f.cos[i]-c, f.sin[i]-s
		cc += float64(x * x)
		ss += float64(y * y)
		cs += float64(x * y)
	}
	determinant := float64(cc*ss) - float64(cs*cs)
	if n < 3 || determinant < 1e-9 {
		return first{}, false
	}
	for i := range deg {
		x, y := f.cos[i]-c, f.sin[i]-s
		f.inA[i] = (float64(ss*x) - float64(cs*y)) / determinant
		f.inB[i] = (float64(cc*y) - float64(cs*x)) / determinant
		f.a += float64(f.inA[i] * values[i])
		f.b += float64(f.inB[i] * values[i])
		f.mean += values[i]
	}
	f.mean = f.mean/float64(n) - float64(f.a*c) - float64(f.b*s)
	return f, true
}

// amplitude returns C₁ ≥ 0.
func (f first) amplitude() float64 { return portablemath.Hypot(f.a, f.b) }

// direction returns where the curve is highest, 0 ≤ φ < 360°.
func (f first) direction() float64 {
	d := float64(portablemath.Atan2(f.b, f.a) * (180 / math.Pi))
	if d < 0 {
		d += 360
	}
	if d = tidy(d); d >= 360 {
		d -= 360
	}
	return d
}

// weights returns the weight of each reading in k·C₁, at the direction found. Their sum is 0 up to rounding: a common error cancels.
func (f first) weights(k float64) []float64 {
	w := make([]float64, len(f.inA))
	c := f.amplitude()
	if c == 0 {
		copy(w, f.inA)
	} else {
		for i := range w {
			w[i] = float64(f.inA[i]*(f.a/c)) + float64(f.inB[i]*(f.b/c))
		}
	}
	for i := range w {
		w[i] = float64(k * w[i])
	}
	return w
}

// residuals returns what the curve leaves of the values.
func (f first) residuals(values []float64) []float64 {
	r := make([]float64, len(values))
	for i, v := range values {
		r[i] = v - f.mean - float64(f.a*f.cos[i]) - float64(f.b*f.sin[i])
	}
	return r
}

// evenlySpaced reports whether angles (thousandths of a degree, ascending, all different) divide the turn equally, to a tenth of a degree.
func evenlySpaced(mdeg []int64) bool {
	n := int64(len(mdeg))
	for i, a := range mdeg {
		want := mdeg[0] + (int64(i)*360_000+n/2)/n
		if d := a - want; d > 100 || d < -100 {
			return false
		}
	}
	return n > 0
}

// extent returns the largest minus the smallest value, with their indices.
func extent(values []float64) (width float64, low, high int) {
	for i, v := range values {
		if v < values[low] {
			low = i
		}
		if v > values[high] {
			high = i
		}
	}
	if len(values) == 0 {
		return 0, 0, 0
	}
	return values[high] - values[low], low, high
}

// missedShare returns which part of a purely once-round deviation N equally spaced stations can hide from max − min: 1 − cos(180°/N).
func missedShare(n int) float64 {
	_, c := portablemath.SincosDegrees(180 / float64(n))
	return 1 - c
}
