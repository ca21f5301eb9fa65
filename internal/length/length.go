// Package length holds the one length type that the program computes with.
//
// A Length is a whole number of picometres in an int64. The picometre is small enough that everything a shop writes down is exact: half a
// micrometre, 0.05 µm, and the inch units too, since one microinch is 25 400 pm. Sums, differences and comparisons with limits
// are therefore exact; floating point enters only inside formulas (package form, package uncertainty) and leaves them again rounded.
//
// The range is ±9 223 km, far beyond any spindle; parsing refuses what does not fit. The zero value is a length of nothing, 0 m.
package length

// Length is a length, or a deviation from one, in picometres. Positive means longer, larger, or away from the material as the caller's
// context states.
type Length int64

// Units. They are used as time.Duration's are: 3*length.Micrometre.
const (
	Picometre  Length = 1
	Nanometre  Length = 1_000
	Micrometre Length = 1_000_000
	Millimetre Length = 1_000_000_000
	Metre      Length = 1_000_000_000_000

	Microinch Length = 25_400     // exact, since 1 in = 25.4 mm
	Tenth     Length = 2_540_000  // a ten-thousandth of an inch, "a tenth" in the shop
	Thou      Length = 25_400_000 // a thousandth of an inch
	Inch      Length = 25_400_000_000
)

// Micrometres returns the length in micrometres. Exact up to 2^53 pm, about 9 m.
func (l Length) Micrometres() float64 { return float64(l) / float64(Micrometre) }

// Millimetres returns the length in millimetres.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Abs returns the length without its sign.
func (l Length) Abs() Length {
	if l < 0 {
		return -l
	}
	return l
}
