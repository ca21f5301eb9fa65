package slip

import (
	"strconv"

	"runtrue/internal/spindle"
)

// beyondQuantity is the factor outside its limits from which a quantity of another kind is odd (common practice, no source).
const beyondQuantity = 3

// AskQuantity returns the question about a quantity far outside its limits that a shifted decimal point would bring back inside, if there is one. Limits in
// another unit, of 0 or below tell nothing of the order of magnitude. With one limit alone the values within a power of ten inside it count as ordinary.
func AskQuantity(q spindle.Quantity, lower, upper *spindle.Quantity) []Question {
	value, ok := magnitude(q)
	if !ok || q.Bound != "" {
		return nil
	}
	low, high, unit := 0.0, 0.0, ""
	switch {
	case lower != nil && upper != nil:
		l, ok1 := magnitude(*lower)
		h, ok2 := magnitude(*upper)
		if !ok1 || !ok2 || lower.Unit != upper.Unit {
			return nil
		}
		low, high, unit = l, h, lower.Unit
	case lower != nil:
		if low, ok = magnitude(*lower); !ok {
			return nil
		}
		high, unit = 10*low, lower.Unit
	case upper != nil:
		if high, ok = magnitude(*upper); !ok {
			return nil
		}
		low, unit = high/10, upper.Unit
	}
	over, under := value > beyondQuantity*high && upper != nil, value < low/beyondQuantity && lower != nil
	if unit != q.Unit || !(over || under) {
		return nil
	}
	for _, places := range []int{-1, 1, -2, 2, -3, 3} {
		meant := q
		meant.Exp10 += places
		if meant.Check() != nil {
			continue
		}
		if v, ok := magnitude(meant); ok && v >= low && v <= high {
			text := typed{digits: strconv.FormatInt(q.Value, 10)}.shifted(meant.Exp10).number() + " " + q.Unit
			given := typed{digits: strconv.FormatInt(q.Value, 10)}.shifted(q.Exp10).number() + " " + q.Unit
			return []Question{{Kind: DecimalPoint, Ask: given + " is far outside the limits: a slip? The decimal point: " + text + "?", Text: text}}
		}
	}
	return nil
}

// magnitude is the quantity as a number above 0.
func magnitude(q spindle.Quantity) (float64, bool) {
	v, err := strconv.ParseFloat(strconv.FormatInt(q.Value, 10)+"e"+strconv.Itoa(q.Exp10), 64)
	return v, err == nil && v > 0
}
