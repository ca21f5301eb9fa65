package portablemath

import "math"

// Pow returns xʸ. Error below 1 ulp. The special cases are those of IEEE 754: Pow(x, ±0) = Pow(1, y) = 1 whatever the other argument, also NaN;
// a negative finite x with a finite y that is no integer gives NaN; Pow(±0, y) for a negative y is infinite; Pow(−1, ±Inf) = 1.
func Pow(x, y float64) float64 {
	switch {
	case y == 0 || x == 1:
		return 1
	case math.IsNaN(x) || math.IsNaN(y):
		return math.NaN()
	case y == 1:
		return x
	}
	magnitude := math.Abs(x)
	if math.IsInf(y, 0) {
		switch {
		case magnitude == 1:
			return 1
		case (magnitude > 1) == (y > 0):
			return math.Inf(1)
		}
		return 0
	}
	negative := math.Signbit(x) && isOddInteger(y)
	if magnitude == 0 || math.IsInf(magnitude, 1) {
		r := math.Inf(1)
		if (magnitude == 0) == (y > 0) {
			r = 0
		}
		return withSign(r, negative)
	}
	if x < 0 && math.Floor(y) != y {
		return math.NaN()
	}
	l := logPair(magnitude)
	switch e := float64(y * l.hi); { // out of range before the exact product could overflow
	case e > 720:
		return withSign(math.Inf(1), negative)
	case e < -760:
		return withSign(0, negative)
	case math.Abs(e) < 0x1p-60:
		return withSign(1, negative)
	case math.Abs(y) > 0x1p900: // l.hi would be below 2^-890: impossible, since |ln x| ≥ 2^-54 for x ≠ 1
		return math.NaN()
	}
	e := l.timesFloat(y)
	return withSign(expPair(e.hi, e.lo), negative)
}

func withSign(r float64, negative bool) float64 {
	if negative {
		return -r
	}
	return r
}

func isOddInteger(y float64) bool {
	return math.Floor(y) == y && math.Mod(y, 2) != 0
}

// Cbrt returns the cube root of x, of the sign of x. Error below 0.51 ulp. Cbrt of ±0, ±Inf and NaN is the argument.
func Cbrt(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	m, k := significand(math.Abs(x))
	for k%3 != 0 { // bring m into [1, 8) with a power of two that has a cube root
		m = float64(2 * m)
		k--
	}
	// A straight line from (1, 1) to (8, 2) is within 14 %; Halley's iteration triples the correct digits: 0.14 → 2e-3 → 4e-9 → 1e-17.
	t := 0.9 + float64(m*0.15)
	for range 3 {
		c := float64(t * float64(t*t))
		t = float64(t * ((c + float64(2*m)) / (float64(2*c) + m)))
	}
	cube := twoProduct(t, t).timesFloat(t)
	t += ((m - cube.hi) - cube.lo) / (3 * float64(t*t))
	return withSign(scale(t, k/3), x < 0)
}

// Hypot returns √(x² + y²) without overflow or underflow on the way. Error below 0.51 ulp for a normal result.
// An infinite argument gives +Inf, also beside NaN; otherwise NaN gives NaN.
func Hypot(x, y float64) float64 {
	x, y = math.Abs(x), math.Abs(y)
	switch {
	case math.IsInf(x, 1) || math.IsInf(y, 1):
		return math.Inf(1)
	case math.IsNaN(x) || math.IsNaN(y):
		return math.NaN()
	}
	if x < y {
		x, y = y, x
	}
	if y == 0 {
		return x
	}
	factor, back := 1.0, 1.0
	switch {
	case x > 0x1p450:
		factor, back = 0x1p-600, 0x1p600
	case y < 0x1p-450:
		factor, back = 0x1p600, 0x1p-600
	}
	if x > float64(y*0x1p60) {
		return x
	}
	x, y = float64(x*factor), float64(y*factor)
	s := twoProduct(x, x).add(twoProduct(y, y))
	h := math.Sqrt(s.hi)
	q := twoProduct(h, h)
	h += (((s.hi - q.hi) - q.lo) + s.lo) / (2 * h)
	return float64(h * back)
}
