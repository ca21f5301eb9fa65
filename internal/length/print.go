package length

import (
	"fmt"
	"math/bits"
	"strconv"
	"strings"
)

// minusSign is U+2212, the minus of running text; data for machines takes the ASCII hyphen (Decimal).
const minusSign = "\u2212"

// Format prints l in u with the given number of decimals and the unit behind a space: "69.998 mm", "−2.0 µm".
//
// Rounding is half away from zero, on exact integers, for display alone. A value that rounds to zero carries no sign. Decimals are taken
// as 0 below 0 and as 18 above 18. Format panics if u is not one of the unit constants.
func Format(l Length, u Unit, decimals int) string {
	return withSign(l, u, decimals, "", minusSign) + " " + string(u)
}

// FormatSigned is Format with a plus sign before positive values, as deviations are written: "+2.0 µm". Zero has no sign.
func FormatSigned(l Length, u Unit, decimals int) string {
	return withSign(l, u, decimals, "+", minusSign) + " " + string(u)
}

// Decimal prints the number alone with an ASCII minus, for CSV and JSON. Rounding and panics as for Format.
func Decimal(l Length, u Unit, decimals int) string {
	return withSign(l, u, decimals, "", "-")
}

// String prints the exact value without trailing zeros: in mm from 1 mm up, in µm below. Parse reads it back to the same Length.
func (l Length) String() string {
	u, places := Micrometres, 6
	if l >= Millimetre || l <= -Millimetre {
		u, places = Millimetres, 9
	}
	number := strings.TrimRight(withSign(l, u, places, "", minusSign), "0")
	return strings.TrimSuffix(number, ".") + " " + string(u)
}

func withSign(l Length, u Unit, decimals int, plus, minus string) string {
	unit := uint64(u.Length())
	if unit == 0 {
		panic(fmt.Sprintf("length: cannot print in unit %q; use ParseUnit for units from outside", string(u)))
	}
	decimals = min(max(decimals, 0), maxDecimals)
	size := uint64(l)
	if l < 0 {
		size = -size // two's complement: right for the least int64 too
	}
	scale := powerOfTen(decimals)
	whole := size / unit
	hi, lo := bits.Mul64(size%unit, scale)
	part, remainder := bits.Div64(hi, lo, unit) // size%unit < unit, so the quotient is below scale
	if remainder >= unit-remainder {
		part++
	}
	if part == scale {
		whole, part = whole+1, 0
	}
	number := strconv.FormatUint(whole, 10)
	if decimals > 0 {
		digits := strconv.FormatUint(part, 10)
		number += "." + strings.Repeat("0", decimals-len(digits)) + digits
	}
	switch {
	case whole == 0 && part == 0:
		return number
	case l < 0:
		return minus + number
	}
	return plus + number
}
