// Package slip recognises readings that look like a slip of the hand: a decimal point in the wrong place, the wrong unit, the value of the master instead of the deviation.
//
// It never refuses. It gives a question that the page puts before it keeps the reading; the person may be right, since a worn part can be anywhere.
package slip

import (
	"fmt"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Question asks about a reading, or is empty where nothing looks odd. Deviation is the reading as deviation from nominal for a size, as plain value otherwise;
// lower and upper are the limits in the same sense, nil where there is none.
//
// A size is asked about from 20 tolerances or 0.1 mm outside the limits, whichever is less but at least 50 µm; an indicator reading from 0.5 mm. These
// thresholds are common practice, no source.
func Question(spec spindle.Specification, characteristic string, deviation length.Length, lower, upper *length.Length) string {
	if spindle.IsSweep(characteristic) {
		if deviation.Abs() > 500*length.Micrometre {
			return fmt.Sprintf("%s on the indicator: is the unit right?", length.FormatSigned(deviation, length.Millimetres, 4))
		}
		return ""
	}
	if lower == nil || upper == nil {
		return ""
	}
	reach := max(50*length.Micrometre, min(20*(*upper-*lower), 100*length.Micrometre))
	switch {
	case deviation < *lower-reach:
		return fmt.Sprintf("%s under nominal: a slip?", length.Format(-deviation, unitFor(deviation), decimalsFor(deviation)))
	case deviation > *upper+reach:
		return fmt.Sprintf("%s over nominal: a slip?", length.Format(deviation, unitFor(deviation), decimalsFor(deviation)))
	}
	return ""
}

func unitFor(l length.Length) length.Unit {
	if l.Abs() >= 100*length.Micrometre {
		return length.Millimetres
	}
	return length.Micrometres
}

func decimalsFor(l length.Length) int {
	if l.Abs() >= 100*length.Micrometre {
		return 4
	}
	return 1
}
