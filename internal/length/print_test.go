package length_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/length"
)

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		l        length.Length // pm
		unit     length.Unit
		decimals int
		want     string
		signed   string
		decimal  string
	}{
		{69_998_000_000, length.Millimetres, 3, "69.998 mm", "+69.998 mm", "69.998"},
		{-2_000_000, length.Micrometres, 1, "−2.0 µm", "−2.0 µm", "-2.0"},
		{10_500_000, length.Micrometres, 0, "11 µm", "+11 µm", "11"},    // half goes away from zero
		{-10_500_000, length.Micrometres, 0, "−11 µm", "−11 µm", "-11"}, // on both sides
		{10_499_999, length.Micrometres, 0, "10 µm", "+10 µm", "10"},
		{-400_000, length.Micrometres, 0, "0 µm", "0 µm", "0"}, // no sign on what rounds to nothing
		{0, length.Micrometres, 2, "0.00 µm", "0.00 µm", "0.00"},
		{999_960_000, length.Millimetres, 4, "1.0000 mm", "+1.0000 mm", "1.0000"}, // the carry reaches the whole number
		{3_810_000, length.Tenths, 1, "1.5 tenth", "+1.5 tenth", "1.5"},
		{70_000_000_000, length.Inches, 5, "2.75591 in", "+2.75591 in", "2.75591"}, // 70/25.4 = 2.755905…
		{5_000_000, length.Micrometres, -3, "5 µm", "+5 µm", "5"},
		{1, length.Metres, 40, "0.000000000001000000 m", "+0.000000000001000000 m", "0.000000000001000000"},
		{math.MaxInt64, length.Picometres, 0, "9223372036854775807 pm", "+9223372036854775807 pm", "9223372036854775807"},
		{math.MinInt64, length.Picometres, 1, "−9223372036854775808.0 pm", "−9223372036854775808.0 pm", "-9223372036854775808.0"},
	} {
		if got := length.Format(c.l, c.unit, c.decimals); got != c.want {
			t.Errorf("Format(%d pm, %s, %d) = %q; want %q", int64(c.l), c.unit, c.decimals, got, c.want)
		}
		if got := length.FormatSigned(c.l, c.unit, c.decimals); got != c.signed {
			t.Errorf("FormatSigned(%d pm, %s, %d) = %q; want %q", int64(c.l), c.unit, c.decimals, got, c.signed)
		}
		if got := length.Decimal(c.l, c.unit, c.decimals); got != c.decimal {
			t.Errorf("Decimal(%d pm, %s, %d) = %q; want %q", int64(c.l), c.unit, c.decimals, got, c.decimal)
		}
	}
}

func TestStringIsExactAndShort(t *testing.T) {
	for _, c := range []struct {
		l    length.Length // pm
		want string
	}{
		{69_998_000_000, "69.998 mm"}, {-1_500_000, "−1.5 µm"}, {0, "0 µm"}, {1, "0.000001 µm"},
		{70 * length.Millimetre, "70 mm"}, {100 * length.Micrometre, "100 µm"}, {-length.Millimetre, "−1 mm"},
		{999_999_999, "999.999999 µm"}, {25_400, "0.0254 µm"}, {math.MinInt64, "−9223372036.854775808 mm"},
	} {
		if got := c.l.String(); got != c.want {
			t.Errorf("(%d pm).String() = %q; want %q", int64(c.l), got, c.want)
		}
	}
}

// Rounding half away from zero, computed a second way: floor(|x|·10^d + 1/2) in big rationals.
func TestFormatRoundsAsRationalsDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := length.Length(rapid.Int64().Draw(t, "pm"))
		unit := rapid.SampledFrom(length.Units()).Draw(t, "unit")
		decimals := rapid.IntRange(0, 18).Draw(t, "decimals")
		ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil)
		doubled := new(big.Int).Mul(big.NewInt(int64(l)), ten)
		doubled.Abs(doubled).Mul(doubled, big.NewInt(2)).Add(doubled, big.NewInt(int64(unit.Length())))
		steps := doubled.Div(doubled, big.NewInt(2*int64(unit.Length())))
		want := new(big.Rat).SetFrac(steps, ten).FloatString(decimals)
		if l < 0 && steps.Sign() != 0 {
			want = "-" + want
		}
		if got := length.Decimal(l, unit, decimals); got != want {
			t.Fatalf("Decimal(%d pm, %s, %d) = %s; want %s", int64(l), unit, decimals, got, want)
		}
	})
}

func TestPrintingInAnUnknownUnitPanics(t *testing.T) {
	defer func() {
		if got := fmt.Sprint(recover()); got != `length: cannot print in unit "ell"; use ParseUnit for units from outside` {
			t.Errorf("panic %q", got)
		}
	}()
	length.Format(length.Inch, "ell", 1)
}

func TestLengthIsItsIntegerInJSON(t *testing.T) {
	got, err := json.Marshal(struct {
		Upper length.Length `json:"upper_pm"`
	}{-2_500_000})
	if err != nil || string(got) != `{"upper_pm":-2500000}` {
		t.Errorf("a deviation of −2.5 µm is %s in JSON, %v", got, err)
	}
}
