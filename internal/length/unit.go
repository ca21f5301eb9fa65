package length

import (
	"fmt"
	"strings"
)

// Unit names a unit of length as it is written behind a number. The zero value is no unit; text from outside becomes a Unit through
// ParseUnit.
type Unit string

// The units that can be read and printed, in their printed spelling.
const (
	Picometres  Unit = "pm"
	Nanometres  Unit = "nm"
	Micrometres Unit = "µm"    // also read: um, and Greek mu for the micro sign
	Millimetres Unit = "mm"    // the unit of drawings
	Metres      Unit = "m"     // metre
	Microinches Unit = "µin"   // microinch; also read: uin, and Greek mu for the micro sign
	Tenths      Unit = "tenth" // a ten-thousandth of an inch; also read: tenths
	Thous       Unit = "thou"  // a thousandth of an inch
	Inches      Unit = "in"    // also read: inch, inches, and the inch mark in its straight, primed and curled forms
)

// Units returns every unit, smallest first.
func Units() []Unit {
	return []Unit{Picometres, Nanometres, Microinches, Micrometres, Tenths, Thous, Millimetres, Inches, Metres}
}

// Length returns one of the unit, and 0 for a unit that is none of the constants.
func (u Unit) Length() Length {
	switch u {
	case Picometres:
		return Picometre
	case Nanometres:
		return Nanometre
	case Micrometres:
		return Micrometre
	case Millimetres:
		return Millimetre
	case Metres:
		return Metre
	case Microinches:
		return Microinch
	case Tenths:
		return Tenth
	case Thous:
		return Thou
	case Inches:
		return Inch
	}
	return 0
}

// Imperial reports whether the unit belongs to the inch, so that a result can be printed in the units the reader wrote.
func (u Unit) Imperial() bool {
	return u == Microinches || u == Tenths || u == Thous || u == Inches
}

// spellings maps what is read to the unit meant. Capitals are not folded: Mm would be a megametre. The curled inch mark is what a tablet's
// keyboard makes of the straight one.
var spellings = map[string]Unit{
	"pm": Picometres, "nm": Nanometres, "mm": Millimetres, "m": Metres,
	"um": Micrometres, "\u00b5m": Micrometres, "\u03bcm": Micrometres,
	"uin": Microinches, "\u00b5in": Microinches, "\u03bcin": Microinches,
	"tenth": Tenths, "tenths": Tenths, "thou": Thous,
	"in": Inches, "inch": Inches, "inches": Inches, `"`: Inches, "\u2033": Inches, "\u201d": Inches,
}

// ParseUnit reads a unit in any accepted spelling. Errors: ErrNoUnit for the empty string, ErrUnknownUnit otherwise.
func ParseUnit(s string) (Unit, error) {
	if s == "" {
		return "", &ParseError{Input: s, Err: ErrNoUnit, Fact: "write one of " + acceptedUnits()}
	}
	if u, ok := spellings[s]; ok {
		return u, nil
	}
	return "", &ParseError{Input: s, Err: ErrUnknownUnit, Fact: fmt.Sprintf("%s is none of %s", quoted(s), acceptedUnits())}
}

func acceptedUnits() string {
	var b strings.Builder
	for i, u := range Units() {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(string(u))
	}
	return b.String()
}
