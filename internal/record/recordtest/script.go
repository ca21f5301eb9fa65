package recordtest

import (
	"strconv"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Angles at thirds of half a turn, where a two-point gauge sees the whole circumference.
var Angles = []int64{0, 60_000, 120_000}

// Seat is a cylindrical feature of two planes and three angles, with an ISO 286 class.
func Seat(feature, component string, geometry spindle.Geometry, nominalMM float64, class string) spindle.Specification {
	return spindle.Specification{Feature: feature, Component: component, Name: "seat", Geometry: geometry, Nominal: Mm(nominalMM),
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: class, Required: true}},
		Plan:            spindle.Plan{Planes: []spindle.Plane{{Name: "1", Z: Mm(10)}, {Name: "2", Z: Mm(40)}}, Angles: Angles},
		Rework:          spindle.ReworkAllowance{MaxOff: Um(100), BuildUp: true}, Source: spindle.FromDrawing}
}

// Part brings a component in under a template's id.
func (t *Tablet) Part(by Person, id string, typ spindle.ComponentType, more ...func(*spindle.Component)) record.ID {
	t.tb.Helper()
	c := spindle.Component{Type: typ, Name: id, Origin: spindle.Removed}
	for _, m := range more {
		m(&c)
	}
	return t.Write(by, &record.Component{TemplateID: id, Component: c})
}

// Specify writes a specification.
func (t *Tablet) Specify(by Person, s spindle.Specification) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Specification{Specification: s})
}

// Comparator is a soaked set-up to a master at 20.000 °C whose only uncertainty is u, the gauge's calibration.
func Comparator(gauge string, u, masterMM float64) spindle.Setup {
	return spindle.Setup{Gauge: spindle.Gauge{ID: gauge, Type: "two-point comparator", UCal: Um(u), BlindTo: []string{"odd lobes"}}, Mode: spindle.ModeMaster,
		Master: &spindle.Master{ID: "ring-" + gauge, Certified: Mm(masterMM)}, TMaster: Ptr(int64(20_000)), TPart: Ptr(int64(20_000)), UT: Ptr(int64(0)), Soaked: true}
}

// SetUp opens a set-up and, if it is to a master, checks its zero.
func (t *Tablet) SetUp(by Person, s spindle.Setup) record.ID {
	t.tb.Helper()
	id := t.Write(by, &record.Setup{Setup: s})
	if s.Mode == spindle.ModeMaster && s.Corrects == "" {
		t.Zero(by, id, spindle.ZeroBefore, 0)
	}
	return id
}

// Zero reads the master, before or after.
func (t *Tablet) Zero(by Person, setup record.ID, plane string, um float64) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: spindle.MasterFeature, Characteristic: spindle.ZeroCheck, Plane: plane, Typed: typed(um), Unit: "µm",
		Means: spindle.MeansIndicator, Value: Ptr(Um(um)), Purpose: spindle.ForInspection}})
}

// Read reads a size as a deviation from the master.
func (t *Tablet) Read(by Person, setup record.ID, feature, plane string, angle int64, um float64) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: feature, Characteristic: spindle.Size, Plane: plane, Angle: angle, Typed: typed(um), Unit: "µm",
		Means: spindle.MeansFromMaster, Value: Ptr(Um(um)), Purpose: spindle.ForInspection}})
}

// ReadPlane reads a size at the three angles of a plane.
func (t *Tablet) ReadPlane(by Person, setup record.ID, feature, plane string, um ...float64) []record.ID {
	t.tb.Helper()
	var ids []record.ID
	for i, v := range um {
		ids = append(ids, t.Read(by, setup, feature, plane, Angles[i], v))
	}
	return ids
}

// MeasureSeat measures both planes under one set-up and closes it.
func (t *Tablet) MeasureSeat(by Person, s spindle.Setup, feature string, um ...float64) []record.ID {
	t.tb.Helper()
	setup := t.SetUp(by, s)
	ids := t.ReadPlane(by, setup, feature, "1", um[:3]...)
	ids = append(ids, t.ReadPlane(by, setup, feature, "2", um[3:]...)...)
	t.Zero(by, setup, spindle.ZeroAfter, 0)
	return ids
}

// Sweep reads an indicator round a plane, at equal angles.
func (t *Tablet) Sweep(by Person, setup record.ID, feature, characteristic, plane string, um ...float64) []record.ID {
	t.tb.Helper()
	var ids []record.ID
	for i, v := range um {
		angle := int64(i) * 360_000 / int64(len(um))
		ids = append(ids, t.Write(by, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: feature, Characteristic: characteristic, Plane: plane, Angle: angle, Typed: typed(v), Unit: "µm",
			Means: spindle.MeansIndicator, Value: Ptr(Um(v)), Purpose: spindle.ForInspection}}))
	}
	return ids
}

// Answer answers a yes/no point.
func (t *Tablet) Answer(by Person, feature string, yes bool) record.ID {
	t.tb.Helper()
	word := map[bool]string{true: "yes", false: "no"}[yes]
	return t.Write(by, &record.Reading{Reading: spindle.Reading{Feature: feature, Characteristic: spindle.AttributeChar, Typed: word, Means: spindle.MeansYesNo, Yes: &yes, Purpose: spindle.ForInspection}})
}

// Decide decides on a component, on all that the screen shows.
func (t *Tablet) Decide(by Person, component, outcome string) record.ID {
	t.tb.Helper()
	return t.Write(by, Decision(component, outcome))
}

// Decision is the body of a decision.
func Decision(subject, outcome string) *record.Decision {
	return &record.Decision{Subject: subject, Outcome: outcome, Reason: "as measured", Engine: record.Engine}
}

// Strike strikes an entry.
func (t *Tablet) Strike(by Person, target record.ID, reason string) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Strike{Target: target, Reason: reason})
}

// Rework reports a rework, asked, sent or done.
func (t *Tablet) Rework(by Person, component, state string, features ...string) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Rework{Component: component, Features: features, State: state, Operation: "grind"})
}

// Settle ends a question.
func (t *Tablet) Settle(by Person, how string, about ...record.ID) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Settle{About: about, How: how, Text: "looked into it"})
}

// Object objects to entries.
func (t *Tablet) Object(by Person, reason string, targets ...record.ID) record.ID {
	t.tb.Helper()
	from := "person"
	if by.Role == spindle.Machine {
		from = "server"
	}
	return t.Write(by, &record.Objection{Targets: targets, Reason: reason, From: from})
}

// Damage reports damage on a part or a feature.
func (t *Tablet) Damage(by Person, subject string) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Finding{Subject: subject, Signs: []string{"fretting"}, Severity: record.SeverityDamage})
}

// Concede releases a size to the limits given; NaN-free callers pass nil for one that stays.
func (t *Tablet) Concede(by Person, component, feature string, lower, upper *length.Length) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Concession{Component: component, Feature: feature, Characteristic: spindle.Size, Lower: lower, Upper: upper, Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: "letter 12"})
}

// Fit fits a part, relying on decisions.
func (t *Tablet) Fit(by Person, component string, relied ...record.ID) record.ID {
	t.tb.Helper()
	return t.Write(by, &record.Step{What: record.StepFitted, Component: component, ReliedOn: &record.Relied{Decisions: relied}})
}

func typed(um float64) string { return strconv.FormatFloat(um, 'f', -1, 64) }
