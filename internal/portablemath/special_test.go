package portablemath

import (
	"math"
	"testing"
)

// The special cases are those of IEEE 754 and the C standard, annex F, which package math follows too; it serves here as the oracle for the class of
// a result: NaN, infinite, zero or finite, and its sign. The digits are judged by the accuracy tests, since package math is no oracle for
// them: on amd64 its Log of a subnormal is wrong from the third digit on and its Pow strays by tens of ulp.
func TestSpecialCases(t *testing.T) {
	class := func(x float64) string {
		sign := "+"
		if math.Signbit(x) {
			sign = "-"
		}
		switch {
		case math.IsNaN(x):
			return "NaN"
		case math.IsInf(x, 0):
			return sign + "Inf"
		case x == 0:
			return sign + "0"
		case x == 1 || x == -1:
			return sign + "1"
		}
		return sign + "finite"
	}
	agree := func(name string, got, want float64, in ...float64) {
		t.Helper()
		if class(got) != class(want) && math.Abs(got-want) > 1e-15*math.Abs(want) {
			t.Errorf("%s%v = %v (%s), want %v (%s)", name, in, got, class(got), want, class(want))
		}
		if math.IsNaN(got) != math.IsNaN(want) {
			t.Errorf("%s%v = %v, want %v", name, in, got, want)
		}
	}
	mathExp := func(x float64) float64 { // math.Exp(709.78) is +Inf on amd64
		if x > -745.133 && x < -745 {
			return math.SmallestNonzeroFloat64 // above half of it; math.Exp2 gives up at −1074
		}
		return math.Exp2(x * math.Log2E)
	}
	mathAtan2 := func(y, x float64) float64 { return math.Copysign(math.Abs(math.Atan2(y, x)), y) } // math.Atan2 loses the sign where y/x underflows
	values := append([]float64{-0.3, -2, -3, -7.5, 5, 1e-310, -1e-310, 1e16, 0x1p53 + 2, -0x1p62}, edges...)
	for _, x := range values {
		agree("Exp", Exp(x), mathExp(x), x)
		agree("Expm1", Expm1(x), math.Expm1(x), x)
		agree("Log", Log(x), math.Log(x), x)
		agree("Log1p", Log1p(x), math.Log1p(x), x)
		agree("Cbrt", Cbrt(x), math.Cbrt(x), x)
		agree("Atan", Atan(x), math.Atan(x), x)
		agree("Asin", Asin(x), math.Asin(x), x)
		agree("Acos", Acos(x), math.Acos(x), x)
		agree("Erf", Erf(x), math.Erf(x), x)
		agree("Erfc", Erfc(x), math.Erfc(x), x)
		for _, y := range values {
			agree("Pow", Pow(x, y), math.Pow(x, y), x, y)
			agree("Hypot", Hypot(x, y), math.Hypot(x, y), x, y)
			agree("Atan2", Atan2(x, y), mathAtan2(x, y), x, y)
		}
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1.0000001 * MaxAngle, -1e300} {
		s, c := Sincos(x)
		for name, v := range map[string]float64{"Sin": Sin(x), "Cos": Cos(x), "Tan": Tan(x), "Sincos sine": s, "Sincos cosine": c} {
			if !math.IsNaN(v) {
				t.Errorf("%s(%v) = %v, want NaN", name, x, v)
			}
		}
	}
	for _, x := range []float64{0, math.Copysign(0, -1)} {
		s, _ := Sincos(x)
		if Sin(x) != x || math.Signbit(Sin(x)) != math.Signbit(x) || math.Signbit(s) != math.Signbit(x) || math.Signbit(Tan(x)) != math.Signbit(x) {
			t.Errorf("sine and tangent of %v lose its sign", x)
		}
	}
}

func TestSincosOfWholeAngles(t *testing.T) {
	for _, c := range []struct{ deg, sin, cos float64 }{
		{0, 0, 1}, {30, 0.5, math.Sqrt(3) / 2}, {60, math.Sqrt(3) / 2, 0.5}, {90, 1, 0}, {120, math.Sqrt(3) / 2, -0.5}, {150, 0.5, -math.Sqrt(3) / 2},
		{180, 0, -1}, {210, -0.5, -math.Sqrt(3) / 2}, {270, -1, 0}, {330, -0.5, math.Sqrt(3) / 2}, {360, 0, 1}, {-90, -1, 0}, {36000000090, 1, 0},
		{45, math.Sqrt2 / 2, math.Sqrt2 / 2},
	} {
		s, k := SincosDegrees(c.deg)
		if math.Abs(s-c.sin) > 0x1p-53 || math.Abs(k-c.cos) > 0x1p-53 || (c.sin == math.Trunc(2*c.sin)/2 && s != c.sin) || (c.cos == math.Trunc(2*c.cos)/2 && k != c.cos) {
			t.Errorf("SincosDegrees(%v°) = %v, %v, want %v, %v", c.deg, s, k, c.sin, c.cos)
		}
	}
	if s, c := SincosDegrees(math.Inf(1)); !math.IsNaN(s) || !math.IsNaN(c) {
		t.Errorf("SincosDegrees(+Inf) = %v, %v, want NaN", s, c)
	}
}

func TestDistributionEdges(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"NormalCDF(−Inf)", NormalCDF(math.Inf(-1)), 0},
		{"NormalCDF(+Inf)", NormalCDF(math.Inf(1)), 1},
		{"NormalCDF(0)", NormalCDF(0), 0.5},
		{"NormalQuantile(0)", NormalQuantile(0), math.Inf(-1)},
		{"NormalQuantile(½)", NormalQuantile(0.5), 0},
		{"NormalQuantile(1)", NormalQuantile(1), math.Inf(1)},
		{"NormalQuantile(−0.1)", NormalQuantile(-0.1), math.NaN()},
		{"NormalQuantile(NaN)", NormalQuantile(math.NaN()), math.NaN()},
		{"StudentQuantile(0.95, 0)", StudentQuantile(0.95, 0), math.NaN()},
		{"StudentQuantile(1.5, 3)", StudentQuantile(1.5, 3), math.NaN()},
		{"StudentQuantile(1, 3)", StudentQuantile(1, 3), math.Inf(1)},
		{"StudentQuantile(0, 3)", StudentQuantile(0, 3), 0},
		{"StudentQuantile(0.95, NaN)", StudentQuantile(0.95, math.NaN()), math.NaN()},
		{"StudentTail(0, 3)", StudentTail(0, 3), 1},
		{"StudentTail(Inf, 3)", StudentTail(math.Inf(1), 3), 0},
		{"StudentTail(1, −1)", StudentTail(1, -1), math.NaN()},
	} {
		if c.got != c.want && !(math.IsNaN(c.got) && math.IsNaN(c.want)) {
			t.Errorf("%s = %v, want %v", c.name, c.got, c.want)
		}
	}
}
