package recordtest

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Robot does what the program says until every part is cleared: it reads the reasons that hold a part and performs the act, as one of those who may. It stops after so many rounds, with words
// that say what still holds.
func Robot(t *Tablet, rounds int) (acts int, fault string) {
	before := len(t.Entries)
	for range rounds {
		v := t.Look()
		busy := false
		for i := range v.Judged.Components {
			c := v.Judged.Components[i]
			if c.Cleared() {
				continue
			}
			busy = true
			if fault := obey(t, v, c); fault != "" {
				return len(t.Entries) - before, fmt.Sprintf("%s: %s\n%s", c.ID, fault, v.Words(c.ID))
			}
			v = t.Look()
		}
		if !busy {
			return len(t.Entries) - before, ""
		}
	}
	v := t.Look()
	for _, c := range v.Judged.Components {
		if !c.Cleared() {
			fault += c.ID + " is still held:\n" + v.Words(c.ID)
		}
	}
	return len(t.Entries) - before, fault
}

// decided is an inspector who strikes nothing.
var decided = Person{ID: "robot-inspector", Role: spindle.Inspector}

// obey performs the act of the first reason that is not the want of a decision; a decision when nothing else is left.
func obey(t *Tablet, v *View, c *hold.Component) (fault string) {
	decide := []hold.Code{hold.NoDecision, hold.DecisionOvertaken, hold.DecisionsDiffer, hold.DecidedAgainst, hold.OwnStrike, hold.Damage, hold.SetHeld}
	for _, r := range c.Held {
		if r.Act == "" || len(r.Who) == 0 || r.Words == "" {
			return fmt.Sprintf("a reason without words, act or person: %+v", r)
		}
		if slices.Contains(decide, r.Code) {
			continue
		}
		by := Person{ID: "robot-" + string(r.Who[0]), Role: r.Who[0]}
		if slices.Contains(r.Who, spindle.Quality) {
			by = Person{ID: "robot-quality", Role: spindle.Quality}
		}
		return perform(t, v, c, r, by)
	}
	subject := c.ID
	if strings.HasPrefix(c.Held[0].Words, "the whole job is on hold") {
		subject = record.SubjectJob
	}
	if len(c.Held) == 1 && c.Held[0].Code == hold.SetHeld {
		return "" // the other ring's turn
	}
	t.Decide(decided, subject, record.OutcomeReuse)
	return ""
}

func perform(t *Tablet, v *View, c *hold.Component, r hold.Reason, by Person) (fault string) {
	switch r.Code {
	case hold.NotSpecified:
		t.Specify(decided, spindle.Specification{Feature: "robot-" + c.ID[:min(8, len(c.ID))], Component: c.ID, Geometry: spindle.Attribute, Source: spindle.FromShop,
			Characteristics: []spindle.Characteristic{{Name: spindle.AttributeChar, Required: true, Ask: "Sound?"}}})
	case hold.SpecNotAccepted, hold.SpecConflict:
		s := v.State.Feature(r.Feature).Spec()
		s.AcceptedBy = decided.ID
		t.Specify(decided, s)
	case hold.OpenSetup:
		t.Zero(by, r.Refs[0], spindle.ZeroAfter, 0)
	case hold.Unplaced:
		t.Settle(by, record.HowPlaceAfter, r.Refs...)
	case hold.ReworkContested:
		t.Settle(by, record.HowOneRework, r.Refs...)
	case hold.Away:
		b := c.Away.Body.(*record.Rework)
		t.Rework(by, b.Component, record.ReworkDone, b.Features...)
	case hold.Objected:
		t.Settle(by, record.HowLift, r.Refs...)
	case hold.Overdue:
		t.Strike(by, r.Refs[0], "gauge")
	case hold.DoubtfulSetup:
		if strings.Contains(r.Act, "strike what was read") {
			for _, id := range r.Refs {
				t.Strike(by, id, "gauge")
			}
			return ""
		}
		if strings.Contains(r.Act, "correct the set-up") {
			f := setupFamily(v, r.Refs[0])
			s := f.Constants()
			s.Corrects = r.Refs[0].String()
			t.Write(by, &record.Setup{Setup: s})
			return ""
		}
		measureAll(t, v, by, r.Feature)
	case hold.NotConforming:
		k := v.Characteristic(r.Feature, r.Characteristic)
		switch k.Outcome {
		case verdict.Incomplete:
			measureAll(t, v, by, r.Feature)
		case verdict.InConflict:
			for _, e := range v.State.Feature(r.Feature).Readings {
				if e.Status == record.ReadingCounts && e.Characteristic == readAs(v, r) {
					t.Strike(by, e.ID, "dirt")
				}
			}
		default: // rework and measure again
			t.Rework(Person{ID: "robot-technician", Role: spindle.Technician}, c.ID, record.ReworkDone, r.Feature)
		}
	default:
		return "nobody knows how to do: " + r.Act
	}
	return ""
}

// readAs is the characteristic under which the readings of a reason's characteristic are taken.
func readAs(v *View, r hold.Reason) string {
	return spindle.ReadAs(v.State.Feature(r.Feature).Spec().Geometry, r.Characteristic)
}

func setupFamily(v *View, first record.ID) *record.SetupFamily {
	i := slices.IndexFunc(v.State.Setups, func(f *record.SetupFamily) bool { return f.First.ID == first })
	return v.State.Setups[i]
}

// stations are those of the plan, and those beside it at which somebody read a size.
func stations(v *View, feature string) []verdict.StationName {
	f := v.State.Feature(feature)
	var out []verdict.StationName
	add := func(plane string, angle int64) {
		if at := (verdict.StationName{Plane: plane, Angle: angle}); !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	for _, p := range f.Spec().Plan.Planes {
		for _, a := range f.Spec().Plan.Angles {
			add(p.Name, a)
		}
	}
	for _, r := range f.Readings {
		if r.Status == record.ReadingCounts && r.Characteristic == spindle.Size {
			add(r.Plane, r.Angle)
		}
	}
	return out
}

// measureAll measures every characteristic of a feature once more, with good values, and closes the set-up.
func measureAll(t *Tablet, v *View, by Person, feature string) {
	s := v.State.Feature(feature).Spec()
	for _, c := range s.Characteristics {
		switch {
		case c.Name == spindle.AttributeChar:
			t.Answer(by, feature, true)
		case spindle.IsSweep(c.Name):
			on := t.Write(by, &record.Setup{Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "l1", UCal: Um(0.2)}, Mode: spindle.ModeIndicator}})
			for _, p := range s.Plan.Planes {
				t.Sweep(by, on, feature, c.Name, p.Name, make([]float64, len(s.AnglesFor(c.Name)))...)
			}
		default:
			on := t.SetUp(by, Comparator("robot", 0.5, 70))
			for _, at := range stations(v, feature) {
				t.Read(by, on, feature, at.Plane, at.Angle, 5.5)
			}
			t.Zero(by, on, spindle.ZeroAfter, 0)
		}
	}
}
