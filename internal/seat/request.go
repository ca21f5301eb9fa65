package seat

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/iso286"
	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

// Part is what the size belongs to.
type Part string

// The parts, with the size that each is looked up by: the seat diameter d of a shaft, the bore D of a housing, the bore of an inner spacer,
// the outside diameter of an outer spacer, the diameter of the bearing seat beside a nut.
const (
	Shaft       Part = "shaft"
	Housing     Part = "housing"
	InnerSpacer Part = "inner spacer"
	OuterSpacer Part = "outer spacer"
	Nut         Part = "nut"
)

// Parts lists the parts.
func Parts() []Part { return []Part{Shaft, Housing, InnerSpacer, OuterSpacer, Nut} }

// BearingType is the kind of bearing on the seat. The zero value asks for AngularContact.
type BearingType string

// The types that makers have tables for.
const (
	AngularContact    BearingType = "angular-contact ball"
	CylindricalRoller BearingType = "cylindrical roller"
	DoubleThrust      BearingType = "double direction angular-contact thrust ball"
	TaperedRoller     BearingType = "tapered roller"
	ScrewSupport      BearingType = "screw support"
)

// BearingTypes lists the types.
func BearingTypes() []BearingType {
	return []BearingType{AngularContact, CylindricalRoller, DoubleThrust, TaperedRoller, ScrewSupport}
}

// BearingClass is the tolerance class of the bearing as makers head their tables with it: an ISO 492 class, 4S for class 4 dimensions with
// class 2 running accuracy, or C for precision tapered roller bearings.
type BearingClass string

// The classes that ISO 492 has not.
const (
	Class4S BearingClass = "4S"
	ClassC  BearingClass = "C"
)

// makersClasses are makers' own class names with the class whose seats their makers ask for. Source: the heads of SKF's tables for
// super-precision bearings; 4S: Timken's shaft table.
var makersClasses = []struct {
	name  string
	class BearingClass
}{{"P4S", Class4S}, {"4S", Class4S}, {"C", ClassC}, {"P4A", "4"}, {"P4C", "4"}, {"SP", "4"}, {"PA9A", "2"}, {"UP", "2"}}

// ParseBearingClass reads a class: an ISO 492 class by any name that iso492.ParseClass knows, or P4S, P4A, P4C, SP, PA9A, UP, C. Case does
// not matter. Errors: those of iso492.ParseClass.
func ParseBearingClass(s string) (BearingClass, error) {
	key := strings.ToUpper(strings.ReplaceAll(s, " ", ""))
	for _, own := range makersClasses {
		if key == own.name {
			return own.class, nil
		}
	}
	c, err := iso492.ParseClass(s)
	return BearingClass(c), err
}

// dimensions is the ISO 492 class of the ring's diameters; false for a class whose diameters ISO 492 does not give.
func (c BearingClass) dimensions() (iso492.Class, bool) {
	if c == Class4S {
		return iso492.Class4, true
	}
	return iso492.Class(c), slices.Contains(iso492.Classes(), iso492.Class(c))
}

// Rotation says which ring turns against the load. The zero value asks for InnerTurns, a spindle's usual case.
type Rotation string

// The rotations: the inner ring turns against the load and the outer one stands still to it, or the other way round.
const (
	InnerTurns Rotation = "inner"
	OuterTurns Rotation = "outer"
)

// Position is the arrangement's end that the seat belongs to. The zero value asks for both.
type Position string

// The positions: fixed, or locating, holds the shaft axially; floating lets it grow.
const (
	Fixed    Position = "fixed"
	Floating Position = "floating"
)

// Load is how hard the bearing is loaded, in its maker's own bounds, which the proposal's note gives. The zero value asks for all.
type Load string

// The loads. Normal is also called medium.
const (
	Light      Load = "light"
	NormalLoad Load = "normal"
	Heavy      Load = "heavy"
)

// Demand separates the two columns that SKF has for bearings of class Normal. The zero value asks for both.
type Demand string

// The demands.
const (
	NormalDemand Demand = "normal"
	HigherDemand Demand = "higher" // higher running accuracy or even support
)

// Request is the question: which part of which bearing, and whose recommendation.
type Request struct {
	Part         Part
	Nominal      length.Length // pm, above 0, at most 3150 mm; see Part for which diameter
	Class        BearingClass
	Type         BearingType
	Rotating     Rotation
	Position     Position
	Load         Load
	Demand       Demand
	Maker        string        // one of Makers, in any case; empty for every maker side by side
	SeatDistance length.Length // pm, of the two seats of a shaft or housing; 0 where not given: coaxiality per length then stays open
}

// Makers lists the makers whose recommendations are held, in the order in which answers list them.
func Makers() []string { return slices.Clone(tables().makers) }

// checked returns the request with its zero values filled in and its maker as Makers writes it, or what is wrong with it.
func (r Request) checked() (Request, error) {
	if r.Type == "" {
		r.Type = AngularContact
	}
	if r.Rotating == "" {
		r.Rotating = InnerTurns
	}
	malformed := func(what, given, choices string) (Request, error) {
		return Request{}, &RequestError{Err: ErrMalformed, Asked: fmt.Sprintf("%s %q", what, given), Reason: "it is one of " + choices}
	}
	if !slices.Contains(Parts(), r.Part) {
		return malformed("part", string(r.Part), choices(Parts()))
	}
	if !slices.Contains(BearingTypes(), r.Type) {
		return malformed("bearing type", string(r.Type), choices(BearingTypes()))
	}
	if r.Rotating != InnerTurns && r.Rotating != OuterTurns {
		return malformed("turning ring", string(r.Rotating), "inner, outer")
	}
	if r.Position != "" && r.Position != Fixed && r.Position != Floating {
		return malformed("position", string(r.Position), "fixed, floating")
	}
	if r.Load != "" && r.Load != Light && r.Load != NormalLoad && r.Load != Heavy {
		return malformed("load", string(r.Load), "light, normal, heavy")
	}
	if r.Demand != "" && r.Demand != NormalDemand && r.Demand != HigherDemand {
		return malformed("demand", string(r.Demand), "normal, higher")
	}
	if _, known := r.Class.dimensions(); !known && r.Class != ClassC {
		return malformed("bearing class", string(r.Class), "Normal, 6, 5, 4, 2, 4S, C; other names are read by ParseBearingClass")
	}
	if r.Nominal <= 0 || r.Nominal > iso286.MaxNominal {
		return Request{}, &RequestError{Err: ErrOutOfRange, Asked: fmt.Sprintf("%s, %s", r.Part, r.Nominal), Reason: "sizes are above 0 mm up to and including 3150 mm"}
	}
	if r.SeatDistance < 0 || r.SeatDistance > maxSeatDistance {
		return Request{}, &RequestError{Err: ErrOutOfRange, Asked: fmt.Sprintf("distance of the seats, %s", r.SeatDistance), Reason: "it is above 0 mm up to and including 10 m, or left out"}
	}
	if r.Maker != "" {
		i := slices.IndexFunc(tables().makers, func(m string) bool { return strings.EqualFold(m, r.Maker) })
		if i < 0 {
			return malformed("maker", r.Maker, choices(tables().makers))
		}
		r.Maker = tables().makers[i]
	}
	return r, nil
}

// maxSeatDistance keeps a coaxiality per length far from overflow.
const maxSeatDistance = 10 * length.Metre

func choices[T ~string](all []T) string {
	words := make([]string, len(all))
	for i, w := range all {
		words[i] = string(w)
	}
	return strings.Join(words, ", ")
}
