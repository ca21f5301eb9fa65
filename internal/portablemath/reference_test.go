package portablemath

import (
	"math"
	"math/big"
)

// The reference: every function again by series in arithmetic of several hundred bits, with nothing in common with the code under test.

const precision = 320

func newBig() *big.Float             { return new(big.Float).SetPrec(precision) }
func fromFloat(x float64) *big.Float { return newBig().SetFloat64(x) }
func fromInt(n int64) *big.Float     { return newBig().SetInt64(n) }

func add(a, b *big.Float) *big.Float { return newBig().Add(a, b) }
func sub(a, b *big.Float) *big.Float { return newBig().Sub(a, b) }
func mul(a, b *big.Float) *big.Float { return newBig().Mul(a, b) }
func quo(a, b *big.Float) *big.Float { return newBig().Quo(a, b) }
func sqrt(a *big.Float) *big.Float   { return newBig().Sqrt(a) }
func neg(a *big.Float) *big.Float    { return newBig().Neg(a) }
func abs(a *big.Float) *big.Float    { return newBig().Abs(a) }

func negligible(term, sum *big.Float) bool {
	return term.Sign() == 0 || term.MantExp(nil) < sum.MantExp(nil)-precision-8
}

// artanhSeries returns Σ s^(2j+1)/(2j+1), or the alternating one, which is the arc tangent.
func artanhSeries(s *big.Float, alternating bool) *big.Float {
	z := mul(s, s)
	if alternating {
		z.Neg(z)
	}
	sum, power := newBig().Set(s), newBig().Set(s)
	for k := int64(3); ; k += 2 {
		power = mul(power, z)
		term := quo(power, fromInt(k))
		if negligible(term, sum) {
			return sum
		}
		sum.Add(sum, term)
	}
}

var (
	bigLn2 = mul(fromInt(2), artanhSeries(quo(fromInt(1), fromInt(3)), false))
	// J. Machin's formula of 1706.
	bigPi = sub(mul(fromInt(16), artanhSeries(quo(fromInt(1), fromInt(5)), true)),
		mul(fromInt(4), artanhSeries(quo(fromInt(1), fromInt(239)), true)))
)

func bigExp(x *big.Float) *big.Float {
	if x.Sign() == 0 {
		return fromInt(1)
	}
	k, _ := quo(x, bigLn2).Int64()
	const halvings = 12
	r := sub(x, mul(fromInt(k), bigLn2))
	r.SetMantExp(r, -halvings)
	sum, term := fromInt(1), fromInt(1)
	for n := int64(1); ; n++ {
		term = quo(mul(term, r), fromInt(n))
		if negligible(term, sum) {
			break
		}
		sum.Add(sum, term)
	}
	for range halvings {
		sum = mul(sum, sum)
	}
	return sum.SetMantExp(sum, int(k))
}

func bigExpm1(x *big.Float) *big.Float {
	if x.MantExp(nil) > -40 {
		return sub(bigExp(x), fromInt(1))
	}
	sum, term := newBig().Set(x), newBig().Set(x)
	for n := int64(2); ; n++ {
		term = quo(mul(term, x), fromInt(n))
		if negligible(term, sum) {
			return sum
		}
		sum.Add(sum, term)
	}
}

func bigLog(x *big.Float) *big.Float {
	if x.Cmp(fromInt(1)) == 0 {
		return newBig()
	}
	mant := newBig()
	k := x.MantExp(mant) // mant in [½, 1)
	if mant.Cmp(fromFloat(0.7)) < 0 {
		mant.Mul(mant, fromInt(2))
		k--
	}
	roots := 0
	if k != 0 {
		for ; roots < 6; roots++ {
			mant = sqrt(mant)
		}
	}
	l := artanhSeries(quo(sub(mant, fromInt(1)), add(mant, fromInt(1))), false)
	l.SetMantExp(l, roots+1)
	return add(l, mul(fromInt(int64(k)), bigLn2))
}

func bigLog1p(x *big.Float) *big.Float {
	if x.MantExp(nil) < -10 {
		return mul(fromInt(2), artanhSeries(quo(x, add(x, fromInt(2))), false))
	}
	return bigLog(add(x, fromInt(1)))
}

// bigSincos reduces by quarters of a turn and sums the power series.
func bigSincos(x *big.Float) (s, c *big.Float) {
	n, _ := add(quo(mul(x, fromInt(2)), bigPi), fromFloat(math.Copysign(0.5, float64(x.Sign())))).Int64()
	r := sub(x, quo(mul(fromInt(n), bigPi), fromInt(2)))
	z := neg(mul(r, r))
	series := func(first *big.Float, k int64) *big.Float {
		sum, term := newBig().Set(first), newBig().Set(first)
		for ; ; k += 2 {
			term = quo(mul(term, z), fromInt(k*(k+1)))
			if negligible(term, sum) {
				return sum
			}
			sum.Add(sum, term)
		}
	}
	s, c = series(r, 2), series(fromInt(1), 1)
	switch ((n % 4) + 4) % 4 {
	case 1:
		s, c = c, neg(s)
	case 2:
		s, c = neg(s), neg(c)
	case 3:
		s, c = neg(c), s
	}
	return s, c
}

func bigAtan(x *big.Float) *big.Float {
	doublings := 0
	for ; doublings < 10; doublings++ { // arctan x = 2·arctan(x/(1+√(1+x²)))
		x = quo(x, add(fromInt(1), sqrt(add(fromInt(1), mul(x, x)))))
	}
	a := artanhSeries(x, true)
	return a.SetMantExp(a, doublings)
}

// bigAtan2 is for x ≠ 0.
func bigAtan2(y, x *big.Float) *big.Float {
	a := bigAtan(quo(y, x))
	if x.Sign() > 0 {
		return a
	}
	if y.Sign() < 0 {
		return sub(a, bigPi)
	}
	return add(a, bigPi)
}

func bigAsin(x *big.Float) *big.Float {
	d := sub(fromInt(1), mul(x, x))
	if d.Sign() == 0 {
		return mul(x, quo(bigPi, fromInt(2)))
	}
	return bigAtan(quo(x, sqrt(d)))
}

func bigAcos(x *big.Float) *big.Float {
	// arccos x = 2·arctan(√((1−x)/(1+x)))
	if add(fromInt(1), x).Sign() == 0 {
		return bigPi
	}
	return mul(fromInt(2), bigAtan(sqrt(quo(sub(fromInt(1), x), add(fromInt(1), x)))))
}

// bigErf sums 2/√π·e^(−x²)·Σ 2ⁿ·x^(2n+1)/(1·3·…·(2n+1)), all of one sign, with guard bits for erfc.
func bigErf(x *big.Float, prec uint) *big.Float {
	wide := func() *big.Float { return new(big.Float).SetPrec(prec) }
	z := wide().Mul(x, x)
	twice := wide().Mul(z, fromInt(2))
	sum, term := wide().Set(x), wide().Set(x)
	for k := int64(3); ; k += 2 {
		term = wide().Quo(wide().Mul(term, twice), wide().SetInt64(k))
		if term.Sign() == 0 || term.MantExp(nil) < sum.MantExp(nil)-int(prec)-8 {
			break
		}
		sum.Add(sum, term)
	}
	return sum.Mul(sum, wide().Quo(wide().SetInt64(2), wide().Mul(expWide(z, prec), wide().Sqrt(piWide(prec)))))
}

func bigErfc(x *big.Float) *big.Float {
	f, _ := x.Float64()
	prec := uint(precision)
	if f > 0 {
		prec += uint(f*f*1.45) + 20
	}
	e := new(big.Float).SetPrec(prec).Sub(new(big.Float).SetInt64(1), bigErf(x, prec))
	return newBig().Set(e)
}

// expWide and piWide repeat the series at a precision of choice.
func expWide(x *big.Float, prec uint) *big.Float {
	wide := func() *big.Float { return new(big.Float).SetPrec(prec + 40) }
	halvings := x.MantExp(nil) + 20
	if halvings < 0 {
		halvings = 0
	}
	r := wide().SetMantExp(wide().Set(x), -halvings)
	sum, term := wide().SetInt64(1), wide().SetInt64(1)
	for n := int64(1); ; n++ {
		term = wide().Quo(wide().Mul(term, r), wide().SetInt64(n))
		if term.Sign() == 0 || term.MantExp(nil) < -int(prec)-60 {
			break
		}
		sum.Add(sum, term)
	}
	for range halvings {
		sum = wide().Mul(sum, sum)
	}
	return sum
}

var widePi = map[uint]*big.Float{}

func piWide(prec uint) *big.Float {
	if p, ok := widePi[prec]; ok {
		return p
	}
	wide := func() *big.Float { return new(big.Float).SetPrec(prec + 40) }
	arctanInverse := func(n int64) *big.Float {
		square := wide().SetInt64(-n * n)
		power := wide().Quo(wide().SetInt64(1), wide().SetInt64(n))
		sum := wide().Set(power)
		for k := int64(3); ; k += 2 {
			power = wide().Quo(power, square)
			term := wide().Quo(power, wide().SetInt64(k))
			if term.MantExp(nil) < -int(prec)-50 {
				return sum
			}
			sum.Add(sum, term)
		}
	}
	p := wide().Sub(wide().Mul(wide().SetInt64(16), arctanInverse(5)), wide().Mul(wide().SetInt64(4), arctanInverse(239)))
	widePi[prec] = p
	return p
}

func bigNormalCDF(x *big.Float) *big.Float {
	e := bigErfc(neg(quo(x, sqrt(fromInt(2)))))
	return e.SetMantExp(e, -1)
}

// ulps returns the distance of got from the exact value want, in units in the last place of want as a float64.
func ulps(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	if math.IsInf(w, 0) || w == 0 {
		if got == w {
			return 0
		}
		return math.Inf(1)
	}
	_, e := math.Frexp(w)
	unit := math.Ldexp(1, max(e-53, -1074))
	d, _ := quo(abs(sub(fromFloat(got), want)), fromFloat(unit)).Float64()
	return d
}
