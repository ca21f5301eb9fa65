package iso492

import (
	"fmt"

	"runtrue/internal/length"
)

// Step is a step of nominal size: above Over, up to and including Upto, both in pm; First means that Over itself is included too.
type Step struct {
	Over  length.Length `json:"over_pm"`
	Upto  length.Length `json:"upto_pm"`
	First bool          `json:"first,omitempty"`
}

func (s Step) contains(size length.Length) bool {
	return size <= s.Upto && (s.Over < size || s.First && s.Over == size)
}

// String reads, for example, "above 50 mm up to 80 mm", or "from 0.6 mm up to 2.5 mm" for the first step.
func (s Step) String() string {
	word := "above "
	if s.First {
		word = "from "
	}
	over := length.Decimal(s.Over, length.Millimetres, 1) + " mm" // every bound is a whole number of tenths of a millimetre
	if s.Over%length.Millimetre == 0 {
		over = s.Over.String()
	}
	return word + over + " up to " + s.Upto.String()
}

// Value is one tolerance of a ring.
type Value struct {
	Symbol     string        `json:"symbol"`  // as ISO 492 has it, Delta written out: "Delta_dmp", "Kia"
	Series     string        `json:"series"`  // which bearings it holds for, see the package comment
	Edition    string        `json:"edition"` // "2002" or "2014" for SD, "any" for what did not change
	Deviation  bool          `json:"deviation"`
	Upper      length.Length `json:"upper_pm"`   // pm from the nominal size, 0 in all tables; of a deviation alone
	Lower      length.Length `json:"lower_pm"`   // pm from the nominal size, below 0; of a deviation alone
	Max        length.Length `json:"max_pm"`     // pm, above 0; of a variation or run-out alone
	Step       Step          `json:"step"`       // the step of nominal size that it stands for
	Status     Status        `json:"status"`     // how well it is confirmed
	Publishers int           `json:"publishers"` // how many independent publishers print it
	Sources    []string      `json:"sources"`    // their titles
	Note       string        `json:"note,omitempty"`
}

// smallest and largest are the nominal sizes between which the tables run, both included: the bore of an inner ring, the outside diameter
// of an outer one. The standard goes further up; larger rings were not typed.
func smallest(r Ring) length.Length {
	if r == Outer {
		return 2_500 * length.Micrometre
	}
	return 600 * length.Micrometre
}

func largest() length.Length { return 400 * length.Millimetre }

// Lookup returns every tolerance that the class gives a ring of a nominal size, in the order of the tables: for an inner ring the size is
// the bore d, for an outer ring the outside diameter D, in pm. Where SD is given both editions are in the list.
//
// Errors: ErrMalformed for a ring or class that is none of the constants; ErrOutOfRange outside 0.6 … 400 mm (inner) or 2.5 … 400 mm
// (outer); ErrNotDefined where the class has no values at this size. Source: ISO 492 as printed by the publishers of each value.
func Lookup(ring Ring, size length.Length, class Class) ([]Value, error) {
	if ring != Inner && ring != Outer {
		_, err := ParseRing(string(ring))
		return nil, err
	}
	if class.rank() < 0 {
		return nil, &QuestionError{Err: ErrMalformed, Class: quoted(string(class)), Reason: "the classes are Normal, 6, 5, 4 and 2; other names are read by ParseClass"}
	}
	fail := func(err error, reason string) ([]Value, error) {
		return nil, &QuestionError{Err: err, Ring: string(ring), Class: string(class), Size: size, Reason: reason}
	}
	if size < smallest(ring) || size > largest() {
		reason := fmt.Sprintf("the tables of %s rings hold nominal sizes %s", ring, Step{smallest(ring), largest(), true})
		if size == 0 {
			reason += "; this one is 0 mm"
		}
		return fail(ErrOutOfRange, reason)
	}
	var found []Value
	given := Step{Over: largest()}
	for _, r := range tables().rings[ring] {
		if r.class != class {
			continue
		}
		if r.value.Step.Over < given.Over {
			given.Over, given.First = r.value.Step.Over, r.value.Step.First
		}
		given.Upto = max(given.Upto, r.value.Step.Upto)
		if r.value.Step.contains(size) {
			v := r.value
			v.Sources = append([]string{}, v.Sources...)
			found = append(found, v)
		}
	}
	if len(found) == 0 {
		return fail(ErrNotDefined, fmt.Sprintf("class %s %s rings are given %s", class, ring, given))
	}
	return found, nil
}

// MeanDiameter returns the limits of the mean bore (Delta_dmp) or mean outside diameter (Delta_Dmp), which decide the fit. Errors: those of
// Lookup.
func MeanDiameter(ring Ring, size length.Length, class Class) (Value, error) {
	all, err := Lookup(ring, size, class)
	if err != nil {
		return Value{}, err
	}
	for _, v := range all {
		if v.Symbol == "Delta_dmp" || v.Symbol == "Delta_Dmp" {
			return v, nil
		}
	}
	return Value{}, &QuestionError{Err: ErrNotDefined, Ring: string(ring), Class: string(class), Size: size, Reason: "no deviation of the mean diameter is given here"}
}
