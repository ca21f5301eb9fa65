// Package spindle holds the shop's nouns: what a job, a component, a feature, a specification, a set-up and a reading are.
//
// The types here are shared by everything that reads or writes them: the entries of a record (package record), the job file that
// is exchanged with scripts (package jobfile) and the computation (package verdict). They carry no behaviour beyond checking themselves.
//
// # Units
//
// Every key of the JSON form carries its unit. Lengths are whole picometres (…_pm), angles whole thousandths of a degree (…_mdeg),
// temperatures whole thousandths of a degree Celsius (…_mdegc), temperature differences thousandths of a kelvin (…_mk), expansion coefficients whole parts in 10^9 per kelvin (…_ppb_per_k), times milliseconds since 1970
// in UTC (…_ms). Quantities of another kind (kN, MΩ, mm/s) are a decimal integer, an exponent of ten and a unit: see [Quantity].
// Nothing is a floating-point number, so that a device and the server cannot round differently.
//
// # Coordinates
//
// z runs along the spindle's axis from the nose face (z = 0) to the rear. An angle is counted from the component's zero mark in the sense that the set-up states.
package spindle

import (
	"errors"
	"fmt"

	"runtrue/internal/length"
)

// ErrInvalid is what every failed check of a noun wraps.
var ErrInvalid = errors.New("not valid")

func invalid(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrInvalid, fmt.Sprintf(format, args...))
}

// Role is what a person may do in the shop. A person can hold several; an entry says in which one it was made.
type Role string

// The roles. The list is closed.
const (
	Technician Role = "technician"
	Inspector  Role = "inspector"
	Assembler  Role = "assembler"
	Quality    Role = "quality"
	Office     Role = "office"
	Admin      Role = "admin"
	// Machine is the server itself, when it objects to an entry.
	Machine Role = "server"
)

// Roles lists the roles that a person can be granted, in the order in which they are shown.
func Roles() []Role { return []Role{Technician, Inspector, Assembler, Quality, Office, Admin} }

// ComponentType says what kind of part a component is; the list is closed, "other" takes the rest.
type ComponentType string

// The component types. Bearings and seals that have run are replaced unless an inspector says otherwise (common practice, no source).
const (
	Shaft   ComponentType = "shaft"
	Housing ComponentType = "housing"
	Bearing ComponentType = "bearing"
	Spacer  ComponentType = "spacer"
	Nut     ComponentType = "nut"
	Drawbar ComponentType = "drawbar"
	Cover   ComponentType = "cover"
	Seal    ComponentType = "seal"
	Sleeve  ComponentType = "sleeve"
	Rotor   ComponentType = "rotor"
	Other   ComponentType = "other"
)

// ComponentTypes lists the types in the order in which they are shown.
func ComponentTypes() []ComponentType {
	return []ComponentType{Shaft, Housing, Bearing, Spacer, Nut, Drawbar, Cover, Seal, Sleeve, Rotor, Other}
}

// Origin says where a component comes from.
type Origin string

// The origins of a component.
const (
	Removed Origin = "removed" // came off this spindle
	Spare   Origin = "spare"   // from the shop's shelf
	New     Origin = "new"     // bought for this job
	Made    Origin = "made"    // made by or for the shop
)

// Segment is one step of a component's outline as a half-section drawing shows it: a ring of material from z over its length,
// between two diameters. Inside is 0 for solid material.
type Segment struct {
	Z       length.Length `json:"z_pm"`
	Length  length.Length `json:"length_pm"`
	Outside length.Length `json:"outside_pm"`
	Inside  length.Length `json:"inside_pm,omitempty"`
	// OutsideEnd and InsideEnd, where not 0, are the diameters at the end of a conical step (a taper).
	OutsideEnd length.Length `json:"outside_end_pm,omitempty"`
	InsideEnd  length.Length `json:"inside_end_pm,omitempty"`
}

// BearingFacts is what is known of a bearing from its label or its maker's list.
type BearingFacts struct {
	Designation  string        `json:"designation,omitempty"`
	Bore         length.Length `json:"bore_pm,omitempty"`
	Outside      length.Length `json:"outside_pm,omitempty"`
	Width        length.Length `json:"width_pm,omitempty"`
	Class        string        `json:"class,omitempty"` // ISO 492 class: Normal, 6, 5, 4, 2
	ContactAngle int64         `json:"contact_angle_mdeg,omitempty"`
	// OpensTo is the side to which an angular contact bearing takes no axial load: "nose", "rear" or "" for radial bearings.
	// It decides how the contact line is drawn.
	OpensTo string `json:"opens_to,omitempty"`
	Rollers bool   `json:"rollers,omitempty"`
}

// Component is one part of a spindle. Its id is the type's template id, or the id of the entry that brought it in.
type Component struct {
	ID        string        `json:"id,omitempty"`
	Type      ComponentType `json:"type"`
	Name      string        `json:"name"`
	Place     string        `json:"place"` // where it sits, in words: "front, outer of the pair"
	Origin    Origin        `json:"origin"`
	Serial    string        `json:"serial,omitempty"`
	SetID     string        `json:"set_id,omitempty"` // matched set: one ring bad, all are
	RunBefore bool          `json:"run_before"`       // it has run in a spindle
	Outline   []Segment     `json:"outline,omitempty"`
	Bearing   *BearingFacts `json:"bearing,omitempty"`
}

// Check says what is wrong with the component, or nil.
func (c Component) Check() error {
	switch {
	case !oneOf(string(c.Type), ComponentTypes()):
		return invalid("component type %q is none of %v", c.Type, ComponentTypes())
	case c.Name == "":
		return invalid("a component needs a name")
	case !oneOf(string(c.Origin), []Origin{Removed, Spare, New, Made}):
		return invalid("component origin %q is none of removed, spare, new, made", c.Origin)
	}
	for i, s := range c.Outline {
		if s.Length <= 0 || s.Outside <= 0 || s.Inside < 0 || s.Inside >= s.Outside {
			return invalid("outline[%d]: a segment needs a length, an outside diameter and a smaller inside diameter", i)
		}
	}
	return nil
}

// Quantity is a value of a kind other than length: Value × 10^Exp10 in Unit, as it was typed, so that no digit is added or lost.
type Quantity struct {
	Value int64  `json:"value"`
	Exp10 int    `json:"exp10"`
	Unit  string `json:"unit"`
	// Bound is "" for a value, ">" or "<" when the gauge only says that it is beyond its range ("> 2000 MΩ").
	Bound string `json:"bound,omitempty"`
}

// Check says what is wrong with the quantity, or nil. The exponent is limited to what a float64 holds exactly enough, ±18.
func (q Quantity) Check() error {
	switch {
	case q.Unit == "":
		return invalid("a quantity needs a unit")
	case q.Exp10 < -18 || q.Exp10 > 18:
		return invalid("exponent 10^%d is outside -18 … 18", q.Exp10)
	case q.Bound != "" && q.Bound != ">" && q.Bound != "<":
		return invalid("bound %q is none of \"\", >, <", q.Bound)
	}
	return nil
}

func oneOf[T ~string](s string, list []T) bool {
	for _, e := range list {
		if s == string(e) {
			return true
		}
	}
	return false
}
