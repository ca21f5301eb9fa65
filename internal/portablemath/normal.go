package portablemath

import "math"

// 1/√2 to 106 bits.
var inverseSqrt2 = pair{0x1.6a09e667f3bcdp-1, -4.833646656726456726e-17}

const inverseSqrtTwoPi = 0.39894228040143267794

// NormalCDF returns the probability that a standard normal variable is at most x. Error below 2 ulp, also far in the lower tail.
// NormalCDF(−Inf) = 0, NormalCDF(+Inf) = 1, NormalCDF(NaN) = NaN; 0 for x below about −38.5.
func NormalCDF(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x <= -39:
		return 0
	case x >= 9: // the upper tail is below half the last place of 1
		return 1
	case x <= 0:
		return normalTail(-x)
	}
	return 1 - normalTail(x)
}

// normalTail returns the probability beyond x ≥ 0, x < 39.
func normalTail(x float64) float64 {
	if x < 1e-20 {
		return 0.5
	}
	a := inverseSqrt2.timesFloat(x)
	square := twoProduct(x, x)
	return float64(0.5 * erfcPositive(a.hi, a.lo, pair{float64(0.5 * square.hi), float64(0.5 * square.lo)}))
}

// Algorithm AS 241, routine PPND16: rational approximations in 0.180625 − q² about the middle, and in √(−ln p) in the tails.
var (
	quantileMiddleNumerator = []float64{
		3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3, 1.3731693765509461125e4,
		4.5921953931549871457e4, 6.7265770927008700853e4, 3.3430575583588128105e4, 2.5090809287301226727e3,
	}
	quantileMiddleDenominator = []float64{
		1, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
		2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4, 5.2264952788528545610e3,
	}
	quantileTailNumerator = []float64{
		1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0, 3.64784832476320460504e0,
		1.27045825245236838258e0, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4,
	}
	quantileTailDenominator = []float64{
		1, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
		1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4, 1.05075007164441684324e-9,
	}
	quantileFarNumerator = []float64{
		6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0, 2.96560571828504891230e-1,
		2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7,
	}
	quantileFarDenominator = []float64{
		1, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
		7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7, 2.04426310338993978564e-15,
	}
)

// NormalQuantile returns the x for which NormalCDF(x) = p: algorithm AS 241, sharpened by one step of Newton's method.
// Error below 3 ulp. NormalQuantile(0) = −Inf, NormalQuantile(1) = +Inf, NaN outside [0, 1].
func NormalQuantile(p float64) float64 {
	switch {
	case !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0:
		return math.Inf(-1)
	case p == 1:
		return math.Inf(1)
	}
	q := p - 0.5
	if math.Abs(q) <= 0.25 { // q is exact here
		x := middleQuantile(q)
		return x - (float64(0.5*Erf(float64(x*inverseSqrt2.hi)))-q)/normalDensity(x)
	}
	if p > 0.5 {
		return tailQuantile(1 - p)
	}
	return -tailQuantile(p)
}

// middleQuantile returns the quantile of ½ + q for |q| ≤ 0.425.
func middleQuantile(q float64) float64 {
	r := 0.180625 - float64(q*q)
	return float64(q*horner(r, quantileMiddleNumerator)) / horner(r, quantileMiddleDenominator)
}

// tailQuantile returns the x > 0 beyond which a standard normal variable lies with probability p ≤ ¼.
func tailQuantile(p float64) float64 {
	var x float64
	if p >= 0.075 {
		x = middleQuantile(0.5 - p)
	} else if r := math.Sqrt(-Log(p)); r <= 5 {
		r -= 1.6
		x = horner(r, quantileTailNumerator) / horner(r, quantileTailDenominator)
	} else {
		r -= 5
		x = horner(r, quantileFarNumerator) / horner(r, quantileFarDenominator)
	}
	if p < smallestNormal { // the density would lose its digits
		return x
	}
	return x + (normalTail(x)-p)/normalDensity(x)
}

func normalDensity(x float64) float64 {
	return float64(inverseSqrtTwoPi * Exp(float64(-0.5*float64(x*x))))
}
