package portablemath

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// seed makes the random samples; it is printed by a failing test.
const seed = 20261125

type one struct {
	name     string
	got      func(float64) float64
	want     func(*big.Float) *big.Float
	bound    float64 // ulp
	from, to float64
	scale    string // "even": spread evenly; "log": magnitude spread evenly in its exponent, both signs if from < 0
	n        int
}

func sinOf(x *big.Float) *big.Float { s, _ := bigSincos(x); return s }
func cosOf(x *big.Float) *big.Float { _, c := bigSincos(x); return c }
func tanOf(x *big.Float) *big.Float { s, c := bigSincos(x); return quo(s, c) }

func degrees(x *big.Float) *big.Float { return quo(mul(x, bigPi), fromInt(180)) }

func TestAccuracyOfOneArgument(t *testing.T) {
	cube := func(x *big.Float) *big.Float { // x^(1/3) by Newton's method
		a := abs(x)
		f, _ := a.Float64()
		r := fromFloat(math.Cbrt(f))
		for range 6 {
			r = quo(add(mul(fromInt(2), r), quo(a, mul(r, r))), fromInt(3))
		}
		if x.Sign() < 0 {
			r.Neg(r)
		}
		return r
	}
	for _, c := range []one{
		{"Exp", Exp, bigExp, 1, -745, 709.7, "even", 4000},
		{"Exp", Exp, bigExp, 1, -1, 1, "even", 4000},
		{"Exp", Exp, bigExp, 1, -1e-18, 1, "log", 1000},
		{"Expm1", Expm1, bigExpm1, 1, -2, 2, "even", 6000},
		{"Expm1", Expm1, bigExpm1, 1, -60, 709, "even", 3000},
		{"Expm1", Expm1, bigExpm1, 1, -1e-20, 1, "log", 2000},
		{"Log", Log, bigLog, 1, 0.4, 2.5, "even", 4000},
		{"Log", Log, bigLog, 1, 1e-320, 1e308, "log", 4000},
		{"Log1p", Log1p, bigLog1p, 1, -0.999, 3, "even", 4000},
		{"Log1p", Log1p, bigLog1p, 1, -1e-20, 0.99, "log", 3000},
		{"Log1p", Log1p, bigLog1p, 1, 1e-20, 1e300, "log", 2000},
		{"Cbrt", Cbrt, cube, 0.51, -30, 30, "even", 3000},
		{"Cbrt", Cbrt, cube, 0.51, -1e-320, 1e308, "log", 3000},
		{"Sin", Sin, sinOf, 0.7, -10, 10, "even", 4000},
		{"Sin", Sin, sinOf, 0.7, -1e-20, MaxAngle, "log", 3000},
		{"Cos", Cos, cosOf, 0.7, -10, 10, "even", 4000},
		{"Cos", Cos, cosOf, 0.7, -1e-5, MaxAngle, "log", 3000},
		{"Tan", Tan, tanOf, 1, -10, 10, "even", 4000},
		{"Tan", Tan, tanOf, 1, -1e-20, MaxAngle, "log", 3000},
		{"SincosDegrees, sine", func(d float64) float64 { s, _ := SincosDegrees(d); return s },
			func(x *big.Float) *big.Float { return sinOf(degrees(x)) }, 0.7, -800, 800, "even", 3000},
		{"SincosDegrees, cosine", func(d float64) float64 { _, c := SincosDegrees(d); return c },
			func(x *big.Float) *big.Float { return cosOf(degrees(x)) }, 0.7, -800, 800, "even", 3000},
		{"Atan", Atan, bigAtan, 1, -4, 4, "even", 4000},
		{"Atan", Atan, bigAtan, 1, -1e-20, 1e20, "log", 2000},
		{"Asin", Asin, bigAsin, 1, -1, 1, "even", 6000},
		{"Asin", Asin, bigAsin, 1, -1e-12, 1, "log", 1000},
		{"Acos", Acos, bigAcos, 1, -1, 1, "even", 6000},
		{"Acos", Acos, bigAcos, 1, -1e-12, 1, "log", 1000},
		{"Erf", Erf, func(x *big.Float) *big.Float { return bigErf(x, precision) }, 1, -6, 6, "even", 3000},
		{"Erf", Erf, func(x *big.Float) *big.Float { return bigErf(x, precision) }, 1, -1e-320, 1, "log", 1000},
		{"Erfc", Erfc, bigErfc, 2, -6, 6, "even", 3000},
		{"Erfc", Erfc, bigErfc, 2, 6, 27.3, "even", 400},
		{"NormalCDF", NormalCDF, bigNormalCDF, 2, -8, 8, "even", 3000},
		{"NormalCDF", NormalCDF, bigNormalCDF, 2, -38.6, -8, "even", 400},
	} {
		r := rand.New(rand.NewPCG(seed, uint64(c.n)))
		worst, at := 0.0, 0.0
		for i := range c.n {
			share := (float64(i) + r.Float64()) / float64(c.n) // dense and random: one at random in each of n cells
			x := c.from + share*(c.to-c.from)
			if c.scale == "log" {
				lo, hi := math.Log(math.Abs(c.from)), math.Log(c.to)
				x = math.Exp(lo + share*(hi-lo))
				if x > c.to {
					x = c.to
				}
				if c.from < 0 && r.IntN(2) == 0 {
					x = -x
				}
			}
			if e := ulps(c.got(x), c.want(fromFloat(x))); !(e <= worst) {
				worst, at = e, x
			}
		}
		t.Logf("%s on [%g, %g]: worst %.3f ulp at %v", c.name, c.from, c.to, worst, at)
		if !(worst <= c.bound) {
			want, _ := c.want(fromFloat(at)).Float64()
			t.Errorf("%s(%v [%x]) = %v, exact %v: %.3f ulp off, promised %.2f; seed %d", c.name, at, at, c.got(at), want, worst, c.bound, seed)
		}
	}
}

func TestAccuracyOfTwoArguments(t *testing.T) {
	bigPow := func(x, y float64) *big.Float { return bigExp(mul(fromFloat(y), bigLog(fromFloat(x)))) }
	bigHypot := func(x, y float64) *big.Float {
		return sqrt(add(mul(fromFloat(x), fromFloat(x)), mul(fromFloat(y), fromFloat(y))))
	}
	r := rand.New(rand.NewPCG(seed, 2))
	magnitude := func(lo, hi float64) float64 {
		return math.Exp(math.Log(lo) + r.Float64()*(math.Log(hi)-math.Log(lo)))
	}
	sign := func(x float64) float64 {
		if r.IntN(2) == 0 {
			return -x
		}
		return x
	}
	for _, c := range []struct {
		name  string
		got   func(x, y float64) float64
		want  func(x, y float64) *big.Float
		draw  func() (x, y float64)
		bound float64
	}{
		{"Pow, all sizes", Pow, bigPow, func() (float64, float64) {
			x := magnitude(1e-300, 1e300)
			return x, (r.Float64()*2 - 1) * 705 / math.Abs(math.Log(x))
		}, 1},
		{"Pow, near 1", Pow, bigPow, func() (float64, float64) {
			d := sign(magnitude(1e-15, 0.3))
			return 1 + d, (r.Float64()*2 - 1) * 700 / math.Abs(d)
		}, 1},
		{"Pow, usual exponents", Pow, bigPow, func() (float64, float64) { return r.Float64() * 100, r.Float64()*6 - 3 }, 1},
		{"Hypot", Hypot, bigHypot, func() (float64, float64) { return sign(magnitude(1e-300, 1e300)), sign(magnitude(1e-300, 1e300)) }, 0.51},
		{"Hypot, like sizes", Hypot, bigHypot, func() (float64, float64) { x := magnitude(1e-300, 1e300); return x, x * (0.1 + r.Float64()*5) }, 0.51},
		{"Atan2", func(x, y float64) float64 { return Atan2(y, x) }, func(x, y float64) *big.Float { return bigAtan2(fromFloat(y), fromFloat(x)) },
			func() (float64, float64) { return sign(r.Float64() * 10), sign(r.Float64() * 10) }, 2},
	} {
		worst, atX, atY := 0.0, 0.0, 0.0
		for range 5000 {
			x, y := c.draw()
			want := c.want(x, y)
			if f, _ := want.Float64(); math.IsInf(f, 0) || f == 0 {
				continue
			}
			if e := ulps(c.got(x, y), want); !(e <= worst) {
				worst, atX, atY = e, x, y
			}
		}
		t.Logf("%s: worst %.3f ulp at (%v, %v)", c.name, worst, atX, atY)
		if !(worst <= c.bound) {
			t.Errorf("%s at (%v, %v): %v is %.3f ulp off, promised %.2f; seed %d", c.name, atX, atY, c.got(atX, atY), worst, c.bound, seed)
		}
	}
}

// The quantile is right when the distribution at its neighbours encloses p: |Φ(x) − p| ≤ 3 ulp(x)·φ(x), Φ taken at several hundred bits.
func TestNormalQuantileInvertsTheDistribution(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 3))
	worst, at := 0.0, 0.0
	for i := range 3000 {
		p := (float64(i) + r.Float64()) / 3000
		if i%2 == 0 {
			p = math.Exp(-r.Float64() * 690)
			if i%400 != 0 && p < 1e-60 { // the far tail is slow to compute in the reference
				p = math.Exp(-r.Float64() * 100)
			}
		}
		x := NormalQuantile(p)
		density := mul(bigExp(quo(mul(fromFloat(x), fromFloat(-x)), fromInt(2))), fromFloat(inverseSqrtTwoPi))
		exact := sub(fromFloat(x), quo(sub(bigNormalCDF(fromFloat(x)), fromFloat(p)), density)) // Newton: error of second order
		if e := ulps(x, exact); !(e <= worst) {
			worst, at = e, p
		}
	}
	t.Logf("NormalQuantile: worst %.3f ulp at p = %v", worst, at)
	if !(worst <= 3) {
		t.Errorf("NormalQuantile(%v) is %.3f ulp off, promised 3; seed %d", at, worst, seed)
	}
}

// The two-part constants are what they claim, to the last bit of the second part.
func TestConstants(t *testing.T) {
	for _, c := range []struct {
		name string
		got  pair
		want *big.Float
	}{
		{"ln 2", ln2Pair, bigLn2},
		{"1/√2", inverseSqrt2, quo(fromInt(1), sqrt(fromInt(2)))},
		{"π/180", degreePair, quo(bigPi, fromInt(180))},
		{"π", pair{math.Pi, piLo}, bigPi},
		{"π/2", pair{halfPi, halfPiLo}, quo(bigPi, fromInt(2))},
		{"arctan ½", atanAnchors[0], bigAtan(fromFloat(0.5))},
		{"arctan 1", atanAnchors[1], bigAtan(fromFloat(1))},
		{"arctan 3/2", atanAnchors[2], bigAtan(fromFloat(1.5))},
	} {
		off, _ := quo(abs(sub(sub(c.want, fromFloat(c.got.hi)), fromFloat(c.got.lo))), c.want).Float64()
		if off > 0x1p-104 {
			t.Errorf("%s = %v + %v is off by %g of its value", c.name, c.got.hi, c.got.lo, off)
		}
	}
	sum := add(add(fromFloat(halfPi1), fromFloat(halfPi2)), add(fromFloat(halfPi3), fromFloat(halfPi4)))
	if off, _ := abs(sub(sum, quo(bigPi, fromInt(2)))).Float64(); off > 1e-47 {
		t.Errorf("the four parts of π/2 are off by %g", off)
	}
}
