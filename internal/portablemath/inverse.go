package portablemath

import "math"

// π and its halves, and what float64 leaves of them.
const (
	piLo     = 1.2246467991473531772e-16
	halfPi   = math.Pi / 2
	halfPiLo = 6.12323399573676603587e-17
)

// FDLIBM s_atan.c: (x − arctan x)/x as x²·polynomial in x², |x| ≤ 7/16.
var atanCoefficients = []float64{
	3.33333333333329318027e-01, -1.99999999998764832476e-01, 1.42857142725034663711e-01, -1.11111104054623557880e-01,
	9.09088713343650656196e-02, -7.69187620504482999495e-02, 6.66107313738753120669e-02, -5.83357013379057348645e-02,
	4.97687799461593236017e-02, -3.65315727442169155270e-02, 1.62858201153657823623e-02,
}

// arctan ½, 1, 3/2 and ∞, each as a pair (FDLIBM s_atan.c).
var atanAnchors = [4]pair{
	{4.63647609000806093515e-01, 2.26987774529616870924e-17},
	{7.85398163397448278999e-01, 3.06161699786838301793e-17},
	{9.82793723247329054082e-01, 1.39033110312309984516e-17},
	{1.57079632679489655800e+00, halfPiLo},
}

// FDLIBM e_asin.c: (arcsin x − x)/x³ = p(x²)/q(x²), |x| ≤ ½.
var (
	asinNumerator = []float64{
		1.66666666666666657415e-01, -3.25565818622400915405e-01, 2.01212532134862925881e-01,
		-4.00555345006794114027e-02, 7.91534994289814532176e-04, 3.47933107596021167570e-05,
	}
	asinDenominator = []float64{
		1, -2.40339491173441421878e+00, 2.02094576023350569471e+00, -6.88283971605453293030e-01, 7.70381505559019352791e-02,
	}
)

// Atan returns the arc tangent of x in radians, in [−π/2, π/2]. Error below 1 ulp. Atan(±0) = ±0, Atan(±Inf) = ±π/2, Atan(NaN) = NaN.
func Atan(x float64) float64 {
	if x == 0 || math.IsNaN(x) {
		return x
	}
	if x < 0 {
		return -atanPositive(-x)
	}
	return atanPositive(x)
}

func atanPositive(x float64) float64 {
	var anchor pair
	switch { // arctan x = arctan a + arctan((x − a)/(1 + a·x))
	case x < 7.0/16:
		if x < 0x1p-28 {
			return x
		}
		return x - float64(x*atanTail(x))
	case x < 11.0/16:
		x, anchor = (float64(2*x)-1)/(2+x), atanAnchors[0]
	case x < 19.0/16:
		x, anchor = (x-1)/(x+1), atanAnchors[1]
	case x < 39.0/16:
		x, anchor = (x-1.5)/(1+float64(1.5*x)), atanAnchors[2]
	default:
		x, anchor = -1/x, atanAnchors[3]
	}
	return anchor.hi - ((float64(x*atanTail(x)) - anchor.lo) - x)
}

// atanTail returns (x − arctan x)/x.
func atanTail(x float64) float64 {
	z := float64(x * x)
	return float64(z * horner(z, atanCoefficients))
}

// Atan2 returns the direction of the vector (x, y) in radians, in [−π, π], counted from the x axis towards the y axis. Error below 2 ulp.
// The signs of zeros choose the side, as IEEE 754 asks: Atan2(±0, x<0) = ±π, Atan2(±0, x>0) = ±0. NaN if either is NaN.
func Atan2(y, x float64) float64 {
	switch {
	case math.IsNaN(x) || math.IsNaN(y):
		return math.NaN()
	case y == 0:
		if math.Signbit(x) {
			return math.Copysign(math.Pi, y)
		}
		return y
	case x == 0:
		return math.Copysign(halfPi, y)
	case math.IsInf(x, 0) && math.IsInf(y, 0):
		if x > 0 {
			return math.Copysign(math.Pi/4, y)
		}
		return math.Copysign(3*math.Pi/4, y)
	case math.IsInf(y, 0):
		return math.Copysign(halfPi, y)
	case math.IsInf(x, 0):
		if x > 0 {
			return math.Copysign(0, y)
		}
		return math.Copysign(math.Pi, y)
	}
	a := math.Abs(y / x)
	angle := atanPositive(a)
	if x < 0 {
		angle = math.Pi - (angle - piLo)
	}
	return math.Copysign(angle, y)
}

// Asin returns the arc sine of x in radians, in [−π/2, π/2]. Error below 1 ulp. Asin(±0) = ±0; NaN for |x| > 1 and NaN.
func Asin(x float64) float64 {
	a := math.Abs(x)
	switch {
	case !(a <= 1):
		return math.NaN()
	case a < 0x1p-27:
		return x
	case a < 0.5:
		return x + float64(x*asinTail(float64(x*x)))
	}
	// arcsin a = π/2 − 2·arcsin √((1−a)/2)
	z := float64(0.5 * (1 - a))
	s, lost := sqrtPair(z)
	r := asinTail(z)
	angle := halfPi - (float64(2*(s+(float64(s*r)+lost))) - halfPiLo)
	if a >= 0.975 {
		return math.Copysign(angle, x)
	}
	high := truncate(s)
	low := (z - float64(high*high)) / (s + high)
	p := float64(2*float64(s*r)) - (halfPiLo - float64(2*low))
	q := math.Pi/4 - float64(2*high)
	return math.Copysign(math.Pi/4-(p-q), x)
}

// Acos returns the arc cosine of x in radians, in [0, π]. Error below 1 ulp. NaN for |x| > 1 and NaN.
func Acos(x float64) float64 {
	a := math.Abs(x)
	switch {
	case !(a <= 1):
		return math.NaN()
	case a < 0.5:
		return halfPi - (x - (halfPiLo - float64(x*asinTail(float64(x*x)))))
	case x < 0:
		z := float64(0.5 * (1 - a))
		s, lost := sqrtPair(z)
		w := float64(s*asinTail(z)) + lost - halfPiLo
		return math.Pi - float64(2*(s+w))
	}
	z := float64(0.5 * (1 - a))
	if z == 0 {
		return 0
	}
	s := math.Sqrt(z)
	high := truncate(s)
	low := (z - float64(high*high)) / (s + high)
	return float64(2 * (high + (float64(s*asinTail(z)) + low)))
}

// asinTail returns (arcsin x − x)/x for z = x².
func asinTail(z float64) float64 {
	return float64(z*horner(z, asinNumerator)) / horner(z, asinDenominator)
}

// sqrtPair returns √z rounded, and what the rounding left off.
func sqrtPair(z float64) (s, lost float64) {
	s = math.Sqrt(z)
	if s == 0 {
		return s, 0
	}
	q := twoProduct(s, s)
	return s, ((z - q.hi) - q.lo) / float64(2*s)
}

// truncate clears the lower 32 bits, so that the square of the result is exact.
func truncate(x float64) float64 {
	return math.Float64frombits(math.Float64bits(x) &^ (1<<32 - 1))
}
