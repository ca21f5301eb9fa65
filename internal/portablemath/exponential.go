package portablemath

import "math"

const (
	expOverflow  = 7.09782712893383973096e+02  // ln of the largest float64
	expUnderflow = -7.45133219101941108420e+02 // ln of half the smallest subnormal
)

// FDLIBM e_exp.c: x − (c₁x² + c₂x⁴ + …) approximates x(eˣ+1)/(eˣ−1) − 2 … on |x| ≤ ½ ln 2.
var expCoefficients = []float64{
	1.66666666666666019037e-01, -2.77777777770155933842e-03, 6.61375632143793436117e-05,
	-1.65339022054652515390e-06, 4.13813679705723846039e-08,
}

// FDLIBM s_expm1.c.
var expm1Coefficients = []float64{
	1, -3.33333333333331316428e-02, 1.58730158725481460165e-03, -7.93650757867487942473e-05,
	4.00821782732936239552e-06, -2.01099218183624371326e-07,
}

// Exp returns eˣ. Error below 1 ulp. Exp(+Inf) = +Inf, Exp(−Inf) = 0, Exp(NaN) = NaN; overflow gives +Inf, underflow 0.
func Exp(x float64) float64 { return expPair(x, 0) }

// expPair returns e^(x+dx) for a small correction dx, |dx| ≤ 1e-3; the correction is not lost in the rounding of x.
func expPair(x, dx float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1):
		return x
	case x > expOverflow+1:
		return math.Inf(1)
	case x < expUnderflow-1:
		return 0
	}
	k := math.RoundToEven(float64(x * log2e))
	hi := x - float64(k*ln2Hi)
	lo := float64(k*ln2Lo) - dx
	r := hi - lo
	t := float64(r * r)
	c := r - float64(t*horner(t, expCoefficients))
	y := 1 - ((lo - float64(r*c)/(2-c)) - hi)
	return scale(y, int(k))
}

// Expm1 returns eˣ − 1 without losing the digits of a small x. Error below 1 ulp.
// Expm1(±0) = ±0, Expm1(+Inf) = +Inf, Expm1(−Inf) = −1, Expm1(NaN) = NaN.
func Expm1(x float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1) || x == 0:
		return x
	case x > expOverflow:
		return math.Inf(1)
	case x < -50: // eˣ is below a hundredth of the last place of 1
		return -1
	case math.Abs(x) < 0x1p-54:
		return x
	}
	k := math.RoundToEven(float64(x * log2e))
	hi := x - float64(k*ln2Hi)
	lo := float64(k * ln2Lo)
	r := hi - lo
	rLost := (hi - r) - lo
	half := float64(0.5 * r)
	halfSquare := float64(r * half)
	r1 := horner(halfSquare, expm1Coefficients)
	t := 3 - float64(r1*half)
	e := float64(halfSquare * ((r1 - t) / (6 - float64(r*t))))
	if k == 0 {
		return r - (float64(r*e) - halfSquare)
	}
	// e^r − 1 = r + tail; then e^x − 1 = (2^k − 1) + 2^k·r + 2^k·tail.
	tail := halfSquare - (float64(r*(e-rLost)) - rLost)
	if k > 60 { // the 1 is gone
		return scale(1+(r+tail), int(k))
	}
	p := powerOfTwo(int(k))
	s := twoSum(p-1, float64(p*r))
	return s.hi + (s.lo + float64(p*tail))
}
