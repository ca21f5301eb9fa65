package demo

import (
	"strconv"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

var (
	threeAngles = []int64{0, 60_000, 120_000}
	fourAngles  = []int64{0, 90_000, 180_000, 270_000}
	eightAngles = []int64{0, 45_000, 90_000, 135_000, 180_000, 225_000, 270_000, 315_000}
	planesAt    = func(z1, z2 float64) []spindle.Plane {
		return []spindle.Plane{{Name: "1", Z: mm(z1)}, {Name: "2", Z: mm(z2)}}
	}
	onePlane = func(z float64) []spindle.Plane { return []spindle.Plane{{Name: "1", Z: mm(z)}} }
	atMost   = func(name string, v float64, datum ...string) spindle.Characteristic {
		return spindle.Characteristic{Name: name, Max: ptr(um(v)), Required: true, Datum: datum}
	}
	sizeClass = func(class string) spindle.Characteristic {
		return spindle.Characteristic{Name: spindle.Size, Class: class, Required: true}
	}
	sizeLimits = func(lower, upper float64) spindle.Characteristic {
		return spindle.Characteristic{Name: spindle.Size, Lower: ptr(um(lower)), Upper: ptr(um(upper)), Required: true}
	}
	twentyDegree = ptr(int64(20_000))
)

// journal is a seat on a shaft from z over its length: two planes at three angles, and its run-out at eight.
func journal(feature, component, name string, nominal, z, long float64, class string, runOut float64, datum ...string) spindle.Specification {
	s := spindle.Specification{Feature: feature, Component: component, Name: name, Geometry: spindle.Outside, Nominal: mm(nominal), At: &spindle.At{Z: mm(z), Length: mm(long)},
		Characteristics: []spindle.Characteristic{sizeClass(class)}, Plan: spindle.Plan{Planes: planesAt(z+long/4, z+long*3/4), Angles: threeAngles, SweepAngles: eightAngles},
		Rework: spindle.ReworkAllowance{MaxOff: um(20), BuildUp: true}, Source: spindle.FromDrawing}
	if runOut > 0 {
		s.Characteristics = append(s.Characteristics, atMost(spindle.CircularRunOut, runOut, datum...))
	}
	return s
}

// bore is a seat in a housing.
func bore(feature, component, name string, nominal, z, long float64, class string) spindle.Specification {
	return spindle.Specification{Feature: feature, Component: component, Name: name, Geometry: spindle.Inside, Nominal: mm(nominal), At: &spindle.At{Z: mm(z), Length: mm(long)},
		Characteristics: []spindle.Characteristic{sizeClass(class)}, Plan: spindle.Plan{Planes: planesAt(z+long/4, z+long*3/4), Angles: threeAngles},
		Rework: spindle.ReworkAllowance{MaxOff: um(15), BuildUp: false}, Source: spindle.FromDrawing}
}

// shoulder is a face read with an indicator at eight angles.
func shoulder(feature, component, name string, z, radius, limit float64) spindle.Specification {
	return spindle.Specification{Feature: feature, Component: component, Name: name, Geometry: spindle.Face, At: &spindle.At{Z: mm(z), Length: mm(2)},
		Characteristics: []spindle.Characteristic{atMost(spindle.AxialRunOut, limit)}, Plan: spindle.Plan{Planes: onePlane(z), Angles: eightAngles, Radius: mm(radius)},
		Rework: spindle.ReworkAllowance{MaxOff: um(30)}, Source: spindle.FromDrawing}
}

// spacer is a ring measured at its thickness round the faces.
func spacer(feature, component, name string, nominal, z, radius, parallel float64) spindle.Specification {
	return spindle.Specification{Feature: feature, Component: component, Name: name, Geometry: spindle.Thickness, Nominal: mm(nominal), At: &spindle.At{Z: mm(z), Length: mm(nominal)},
		Characteristics: []spindle.Characteristic{sizeLimits(-20, 20), atMost(spindle.Parallelism, parallel)},
		Plan:            spindle.Plan{Planes: onePlane(z), Angles: fourAngles, Radius: mm(radius)}, Rework: spindle.ReworkAllowance{MaxOff: um(50)}, Source: spindle.FromShop}
}

// question is a yes/no point.
func question(feature, component, name, ask string, z float64) spindle.Specification {
	return spindle.Specification{Feature: feature, Component: component, Name: name, Geometry: spindle.Attribute, At: &spindle.At{Z: mm(z), Length: mm(4)},
		Characteristics: []spindle.Characteristic{{Name: spindle.AttributeChar, Required: true, Ask: ask}}, Source: spindle.FromShop}
}

func (t *tablet) spec(s spindle.Specification) {
	t.write(Inspector, spindle.Inspector, &record.Specification{Specification: s})
}

func (t *tablet) component(id string, typ spindle.ComponentType, name, place string, run bool, outline []spindle.Segment, bearing *spindle.BearingFacts, more ...func(*spindle.Component)) {
	c := spindle.Component{Type: typ, Name: name, Place: place, Origin: spindle.Removed, RunBefore: run, Outline: outline, Bearing: bearing}
	for _, m := range more {
		m(&c)
	}
	t.write(OtherTechnician, spindle.Technician, &record.Component{TemplateID: id, Component: c})
}

func set(id, serial string) func(*spindle.Component) {
	return func(c *spindle.Component) { c.SetID, c.Serial = id, serial }
}

func segment(z, long, outside, inside float64) spindle.Segment {
	return spindle.Segment{Z: mm(z), Length: mm(long), Outside: mm(outside), Inside: mm(inside)}
}

// setup opens a set-up with soaked parts at 20 °C and, to a master, a zero of nought.
func (t *tablet) setup(by, gauge, masterID string) record.ID {
	s := spindle.Setup{Gauge: t.w.gauge(gauge), Mode: spindle.ModeIndicator, TMaster: twentyDegree, TPart: twentyDegree, UT: ptr(int64(200)), Soaked: true,
		Support: "between centres", ZeroRef: "keyway", Sense: "clockwise seen from the nose"}
	if masterID != "" {
		s.Mode, s.Master = spindle.ModeMaster, master(masterID)
	}
	id := t.write(by, t.role(by), &record.Setup{Setup: s})
	if masterID != "" {
		t.zero(by, id, spindle.ZeroBefore, 0)
	}
	return id
}

func (t *tablet) role(by string) spindle.Role {
	for _, p := range people {
		if p.id == by {
			return p.role
		}
	}
	return ""
}

func (t *tablet) zero(by string, setup record.ID, plane string, v float64) {
	t.read(by, spindle.Reading{Setup: setup.String(), Feature: spindle.MasterFeature, Characteristic: spindle.ZeroCheck, Plane: plane, Means: spindle.MeansIndicator, Value: ptr(um(v))})
}

// read writes a reading typed in micrometres.
func (t *tablet) read(by string, r spindle.Reading) record.ID {
	if r.Value != nil {
		r.Typed, r.Unit = strconv.FormatFloat(r.Value.Micrometres(), 'f', -1, 64), "µm"
	}
	if r.Purpose == "" {
		r.Purpose = spindle.ForInspection
	}
	return t.write(by, t.role(by), &record.Reading{Reading: r})
}

// sizes reads deviations from the master at every station of the planes given, in the order of the plan.
func (t *tablet) sizes(by string, setup record.ID, s spindle.Specification, planes []string, values ...float64) {
	n := 0
	for _, plane := range planes {
		for _, angle := range s.Plan.Angles {
			if n == len(values) {
				return
			}
			t.read(by, spindle.Reading{Setup: setup.String(), Feature: s.Feature, Characteristic: spindle.Size, Plane: plane, Angle: angle, Means: spindle.MeansFromMaster, Value: ptr(um(values[n]))})
			n++
		}
	}
}

// sweep reads an indicator round one plane, with a closing reading at the first angle.
func (t *tablet) sweep(by string, setup record.ID, s spindle.Specification, characteristic, plane string, values ...float64) {
	angles := s.AnglesFor(characteristic)
	for i, v := range values {
		t.read(by, spindle.Reading{Setup: setup.String(), Feature: s.Feature, Characteristic: characteristic, Plane: plane, Angle: angles[i], Means: spindle.MeansIndicator, Value: ptr(um(v))})
	}
	t.read(by, spindle.Reading{Setup: setup.String(), Feature: s.Feature, Characteristic: characteristic, Plane: plane, Angle: angles[0], Closing: true, Means: spindle.MeansIndicator, Value: ptr(um(values[0] + 0.2))})
}

func (t *tablet) answer(by, feature string, yes bool) {
	t.read(by, spindle.Reading{Feature: feature, Characteristic: spindle.AttributeChar, Means: spindle.MeansYesNo, Yes: &yes, Typed: map[bool]string{true: "yes", false: "no"}[yes]})
}

func (t *tablet) decide(by, component, outcome, reason string) record.ID {
	return t.write(by, spindle.Inspector, &record.Decision{Subject: component, Outcome: outcome, Reason: reason, Engine: record.Engine})
}
