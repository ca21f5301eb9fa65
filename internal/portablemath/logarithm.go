package portablemath

import "math"

// FDLIBM e_log.c: (ln(1+f) − 2s)/s as a polynomial in s², s = f/(2+f), for 1+f in [√½, √2].
var logCoefficients = []float64{
	6.666666666666735130e-01, 3.999999999940941908e-01, 2.857142874366239149e-01, 2.222219843214978396e-01,
	1.818357216161805012e-01, 1.531383769920937332e-01, 1.479819860511658591e-01,
}

// Log returns the natural logarithm of x. Error below 1 ulp.
// Log(+Inf) = +Inf, Log(±0) = −Inf, Log(x<0) = NaN, Log(NaN) = NaN.
func Log(x float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1):
		return x
	case x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	}
	m, k := significand(x)
	if m > math.Sqrt2 {
		m *= 0.5
		k++
	}
	return logNearOne(m-1, 0, float64(k))
}

// Log1p returns ln(1 + x) without losing the digits of a small x. Error below 1 ulp.
// Log1p(±0) = ±0, Log1p(+Inf) = +Inf, Log1p(−1) = −Inf, Log1p(x < −1) = NaN, Log1p(NaN) = NaN.
func Log1p(x float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 1):
		return x
	case x < -1:
		return math.NaN()
	case x == -1:
		return math.Inf(-1)
	case math.Abs(x) < 0x1p-54:
		return x
	case x > -0.2929 && x < 0.41421: // 1+x within [√½, √2]: nothing to reduce
		return logNearOne(x, 0, 0)
	}
	u := twoSum(1, x)
	m, k := significand(u.hi)
	if m > math.Sqrt2 {
		m *= 0.5
		k++
	}
	return logNearOne(m-1, u.lo/u.hi, float64(k))
}

// logNearOne returns k·ln 2 + ln(1+f) + c, for 1+f in [√½, √2] and a correction c far below the last place of f.
func logNearOne(f, c, k float64) float64 {
	s := f / (2 + f)
	z := float64(s * s)
	r := float64(z * horner(z, logCoefficients))
	halfSquare := float64(0.5 * float64(f*f))
	low := float64(s*(halfSquare+r)) + (float64(k*ln2Lo) + c)
	return float64(k*ln2Hi) - ((halfSquare - low) - f)
}

// ln 2 to 106 bits.
var ln2Pair = pair{6.93147180559945286227e-01, 2.319046813846299558417771e-17}

// 1/(2j+1) for j = 1 … 5, to 106 bits.
var oddReciprocals = func() (r [6]pair) {
	for j := range r {
		r[j] = pair{1, 0}.over(pair{float64(j + j + 1), 0})
	}
	return r
}()

// 1/(2j+1) for j = 6 … 16, to 53 bits: these terms are below 2^-30 of the sum.
var oddReciprocalsTail = []float64{
	1.0 / 13, 1.0 / 15, 1.0 / 17, 1.0 / 19, 1.0 / 21, 1.0 / 23, 1.0 / 25, 1.0 / 27, 1.0 / 29, 1.0 / 31, 1.0 / 33,
}

// logPair returns ln x, x positive and finite, to a relative error below 2^-80: ln x = k·ln 2 + 2·artanh(f/(2+f)) by the power series of artanh
// (NIST Digital Library of Mathematical Functions, 4.6.4).
func logPair(x float64) pair {
	m, k := significand(x)
	if m > math.Sqrt2 {
		m *= 0.5
		k++
	}
	s := pair{m - 1, 0}.over(twoSum(m, 1))
	z := s.times(s)
	sum := pair{horner(z.hi, oddReciprocalsTail), 0}
	for j := 5; j >= 0; j-- {
		sum = sum.times(z).add(oddReciprocals[j])
	}
	l := s.times(sum)
	return ln2Pair.timesFloat(float64(k)).add(pair{float64(2 * l.hi), float64(2 * l.lo)})
}
