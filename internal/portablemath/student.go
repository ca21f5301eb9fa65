package portablemath

import "math"

// manyFreedoms is where the quantile of Student's distribution changes from solving for it to expanding about the normal one; at this place
// the first neglected term is below 1e-15 of the result for probabilities of practical use (tails above 1e-12).
const manyFreedoms = 1e4

// StudentTail returns the probability that a Student variable with nu > 0 degrees of freedom lies outside ±t. nu need not be an integer and may be +Inf.
// Relative error below 1e-12. NaN for nu ≤ 0 or NaN arguments.
func StudentTail(t, nu float64) float64 {
	t = math.Abs(t)
	switch {
	case math.IsNaN(t) || !(nu > 0):
		return math.NaN()
	case t == 0:
		return 1
	case math.IsInf(t, 1):
		return 0
	case math.IsInf(nu, 1):
		if t >= 39 {
			return 0
		}
		return float64(2 * normalTail(t))
	}
	// The tail is the regularised incomplete beta function I_x(ν/2, ½) at x = ν/(ν+t²) (Abramowitz & Stegun 26.7.1 with 26.5.2).
	// The factor before the fraction, x^(ν/2)·(1−x)^½/B(ν/2, ½), is written with the density so that no two large logarithms are subtracted.
	square := float64(t * t)
	x := nu / (nu + square)
	y := square / (nu + square)
	front := float64(t * studentDensity(t, nu))
	a := float64(nu / 2)
	if x < (a+1)/(a+2.5) {
		return float64(front * incompleteBetaFraction(x, a, 0.5) / a)
	}
	return 1 - float64(2*front*incompleteBetaFraction(y, 0.5, a))
}

// studentDensity returns the density of Student's distribution at t.
func studentDensity(t, nu float64) float64 {
	kernel := Exp(float64(-0.5 * float64((nu+1)*Log1p(float64(t*t)/nu))))
	return float64(kernel*gammaRatio(nu/2)) / math.Sqrt(float64(nu*math.Pi))
}

// gammaRatio returns Γ(a + ½)/Γ(a) for a > 0: the difference of two Stirling series (Digital Library of Mathematical Functions, 5.11.8), whose
// terms are (2^(1−k) − 2)·B_k/(k(k−1)·a^(k−1)), after raising the argument with Γ(a+1) = a·Γ(a).
func gammaRatio(a float64) float64 {
	down := 1.0
	for a < 16 {
		down = float64(down*a) / (a + 0.5)
		a++
	}
	z := 1 / float64(a*a)
	series := horner(z, []float64{-1.0 / 8, 1.0 / 192, -1.0 / 640, 17.0 / 14336, -31.0 / 18432, 691.0 / 180224})
	return float64(down * math.Sqrt(a) * Exp(series/a))
}

// incompleteBetaFraction returns F with I_x(a,b) = x^a·(1−x)^b/(a·B(a,b))·F, by the continued fraction of the Digital Library of
// Mathematical Functions, 8.17.22, evaluated with the modified method of Lentz. It converges fast for x < (a+1)/(a+b+2).
func incompleteBetaFraction(x, a, b float64) float64 {
	const tiny = 1e-300
	keep := func(v float64) float64 {
		if math.Abs(v) < tiny {
			return tiny
		}
		return v
	}
	c := 1.0
	d := 1 / keep(1-float64(float64((a+b)*x)/(a+1)))
	f := d
	for m := 1.0; m <= 20000; m++ {
		even := float64(float64(m*(b-m))*x) / float64((a+float64(2*m)-1)*(a+float64(2*m)))
		d = 1 / keep(1+float64(even*d))
		c = keep(1 + even/c)
		f = float64(f * float64(d*c))
		odd := -float64(float64((a+m)*(a+b+m))*x) / float64((a+float64(2*m))*(a+float64(2*m)+1))
		d = 1 / keep(1+float64(odd*d))
		c = keep(1 + odd/c)
		step := float64(d * c)
		f = float64(f * step)
		if math.Abs(step-1) < 1e-16 {
			return f
		}
	}
	return math.NaN() // not reached for any argument that StudentTail hands over; a wrong number must not leave here
}

// StudentQuantile returns the t ≥ 0 for which a Student variable with nu degrees of freedom lies within ±t with probability p: the coverage factor
// of the Guide to the Expression of Uncertainty in Measurement, table G.2. nu > 0 need not be an integer; +Inf gives the normal quantile.
// Relative error below 1e-11. StudentQuantile(0, nu) = 0, StudentQuantile(1, nu) = +Inf; NaN for p outside [0, 1], nu ≤ 0 and NaN.
func StudentQuantile(p, nu float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(nu > 0):
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	z := NormalQuantile(0.5 + float64(0.5*p))
	if p < 0.5 {
		z = -NormalQuantile(0.5 - float64(0.5*p))
	}
	if math.IsInf(nu, 1) {
		return z
	}
	t := studentExpansion(z, nu)
	if nu >= manyFreedoms {
		return t
	}
	// The tail falls with t: bracket the root by doubling, then Newton's method inside a bracket that only shrinks.
	tail := 1 - p
	low, high := 0.0, math.Max(t, 1)
	for StudentTail(high, nu) > tail {
		low, high = high, float64(2*high)
		if math.IsInf(high, 1) {
			return high
		}
	}
	if !(t > low && t < high) {
		t = low + float64(0.5*(high-low))
	}
	for range 200 {
		excess := StudentTail(t, nu) - tail
		if excess > 0 {
			low = t
		} else {
			high = t
		}
		next := t + excess/float64(2*studentDensity(t, nu))
		if !(next > low && next < high) {
			next = low + float64(0.5*(high-low))
		}
		if math.Abs(next-t) <= float64(4e-16*next) {
			return next
		}
		t = next
	}
	return t
}

// studentExpansion returns the quantile near the normal quantile z by powers of 1/ν (Abramowitz & Stegun 26.7.5).
func studentExpansion(z, nu float64) float64 {
	w := float64(z * z)
	terms := []float64{
		1,
		horner(w, []float64{1, 1}) / 4,
		horner(w, []float64{3, 16, 5}) / 96,
		horner(w, []float64{-15, 17, 19, 3}) / 384,
		horner(w, []float64{-945, -1920, 1482, 776, 79}) / 92160,
	}
	return float64(z * horner(1/nu, terms))
}
