package spindle

import "runtrue/internal/length"

// Geometry says what kind of feature a tolerance stands on, and so which readings make sense there.
type Geometry string

// The geometries. Thickness is the distance of two parallel faces (a spacer); sweep is a run-out that belongs to no size
// (a nose, a taper); quantity and attribute are features without a length.
const (
	Outside       Geometry = "outside" // a journal or another outside diameter
	Inside        Geometry = "inside"  // a bore
	Face          Geometry = "face"    // a shoulder or face, read axially
	TaperSeat     Geometry = "taper"
	Thickness     Geometry = "thickness"
	Sweep         Geometry = "sweep"
	QuantityPoint Geometry = "quantity"
	Attribute     Geometry = "attribute"
)

// Geometries lists the geometries.
func Geometries() []Geometry {
	return []Geometry{Outside, Inside, Face, TaperSeat, Thickness, Sweep, QuantityPoint, Attribute}
}

// Names of characteristics, after ISO 1101 and ISO 14405-1. The list is closed.
const (
	Size           = "size"             // local two-point sizes, each within the limits (ISO 14405-1 default); of a spacer its thickness
	Roundness      = "roundness"        // ISO 1101; from a sweep, never from two-point sizes
	SizeVariation  = "size variation"   // largest minus smallest local size of the feature
	TaperChar      = "taper"            // mean size nearest the nose minus mean size furthest from it, over the span
	CircularRunOut = "circular run-out" // ISO 1101, radial, one plane at a time, the worst plane
	TotalRunOut    = "total run-out"    // ISO 1101, all planes under one indicator zero
	AxialRunOut    = "axial run-out"    // ISO 1101 circular run-out read axially on a face
	Perpendicular  = "perpendicularity" // ISO 1101, over the diameter of the stations
	Parallelism    = "parallelism"      // ISO 1101, thickness of a ring around its stations
	QuantityChar   = "quantity"
	AttributeChar  = "attribute"
	MasterFeature  = "master" // the feature name of a zero check on the master
	ZeroCheck      = "zero"   // the characteristic name of a zero check
	ZeroBefore     = "before" // its plane, taken before the readings
	ZeroAfter      = "after"  // its plane, taken after the readings: the closing check
)

// Characteristics lists the names that a specification may use.
func Characteristics() []string {
	return []string{Size, Roundness, SizeVariation, TaperChar, CircularRunOut, TotalRunOut, AxialRunOut, Perpendicular, Parallelism, QuantityChar, AttributeChar}
}

// Characteristic is one requirement on a feature: a tolerance class, limits, or a greatest value.
//
// Lower and Upper are deviations from the feature's nominal for a size, and plain values otherwise. Max is short for an upper limit with
// 0 as the least possible value. Exactly one of Class, (Lower, Upper), Max, (LowerQ, UpperQ) is given, except for an attribute, which has none.
type Characteristic struct {
	Name   string         `json:"name"`
	Class  string         `json:"class,omitempty"` // ISO 286, for a size: "k4"
	Lower  *length.Length `json:"lower_pm,omitempty"`
	Upper  *length.Length `json:"upper_pm,omitempty"`
	Max    *length.Length `json:"max_pm,omitempty"`
	LowerQ *Quantity      `json:"lower,omitempty"`
	UpperQ *Quantity      `json:"upper,omitempty"`
	// Datum names the features that the value refers to. A rework of one of them makes the readings of this characteristic void.
	Datum []string `json:"datum,omitempty"`
	// Required: without it the part cannot be cleared.
	Required bool `json:"required"`
	// Rule is the decision rule: "" or "guarded" for p_c ≥ 0.95, "simple" for limits as they are (only with U ≤ T/4).
	Rule string `json:"rule,omitempty"`
	// Ask is the question of an attribute, answered by yes (good) or no: "Free of fretting?".
	Ask string `json:"ask,omitempty"`
}

// Plane is one measuring plane of a plan: its name and where it stands on the axis.
type Plane struct {
	Name string        `json:"name"`
	Z    length.Length `json:"z_pm"`
}

// Plan says at which stations a feature is measured: every plane at every angle. For a sweep characteristic the angles are SweepAngles where given.
type Plan struct {
	Planes      []Plane       `json:"planes"`
	Angles      []int64       `json:"angles_mdeg"`
	SweepAngles []int64       `json:"sweep_angles_mdeg,omitempty"` // for run-out and roundness; default: Angles
	Radius      length.Length `json:"radius_pm,omitempty"`         // of the stations on a face or ring; default half the mid diameter
	MinN        int           `json:"min_n,omitempty"`             // fewest stations with a reading; 0: all of the plan
}

// Rework says what may be done to a feature that is out.
type ReworkAllowance struct {
	MaxOff  length.Length `json:"max_off_pm,omitempty"`  // most that may be taken off, on the diameter or thickness; 0: none
	BuildUp bool          `json:"build_up"`              // may be plated or sleeved and reground
	MinWall length.Length `json:"min_wall_pm,omitempty"` // least size (outside, thickness) or largest (inside) that must remain; 0: not given
}

// At says where on its component a feature lies, for the drawing.
type At struct {
	Z      length.Length `json:"z_pm"`
	Length length.Length `json:"length_pm"`
}

// Source says where a specification comes from.
type Source string

// The sources. A proposed specification holds the part until an inspector accepts it.
const (
	FromDrawing  Source = "drawing"
	FromStandard Source = "standard"
	FromShop     Source = "shop"
	FromProposal Source = "proposed"
)

// Specification says what one feature must be (ISO 17450): nominal, characteristics, stations, and what may be done to it.
type Specification struct {
	Feature         string           `json:"feature"` // short name, unique in the job: "J1"
	Component       string           `json:"component"`
	Name            string           `json:"name"` // in words: "front bearing journal"
	Geometry        Geometry         `json:"geometry"`
	Nominal         length.Length    `json:"nominal_pm,omitempty"`
	At              *At              `json:"at,omitempty"`
	Characteristics []Characteristic `json:"characteristics"`
	Plan            Plan             `json:"plan"`
	Rework          ReworkAllowance  `json:"rework"`
	Source          Source           `json:"source"`
	Reference       string           `json:"reference,omitempty"` // drawing number or table
	AcceptedBy      string           `json:"accepted_by,omitempty"`
	MaterialAlpha   int64            `json:"alpha_ppb_per_k,omitempty"` // of the part; 0: steel, 11 500
}

// Accepted reports whether the specification may clear a part: a drawing's own does, a proposal only once a person accepted it.
func (s Specification) Accepted() bool { return s.Source != FromProposal || s.AcceptedBy != "" }

// Characteristic returns the requirement of that name.
func (s Specification) Characteristic(name string) (Characteristic, bool) {
	for _, c := range s.Characteristics {
		if c.Name == name {
			return c, true
		}
	}
	return Characteristic{}, false
}

// AnglesFor returns the angles at which the characteristic is read, in thousandths of a degree.
func (s Specification) AnglesFor(characteristic string) []int64 {
	if IsSweep(characteristic) && len(s.Plan.SweepAngles) > 0 {
		return s.Plan.SweepAngles
	}
	return s.Plan.Angles
}

// IsSweep reports whether a characteristic is read with an indicator round the part under one zero, and so never compared station by station.
func IsSweep(characteristic string) bool {
	switch characteristic {
	case Roundness, CircularRunOut, TotalRunOut, AxialRunOut, Perpendicular:
		return true
	}
	return false
}

// ReadAs returns the name of the characteristic whose readings serve this one: sizes serve size, its variation and taper (and, for a ring, parallelism);
// a radial sweep serves run-out and roundness; an axial sweep serves axial run-out and perpendicularity.
func ReadAs(g Geometry, characteristic string) string {
	switch characteristic {
	case SizeVariation, TaperChar:
		return Size
	case Parallelism:
		if g == Thickness {
			return Size
		}
	case Roundness, TotalRunOut:
		return CircularRunOut
	case Perpendicular:
		return AxialRunOut
	}
	return characteristic
}

// Check says what is wrong with the specification, or nil.
func (s Specification) Check() error {
	switch {
	case s.Feature == "" || s.Feature == MasterFeature:
		return invalid("a specification needs a feature name other than %q", MasterFeature)
	case s.Component == "":
		return invalid("specification of %s names no component", s.Feature)
	case !oneOf(string(s.Geometry), Geometries()):
		return invalid("specification of %s: geometry %q is none of %v", s.Feature, s.Geometry, Geometries())
	case !oneOf(string(s.Source), []Source{FromDrawing, FromStandard, FromShop, FromProposal}):
		return invalid("specification of %s: source %q is none of drawing, standard, shop, proposed", s.Feature, s.Source)
	case len(s.Characteristics) == 0:
		return invalid("specification of %s has no characteristic", s.Feature)
	}
	seen := map[string]bool{}
	for _, c := range s.Characteristics {
		if seen[c.Name] {
			return invalid("specification of %s: %s stands twice", s.Feature, c.Name)
		}
		seen[c.Name] = true
		if err := c.check(s); err != nil {
			return err
		}
	}
	planes := map[string]bool{}
	for _, p := range s.Plan.Planes {
		if p.Name == "" || planes[p.Name] {
			return invalid("specification of %s: plane %q is unnamed or stands twice", s.Feature, p.Name)
		}
		planes[p.Name] = true
	}
	for _, angles := range [][]int64{s.Plan.Angles, s.Plan.SweepAngles} {
		at := map[int64]bool{}
		for _, a := range angles {
			if a < 0 || a >= 360_000 || at[a] {
				return invalid("specification of %s: angle %d mdeg is outside 0 … 359 999 or stands twice", s.Feature, a)
			}
			at[a] = true
		}
	}
	return nil
}

func (c Characteristic) check(s Specification) error {
	where := s.Feature + " " + c.Name
	if !oneOf(c.Name, Characteristics()) {
		return invalid("%s: the characteristic is none of %v", where, Characteristics())
	}
	if c.Rule != "" && c.Rule != "guarded" && c.Rule != "simple" {
		return invalid("%s: rule %q is none of guarded, simple", where, c.Rule)
	}
	given := 0
	for _, b := range []bool{c.Class != "", c.Lower != nil || c.Upper != nil, c.Max != nil, c.LowerQ != nil || c.UpperQ != nil} {
		if b {
			given++
		}
	}
	switch {
	case c.Name == AttributeChar:
		if given != 0 {
			return invalid("%s: a yes/no point has no limits", where)
		}
		return nil
	case given != 1:
		return invalid("%s: give exactly one of class, lower/upper, max, or limits with a unit", where)
	case c.Class != "" && (c.Name != Size || (s.Geometry != Outside && s.Geometry != Inside)):
		return invalid("%s: a tolerance class belongs to the size of an outside or inside diameter", where)
	case (c.Name == QuantityChar) != (c.LowerQ != nil || c.UpperQ != nil):
		return invalid("%s: limits with a unit belong to a quantity, and a quantity needs them", where)
	case c.Lower != nil && c.Upper != nil && *c.Lower > *c.Upper:
		return invalid("%s: the lower limit is above the upper one", where)
	case c.Max != nil && *c.Max < 0:
		return invalid("%s: the greatest value is negative", where)
	case (c.Name == Size) && s.Nominal <= 0:
		return invalid("%s: a size needs a nominal above 0", where)
	}
	for _, q := range []*Quantity{c.LowerQ, c.UpperQ} {
		if q != nil {
			if err := q.Check(); err != nil {
				return err
			}
		}
	}
	return nil
}
