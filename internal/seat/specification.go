package seat

import (
	"slices"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Characteristics turns the proposals of one maker into requirements on a feature of the given geometry: size and form on an outside or
// inside diameter, shoulders and nut faces on a face, spacer parallelism on a thickness. Open proposals and those that belong to another
// geometry are passed over; those of this geometry that no requirement expresses (coaxiality, which is a matter of two features; flatness;
// roughness) come back as left, so that they can be shown.
//
// Three are weaker than what was proposed, and necessary: cylindricity and an unnamed form become roundness, which they contain; parallelism
// of opposite generators becomes a limit of taper either way. Datum names the features that run-outs and squareness refer to.
//
// Errors: ErrMixed if the usable proposals are of more than one maker; ErrAmbiguous if two set the same requirement differently (name the
// position, the load or the demand in the request).
func Characteristics(proposals []Proposal, g spindle.Geometry, datum []string) (made []spindle.Characteristic, left []Proposal, err error) {
	maker := ""
	for _, p := range proposals {
		if p.Open != "" || !slices.Contains(groupsOf(g, p.Part), p.Group) {
			continue
		}
		if maker != "" && p.Maker != maker {
			return nil, nil, &RequestError{Err: ErrMixed, Asked: string(p.Part), Reason: "there are proposals of " + maker + " and of " + p.Maker + "; name one maker"}
		}
		maker = p.Maker
		c, expressed := p.characteristic(g, datum)
		if !expressed {
			left = append(left, p)
			continue
		}
		i := slices.IndexFunc(made, func(m spindle.Characteristic) bool { return m.Name == c.Name })
		switch {
		case i < 0:
			made = append(made, c)
		case !same(made[i], c):
			return nil, nil, &RequestError{Err: ErrAmbiguous, Asked: string(p.Part) + ", " + c.Name, Reason: p.Maker + " has " + p.Characteristic + " for more than one case; " +
				"name the position (fixed, floating), the load or the demand"}
		}
	}
	return made, left, nil
}

// Complete adds to a specification what the drawing leaves silent. A characteristic that stands in it already is kept as it is: a limit off
// the drawing always beats a proposal. If anything is added, the specification becomes a proposal that nobody has accepted, and its reference
// says of each source "proposed from …, not from the drawing". Left and errors as for Characteristics; the given specification is not changed.
func Complete(s spindle.Specification, proposals []Proposal, datum []string) (spindle.Specification, []Proposal, error) {
	made, left, err := Characteristics(proposals, s.Geometry, datum)
	if err != nil {
		return spindle.Specification{}, nil, err
	}
	s.Characteristics = slices.Clone(s.Characteristics)
	var added []string
	for _, c := range made {
		if _, given := s.Characteristic(c.Name); given {
			continue
		}
		s.Characteristics = append(s.Characteristics, c)
		for _, p := range proposals {
			if p.Open != "" || !slices.Contains(groupsOf(s.Geometry, p.Part), p.Group) {
				continue
			}
			if own, expressed := p.characteristic(s.Geometry, datum); expressed && own.Name == c.Name && !slices.Contains(added, p.Words()) {
				added = append(added, p.Words())
			}
		}
	}
	if len(added) == 0 {
		return s, left, nil
	}
	s.Source, s.AcceptedBy = spindle.FromProposal, ""
	if s.Reference != "" {
		added = append([]string{s.Reference}, added...)
	}
	s.Reference = strings.Join(added, "; ")
	return s, left, nil
}

// groupsOf are the groups that a feature of such a geometry is held to.
func groupsOf(g spindle.Geometry, p Part) []Group {
	switch g {
	case spindle.Outside, spindle.Inside:
		if p == Shaft || p == OuterSpacer || p == Nut {
			if g != spindle.Outside {
				return nil
			}
		} else if g != spindle.Inside {
			return nil
		}
		return []Group{Size, Form, Coaxiality, Roughness}
	case spindle.Face:
		return []Group{Shoulder, NutFace, Faces}
	case spindle.Thickness:
		return []Group{Faces, Pair}
	}
	return nil
}

// characteristic is the requirement that expresses the proposal on such a geometry; false where none does.
func (p Proposal) characteristic(g spindle.Geometry, datum []string) (spindle.Characteristic, bool) {
	greatest, least := p.Max, -p.Max
	c := spindle.Characteristic{Max: &greatest, Required: true}
	switch p.Characteristic {
	case "size":
		upper, lower := p.Upper, p.Lower
		c = spindle.Characteristic{Name: spindle.Size, Required: true}
		if p.ToleranceClass != "" {
			c.Class = p.ToleranceClass
		} else {
			c.Upper, c.Lower = &upper, &lower
		}
	case "roundness", "cylindricity", "form of seat":
		c.Name = spindle.Roundness
	case "parallelism of opposite generators":
		c = spindle.Characteristic{Name: spindle.TaperChar, Lower: &least, Upper: &greatest, Required: true}
	case "radial run-out":
		c.Name, c.Datum = spindle.CircularRunOut, slices.Clone(datum)
	case "total radial run-out":
		c.Name, c.Datum = spindle.TotalRunOut, slices.Clone(datum)
	case "perpendicularity", "squareness to axis", "total axial run-out": // total axial run-out bounds the same zone as perpendicularity (ISO 1101)
		c.Name, c.Datum = spindle.Perpendicular, slices.Clone(datum)
	case "axial run-out", "axial run-out to the seats", "axial run-out of faces", "axial run-out of clamping face":
		c.Name, c.Datum = spindle.AxialRunOut, slices.Clone(datum)
	case "parallelism of faces":
		c.Name = spindle.Parallelism
	default:
		return spindle.Characteristic{}, false
	}
	if onThickness := c.Name == spindle.Parallelism; onThickness != (g == spindle.Thickness) {
		return spindle.Characteristic{}, false
	}
	return c, true
}

// same reports whether two requirements have the same limits.
func same(a, b spindle.Characteristic) bool {
	equal := func(x, y *length.Length) bool { return (x == nil) == (y == nil) && (x == nil || *x == *y) }
	return a.Class == b.Class && equal(a.Lower, b.Lower) && equal(a.Upper, b.Upper) && equal(a.Max, b.Max)
}
