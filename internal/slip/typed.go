package slip

import (
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// typed is a number as a person types it: digits with a point among them.
type typed struct {
	negative bool
	digits   string
	decimals int
	unit     length.Unit
}

// readNumber takes a typed length apart. False for text that package length does not read.
func readNumber(text string, unit length.Unit) (typed, bool) {
	_, unit, err := length.ParseWithUnit(text, unit)
	if err != nil {
		return typed{}, false
	}
	n := typed{unit: unit}
	point := false
	for _, c := range strings.TrimSpace(text) {
		switch {
		case c == '-' || c == '−':
			n.negative = true
		case c == '+':
		case c == '.' || c == ',':
			point = true
		case c >= '0' && c <= '9':
			n.digits += string(c)
			if point {
				n.decimals++
			}
		default: // the unit, which may hold no digit
			return n, true
		}
	}
	return n, true
}

// number writes it: "−4.5", without its unit.
func (n typed) number() string {
	digits := n.digits
	if missing := n.decimals + 1 - len(digits); missing > 0 {
		digits = strings.Repeat("0", missing) + digits
	}
	whole, part := digits[:len(digits)-n.decimals], digits[len(digits)-n.decimals:]
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if part != "" {
		whole += "." + part
	}
	if n.negative {
		return "-" + whole
	}
	return whole
}

// value reads it back; false for what no length holds.
func (n typed) value() (length.Length, bool) {
	v, err := length.ParseIn(n.number(), n.unit)
	return v, err == nil
}

// shifted moves the point to the right by places (to the left for negative ones).
func (n typed) shifted(places int) typed {
	n.decimals -= places
	if n.decimals < 0 {
		n.digits += strings.Repeat("0", -n.decimals)
		n.decimals = 0
	}
	return n
}

// padded writes at least so many decimals.
func (n typed) padded(decimals int) typed {
	for n.decimals < decimals {
		n.digits, n.decimals = n.digits+"0", n.decimals+1
	}
	return n
}

// candidate is what may have been meant.
type candidate struct {
	kind      Kind
	typed     typed
	value     length.Length // in the sense of the meaning that the page asked for
	deviation length.Length
	note      string // in words, where the number alone does not say it
}

// text is what the person would type, with its unit.
func (c candidate) text() string {
	return c.typed.number() + " " + string(c.typed.unit)
}

// words proposes the candidate.
func (c candidate) words(means spindle.Meaning) string {
	if c.note != "" {
		return c.note
	}
	shown := strings.Replace(c.text(), "-", "−", 1)
	if means != spindle.MeansSize && c.value > 0 {
		shown = "+" + shown
	}
	switch c.kind {
	case Sign:
		return "The sign: " + shown + "?"
	case DecimalPoint:
		return "The decimal point: " + shown + "?"
	case Unit:
		return "The unit: " + shown + "?"
	case Transposed:
		return "Two digits exchanged: " + shown + "?"
	}
	return "One digit: " + shown + "?"
}

// fewDigits is the number of digits below which nearly any number is one digit away from a fitting one, so that such a proposal says nothing.
const fewDigits = 5

// candidates lists what single slips lead to the number, the likeliest kinds first.
func (r Reading) candidates(n typed, value length.Length) []candidate {
	var list []candidate
	add := func(kind Kind, t typed) {
		if v, ok := t.value(); ok && v != value {
			list = append(list, candidate{kind: kind, typed: t, value: v, deviation: r.deviation(v, r.Means)})
		}
	}
	if r.Means != spindle.MeansSize {
		other := n
		other.negative = !n.negative
		add(Sign, other)
	}
	shifts := []int{-1, 1, -2, 2}
	if r.Means == spindle.MeansSize { // the point left out altogether
		shifts = append(shifts, -3, 3, -4, 4)
	}
	for _, places := range shifts {
		add(DecimalPoint, n.shifted(places))
	}
	for _, unit := range []length.Unit{length.Micrometres, length.Millimetres, length.Tenths, length.Inches, length.Thous, length.Microinches} {
		if unit != n.unit {
			other := n
			other.unit = unit
			add(Unit, other)
		}
	}
	list = append(list, r.otherMeanings(n, value)...)
	for i := 1; i < len(n.digits); i++ {
		if n.digits[i] != n.digits[i-1] {
			other := n
			other.digits = n.digits[:i-1] + n.digits[i:i+1] + n.digits[i-1:i] + n.digits[i+1:]
			add(Transposed, other)
		}
	}
	if len(n.digits) < fewDigits {
		return list
	}
	for i := range len(n.digits) + 1 {
		left := typed{n.negative, n.digits[:i] + "0" + n.digits[i:], n.decimals, n.unit} // a nought left out after the point …
		if i > len(n.digits)-n.decimals {
			left.decimals++
		}
		add(OneDigit, left)
		if i == len(n.digits) {
			break
		}
		if i > 0 && n.digits[i] == n.digits[i-1] { // … or struck twice
			twice := typed{n.negative, n.digits[:i] + n.digits[i+1:], n.decimals, n.unit}
			if i >= len(n.digits)-n.decimals {
				twice.decimals--
			}
			add(OneDigit, twice)
		}
	}
	// A scale read one mark off, with the carry: 69.0045 for 70.0045.
	whole, place := n.unit.Length(), n.unit.Length()/1000
	for ; place <= 10*whole && place > 0; place *= 10 {
		for _, v := range []length.Length{value + place, value - place} {
			t := in(n.unit, v)
			list = append(list, candidate{kind: OneDigit, typed: t.padded(n.decimals), value: v, deviation: r.deviation(v, r.Means)})
		}
	}
	for i := range len(n.digits) {
		for c := byte('0'); c <= '9'; c++ {
			if c != n.digits[i] {
				other := n
				other.digits = n.digits[:i] + string(c) + n.digits[i+1:]
				add(OneDigit, other)
			}
		}
	}
	return list
}

// otherMeanings asks whether the number means another thing than the page thinks: a full size for a deviation, a deviation for a size, from nominal instead of from the master.
func (r Reading) otherMeanings(n typed, value length.Length) []candidate {
	var list []candidate
	add := func(likely, deviation length.Length, note string) {
		list = append(list, candidate{kind: MasterValue, typed: in(n.unit, likely), value: likely, deviation: deviation, note: note})
	}
	signed := func(l length.Length) string { return length.FormatSigned(l, length.Micrometres, 2) }
	zero := r.Spec.Nominal
	if r.Certified != nil && r.Means != spindle.MeansFromNominal {
		zero = *r.Certified
	}
	switch r.Means {
	case spindle.MeansFromMaster, spindle.MeansFromNominal:
		from := "the nominal"
		if r.Means == spindle.MeansFromMaster {
			from = "the master"
		}
		if value.Abs() > r.Spec.Nominal/2 {
			add(value-zero, value-r.Spec.Nominal, "A full size, where the deviation from "+from+" is asked for: "+signed(value-zero)+"?")
		}
		if r.Means == spindle.MeansFromMaster && zero != r.Spec.Nominal {
			likely := value + r.Spec.Nominal - zero
			add(likely, value, "Read from nominal, not from the master of "+length.Format(zero, length.Millimetres, 4)+": from the master it is "+signed(likely)+"?")
		}
	case spindle.MeansSize:
		if value.Abs() < r.Spec.Nominal/10 {
			add(zero+value, zero+value-r.Spec.Nominal, "A deviation, where the size is asked for: "+length.Format(zero+value, length.Millimetres, 4)+"?")
		}
	}
	return list
}

// in writes a length in the unit as a number, with the decimals that it needs and at most nine.
func in(unit length.Unit, l length.Length) typed {
	text := length.Decimal(l, unit, 9)
	whole, part, _ := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	part = strings.TrimRight(part, "0")
	return typed{l < 0, whole + part, len(part), unit}
}
