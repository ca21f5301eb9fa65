package portablemath

import "math"

// FDLIBM s_erf.c, where the intervals and the error bounds of each approximation are given (all below 2^-57).
var (
	// (erf x − x)/x for |x| < 27/32, as a quotient of polynomials in x².
	erfSmallNumerator = []float64{
		1.28379167095512558561e-01, -3.25042107247001499370e-01, -2.84817495755985104766e-02,
		-5.77027029648944159157e-03, -2.37630166566501626084e-05,
	}
	erfSmallDenominator = []float64{
		1, 3.97917223959155352819e-01, 6.50222499887672944485e-02, 5.08130628187576562776e-03,
		1.32494738004321644526e-04, -3.96022827877536812320e-06,
	}
	// erf x − erfAtOne for 27/32 ≤ x < 5/4, in x − 1.
	erfMiddleNumerator = []float64{
		-2.36211856075265944077e-03, 4.14856118683748331666e-01, -3.72207876035701323847e-01, 3.18346619901161753674e-01,
		-1.10894694282396677476e-01, 3.54783043256182359371e-02, -2.16637559486879084300e-03,
	}
	erfMiddleDenominator = []float64{
		1, 1.06420880400844228286e-01, 5.40397917702171048937e-01, 7.18286544141962662868e-02,
		1.26171219808761642112e-01, 1.36370839120290507362e-02, 1.19844998467991074170e-02,
	}
	// ln(x·erfc x) + x² + 9/16 for 5/4 ≤ x < 20/7, in 1/x².
	erfcTailNumerator = []float64{
		-9.86494403484714822705e-03, -6.93858572707181764372e-01, -1.05586262253232909814e+01, -6.23753324503260060396e+01,
		-1.62396669462573470355e+02, -1.84605092906711035994e+02, -8.12874355063065934246e+01, -9.81432934416914548592e+00,
	}
	erfcTailDenominator = []float64{
		1, 1.96512716674392571292e+01, 1.37657754143519042600e+02, 4.34565877475229228821e+02, 6.45387271733267880336e+02,
		4.29008140027567833386e+02, 1.08635005541779435134e+02, 6.57024977031928170135e+00, -6.04244152148580987438e-02,
	}
	// The same for 20/7 ≤ x < 28.
	erfcFarNumerator = []float64{
		-9.86494292470009928597e-03, -7.99283237680523006574e-01, -1.77579549177547519889e+01, -1.60636384855821916062e+02,
		-6.37566443368389627722e+02, -1.02509513161107724954e+03, -4.83519191608651397019e+02,
	}
	erfcFarDenominator = []float64{
		1, 3.03380607434824582924e+01, 3.25792512996573918826e+02, 1.53672958608443695994e+03, 3.19985821950859553908e+03,
		2.55305040643316442583e+03, 4.74528541206955367215e+02, -2.24409524465858183362e+01,
	}
)

const (
	erfAtOne        = 8.45062911510467529297e-01 // erf 1 to 24 bits
	erfcVanishesPos = 28                         // erfc beyond is below the smallest subnormal
	twoOverSqrtPi   = 1.12837916709551257390
)

// Erf returns the error function of x, 2/√π times the integral of exp(−t²) from 0 to x. Error below 1 ulp.
// Erf(±0) = ±0, Erf(±Inf) = ±1, Erf(NaN) = NaN.
func Erf(x float64) float64 {
	a := math.Abs(x)
	switch {
	case math.IsNaN(x):
		return x
	case a < 0.84375:
		if a < 0x1p-40 {
			// The cubic term is gone; the two addends as one product, which keeps subnormals right.
			return float64(x * twoOverSqrtPi)
		}
		return x + float64(x*erfSmall(a))
	case a < 1.25:
		return math.Copysign(erfAtOne+erfMiddle(a-1), x)
	case a >= 6: // erfc 6 = 2.2e-17
		return math.Copysign(1, x)
	}
	return math.Copysign(1-erfcPositive(a, 0, twoProduct(a, a)), x)
}

// Erfc returns 1 − Erf(x) without losing the digits of a large x. Error below 2 ulp.
// Erfc(+Inf) = 0, Erfc(−Inf) = 2, Erfc(NaN) = NaN; 0 for x above about 27.2, where the result is below the smallest float64.
func Erfc(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x >= erfcVanishesPos:
		return 0
	case x >= 0:
		return erfcPositive(x, 0, twoProduct(x, x))
	case x > -0.84375:
		return 1 - (x + float64(x*erfSmall(-x)))
	case x <= -6:
		return 2
	}
	return 2 - erfcPositive(-x, 0, twoProduct(x, x))
}

// erfcPositive returns erfc(x + dx) for 0 ≤ x < 28, a correction dx below the last place of x, and the square of x + dx as a pair.
func erfcPositive(x, dx float64, square pair) float64 {
	switch {
	case x < 0.25:
		return 1 - (x + (float64(x*erfSmall(x)) + dx))
	case x < 0.84375:
		return 0.5 - ((float64(x*erfSmall(x)) + dx) + (x - 0.5))
	case x < 1.25:
		return 1 - erfAtOne - erfMiddle((x-1)+dx)
	}
	s := 1 / square.hi
	var logarithm float64
	if x < 20.0/7 {
		logarithm = horner(s, erfcTailNumerator) / horner(s, erfcTailDenominator)
	} else {
		logarithm = horner(s, erfcFarNumerator) / horner(s, erfcFarDenominator)
	}
	e := twoSum(-square.hi, logarithm-0.5625)
	return expPair(e.hi, e.lo-square.lo-dx/x) / x
}

// erfSmall returns (erf x − x)/x for 0 ≤ x < 27/32.
func erfSmall(x float64) float64 {
	z := float64(x * x)
	return horner(z, erfSmallNumerator) / horner(z, erfSmallDenominator)
}

// erfMiddle returns erf(1+s) − erfAtOne for −5/32 ≤ s < 1/4.
func erfMiddle(s float64) float64 {
	return horner(s, erfMiddleNumerator) / horner(s, erfMiddleDenominator)
}
