package jobfile

import (
	"errors"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func TestScaledTakesEveryDigit(t *testing.T) {
	for _, c := range []struct {
		text   string
		places int
		want   int64
		err    error
	}{
		{"69.998", 9, 69_998_000_000, nil},
		{"-0.5", 6, -500_000, nil},
		{"-0", 6, 0, nil},
		{"1e-6", 6, 1, nil},
		{"1E+3", 6, 1_000_000_000, nil},
		{"1.50e2", 6, 150_000_000, nil},
		{"0.0000010", 6, 1, nil},
		{"0e999", 6, 0, nil},
		{"9223372036854.775807", 6, 9223372036854775807, nil},
		{"-9223372036854.775808", 6, -9223372036854775808, nil},
		{"9223372036854.775808", 6, 0, ErrOutOfRange},
		{"1e999", 6, 0, ErrOutOfRange},
		{"1e99999999999999999999", 6, 0, ErrOutOfRange},
		{"1e-99999999999999999999", 6, 0, ErrTooFine},
		{"0.0000001", 6, 0, ErrTooFine},
		{"0.30000000000000004", 6, 0, ErrTooFine},
		{"359.9995", 3, 0, ErrTooFine},
	} {
		got, err := scaled(c.text, c.places)
		if got != c.want || !errors.Is(err, c.err) {
			t.Errorf("scaled(%s, %d places) = %d, %v; want %d, %v", c.text, c.places, got, err, c.want, c.err)
		}
	}
}

// Against exact rational arithmetic of the library.
func TestScaledAgainstRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`-?(0|[1-9][0-9]{0,12})(\.[0-9]{1,9})?([eE][+-]?[0-9]{1,2})?`).Draw(t, "number")
		places := rapid.IntRange(0, 9).Draw(t, "places")
		r, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Fatalf("%s is no rational", text)
		}
		r.Mul(r, new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)))
		got, err := scaled(text, places)
		switch {
		case !r.IsInt():
			if !errors.Is(err, ErrTooFine) {
				t.Fatalf("scaled(%s, %d) = %d, %v; want too fine", text, places, got, err)
			}
		case !r.Num().IsInt64():
			if !errors.Is(err, ErrOutOfRange) {
				t.Fatalf("scaled(%s, %d) = %d, %v; want out of range", text, places, got, err)
			}
		case err != nil || got != r.Num().Int64():
			t.Fatalf("scaled(%s, %d) = %d, %v; want %s", text, places, got, err, r.Num())
		}
	})
}

func TestUnscaledIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64().Draw(t, "n")
		places := rapid.SampledFrom([]int{0, 3, 6, 9}).Draw(t, "places")
		text := unscaled(n, places)
		if got, err := scaled(text, places); err != nil || got != n || numberLength(text) != len(text) {
			t.Fatalf("%d with %d places is written %s and read %d, %v", n, places, text, got, err)
		}
	})
}

func TestQuantityKeepsItsDigits(t *testing.T) {
	for _, text := range []string{"8.50", "0.05", "0", "-12", "2000", "85e3", "0.0"} {
		q, err := quantityOf(text, "kN", "")
		if err != nil || QuantityText(q) != text {
			t.Errorf("%s comes back as %s, %v", text, QuantityText(q), err)
		}
	}
	for _, text := range []string{"1e19", "1e-19", "12345678901234567890"} {
		if _, err := quantityOf(text, "kN", ""); !errors.Is(err, ErrOutOfRange) {
			t.Errorf("%s: %v; want out of range", text, err)
		}
	}
}
