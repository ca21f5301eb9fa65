// Package portablemath computes the elementary functions that the verdicts rest on, with the same bits on every target.
//
// A verdict computed in a browser beside the spindle and the verdict computed on the server must agree to the last bit, or a part on the limit is
// cleared in one place and held in the other. Go's own package math does not promise that: it uses assembly on some targets, and
// on others the compiler fuses x*y + z into one operation with a single rounding. This package uses one algorithm for all targets and
// obeys one rule:
//
//	Every product is an argument of float64(...), unless it is itself a factor or a dividend of a larger product.
//
// The language says that such a conversion rounds, which forbids fusing, also across statements and inlined calls. A test parses the
// sources and refuses a product that breaks the rule; another compares frozen bit patterns on whatever target runs it. From
// package math come only operations that IEEE 754 or the language fixes exactly: Sqrt, Abs, Floor, RoundToEven, Mod and the inspection of bits.
//
// Accuracy is given per function in units in the last place (ulp), as measured against arithmetic of several hundred bits.
//
// Coefficients of rational and polynomial approximations are those published by Sun Microsystems in FDLIBM (the FreeBSD "msun" library):
// k_sin, k_cos, s_atan, e_asin, e_exp, s_expm1, e_log, s_erf. The normal quantile starts from algorithm AS 241 (M. J. Wichura, Applied Statistics
// 37 (1988) 477). The reductions, the two-part arithmetic around the kernels and the code are this package's own.
package portablemath

import "math"

const (
	ln2Hi = 6.93147180369123816490e-01 // upper 32 bits of ln 2: an integer below 2^21 times this is exact
	ln2Lo = 1.90821492927058770002e-10 // ln 2 − ln2Hi
	log2e = 1.44269504088896338700e+00

	smallestNormal = 0x1p-1022
)

// A pair is an unevaluated sum hi + lo with |lo| at most half a unit in the last place of hi: about 106 bits.
type pair struct{ hi, lo float64 }

// twoSum returns a + b exactly as a pair (D. E. Knuth, The Art of Computer Programming 2, 4.2.2 theorem B).
func twoSum(a, b float64) pair {
	s := a + b
	t := s - a
	return pair{s, (a - (s - t)) + (b - t)}
}

// fastTwoSum is twoSum for |a| ≥ |b| (T. J. Dekker, Numerische Mathematik 18 (1971) 224).
func fastTwoSum(a, b float64) pair {
	s := a + b
	return pair{s, b - (s - a)}
}

// split cuts a into halves of 26 bits that sum to a exactly (G. W. Veltkamp, in Dekker 1971). |a| < 2^995.
func split(a float64) (hi, lo float64) {
	c := float64(134217729 * a) // 2^27 + 1
	hi = c - (c - a)
	return hi, a - hi
}

// twoProduct returns a·b exactly as a pair, provided that nothing overflows and the product is above about 2^-969 (Dekker 1971).
func twoProduct(a, b float64) pair {
	p := float64(a * b)
	ah, al := split(a)
	bh, bl := split(b)
	e := float64(ah*bh) - p
	e += float64(ah * bl)
	e += float64(al * bh)
	return pair{p, e + float64(al*bl)}
}

func (a pair) add(b pair) pair {
	s := twoSum(a.hi, b.hi)
	return fastTwoSum(s.hi, s.lo+(a.lo+b.lo))
}

func (a pair) times(b pair) pair {
	p := twoProduct(a.hi, b.hi)
	return fastTwoSum(p.hi, p.lo+(float64(a.hi*b.lo)+float64(a.lo*b.hi)))
}

func (a pair) timesFloat(b float64) pair {
	p := twoProduct(a.hi, b)
	return fastTwoSum(p.hi, p.lo+float64(a.lo*b))
}

func (a pair) over(b pair) pair {
	q := a.hi / b.hi
	p := twoProduct(q, b.hi)
	r := (a.hi - p.hi) - p.lo + (a.lo - float64(q*b.lo))
	return fastTwoSum(q, r/b.hi)
}

// horner returns c[0] + c[1]·x + c[2]·x² + …, each product rounded.
func horner(x float64, c []float64) float64 {
	s := c[len(c)-1]
	for i := len(c) - 2; i >= 0; i-- {
		s = float64(s*x) + c[i]
	}
	return s
}

// scale returns y·2^k with one rounding, for |y| in [1/4, 4] and any k.
func scale(y float64, k int) float64 {
	switch {
	case k > 1000:
		if k > 1100 {
			k = 1100
		}
		return float64(float64(y*0x1p1000) * powerOfTwo(k-1000))
	case k < -1000:
		if k < -1200 {
			k = -1200
		}
		return float64(float64(y*powerOfTwo(k+200)) * 0x1p-200)
	}
	return float64(y * powerOfTwo(k))
}

// powerOfTwo returns 2^k for −1022 ≤ k ≤ 1023.
func powerOfTwo(k int) float64 { return math.Float64frombits(uint64(k+1023) << 52) }

// significand writes a positive finite x as m·2^k with m in [1, 2).
func significand(x float64) (m float64, k int) {
	if x < smallestNormal {
		x = float64(x * 0x1p54)
		k = -54
	}
	bits := math.Float64bits(x)
	k += int(bits>>52) - 1023
	return math.Float64frombits(bits&(1<<52-1) | 1023<<52), k
}
