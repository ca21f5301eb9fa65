package portablemath

import "math"

// MaxAngle is the largest argument, in radians, that Sin, Cos, Sincos and Tan accept: about 159 000 turns. Angles of stations lie within a turn;
// anything beyond this is a mistake, and answers NaN rather than a number without meaning.
const MaxAngle = 1e6

// π/2 in three parts of 33 bits and a rest (FDLIBM e_rem_pio2.c): a multiple below 2^20 of each of the three is exact.
const (
	halfPi1 = 1.57079632673412561417e+00
	halfPi2 = 6.07710050630396597660e-11
	halfPi3 = 2.02226624871116645580e-21
	halfPi4 = 8.47842766036889956997e-32

	twoOverPi = 6.36619772367581382433e-01
)

// FDLIBM k_sin.c: (sin x − x)/x³ as a polynomial in x², |x| ≤ π/4.
var sinCoefficients = []float64{
	-1.66666666666666324348e-01, 8.33333333332248946124e-03, -1.98412698298579493134e-04,
	2.75573137070700676789e-06, -2.50507602534068634195e-08, 1.58969099521155010221e-10,
}

// FDLIBM k_cos.c: (cos x − 1 + x²/2)/x⁴ as a polynomial in x², |x| ≤ π/4.
var cosCoefficients = []float64{
	4.16666666666666019037e-02, -1.38888888888741095749e-03, 2.48015872894767294178e-05,
	-2.75573143513906633035e-07, 2.08757232129817482790e-09, -1.13596475577881948265e-11,
}

// Sin returns the sine of x radians. Error below 0.7 ulp. Sin(±0) = ±0; NaN for |x| > MaxAngle, infinities and NaN.
func Sin(x float64) float64 {
	if x == 0 {
		return x
	}
	s, _ := sincosPair(x)
	return s.hi + s.lo
}

// Cos returns the cosine of x radians. Error below 0.7 ulp. NaN for |x| > MaxAngle, infinities and NaN.
func Cos(x float64) float64 {
	_, c := sincosPair(x)
	return c.hi + c.lo
}

// Sincos returns Sin(x) and Cos(x), of the same bits as those.
func Sincos(x float64) (sin, cos float64) {
	s, c := sincosPair(x)
	if x == 0 {
		return x, 1
	}
	return s.hi + s.lo, c.hi + c.lo
}

// Tan returns the tangent of x radians. Error below 1 ulp. Tan(±0) = ±0; NaN for |x| > MaxAngle, infinities and NaN.
func Tan(x float64) float64 {
	if x == 0 {
		return x
	}
	s, c := sincosPair(x)
	q := s.over(c)
	return q.hi + q.lo
}

// SincosDegrees returns the sine and cosine of an angle in degrees. Whole turns and quarters are taken off exactly, so that the sine of 180° is 0 and
// the cosine of 60° is 0.5 as written. Error below 0.7 ulp. NaN for infinities and NaN; any finite angle is good.
func SincosDegrees(deg float64) (sin, cos float64) {
	if math.IsNaN(deg) || math.IsInf(deg, 0) {
		return math.NaN(), math.NaN()
	}
	deg = math.Mod(deg, 360)
	quarter := math.RoundToEven(deg / 90)
	rest := deg - float64(quarter*90) // exact: both are multiples of the last place of deg
	if rest == 30 || rest == -30 {
		// The only angles within an eighth of a turn with a rational sine (I. Niven, Irrational Numbers, 1956, corollary 3.12).
		c := 0x1.bb67ae8584caap-1 // √3/2
		return quadrant(int(quarter), math.Copysign(0.5, rest), c)
	}
	s, c := kernelPairs(degreePair.timesFloat(rest))
	return quadrant(int(quarter), s.hi+s.lo, c.hi+c.lo)
}

// π/180 to 106 bits.
var degreePair = pair{halfPi, halfPiLo}.over(pair{90, 0})

// sincosPair returns the sine and cosine of x radians as pairs good to about 60 bits.
func sincosPair(x float64) (sin, cos pair) {
	if !(math.Abs(x) <= MaxAngle) {
		nan := pair{math.NaN(), 0}
		return nan, nan
	}
	n := math.RoundToEven(float64(x * twoOverPi))
	r := twoSum(x-float64(n*halfPi1), -float64(n*halfPi2))
	r = r.add(twoSum(-float64(n*halfPi3), -float64(n*halfPi4)))
	s, c := kernelPairs(r)
	switch int(n) & 3 {
	case 1:
		return c, pair{-s.hi, -s.lo}
	case 2:
		return pair{-s.hi, -s.lo}, pair{-c.hi, -c.lo}
	case 3:
		return pair{-c.hi, -c.lo}, s
	}
	return s, c
}

// quadrant turns the sine and cosine of the rest into those of rest + n quarter turns. Zeros come out positive.
func quadrant(n int, s, c float64) (sin, cos float64) {
	switch n & 3 {
	case 1:
		s, c = c, 0-s
	case 2:
		s, c = 0-s, 0-c
	case 3:
		s, c = 0-c, s
	}
	return s, c
}

// kernelPairs returns the sine and cosine of |r| ≤ π/4 and a little more, as pairs.
func kernelPairs(r pair) (sin, cos pair) {
	square := twoProduct(r.hi, r.hi)
	z := square.hi
	cubic := float64(float64(z*r.hi) * horner(z, sinCoefficients))
	sin = fastTwoSum(r.hi, cubic+(r.lo-float64(0.5*float64(z*r.lo))))
	quartic := float64(float64(z*z) * horner(z, cosCoefficients))
	cos = fastTwoSum(1, -float64(0.5*z))
	cos = fastTwoSum(cos.hi, cos.lo+(quartic-(float64(0.5*square.lo)+float64(r.hi*r.lo))))
	return sin, cos
}
