package slip

import (
	"strconv"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// elsewhere names the other features that the value would fit. A full size is held against what is expected of them; a deviation, which says little by itself, only
// against what was really read there.
func (r Reading) elsewhere(value length.Length) []Question {
	var list []Question
	for _, o := range r.Others {
		if o.Spec.Feature == r.Spec.Feature || spindle.IsSweep(r.Characteristic) {
			continue
		}
		there := Reading{Spec: o.Spec, Certified: r.Certified}
		x := expect(o.Lower, o.Upper, o.Earlier, false)
		if r.Means != spindle.MeansSize && (len(o.Earlier) < 2 || len(r.Earlier) == 0) {
			continue
		}
		if x.known && x.near(there.deviation(value, r.Means)) {
			name := o.Spec.Feature
			if o.Spec.Name != "" {
				name += " " + o.Spec.Name
			}
			list = append(list, Question{Kind: WrongFeature, Ask: "It would fit " + name + ": is the gauge there?", Feature: o.Spec.Feature})
		}
	}
	return list
}

// Chance at most of a row of equal readings before it is asked about (common practice, no source).
const chance = 4e-3

// copied asks about rows of readings that agree too well: the same value over and over, or the plane before word for word. How likely that is by chance follows from the steps in
// which the values come and how far they spread; round parts and coarse gauges repeat themselves honestly.
func (r Reading) copied(d length.Length) (Question, bool) {
	all := append(append([]length.Length{}, r.Earlier...), d)
	low, high, step := all[0], all[0], length.Length(0)
	for _, v := range all {
		low, high = min(low, v), max(high, v)
		step = divisor(step, (v - all[0]).Abs())
	}
	if high == low || spindle.IsSweep(r.Characteristic) {
		return Question{}, false
	}
	places := float64(high-low)/float64(step) + 1
	unlikely := func(matches int) bool {
		p := 1.0
		for range matches {
			p /= places
		}
		return p < chance
	}
	last := len(all) - 1
	same := 0
	for same < last && all[last-same-1] == d {
		same++
	}
	if same > 0 && unlikely(same) && !unlikely(same-1) { // asked once, when the row becomes unlikely
		return Question{Kind: Neighbour, Ask: strconv.Itoa(same+1) + " readings in a row are all " + length.FormatSigned(d, length.Micrometres, 2) + ": did the gauge move?"}, true
	}
	row := len(r.Spec.Plan.Angles)
	if row < 2 || len(all) < 2*row || len(all)%row != 0 {
		return Question{}, false
	}
	distinct := false
	for i := range row {
		if all[last-i] != all[last-i-row] {
			return Question{}, false
		}
		distinct = distinct || all[last-i] != d
	}
	if distinct && unlikely(row) {
		return Question{Kind: Neighbour, Ask: "The " + strconv.Itoa(row) + " readings of this plane are those of the plane before: were they read here?"}, true
	}
	return Question{}, false
}

// divisor is the greatest common divisor; of 0 and b it is b.
func divisor(a, b length.Length) length.Length {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
