// Package slip recognises readings that look like a slip of the hand: a decimal point in the wrong place, another unit, a sign, two digits exchanged, the value of the master
// instead of the deviation, the reading of another feature, a column of readings copied from the plane before.
//
// It never refuses. It gives questions that the page puts before it keeps the reading; the person may be right, since a worn part can be anywhere. A question
// is asked where the value lies outside what the feature leads one to expect, and says what was probably meant where a single slip of one kind explains it.
//
// # What is expected
//
// Of a feature that was read before (by this round, an indicator under this set-up): values about the median of those readings. Of one that was not: values within its
// limits and their surroundings. A reading that agrees with what was kept before is never asked about twice.
//
// The thresholds are common practice, no source: they are chosen so that fewer than one good reading in fifty is questioned, which the tests print.
package slip

import (
	"slices"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Kind is the kind of slip that a question suggests. The list is closed.
type Kind string

// The kinds, in the order in which they are thought of.
const (
	Sign         Kind = "sign"
	DecimalPoint Kind = "decimal point"
	Unit         Kind = "unit"
	MasterValue  Kind = "value of the master" // a size where a deviation is wanted, or the other way round, or from the other zero
	Transposed   Kind = "transposed digits"
	OneDigit     Kind = "one digit" // mistyped, left out or doubled
	WrongFeature Kind = "wrong feature"
	Neighbour    Kind = "neighbour's reading"
	Far          Kind = "far away" // nothing explains it
)

// Question is one question about a reading.
type Question struct {
	Kind Kind   `json:"kind"`
	Ask  string `json:"ask"` // the whole question, for the screen: what is odd and what was probably meant
	// Likely is what was probably meant, in the sense in which the value was typed, and Text the same as a person types it, with its unit; empty where it is not known.
	Likely *length.Length `json:"likely_pm,omitempty"`
	Text   string         `json:"text,omitempty"`
	// Feature is the one that the reading would fit, for a wrong feature.
	Feature string `json:"feature,omitempty"`
}

// Reading is a number as it was typed, with what is known at that moment.
type Reading struct {
	Spec           spindle.Specification
	Characteristic string
	Means          spindle.Meaning
	Text           string      // as typed; a unit written in it wins over Unit
	Unit           length.Unit // of the keypad
	// Certified is the certified value of the set-up's master; nil where there is none.
	Certified *length.Length
	// Limits of the characteristic, as deviations from nominal for a size; nil where there is none.
	Lower, Upper *length.Length
	// Earlier are the readings of the same kind that count on this feature, the latest last: deviations from nominal of a size, what the indicator showed under the
	// same set-up otherwise.
	Earlier []length.Length
	Others  []Other // further features of the job
}

// Other is another feature of the job that the hand could have been at.
type Other struct {
	Spec         spindle.Specification
	Lower, Upper *length.Length
	Earlier      []length.Length
}

// most is how many questions are worth putting at once.
const most = 3

// Ask returns the questions about a reading, the likeliest first: none where nothing is odd or the text cannot be read as a length.
func Ask(r Reading) []Question {
	n, ok := readNumber(r.Text, r.Unit)
	if !ok {
		return nil
	}
	value, ok := n.value()
	if !ok {
		return nil
	}
	sweep := spindle.IsSweep(r.Characteristic)
	d := r.deviation(value, r.Means)
	x := expect(r.Lower, r.Upper, r.Earlier, sweep)
	if x.holds(d) {
		if q, copied := r.copied(d); copied {
			return []Question{q}
		}
		return nil
	}
	fact := r.oddity(d, x, sweep)
	var list []Question
	add := func(q Question) {
		if len(list) == most {
			return
		}
		for _, other := range list {
			if q.Likely != nil && other.Likely != nil && *q.Likely == *other.Likely {
				return
			}
		}
		q.Ask = fact + " " + q.Ask
		list = append(list, q)
	}
	candidates := r.candidates(n, value)
	for i, c := range candidates { // of each kind the first that fits
		if x.near(c.deviation) && !slices.ContainsFunc(list, func(q Question) bool { return q.Kind == c.kind }) {
			add(Question{Kind: c.kind, Ask: c.words(r.Means), Likely: &candidates[i].value, Text: c.text()})
		}
	}
	for _, q := range r.elsewhere(value) {
		add(q)
	}
	if len(list) == 0 && x.far(d) {
		list = append(list, Question{Kind: Far, Ask: fact})
	}
	return list
}

// deviation is what a value means: a deviation from nominal for a size, the value itself for an indicator.
func (r Reading) deviation(value length.Length, means spindle.Meaning) length.Length {
	switch {
	case means == spindle.MeansSize:
		return value - r.Spec.Nominal
	case means == spindle.MeansFromMaster && r.Certified != nil:
		return *r.Certified + value - r.Spec.Nominal
	}
	return value
}

// oddity says what is odd about a value.
func (r Reading) oddity(d length.Length, x expected, sweep bool) string {
	switch {
	case sweep && !x.read:
		return length.FormatSigned(d, length.Millimetres, 4) + " on the indicator: is the unit right?"
	case x.read && !x.far(d):
		away := d - x.centre
		return length.Format(away.Abs(), unitFor(away), decimalsFor(away)) + " " + side(away) + " what was read here before: a slip?"
	case sweep:
		return length.FormatSigned(d, unitFor(d), decimalsFor(d)) + " on the indicator: is the unit right?"
	}
	words := "under nominal"
	if d > 0 {
		words = "over nominal"
	}
	return length.Format(d.Abs(), unitFor(d), decimalsFor(d)) + " " + words + ": a slip?"
}

func side(away length.Length) string {
	if away < 0 {
		return "below"
	}
	return "above"
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
