package verdict

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Propose says what to do with a component: the first of decide, replace, rework, measure, reuse that anything asks for.
//
//   - decide: a conflict, damage that nobody has decided on, a defect seen (a yes/no point answered by no), limits that nobody has accepted
//   - replace: it fails and nothing that is allowed mends it; or it is a bearing or seal that has run (common practice, no source)
//   - rework: it fails, and an allowed rework mends every failing characteristic
//   - measure: a station is missing, a value cannot be told, or nothing required is specified
//   - reuse: every required characteristic conforms, and there is at least one
//
// Only required characteristics count. The features and specifications are those of the component; a specification without a verdict counts as not measured.
// The reason is one sentence on the worst feature.
func Propose(c spindle.Component, features []Feature, specs []spindle.Specification, damage []string) Proposal {
	if len(damage) > 0 {
		found := slices.DeleteFunc(slices.Clone(damage), func(d string) bool { return strings.TrimSpace(d) == "" })
		return Proposal{Action: Decide, Reason: c.Name + ": damage was found and nobody has decided on it: " + cmp.Or(strings.Join(found, "; "), "see the finding")}
	}
	for _, s := range specs {
		if !s.Accepted() {
			return Proposal{Action: Decide, Feature: s.Feature, Reason: subject(s) + ": its limits are " + origin(s) + ", and nobody has accepted them yet"}
		}
	}
	points := required(features, specs)
	if p, ok := worstOf(points, func(p point) bool { return p.Outcome == InConflict }); ok {
		return p.propose(Decide, p.Sentence)
	}
	if p, ok := worstOf(points, func(p point) bool { return p.Outcome == Fails && p.Name == spindle.AttributeChar }); ok {
		return p.propose(Decide, p.Sentence)
	}
	if p, ok := worstOf(points, func(p point) bool { return p.Outcome == Fails && (p.Mend == nil || !p.Mend.Allowed) }); ok {
		return p.propose(Replace, p.Sentence+p.whyNot())
	}
	if c.RunBefore && (c.Type == spindle.Bearing || c.Type == spindle.Seal) {
		return Proposal{Action: Replace, Reason: c.Name + ": a " + string(c.Type) + " that has run is replaced unless an inspector decides otherwise (common practice, no source)"}
	}
	if p, ok := worstOf(points, func(p point) bool { return p.Outcome == Fails }); ok {
		return p.propose(Rework, p.Sentence+": "+p.rework())
	}
	if len(points) == 0 {
		if len(specs) == 0 {
			return Proposal{Action: Measure, Reason: c.Name + ": nothing is specified for it, so nothing can clear it: specify what it must be and measure it"}
		}
		return Proposal{Action: Measure, Feature: specs[0].Feature, Reason: c.Name + ": nothing that is specified for it is required, so nothing can clear it: mark what is required and measure it"}
	}
	if p, ok := worstOf(points, func(p point) bool { return p.Outcome != Conforms }); ok {
		return p.propose(Measure, p.Sentence+p.gauge())
	}
	p, _ := worstOf(points, func(point) bool { return true })
	if len(points) == 1 {
		return p.propose(Reuse, p.Sentence)
	}
	return p.propose(Reuse, "all "+strconv.Itoa(len(points))+" required characteristics conform; the tightest: "+p.Sentence)
}

// point is one required characteristic of a feature.
type point struct {
	Characteristic
	spec spindle.Specification
}

// required lists the required characteristics in the order of the specifications. One without a verdict is assessed on no readings, which says what is missing.
func required(features []Feature, specs []spindle.Specification) []point {
	var points []point
	for _, s := range specs {
		i := slices.IndexFunc(features, func(f Feature) bool { return f.Feature == s.Feature })
		f := Feature{}
		if i >= 0 {
			f = features[i]
		}
		var unread *Feature
		for _, c := range s.Characteristics {
			if !c.Required {
				continue
			}
			at := slices.IndexFunc(f.Characteristics, func(have Characteristic) bool { return have.Name == c.Name })
			if at >= 0 {
				points = append(points, point{f.Characteristics[at], s})
				continue
			}
			if unread == nil {
				unread = pointer(Assess(Input{Spec: s}))
			}
			at = slices.IndexFunc(unread.Characteristics, func(have Characteristic) bool { return have.Name == c.Name })
			points = append(points, point{unread.Characteristics[at], s})
		}
	}
	return points
}

// worstOf returns the worst of the points that are asked for: by outcome, then by p_c, then by the margin as a share of the tolerance; of equals the first.
func worstOf(points []point, asked func(point) bool) (point, bool) {
	var worst point
	found := false
	for _, p := range points {
		if !asked(p) {
			continue
		}
		if !found || worsePoint(p, worst) {
			worst, found = p, true
		}
	}
	return worst, found
}

func worsePoint(a, b point) bool {
	pc := func(p point) float64 {
		if p.PC == nil {
			return 2 // nothing is known: behind what is known to be bad
		}
		return *p.PC
	}
	room := func(p point) float64 {
		width, ok := band{p.Lower, p.Upper}.width(neverNegative(p.Name))
		if p.Margin == nil || !ok || width <= 0 {
			return 0
		}
		return float64(*p.Margin) / float64(width)
	}
	return cmp.Or(cmp.Compare(severity(a.Outcome), severity(b.Outcome)), cmp.Compare(pc(a), pc(b)), cmp.Compare(room(a), room(b))) < 0
}

func (p point) propose(a Action, reason string) Proposal {
	return Proposal{Action: a, Reason: reason, Feature: p.spec.Feature, Characteristic: p.Name}
}

// whyNot says why no rework helps.
func (p point) whyNot() string {
	if p.Mend == nil || p.Mend.Why == "" {
		return ": no rework is given that mends it"
	}
	return ": " + p.Mend.Why
}

// rework says what to do and how much: "take off 2.8 … 7.2 µm, aim 5.0 µm (0.02 mm may be taken off)".
func (p point) rework() string {
	m := p.Mend
	where := ""
	switch p.spec.Geometry {
	case spindle.Outside, spindle.Inside:
		where = " on the diameter"
	case spindle.Thickness:
		where = " of the thickness"
	}
	act := "take off"
	if m.Direction == MetalOn {
		act = "build up and finish, adding"
	}
	number := func(l length.Length) string {
		return strings.TrimSuffix(length.Format(l, length.Micrometres, 1), " µm")
	}
	amount := number(m.From) + " … " + number(m.To) + " µm" + where + ", aim " + length.Format(m.Aim, length.Micrometres, 1)
	if m.From == m.To {
		amount = number(m.From) + " µm" + where
	}
	return act + " " + amount + " (" + m.Why + ")"
}

// gauge says with what to measure where readings are missing. What would settle a "cannot be told" stands in its sentence.
func (p point) gauge() string {
	if p.Outcome != Incomplete {
		return ""
	}
	kind := ""
	switch p.Name {
	case spindle.QuantityChar, spindle.AttributeChar:
		return ""
	case spindle.Roundness:
		kind = "an indicator, eight or more stations equally spaced"
	case spindle.CircularRunOut, spindle.TotalRunOut, spindle.AxialRunOut, spindle.Perpendicular:
		kind = "an indicator, four or more stations"
	default:
		switch p.spec.Geometry {
		case spindle.Inside:
			kind = "a two-point bore gauge"
		case spindle.Outside:
			kind = "a two-point comparator"
		default:
			kind = "a comparator"
		}
	}
	words := "; measure with " + kind
	if width, ok := (band{p.Lower, p.Upper}).width(neverNegative(p.Name)); ok && width > 0 {
		words += ", U ≤ " + rounded(width/4) + " (T/4)"
	}
	return words
}
