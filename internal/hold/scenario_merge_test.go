package hold_test

import (
	"slices"
	"strings"
	"testing"

	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// TestMasterCorrected: one correction of the set-up turns six readings; nobody types them again.
func TestMasterCorrected(t *testing.T) {
	for _, k := range []struct {
		values    []float64
		certified float64
		was, is   float64
	}{{[]float64{1, 2, 3, 2, 2, 1}, 70.0030, 1, 4}, {[]float64{-2, -1, -1.5, -1, -2, -1}, 70.0060, -2, 4}} {
		st := tell(t, j1)
		setup := st.a.SetUp(P1, ring("g1"))
		ids := append(st.a.ReadPlane(P1, setup, "J1", "1", k.values[:3]...), st.a.ReadPlane(P1, setup, "J1", "2", k.values[3:]...)...)
		st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
		c := st.says("as set up", st.a.Look(), "J1", verdict.Fails, -1)
		st.um("worst", c.Value, k.was)
		st.a.Decide(P3, "shaft", record.OutcomeRework)
		again := ring("g1")
		again.Corrects, again.Master = setup.String(), &spindle.Master{ID: "ring-g1", Certified: Mm(k.certified)}
		st.a.SetUp(P1, again)
		v := st.a.Look()
		c = st.says("corrected", v, "J1", verdict.Conforms, -1)
		st.um("worst", c.Value, k.is)
		st.held("decided for rework before", v, "shaft", "decided against")
		for _, id := range ids {
			if r := v.Reading(id); r.Status != record.ReadingCounts {
				t.Errorf("reading %s: %s", id.Short(), r.Status)
			}
		}
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("decided again", st.a.Look(), "shaft", "")
		back := ring("g1")
		back.Corrects = setup.String()
		st.a.SetUp(P1, back)
		st.held("corrected after the decision", st.a.Look(), "shaft", "decision overtaken; does not conform")
		st.words("corrected after the decision", st.a.Look(), "shaft", "a set-up corrected after")
	}
}

// TestWedge: the largest less the smallest of four thicknesses is within, the wedge is not.
func TestWedge(t *testing.T) {
	for _, k := range []struct {
		values []float64
		limit  float64
		say    []string
		want   verdict.Outcome
	}{
		{[]float64{1.4, 1.4, -1.4, -1.4}, 3, []string{"2.8", "3.96"}, verdict.Fails},
		{[]float64{2, 2, -2, -2}, 4.5, []string{"4", "5.66"}, verdict.Fails},
		{[]float64{0.7, 0.7, -0.7, -0.7}, 3, nil, verdict.Conforms},
	} {
		spec := spindle.Specification{Feature: "P1", Component: "spacer", Name: "spacer", Geometry: spindle.Thickness, Nominal: Mm(20), Source: spindle.FromShop,
			Characteristics: []spindle.Characteristic{{Name: spindle.Parallelism, Max: Ptr(Um(k.limit)), Required: true}},
			Plan:            spindle.Plan{Planes: []spindle.Plane{{Name: "1"}}, Angles: []int64{0, 90_000, 180_000, 270_000}, Radius: Mm(40)}}
		st := tell(t, spec)
		s := Comparator("t1", 0.1, 20)
		setup := st.a.SetUp(P1, s)
		for i, v := range k.values {
			st.a.Read(P1, setup, "P1", "1", int64(i)*90_000, v)
		}
		st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
		c := st.a.Look().Characteristic("P1", spindle.Parallelism)
		if c.Outcome != k.want {
			t.Errorf("%v µm: %s, want %s: %s", k.values, c.Outcome, k.want, c.Sentence)
		}
		for _, w := range k.say {
			if !strings.Contains(c.Sentence, w) {
				t.Errorf("%v µm: %q does not say %s", k.values, c.Sentence, w)
			}
		}
	}
}

// TestLateAndLaterReadings: what a reading does to a clearance, by whether its author had seen the decision.
func TestLateAndLaterReadings(t *testing.T) {
	lone := func(tab *Tablet, by Person, um float64) {
		setup := tab.SetUp(by, ring("g7"))
		tab.Read(by, setup, "J1", "2", 120_000, um)
		tab.Zero(by, setup, spindle.ZeroAfter, 0)
	}
	measured := func(t *testing.T) *story {
		st := tell(t, j1)
		st.a.MeasureSeat(P1, ring("g1"), "J1", 4.0, 5.0, 4.5, 5.0, 6.0, 5.08)
		Meet(st.s, st.a, st.b) // tablet c is out of reach from here on
		st.b.Decide(P3, "shaft", record.OutcomeReuse)
		Meet(st.s, st.a, st.b)
		return st
	}
	for _, k := range []struct {
		name       string
		um         float64
		concurrent bool
		held       string
		say        string
	}{
		{"(a) late and bad", 1.0, true, "decision overtaken; does not conform", "+1.0 µm by p2"},
		{"(b) late and good", 5.1, true, "decision overtaken", "that the decision has not seen: J1 size, plane 2 at 120°, +5.1 µm by p2"},
		{"(c) later and agrees", 5.1, false, "", ""},
		{"(c) later and agrees, other number", 4.0, false, "", ""},
		{"(d) later and differs", 7.0, false, "decision overtaken; does not conform", "does not agree"},
		{"(d) later and differs, other number", 3.5, false, "decision overtaken; does not conform", "+3.5 µm"},
	} {
		t.Run(k.name, func(t *testing.T) {
			st := measured(t)
			if !k.concurrent {
				st.sync()
			}
			lone(st.c, P2, k.um)
			st.sync()
			v := st.s.Look()
			st.held(k.name, v, "shaft", k.held)
			st.words(k.name, v, "shaft", k.say)
			st.same()
		})
	}
	for _, k := range []struct {
		class         string
		from, to, aim float64
		pc            float64
	}{{"js4", 2.82, 7.18, 5.0, 3e-5}, {"h4", 6.82, 11.18, 9.0, 0}} {
		t.Run("(e) the specification changes to "+k.class, func(t *testing.T) {
			st := measured(t)
			st.sync()
			st.b.Specify(P3, Seat("J1", "shaft", spindle.Outside, 70, k.class))
			v := st.b.Look()
			c := st.says("changed", v, "J1", verdict.Fails, k.pc)
			st.mend("changed", c, verdict.MetalOff, k.from, k.to, k.aim)
			st.held("changed", v, "shaft", "decision overtaken; does not conform")
		})
	}
}

// TestStrikeRacesDecision: who strikes a failing reading does not decide on it alone.
func TestStrikeRacesDecision(t *testing.T) {
	for _, k := range []struct{ bad, again float64 }{{0.5, 4.0}, {0.9, 5.5}} {
		st := tell(t, j1)
		ids := st.a.MeasureSeat(P1, ring("g1"), "J1", k.bad, 5, 5, 5, 5, 5)
		st.sync()
		strike := st.a.Strike(P3, ids[0], "dirt")
		setup := st.a.SetUp(P1, ring("g1"))
		st.a.Read(P1, setup, "J1", "1", 0, k.again)
		st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
		st.b.Decide(P4, "shaft", record.OutcomeRework)
		st.sync()
		v := st.s.Look()
		st.says("merged", v, "J1", verdict.Conforms, -1)
		st.held("merged", v, "shaft", "decided against")
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("its striker decides", st.a.Look(), "shaft", "own strike")
		st.sync()
		st.b.Decide(P4, "shaft", record.OutcomeReuse)
		st.sync()
		st.held("another decides, having seen both", st.s.Look(), "shaft", "")
		st.same()
		st.c.Strike(P3, strike, "slip")
		v = st.c.Look()
		if r := v.Reading(ids[0]); r.Status != record.ReadingCounts {
			t.Errorf("the strike is struck, the reading %s: %s", r.Status, r.Why)
		}
		if c := v.Size("J1"); c.Outcome == verdict.Conforms {
			t.Errorf("with %+.1f µm back: %s", k.bad, c.Sentence)
		}
		if !strings.Contains(v.Held("shaft"), "decision overtaken") {
			t.Errorf("with the strike struck the shaft is held by %q", v.Held("shaft"))
		}
	}
	// With nothing else at the station, the struck reading's return makes it fail outright.
	st := tell(t, j1)
	ids := st.a.MeasureSeat(P1, ring("g1"), "J1", 0.5, 5, 5, 5, 5, 5)
	strike := st.a.Strike(P3, ids[0], "dirt")
	st.says("struck", st.a.Look(), "J1", verdict.Incomplete, -1)
	st.a.Strike(P3, strike, "slip")
	st.says("strike struck", st.a.Look(), "J1", verdict.Fails, 0.0013)
}

// TestDecisionsCross: two inspectors without knowledge of each other; a technician who may not decide.
func TestDecisionsCross(t *testing.T) {
	st := tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.sync()
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.b.Decide(P4, "shaft", record.OutcomeReuse)
	st.sync()
	v := st.s.Look()
	st.held("both reuse", v, "shaft", "")
	if by := v.Part("shaft").ClearedBy; !strings.Contains(by, "p3") || !strings.Contains(by, "p4") {
		t.Errorf("cleared by %q, want both names", by)
	}
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.b.Decide(P4, "shaft", record.OutcomeHold)
	st.sync()
	st.held("reuse beside hold", st.s.Look(), "shaft", "decisions differ")
	st.words("reuse beside hold", st.s.Look(), "shaft", "hold by p4")
	st.b.Decide(P4, "shaft", record.OutcomeReuse)
	st.sync()
	st.held("having seen both", st.s.Look(), "shaft", "")
	// A technician decides; 30 readings of another seat descend from that and all count.
	id := st.c.Decide(P1, "shaft", record.OutcomeReplace)
	if why := st.c.Look().State.Item(id).Without; why != "technician may not write a decision" {
		t.Errorf("a technician's decision is without effect because of %q", why)
	}
	st.held("a technician decided", st.c.Look(), "shaft", "")
	setup := st.c.SetUp(P1, ring("g1"))
	var ids []record.ID
	for range 5 {
		ids = append(ids, st.c.ReadPlane(P1, setup, "J1", "1", 4.0, 5.0, 4.5)...)
		ids = append(ids, st.c.ReadPlane(P1, setup, "J1", "2", 5.0, 6.0, 5.0)...)
	}
	st.sync()
	v = st.s.Look()
	for _, id := range ids {
		if r := v.Reading(id); r.Status != record.ReadingCounts {
			t.Errorf("reading after the technician's decision: %s, %s", r.Status, r.Why)
		}
	}
	st.held("30 readings that agree", v, "shaft", "")
	st.same()
}

// TestGrindRacesReading: a reading that does not know of a grind counts nowhere until somebody says where it belongs.
func TestGrindRacesReading(t *testing.T) {
	toDatum := j2
	toDatum.Characteristics = append(slices.Clone(j2.Characteristics), spindle.Characteristic{Name: spindle.CircularRunOut, Max: Ptr(Um(5)), Datum: []string{"J1"}, Required: true})
	toDatum.Plan.SweepAngles = []int64{0, 90_000, 180_000, 270_000}
	for _, k := range []struct{ before, after float64 }{{12, 5}, {13.5, 6}} {
		st := tell(t, j1, toDatum)
		st.a.MeasureSeat(P1, ring("g1"), "J1", k.before, 11, 11, 11, 11, 11)
		sizes := st.a.MeasureSeat(P1, ring("g1"), "J2", good...)
		indicator := st.a.SetUp(P1, spindle.Setup{Gauge: spindle.Gauge{ID: "l1", UCal: Um(0.2)}, Mode: spindle.ModeIndicator})
		runOut := append(st.a.Sweep(P1, indicator, "J2", spindle.CircularRunOut, "1", 0, 1, 1, 0), st.a.Sweep(P1, indicator, "J2", spindle.CircularRunOut, "2", 0, 1, 1, 0)...)
		st.sync()
		st.says("round 0", st.s.Look(), "J1", verdict.Fails, -1)
		if c := st.s.Look().Characteristic("J2", spindle.CircularRunOut); c.Outcome != verdict.Conforms {
			t.Errorf("run-out of J2: %s", c.Sentence)
		}
		grind := st.s.Rework(P2, "shaft", record.ReworkDone, "J1")
		setup := st.c.SetUp(P1, ring("g1"))
		late := st.c.Read(P1, setup, "J1", "1", 0, k.after)
		st.c.Zero(P1, setup, spindle.ZeroAfter, 0)
		st.sync()
		v := st.s.Look()
		if r := v.Reading(late); r.Status != record.ReadingUnplaced || r.Against.ID != grind {
			t.Errorf("the late reading %s: %s", r.Status, r.Why)
		}
		st.held("merged", v, "shaft", "does not conform; no decision; reading not placed")
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("decided in spite of it", st.a.Look(), "shaft", "does not conform; reading not placed")
		st.sync()
		st.b.Settle(P1, record.HowPlaceAfter, late)
		st.sync()
		v = st.s.Look()
		c := st.says("placed after", v, "J1", verdict.Incomplete, -1)
		if c.Have != 1 || c.Need != 6 {
			t.Errorf("round 1: %d of %d, want 1 of 6", c.Have, c.Need)
		}
		st.um("the worst of round 1", c.Value, k.after)
		for _, f := range c.Figures {
			if f.Value > 10 {
				t.Errorf("a figure of round 1 is %s = %.2f %s", f.Name, f.Value, f.Unit)
			}
		}
		for _, id := range sizes {
			if r := v.Reading(id); r.Status != record.ReadingCounts {
				t.Errorf("a size of J2: %s, %s", r.Status, r.Why)
			}
		}
		for _, id := range runOut {
			if r := v.Reading(id); r.Status != record.ReadingEarlierRound {
				t.Errorf("a run-out to the ground datum: %s, %s", r.Status, r.Why)
			}
		}
		st.same()
	}
}
