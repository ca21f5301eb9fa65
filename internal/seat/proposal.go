package seat

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/iso286"
	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

// Group gathers the characteristics that answer one question of the bench.
type Group string

// The groups, in the order in which answers list them.
const (
	Size       Group = "size"
	Form       Group = "form"     // of the seat: roundness, cylindricity, radial run-out
	Shoulder   Group = "shoulder" // its squareness, run-out, flatness
	Coaxiality Group = "coaxiality"
	Taper      Group = "taper" // of a tapered seat
	Roughness  Group = "roughness"
	Faces      Group = "faces" // of a spacer: parallelism, run-out
	Pair       Group = "pair"  // difference in length of an inner and an outer spacer
	NutFace    Group = "nut"
	Mounted    Group = "mounted" // the fit aimed at when ring and seat are matched
)

// Groups lists the groups in order.
func Groups() []Group {
	return []Group{Size, Form, Shoulder, Coaxiality, Taper, Roughness, Faces, Pair, NutFace, Mounted}
}

// expected are the groups that a part should have; a maker without one of them leaves it open.
func expected(p Part) []Group {
	switch p {
	case Shaft, Housing:
		return []Group{Size, Form, Shoulder, Coaxiality, Roughness}
	case InnerSpacer, OuterSpacer:
		return []Group{Faces, Pair}
	}
	return []Group{NutFace}
}

// Mark says how a figure came here.
type Mark string

// The marks of the reference tables.
const (
	Read       Mark = "S" // read in the source
	FromMemory Mark = "M" // from memory in what the proposal's note says
)

// InWords is "read in the source" or "from memory in part".
func (m Mark) InWords() string {
	if m == Read {
		return "read in the source"
	}
	return "from memory in part"
}

// Range is what a seat made to its limits gives with a ring of the bearing's class.
type Range struct {
	Min, Max length.Length // pm
	Is       string        // "interference" on a shaft, "clearance" in a housing; below 0 it is the other
}

// Proposal is one recommendation of one maker, or, with Open set, what that maker leaves open.
type Proposal struct {
	Part           Part
	Group          Group
	Characteristic string // as the maker has it: "cylindricity", "axial run-out"; empty where a whole group is open
	Open           string // why there is no value; empty where there is one

	// A size or a mounted fit has Limits and Upper, Lower; anything else has Max.
	Limits         bool
	ToleranceClass string        // ISO 286; empty for a maker's own limits
	Upper, Lower   length.Length // pm from the nominal size, positive larger; of a mounted fit, the fit itself
	Max            length.Length // pm, above 0
	Fit            *Range        // of a size on a shaft or in a housing, where ISO 492 has the ring

	Condition string // under which it holds: position, load, demand; empty for always
	Maker     string
	Source    string // the maker's publication and page
	Basis     string // how the value was made: grade and factor, class, or step, and the size it was taken at
	Mark      Mark
	Note      string
}

// Words is what every showing of a proposal says of its origin.
func (p Proposal) Words() string {
	return fmt.Sprintf("proposed from %s, %s, not from the drawing", p.Maker, p.Source)
}

// Propose lists what makers recommend for the part: by group, within it by maker, and for each maker what it leaves open and why. Without
// Maker every maker that has anything for the part and the type is listed.
//
// Errors: ErrMalformed if a word of the request is none that it may be; ErrOutOfRange unless 0 < Nominal ≤ 3150 mm and 0 ≤ SeatDistance
// ≤ 10 m; ErrNotDefined if nothing but gaps would be listed. Source: the makers' pages named in each proposal.
func Propose(request Request) ([]Proposal, error) {
	r, err := request.checked()
	if err != nil {
		return nil, err
	}
	t := tables()
	makers := t.makers
	if r.Maker != "" {
		makers = []string{r.Maker}
	}
	var list []Proposal
	values := 0
	for _, group := range Groups() {
		for _, maker := range makers {
			proposals, reason, err := t.propose(r, maker, group)
			if err != nil {
				return nil, err
			}
			for _, p := range proposals {
				if p.Open == "" {
					values++
				}
			}
			list = append(list, proposals...)
			if len(proposals) == 0 && reason != "" && (r.Maker != "" || t.has(maker, r.Part, r.Type)) {
				list = append(list, Proposal{Part: r.Part, Group: group, Open: reason, Maker: maker})
			}
		}
	}
	if values == 0 {
		var reasons []string
		for _, p := range list {
			if reason := p.Maker + ": " + p.Open; !slices.Contains(reasons, reason) {
				reasons = append(reasons, reason)
			}
		}
		if len(reasons) == 0 {
			reasons = []string{fmt.Sprintf("no maker's table for the %s of %s bearings was read", r.Part, r.Type)}
		}
		return nil, &RequestError{Err: ErrNotDefined, Asked: fmt.Sprintf("%s, class %s", r.Part, r.Class), Nominal: r.Nominal, Reason: strings.Join(reasons, "; ")}
	}
	return list, nil
}

// has reports whether a maker's tables hold anything for the part of such a bearing.
func (t *tableSet) has(maker string, part Part, kind BearingType) bool {
	return slices.ContainsFunc(t.rules, func(u rule) bool {
		return u.source.maker == maker && u.part == part && (u.kind == "" || u.kind == kind)
	}) ||
		slices.ContainsFunc(t.gaps, func(g gap) bool { return g.maker == maker && g.part == part && kind == AngularContact })
}

// propose gathers one maker's rules of one group. Without any that apply it gives the reason, empty where nothing is expected.
func (t *tableSet) propose(r Request, maker string, group Group) (list []Proposal, reason string, err error) {
	var classes []string // that rules for this part, type and group have
	var spans []span     // that rules for this class too have
	other := ""          // what else kept a rule from applying
	for _, u := range t.rules {
		if u.source.maker != maker || u.part != r.Part || u.group != group || u.kind != "" && u.kind != r.Type {
			continue
		}
		if !u.forClass(r.Class) {
			classes = append(classes, u.classes...)
			continue
		}
		if !u.suits(r) {
			other = "not for this turning ring, position, load or demand"
			continue
		}
		if !u.span.contains(r.Nominal) {
			spans = append(spans, u.span)
			continue
		}
		p, err := u.proposal(r)
		if err != nil {
			return nil, "", err
		}
		list = append(list, p)
	}
	if len(list) > 0 || !slices.Contains(expected(r.Part), group) {
		return list, t.known(maker, r.Part, group), nil
	}
	if known := t.known(maker, r.Part, group); known != "" {
		return nil, known, nil
	}
	switch {
	case len(spans) > 0:
		return nil, fmt.Sprintf("%s figures are printed for sizes %s only", group, inWords(spans)), nil
	case other != "":
		return nil, fmt.Sprintf("%s figures are printed, but %s", group, other), nil
	case len(classes) > 0:
		slices.Sort(classes)
		return nil, fmt.Sprintf("%s figures are printed for class %s only", group, strings.Join(slices.Compact(classes), ", ")), nil
	}
	return nil, fmt.Sprintf("no %s figures of this part are in what was read", group), nil
}

// known is what gaps.csv says of the group; empty if nothing.
func (t *tableSet) known(maker string, part Part, group Group) string {
	for _, g := range t.gaps {
		if g.maker == maker && g.part == part && (g.group == group || g.group == "" && slices.Contains(expected(part), group)) {
			return g.reason
		}
	}
	return ""
}

// suits reports whether the rule is for the turning ring, the position, the load and the demand asked for; what the request leaves open suits.
func (u *rule) suits(r Request) bool {
	return (u.rotating == "" || u.rotating == r.Rotating) &&
		(u.position == "" || r.Position == "" || u.position == r.Position) &&
		(len(u.loads) == 0 || r.Load == "" || slices.Contains(u.loads, string(r.Load))) &&
		(u.demand == "" || r.Demand == "" || u.demand == r.Demand)
}

// forClass reports whether the rule is for the class. Sizes of class 4 hold for 4S too, whose dimensions are those of class 4.
func (u *rule) forClass(c BearingClass) bool {
	if len(u.classes) == 0 || slices.Contains(u.classes, string(c)) {
		return true
	}
	return c == Class4S && (u.group == Size || u.group == Mounted) && slices.Contains(u.classes, "4")
}

// proposal computes what the rule gives at the size. A value that ISO 286 does not define there is left open with its reason.
func (u *rule) proposal(r Request) (Proposal, error) {
	p := Proposal{Part: u.part, Group: u.group, Characteristic: u.characteristic, Maker: u.source.maker, Source: u.source.title, Mark: u.mark, Note: u.note}
	var conditions []string
	if u.position != "" {
		conditions = append(conditions, string(u.position)+" end")
	}
	if len(u.loads) > 0 {
		conditions = append(conditions, strings.Join(u.loads, " or ")+" load")
	}
	if u.demand != "" {
		conditions = append(conditions, string(u.demand)+" demands on running accuracy")
	}
	p.Condition = strings.Join(conditions, ", ")
	if r.Class == Class4S && !slices.Contains(u.classes, string(Class4S)) && len(u.classes) > 0 {
		p.addNote("printed for class 4, whose dimensions P4S has")
	}
	printed := "printed for sizes " + inWords([]span{u.span})
	if u.span == (span{}) {
		printed = "printed for every size"
	}
	// A maker's first step may include its lower bound, which ISO 286 counts to the step below: what is printed holds there too.
	size, where := r.Nominal, "at the nominal "+sizeOf(u.part)+" of "+r.Nominal.String()
	if u.span.included && size == u.span.over {
		size++
		where += ", taken in the step that the maker begins there"
	}
	switch {
	case u.byGrade:
		it, err := iso286.StandardTolerance(size, u.grade)
		if errors.Is(err, iso286.ErrNotDefined) {
			p.Open = err.Error()
			return p, nil
		}
		if err != nil {
			return p, err
		}
		p.Max, p.Basis = it, fmt.Sprintf("%s %s", u.grade, where)
		if u.half {
			p.Max = it / 2 // every standard tolerance is an even number of picometres
			p.Basis = fmt.Sprintf("half of %s %s, %s = %s", u.grade, where, u.grade, it)
		}
	case u.toleranced != "":
		l, err := iso286.Lookup(size, u.toleranced)
		if errors.Is(err, iso286.ErrNotDefined) {
			p.Open = err.Error()
			return p, nil
		}
		if err != nil {
			return p, err
		}
		p.Limits, p.ToleranceClass, p.Upper, p.Lower = true, u.toleranced, l.Upper, l.Lower
		p.Basis = fmt.Sprintf("%s %s, ISO 286", u.toleranced, where)
		if l.Status != iso286.Confirmed {
			p.addNote("ISO 286 limits " + string(l.Status))
		}
	case u.perMM:
		perMM := fmt.Sprintf("%s for each mm of distance between the seats", u.greatest)
		if r.SeatDistance == 0 {
			p.Open = perMM + ": give the distance"
			return p, nil
		}
		// Rounded to the nearest picometre; at most 10^13 pm times 30 000 pm, far inside 64 bits.
		p.Max = (u.greatest*r.SeatDistance + length.Millimetre/2) / length.Millimetre
		p.Basis = perMM + " of " + r.SeatDistance.String() + ", " + printed
	case u.limits:
		p.Limits, p.Upper, p.Lower, p.Basis = true, u.upper, u.lower, printed
	default:
		p.Max, p.Basis = u.greatest, printed
	}
	if u.group == Size {
		var err error
		if p.Fit, err = u.fit(r, p); err != nil {
			return p, err
		}
	}
	return p, nil
}

func (p *Proposal) addNote(note string) {
	if p.Note != "" {
		note = p.Note + "; " + note
	}
	p.Note = note
}

// fit is what the seat gives with the mean diameter of a ring of the class; nil for a part without a ring, and for bearings and sizes that
// the tables of ISO 492 leave out.
func (u *rule) fit(r Request, p Proposal) (*Range, error) {
	class, known := r.Class.dimensions()
	if !known || r.Type != AngularContact && r.Type != CylindricalRoller || u.part != Shaft && u.part != Housing {
		return nil, nil
	}
	ring := iso492.Inner
	if u.part == Housing {
		ring = iso492.Outer
	}
	mean, err := iso492.MeanDiameter(ring, r.Nominal, class)
	if errors.Is(err, iso492.ErrOutOfRange) || errors.Is(err, iso492.ErrNotDefined) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	fit := FitRange(u.part, p.Upper, p.Lower, mean.Upper, mean.Lower)
	return &fit, nil
}

// FitRange is the least and greatest fit between a seat and a ring, each within its limits (pm from one nominal size): the interference on a
// shaft, shaft less bore, and the clearance in a housing, bore less ring.
func FitRange(part Part, seatUpper, seatLower, ringUpper, ringLower length.Length) Range {
	is := "interference"
	if part == Housing {
		is = "clearance"
	}
	return Range{Min: seatLower - ringUpper, Max: seatUpper - ringLower, Is: is}
}

func sizeOf(p Part) string {
	switch p {
	case Housing, InnerSpacer:
		return "bore"
	case OuterSpacer:
		return "outside diameter"
	}
	return "seat diameter"
}
