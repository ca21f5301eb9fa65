package jobfile

import (
	"fmt"
	"strconv"
	"strings"

	"runtrue/internal/spindle"
)

// written is a decimal number in its parts: ±digits × 10^exponent. Digits have no leading zeros and are empty for 0.
type written struct {
	negative bool
	digits   string
	exponent int
}

// exponentLimit holds exponents that nothing here can use anyway; beyond it they all mean the same.
const exponentLimit = 100_000

// decimalParts takes a number of JSON's grammar apart.
func decimalParts(text string) written {
	var w written
	text, w.negative = strings.CutPrefix(text, "-")
	mantissa, exponent := text, ""
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		mantissa, exponent = text[:i], text[i+1:]
	}
	if exponent != "" {
		n, err := strconv.Atoi(exponent) // digits with a sign; what does not fit is beyond every limit
		if err != nil {
			n = exponentLimit
			if exponent[0] == '-' {
				n = -exponentLimit
			}
		}
		w.exponent = min(max(n, -exponentLimit), exponentLimit)
	}
	whole, decimals, _ := strings.Cut(mantissa, ".")
	w.exponent -= len(decimals)
	w.digits = strings.TrimLeft(whole+decimals, "0")
	return w
}

// scaled returns the number as a whole multiple of 10^-places: 69.998 with nine places is 69 998 000 000. Nothing is rounded.
//
// Errors: [ErrTooFine], [ErrOutOfRange].
func scaled(text string, places int) (int64, error) {
	w := decimalParts(text)
	digits := strings.TrimRight(w.digits, "0")
	if digits == "" {
		return 0, nil
	}
	shift := w.exponent + len(w.digits) - len(digits) + places
	switch {
	case shift < 0:
		return 0, fmt.Errorf("%w: %s needs rounding; at most %d decimals are kept", ErrTooFine, text, places)
	case len(digits)+shift > 19: // 10^19 exceeds 64 bits
		return 0, fmt.Errorf("%w: %s is too large to be kept", ErrOutOfRange, text)
	}
	digits += strings.Repeat("0", shift)
	if w.negative {
		digits = "-" + digits
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("%w: %s is too large to be kept", ErrOutOfRange, text)
	}
	return n, nil
}

// unscaled writes n × 10^-places exactly, without zeros at the end: the reverse of scaled.
func unscaled(n int64, places int) string {
	digits, negative := strings.CutPrefix(strconv.FormatInt(n, 10), "-")
	if pad := places + 1 - len(digits); pad > 0 {
		digits = strings.Repeat("0", pad) + digits
	}
	number := digits[:len(digits)-places]
	if decimals := strings.TrimRight(digits[len(digits)-places:], "0"); decimals != "" {
		number += "." + decimals
	}
	if negative {
		number = "-" + number
	}
	return number
}

// quantityOf reads a number digit for digit: 8.50 keeps its last zero.
func quantityOf(text, unit, bound string) (spindle.Quantity, error) {
	w := decimalParts(text)
	q := spindle.Quantity{Exp10: w.exponent, Unit: unit, Bound: bound}
	if w.digits != "" {
		digits := w.digits
		if w.negative {
			digits = "-" + digits
		}
		n, err := strconv.ParseInt(digits, 10, 64)
		if err != nil {
			return q, fmt.Errorf("%w: %s has more digits than are kept, 18 are safe", ErrOutOfRange, text)
		}
		q.Value = n
	}
	if q.Exp10 < -18 || q.Exp10 > 18 {
		return q, fmt.Errorf("%w: %s is beyond 10^±18", ErrOutOfRange, text)
	}
	return q, nil
}

// QuantityText writes the number of a quantity digit for digit, as it was read: 8.50, or 85e3 where a power of ten stands behind it.
func QuantityText(q spindle.Quantity) string {
	if q.Exp10 > 0 {
		return strconv.FormatInt(q.Value, 10) + "e" + strconv.Itoa(q.Exp10)
	}
	digits, negative := strings.CutPrefix(strconv.FormatInt(q.Value, 10), "-")
	places := -q.Exp10
	if pad := places + 1 - len(digits); pad > 0 {
		digits = strings.Repeat("0", pad) + digits
	}
	if places > 0 {
		digits = digits[:len(digits)-places] + "." + digits[len(digits)-places:]
	}
	if negative {
		digits = "-" + digits
	}
	return digits
}
