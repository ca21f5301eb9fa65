package verdict

import (
	"cmp"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// sentence says the verdict in one sentence, with numbers and units, on the worst value.
func (q *inquiry) sentence(w finding) string {
	value := q.valueWords(w)
	about := q.limitWords
	if w.outcome == Conforms || w.outcome == CannotBeTold {
		about += "; p_c " + probability(w.pc)
	}
	switch q.out.Outcome {
	case Conforms:
		words := q.noun() + " conforms: " + value + " (" + about + ")"
		if q.out.Conceded != "" {
			words = q.noun() + " conforms by concession of " + q.out.Conceded + ": " + value + " (" + about + ")"
		}
		return words
	case Fails:
		beyond, side := q.beyond(w)
		return q.noun() + " is " + beyond + " " + side + " (" + q.limitWords + "; " + value + ")"
	case Incomplete:
		return q.noun() + " is incomplete: " + q.missingWords() + "; so far " + value + " (" + q.limitWords + ")"
	case InConflict:
		words := q.noun() + " is in conflict"
		if w.where != "" {
			words += " at " + w.where
		}
		return words + ": " + w.clash
	}
	if reason := cmp.Or(w.doubt, w.lacking); reason != "" {
		return q.noun() + " cannot be told: " + reason + " (" + value + "; " + q.limitWords + ")"
	}
	if w.outcome == Conforms && q.out.Doubtful != "" {
		return q.noun() + " cannot be told: " + q.out.Doubtful + " (" + value + "; " + q.limitWords + ")"
	}
	return q.noun() + " cannot be told: " + value + " is too near " + q.nearest(w) + " (" + about + "); " + q.out.Settle
}

// valueWords gives the worst value with U and its place: "worst local +11.5 ± 1.0 µm at plane 1, 120°".
func (q *inquiry) valueWords(w finding) string {
	words := plusMinus(w.value(), w.expanded(), q.places(), q.signed())
	if w.figures != "" {
		words = w.figures + ", ± " + expandedNumber(w.expanded(), q.places()) + " µm"
	}
	if q.c.Name == spindle.Size {
		words = "worst local " + words
	}
	if w.where != "" {
		words += " at " + w.where
	}
	return words
}

// places returns the decimals for this characteristic, from the gauge that resolves best.
func (q *inquiry) places() int {
	best := length.Length(0)
	as := spindle.ReadAs(q.in.Spec.Geometry, q.c.Name)
	for _, o := range q.in.Observations {
		if spindle.ReadAs(q.in.Spec.Geometry, o.Reading.Characteristic) != as {
			continue
		}
		if r := q.in.Setups[o.Reading.Setup].Gauge.Resolution; r > 0 && (best == 0 || r < best) {
			best = r
		}
	}
	return places(best)
}

// beyond says how far outside its limits a value lies, and outside which.
func (q *inquiry) beyond(w finding) (amount, side string) {
	over := length.Length(0)
	switch y := w.value(); {
	case q.band.upper != nil && y > *q.band.upper:
		over, side = minus(y, *q.band.upper), "above its "+q.limitName("upper")
	case q.band.lower != nil && y < *q.band.lower:
		over, side = minus(*q.band.lower, y), "below its "+q.limitName("lower")
	}
	d := q.places()
	for d < 3 && over > 0 && length.Format(over, length.Micrometres, d) == length.Format(0, length.Micrometres, d) {
		d++
	}
	return length.Format(over, length.Micrometres, d), side
}

func (q *inquiry) limitName(side string) string {
	if q.band.lower == nil || q.band.upper == nil {
		return "limit"
	}
	return side + " limit"
}

func (q *inquiry) nearest(w finding) string {
	y := w.value()
	if q.band.lower != nil && (q.band.upper == nil || minus(y, *q.band.lower).Abs() <= minus(*q.band.upper, y).Abs()) {
		return "its " + q.limitName("lower")
	}
	return "its " + q.limitName("upper")
}

// missingWords counts the stations and names those that are missing: "3 of 6 stations read, missing plane 2 at 0°, 60° and 120°".
func (q *inquiry) missingWords() string {
	words := strconv.Itoa(q.out.Have) + " of " + plural(q.out.Need, "station", "stations") + " read"
	if len(q.out.Missing) == 0 || q.out.Have == 0 {
		return words
	}
	var planes []string
	angles := map[string][]string{}
	for _, m := range q.out.Missing {
		planes = addNote(planes, m.Plane+"\x00")
		angles[m.Plane] = append(angles[m.Plane], degrees(m.Angle))
	}
	var parts []string
	for _, p := range planes {
		p = strings.TrimSuffix(p, "\x00")
		at := listed(angles[p])
		if p != "" {
			at = planeWords(p) + " at " + at
		}
		parts = append(parts, at)
	}
	return words + ", missing " + strings.Join(parts, "; ")
}
