package length

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strings"
	"unicode"
	"unicode/utf8"
)

// What can be wrong with a written length. Compare with errors.Is; the error itself is a *ParseError.
var (
	ErrMalformed   = errors.New("not a length")                  // the text cannot be read as a number and a unit
	ErrNoUnit      = errors.New("no unit")                       // a number alone
	ErrUnknownUnit = errors.New("unknown unit")                  // a number and a word that is no unit of length here
	ErrInexact     = errors.New("finer than a picometre")        // readable, but no whole number of picometres
	ErrRange       = errors.New("beyond what a length can hold") // above 9 223 372 036 854 775 807 pm in size
)

// ParseError says which text could not be read, which of the sentinels applies, and what to write instead.
type ParseError struct {
	Input string // the text as given
	Err   error  // one of the sentinels above
	Fact  string // what was found and what to do
}

// Error gives the input, shortened if it is very long, the kind of fault and the remedy.
func (e *ParseError) Error() string {
	return fmt.Sprintf("%s: %v: %s", quoted(e.Input), e.Err, e.Fact)
}

// Unwrap returns the sentinel.
func (e *ParseError) Unwrap() error { return e.Err }

// Parse reads a number and its unit, such as "69.998 mm", "2.75591in", "-2 µm" or "+1.5 tenths". Nothing is rounded.
//
// The number is decimal digits with an optional sign (+, - or U+2212) and an optional point or comma before the decimals; ".0005 in"
// is a number, "5. mm" is not. Since a comma is a decimal comma, a number holding both comma and point, grouped digits in any style,
// exponents and fractions are malformed rather than guessed at. Space around the text and before the unit is free.
//
// Errors: ErrMalformed, ErrNoUnit, ErrUnknownUnit, ErrInexact, ErrRange.
func Parse(s string) (Length, error) {
	l, _, err := parse(s, "")
	return l, err
}

// ParseIn reads a length whose unit may be left out: a bare number is in u, a written unit wins over u. Errors as for Parse; ErrNoUnit
// never, unless u itself is no unit.
func ParseIn(s string, u Unit) (Length, error) {
	l, _, err := parse(s, u)
	return l, err
}

// ParseWithUnit is ParseIn that also returns the unit the number was in, so that a result can be shown in the units of the question.
func ParseWithUnit(s string, u Unit) (Length, Unit, error) { return parse(s, u) }

func parse(s string, fallback Unit) (Length, Unit, error) {
	fail := func(err error, format string, args ...any) (Length, Unit, error) {
		return 0, "", &ParseError{Input: s, Err: err, Fact: fmt.Sprintf(format, args...)}
	}
	rest := strings.TrimSpace(s)
	if rest == "" {
		return fail(ErrMalformed, "nothing is written; write a number and a unit, such as 69.998 mm")
	}
	rest, negative := cutSign(rest)
	whole, rest := cutDigits(rest)
	decimals := ""
	if rest != "" && (rest[0] == '.' || rest[0] == ',') {
		decimals, rest = cutDigits(rest[1:])
		if decimals == "" {
			return fail(ErrMalformed, "digits must follow the decimal point or comma")
		}
	}
	if whole == "" && decimals == "" {
		return fail(ErrMalformed, "it must begin with a number in plain digits, such as 69.998 mm")
	}
	written := strings.TrimSpace(rest)
	for _, r := range written {
		if !unicode.IsLetter(r) && spellings[string(r)] == "" {
			return fail(ErrMalformed, "a number is digits with at most one point or comma: no grouped digits, exponent or fraction; then the unit")
		}
	}
	unit := fallback
	if written != "" {
		u, ok := spellings[written]
		if !ok {
			return fail(ErrUnknownUnit, "%s is none of %s", quoted(written), acceptedUnits())
		}
		unit = u
	}
	if unit.Length() == 0 {
		return fail(ErrNoUnit, "write the unit behind the number, one of %s", acceptedUnits())
	}
	size, err := scale(whole, decimals, uint64(unit.Length()))
	switch {
	case err == ErrRange:
		return fail(ErrRange, "the largest length is %d pm, about 9 223 km", int64(math.MaxInt64))
	case err == ErrInexact:
		return fail(ErrInexact, "lengths are whole picometres; write fewer decimals")
	}
	if negative {
		size = -size
	}
	return size, unit, nil
}

// cutSign takes one sign off the front.
func cutSign(s string) (rest string, negative bool) {
	for _, minus := range []string{"-", "\u2212"} {
		if after, found := strings.CutPrefix(s, minus); found {
			return after, true
		}
	}
	return strings.TrimPrefix(s, "+"), false
}

// cutDigits takes ASCII digits off the front.
func cutDigits(s string) (digits, rest string) {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return s[:n], s[n:]
}

// scale returns whole.decimals × unit in picometres, not negative. Unit is in picometres, at most 10^12 (a metre).
func scale(whole, decimals string, unit uint64) (Length, error) {
	n, ok := digitsValue(strings.TrimLeft(whole, "0"))
	if !ok {
		return 0, ErrRange
	}
	hi, total := bits.Mul64(n, unit)
	if hi != 0 || total > math.MaxInt64 {
		return 0, ErrRange
	}
	decimals = strings.TrimRight(decimals, "0")
	// A unit of 2^a·5^b·… picometres cannot turn more than max(a, b) decimals into a whole number, and no unit here has more than
	// twelve twos or fives; beyond 18 decimals the answer is known, and 10^18 still fits 64 bits.
	if len(decimals) > maxDecimals {
		return 0, ErrInexact
	}
	fraction, _ := digitsValue(decimals)
	hi, lo := bits.Mul64(fraction, unit)
	part, remainder := bits.Div64(hi, lo, powerOfTen(len(decimals))) // fraction < 10^len, so the quotient is below unit
	if remainder != 0 {
		return 0, ErrInexact
	}
	total += part // both below 2^63
	if total > math.MaxInt64 {
		return 0, ErrRange
	}
	return Length(total), nil
}

// digitsValue reads digits without leading zeros; false if they exceed 19 digits or 64 bits. Empty digits are 0.
func digitsValue(digits string) (uint64, bool) {
	if len(digits) > 19 { // 10^19 - 1 is below 2^64
		return 0, false
	}
	var n uint64
	for i := 0; i < len(digits); i++ {
		n = n*10 + uint64(digits[i]-'0')
	}
	return n, true
}

const maxDecimals = 18

func powerOfTen(n int) uint64 {
	p := uint64(1)
	for range n {
		p *= 10
	}
	return p
}

// quoted is the text in quotation marks, cut to what fits a message.
func quoted(s string) string {
	const limit = 60 // characters
	if utf8.RuneCountInString(s) > limit {
		s = string([]rune(s)[:limit]) + "…"
	}
	return fmt.Sprintf("%q", s)
}
