package length_test

import (
	"errors"
	"math"
	"math/big"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"runtrue/internal/length"
)

func TestParseIsExact(t *testing.T) {
	for _, c := range []struct {
		text string
		want length.Length // pm
	}{
		{"69.998 mm", 69_998_000_000},
		{"69,998 mm", 69_998_000_000},
		{"2.75591 in", 70_000_114_000}, // 2.75591 × 25.4 mm
		{"2.75591in", 70_000_114_000},
		{`2.75591"`, 70_000_114_000},
		{"2.75591\u2033", 70_000_114_000},
		{"2.75591\u201d", 70_000_114_000},
		{"1 inch", 25_400_000_000},
		{"2 inches", 50_800_000_000},
		{"-2 µm", -2_000_000},
		{"\u22122 µm", -2_000_000},
		{"-2 um", -2_000_000},
		{"-2 \u03bcm", -2_000_000},
		{"+1.5 tenths", 3_810_000},
		{"1 tenth", 2_540_000},
		{"3 thou", 76_200_000},
		{"5 nm", 5_000},
		{"12 pm", 12},
		{"40 µin", 1_016_000},
		{"40 uin", 1_016_000},
		{"40\u03bcin", 1_016_000},
		{".0005 in", 12_700_000},
		{"0.05 µm", 50_000},
		{"0.5\u202fµm", 500_000}, // narrow no-break space, as pasted from print
		{"  70   mm  ", 70_000_000_000},
		{"0 mm", 0},
		{"-0.0 mm", 0},
		{"007 mm", 7_000_000_000},
		{"1 m", 1_000_000_000_000},
		{"0.000000000001 m", 1},
		{"0.000001000000000000000000000000000000 µm", 1},
		{"9223372036854775807 pm", math.MaxInt64},
		{"-9223372036854775807 pm", -math.MaxInt64},
		{"9223372.036854775807 m", math.MaxInt64},
	} {
		got, err := length.Parse(c.text)
		if err != nil || got != c.want {
			t.Errorf("Parse(%q) = %d pm, %v; want %d pm", c.text, int64(got), err, int64(c.want))
		}
	}
}

func TestParseSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		text string
		want error
		says string // part of the message
	}{
		{"", length.ErrMalformed, "nothing is written"},
		{"   ", length.ErrMalformed, "nothing is written"},
		{"mm", length.ErrMalformed, "begin with a number"},
		{"-mm", length.ErrMalformed, "begin with a number"},
		{"- 2 µm", length.ErrMalformed, "begin with a number"},
		{"--2 µm", length.ErrMalformed, "begin with a number"},
		{"+-2 µm", length.ErrMalformed, "begin with a number"},
		{"NaN mm", length.ErrMalformed, "begin with a number"},
		{"Inf mm", length.ErrMalformed, "begin with a number"},
		{"-Inf mm", length.ErrMalformed, "begin with a number"},
		{"5. mm", length.ErrMalformed, "digits must follow"},
		{". mm", length.ErrMalformed, "digits must follow"},
		{"1.2.3 mm", length.ErrMalformed, "at most one point"},
		{"1,234.5 mm", length.ErrMalformed, "at most one point"},
		{"1.234,5 mm", length.ErrMalformed, "at most one point"},
		{"1 234 mm", length.ErrMalformed, "no grouped digits"},
		{"1'234 mm", length.ErrMalformed, "no grouped digits"},
		{"1_234 mm", length.ErrMalformed, "no grouped digits"},
		{"1e3 mm", length.ErrMalformed, "exponent"},
		{"1E-3mm", length.ErrMalformed, "exponent"},
		{"0x1p4 mm", length.ErrMalformed, "exponent"},
		{"1/2 in", length.ErrMalformed, "fraction"},
		{"1 1/2 in", length.ErrMalformed, "fraction"},
		{"70 mm mm", length.ErrMalformed, "then the unit"},
		{"70 mm k4", length.ErrMalformed, "then the unit"},
		{"\u0667\u0660 mm", length.ErrMalformed, "plain digits"}, // Arabic-Indic digits
		{"70", length.ErrNoUnit, "one of pm, nm, µin, µm, tenth, thou, mm, in, m"},
		{"-0", length.ErrNoUnit, "one of"},
		{"70 furlong", length.ErrUnknownUnit, `"furlong" is none of pm, nm, µin, µm, tenth, thou, mm, in, m`},
		{"70 Mm", length.ErrUnknownUnit, `"Mm"`},
		{"70 cm", length.ErrUnknownUnit, `"cm"`},
		{`70 mm"`, length.ErrUnknownUnit, "none of"},
		{"0.5 pm", length.ErrInexact, "fewer decimals"},
		{"0.00000001 thou", length.ErrInexact, "fewer decimals"},
		{"0.00000000001 in", length.ErrInexact, "fewer decimals"},
		{"1.0000000000000000000000000001 mm", length.ErrInexact, "fewer decimals"},
		{"9223372036854775808 pm", length.ErrRange, "9223372036854775807 pm"},
		{"-9223372036854775808 pm", length.ErrRange, "9223372036854775807 pm"},
		{"9223372.036854775808 m", length.ErrRange, "9 223 km"},
		{"99999999999999999999999 mm", length.ErrRange, "9 223 km"},
	} {
		got, err := length.Parse(c.text)
		if !errors.Is(err, c.want) || got != 0 {
			t.Errorf("Parse(%q) = %d pm, %v; want 0 and %v", c.text, int64(got), err, c.want)
			continue
		}
		if !strings.Contains(err.Error(), c.says) {
			t.Errorf("Parse(%q): message %q does not say %q", c.text, err, c.says)
		}
		var facts *length.ParseError
		if !errors.As(err, &facts) || facts.Input != c.text {
			t.Errorf("Parse(%q): error %#v does not carry the input", c.text, err)
		}
	}
}

func TestParseErrorShortensLongInput(t *testing.T) {
	_, err := length.Parse(strings.Repeat("x", 100_000))
	if err == nil || len(err.Error()) > 400 {
		t.Errorf("message of %d bytes for 100 000 bytes of input; want an error below 400 bytes", len(err.Error()))
	}
}

func TestParseInGivesBareNumbersTheUnitAsked(t *testing.T) {
	for _, c := range []struct {
		text string
		unit length.Unit
		want length.Length // pm
		in   length.Unit
	}{
		{"70", length.Millimetres, 70 * length.Millimetre, length.Millimetres},
		{"-1,5", length.Micrometres, -1_500_000, length.Micrometres},
		{"2.5", length.Tenths, 6_350_000, length.Tenths},
		{"2.7559 in", length.Millimetres, 69_999_860_000, length.Inches},
		{"3um", length.Millimetres, 3 * length.Micrometre, length.Micrometres},
	} {
		got, err := length.ParseIn(c.text, c.unit)
		if err != nil || got != c.want {
			t.Errorf("ParseIn(%q, %q) = %d pm, %v; want %d pm", c.text, c.unit, int64(got), err, int64(c.want))
		}
		got, in, err := length.ParseWithUnit(c.text, c.unit)
		if err != nil || got != c.want || in != c.in {
			t.Errorf("ParseWithUnit(%q, %q) = %d pm in %q, %v; want %d pm in %q", c.text, c.unit, int64(got), in, err, int64(c.want), c.in)
		}
	}
	if _, err := length.ParseIn("70", "furlong"); !errors.Is(err, length.ErrNoUnit) {
		t.Errorf(`ParseIn("70", "furlong"): %v; want ErrNoUnit`, err)
	}
}

func TestParseUnit(t *testing.T) {
	for _, u := range length.Units() {
		got, err := length.ParseUnit(string(u))
		if err != nil || got != u || u.Length() <= 0 {
			t.Errorf("ParseUnit(%q) = %q (%d pm), %v; want itself, of positive size", u, got, int64(u.Length()), err)
		}
	}
	if u, err := length.ParseUnit("um"); err != nil || u != "µm" {
		t.Errorf(`ParseUnit("um") = %q, %v; want µm`, u, err)
	}
	if _, err := length.ParseUnit(""); !errors.Is(err, length.ErrNoUnit) {
		t.Errorf(`ParseUnit(""): %v; want ErrNoUnit`, err)
	}
	if _, err := length.ParseUnit("ell"); !errors.Is(err, length.ErrUnknownUnit) {
		t.Errorf(`ParseUnit("ell"): %v; want ErrUnknownUnit`, err)
	}
}

// Every decimal that big rationals call a whole number of picometres is read as that number, and every other is refused for the reason
// the rationals give.
func TestParseAgreesWithRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.StringMatching(`[+-]?[0-9]{1,14}(\.[0-9]{1,14})?`).Draw(t, "number")
		unit := rapid.SampledFrom(length.Units()).Draw(t, "unit")
		exact, ok := new(big.Rat).SetString(number)
		if !ok {
			t.Fatalf("%q is no rational", number)
		}
		exact.Mul(exact, new(big.Rat).SetInt64(int64(unit.Length())))
		got, err := length.Parse(number + " " + string(unit))
		limit := new(big.Rat).SetInt64(math.MaxInt64)
		switch {
		case new(big.Rat).Abs(exact).Cmp(limit) > 0:
			if err == nil {
				t.Fatalf("%s %s read as %d pm; it does not fit", number, unit, int64(got))
			}
		case !exact.IsInt():
			if !errors.Is(err, length.ErrInexact) {
				t.Fatalf("%s %s: %d pm, %v; want ErrInexact", number, unit, int64(got), err)
			}
		default:
			if err != nil || exact.Cmp(new(big.Rat).SetInt64(int64(got))) != 0 {
				t.Fatalf("%s %s = %d pm, %v; want %s pm", number, unit, int64(got), err, exact.RatString())
			}
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"69.998 mm", "69,998mm", `2.75591"`, "\u22122 µm", "+1.5 tenths", "1,2.3 mm", "1e9 m", "9223372.036854775807 m", "5 \xffm", "", "-"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		l, err := length.Parse(s)
		if err != nil {
			kinds := 0
			for _, kind := range []error{length.ErrMalformed, length.ErrNoUnit, length.ErrUnknownUnit, length.ErrInexact, length.ErrRange} {
				if errors.Is(err, kind) {
					kinds++
				}
			}
			if kinds != 1 || l != 0 || !utf8.ValidString(err.Error()) {
				t.Fatalf("Parse(%q) = %d pm, %v: is %d of the kinds of error; want exactly one, and 0 pm", s, int64(l), err, kinds)
			}
			return
		}
		for _, again := range []string{l.String(), length.Format(l, length.Millimetres, 9), length.FormatSigned(l, length.Micrometres, 6),
			length.Decimal(l, length.Picometres, 0) + "pm"} {
			if back, err := length.Parse(again); err != nil || back != l {
				t.Fatalf("Parse(%q) = %d pm, printed %q, read back as %d pm, %v", s, int64(l), again, int64(back), err)
			}
		}
	})
}
