package hold_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// TestTwoPeopleMeasureOneJournal: two tablets, each with one plane, apart; then together; then decided.
func TestTwoPeopleMeasureOneJournal(t *testing.T) {
	for _, k := range []struct {
		name         string
		plane1       []float64
		plane2       []float64
		last         string // plane 2 at 120° as typed, with its unit
		mean1, mean2 float64
		worst, pc    float64
		margin       float64
	}{
		{"k4, last in tenths of a thou", []float64{4, 5, 4.5}, []float64{5, 6}, "+2 tenths", 4.50, 5.36, 4, 0.99997, 2.0},
		{"k4, other numbers", []float64{6, 7, 7.5}, []float64{8.5, 7}, "0.0003 in", 6.8333, 7.7067, 8.5, 0.99865, 1.5},
	} {
		t.Run(k.name, func(t *testing.T) {
			st := tell(t, j1)
			on1 := st.a.SetUp(P1, ring("g1"))
			st.a.ReadPlane(P1, on1, "J1", "1", k.plane1...)
			st.a.Zero(P1, on1, spindle.ZeroAfter, 0)
			on2 := st.b.SetUp(P2, ring("g2"))
			st.b.ReadPlane(P2, on2, "J1", "2", k.plane2...)
			last, unit, err := length.ParseWithUnit(k.last, length.Micrometres)
			if err != nil {
				t.Fatal(err)
			}
			st.b.Write(P2, &record.Reading{Reading: spindle.Reading{Setup: on2.String(), Feature: "J1", Characteristic: spindle.Size, Plane: "2", Angle: 120_000, Typed: k.last, Unit: string(unit),
				Means: spindle.MeansFromMaster, Value: &last, Purpose: spindle.ForInspection}})
			st.b.Zero(P2, on2, spindle.ZeroAfter, 0)
			for _, alone := range []*Tablet{st.a, st.b} {
				c := st.says("alone", alone.Look(), "J1", verdict.Incomplete, -1)
				if c.Have != 3 || c.Need != 6 {
					t.Errorf("tablet %s alone: %d of %d stations, want 3 of 6", alone.Name, c.Have, c.Need)
				}
			}
			st.sync()
			v := st.s.Look()
			c := st.says("together", v, "J1", verdict.Conforms, k.pc)
			st.um("worst", c.Value, k.worst)
			st.um("margin", c.Margin, k.margin)
			for name, want := range map[string]float64{"mean of plane 1": k.mean1, "mean of plane 2": k.mean2, "taper": k.mean1 - k.mean2} {
				i := slices.IndexFunc(c.Figures, func(f verdict.Figure) bool { return f.Name == name })
				if i < 0 || math.Abs(c.Figures[i].Value-want) > 0.01 {
					t.Errorf("%s: %+v, want %.2f", name, c.Figures, want)
				}
			}
			st.held("before anybody decided", v, "shaft", string("no decision"))
			st.proposes("together", v, "shaft", verdict.Reuse)
			st.a.Decide(P3, "shaft", record.OutcomeReuse)
			st.sync()
			st.held("decided", st.b.Look(), "shaft", "")
			if by := st.s.Look().Part("shaft").ClearedBy; !strings.Contains(by, "p3") {
				t.Errorf("cleared by %q, want p3 in it", by)
			}
			st.same()
		})
	}
}

// TestCannotBeTold: a value too near its limit for the gauge, and a gauge that can never tell.
func TestCannotBeTold(t *testing.T) {
	for _, k := range []struct {
		values []float64
		pc     float64
		settle string
	}{
		{[]float64{2.5, 5, 4.5, 5, 6, 5.08}, 0.841, "needs u ≤ 0.304 µm, U ≤ 0.61 µm"},
		{[]float64{9.4, 5, 4.5, 5, 6, 5.08}, 0.885, "needs u ≤ 0.365 µm, U ≤ 0.73 µm"},
	} {
		st := tell(t, j1)
		st.a.MeasureSeat(P1, ring("g1"), "J1", k.values...)
		st.says("measured", st.a.Look(), "J1", verdict.CannotBeTold, k.pc, k.settle)
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("decided all the same", st.a.Look(), "shaft", "does not conform")
		st.proposes("measured", st.a.Look(), "shaft", verdict.Measure)
	}
	micrometer := verdict.SetupState{Setup: Comparator("m1", 2.3, 70)}
	can, pc, bound, words := verdict.GaugeCanDecide(j1, spindle.Size, micrometer)
	if can || math.Abs(pc-0.918) > 0.003 || math.Abs(bound.Micrometres()-4.08) > 0.01 || words == "" {
		t.Errorf("micrometer of u 2.3 µm on T 8: can %v, best p_c %.3f (want 0.918), U ≤ %.2f µm (want 4.08): %s", can, pc, bound.Micrometres(), words)
	}
}

// TestFailsAndWhichWay: metal on, and whether that is allowed; metal off a bore.
func TestFailsAndWhichWay(t *testing.T) {
	noPlating := j1
	noPlating.Rework.BuildUp = false
	for _, k := range []struct {
		name          string
		spec          spindle.Specification
		gauge         spindle.Setup
		part          string
		values        []float64
		pc            float64
		way           verdict.Direction
		from, to, aim float64
		want          verdict.Action
	}{
		{"journal worn, build up", j1, ring("g1"), "shaft", []float64{0.5, 1, 1.5, 1, 1, 1}, 0.0013, verdict.MetalOn, 2.32, 7.68, 5.0, verdict.Rework},
		{"journal worn, no building up", noPlating, ring("g1"), "shaft", []float64{0.5, 1, 1.5, 1, 1, 1}, 0.0013, verdict.MetalOn, 2.32, 7.68, 5.0, verdict.Replace},
		{"journal worn, other numbers", j1, ring("g1"), "shaft", []float64{-3, -2, -1, -1, -1, -1}, 0, verdict.MetalOn, 5.82, 10.18, 8.0, verdict.Rework},
		{"bore too small", b1, Comparator("g3", 0.8, 110), "housing", []float64{-9, -8.5, -8.75, -9, -9, -8.5}, 0.030, verdict.MetalOff, 2.82, 14.68, 8.75, verdict.Rework},
		{"bore too small, other numbers", b1, Comparator("g3", 0.8, 110), "housing", []float64{-12, -10, -11, -11, -11, -11}, 0, verdict.MetalOff, 5.82, 16.18, 11, verdict.Rework},
	} {
		t.Run(k.name, func(t *testing.T) {
			st := tell(t, k.spec)
			st.a.MeasureSeat(P1, k.gauge, k.spec.Feature, k.values...)
			c := st.says("measured", st.a.Look(), k.spec.Feature, verdict.Fails, k.pc)
			st.mend("mend", c, k.way, k.from, k.to, k.aim)
			st.proposes("measured", st.a.Look(), k.part, k.want)
			st.held("undecided", st.a.Look(), k.part, "does not conform; no decision")
		})
	}
}

// TestHalfMicrometre: ±7.5 µm and not ±8, K5's rule, and the boundary between two ranges of nominal size.
func TestHalfMicrometre(t *testing.T) {
	for _, k := range []struct{ worst, pc float64 }{{6.5, 0.894}, {6.3, 0.933}} {
		st := tell(t, b1)
		st.a.MeasureSeat(P1, Comparator("g3", 0.8, 110), "B1", 1, 2, 3, k.worst, 2, 1)
		st.says("near the upper limit", st.a.Look(), "B1", verdict.CannotBeTold, k.pc)
	}
	for _, k := range []struct {
		nominal      float64
		geometry     spindle.Geometry
		class        string
		lower, upper float64
	}{{110, spindle.Inside, "JS5", -7.5, 7.5}, {110, spindle.Inside, "K5", -13, 2}, {30, spindle.Outside, "h4", -6, 0}, {30.001, spindle.Outside, "h4", -7, 0}} {
		st := tell(t, Seat("F", "part", k.geometry, k.nominal, k.class))
		c := st.s.Look().Size("F")
		st.um(k.class+" lower", c.Lower, k.lower)
		st.um(k.class+" upper", c.Upper, k.upper)
	}
}

// TestHotShaft: a shaft from the washer must not be ground for being warm.
func TestHotShaft(t *testing.T) {
	for _, k := range []struct {
		name                           string
		part, master                   int64 // m°C
		ut                             int64 // mK
		reading, value, u, pc          float64
		want                           verdict.Outcome
		settle                         string
		raw                            float64 // as it would be without the correction
		masterAlpha                    int64
		soaked                         bool
		mustNotSay, alsoHeld, proposal string
	}{
		{name: "hot", part: 32_000, master: 21_000, ut: 1000, reading: 12, value: 3.145, u: 1.065, pc: 0.859, want: verdict.CannotBeTold, settle: "soak", mustNotSay: "above its upper limit"},
		{name: "soaked", part: 21_000, master: 21_000, ut: 200, reading: 3.1, value: 3.1, u: 0.525, pc: 0.982, want: verdict.Conforms, soaked: true},
		{name: "hot, other numbers", part: 29_000, master: 20_000, ut: 1000, reading: 12.5, value: 5.255, u: 1.016, pc: 0.9993, want: verdict.Conforms},
	} {
		t.Run(k.name, func(t *testing.T) {
			st := tell(t, j1)
			s := ring("g1")
			s.TPart, s.TMaster, s.UT, s.Soaked = Ptr(k.part), Ptr(k.master), Ptr(k.ut), k.soaked
			st.a.MeasureSeat(P1, s, "J1", k.reading, k.reading, k.reading, k.reading, k.reading, k.reading)
			c := st.says(k.name, st.a.Look(), "J1", k.want, k.pc, k.settle)
			st.um("value", c.Value, k.value)
			if c.U == nil || math.Abs(c.U.Micrometres()-2*k.u) > 0.01 {
				t.Errorf("U %v µm, want %.3f", umOf(c.U), 2*k.u)
			}
			if k.mustNotSay != "" && strings.Contains(c.Sentence, k.mustNotSay) {
				t.Errorf("it says %q", c.Sentence)
			}
		})
	}
}

// TestDrift: a zero that moved by more than a tenth of the tolerance makes the set-up doubtful; less is corrected by half.
func TestDrift(t *testing.T) {
	for _, k := range []struct {
		name      string
		spec      spindle.Specification
		part      string
		gauge     spindle.Setup
		after     float64
		values    []float64
		want      verdict.Outcome
		value, pc float64
		u         float64
		held      string
	}{
		{"too much for T 8", j1, "shaft", ring("g1"), 1.5, good, verdict.CannotBeTold, math.NaN(), -1, 0, "set-up in doubt"},
		{"just enough for T 15", b1, "housing", Comparator("g3", 0.8, 110), 1.5, []float64{4, 4, 4, 4, 4, 4}, verdict.Conforms, 3.25, 1, 0.910, ""},
		{"too much for T 15", b1, "housing", Comparator("g3", 0.8, 110), 1.6, []float64{4, 4, 4, 4, 4, 4}, verdict.CannotBeTold, math.NaN(), -1, 0, "set-up in doubt"},
		{"little on T 8", j1, "shaft", ring("g1"), -0.6, []float64{5, 5, 5, 5, 5, 5}, verdict.Conforms, 5.3, 1, 0.5292, ""},
	} {
		t.Run(k.name, func(t *testing.T) {
			st := tell(t, k.spec)
			f := k.spec.Feature
			setup := st.a.SetUp(P1, k.gauge)
			st.a.ReadPlane(P1, setup, f, "1", k.values[:3]...)
			st.a.ReadPlane(P1, setup, f, "2", k.values[3:]...)
			st.a.Decide(P3, k.part, record.OutcomeReuse)
			st.held("the zero is not closed", st.a.Look(), k.part, "closing check missing")
			st.a.Zero(P1, setup, spindle.ZeroAfter, k.after)
			v := st.a.Look()
			c := st.says("closed", v, f, k.want, k.pc)
			st.held("closed after the decision", v, k.part, k.held)
			if !math.IsNaN(k.value) {
				st.um("value", c.Value, k.value)
				st.um("U", c.U, 2*k.u)
			} else if !strings.Contains(c.Doubtful, "set again") {
				t.Errorf("doubt %q, want words that say to set again", c.Doubtful)
			}
		})
	}
}

// TestTwoPeopleDiffer: beyond the combined uncertainty nothing stands until one reading is struck.
func TestTwoPeopleDiffer(t *testing.T) {
	for _, k := range []struct{ one, two, third, mean float64 }{{5.0, 7.5, 5.2, 5.1}, {6.5, 3.9, 6.3, 6.4}} {
		st := tell(t, j1)
		st.a.MeasureSeat(P1, ring("g1"), "J1", k.one, 5, 5, 5, 5, 5)
		on := st.b.SetUp(P2, ring("g2"))
		wrong := st.b.Read(P2, on, "J1", "1", 0, k.two)
		st.b.Zero(P2, on, spindle.ZeroAfter, 0)
		st.sync()
		st.says("both", st.s.Look(), "J1", verdict.InConflict, -1, "third reading")
		st.proposes("both", st.s.Look(), "shaft", verdict.Decide)
		st.a.Decide(P4, "shaft", record.OutcomeReuse)
		st.held("decided in spite of it", st.a.Look(), "shaft", "does not conform")
		on = st.c.SetUp(P3, ring("g5"))
		st.c.Read(P3, on, "J1", "1", 0, k.third)
		st.c.Zero(P3, on, spindle.ZeroAfter, 0)
		st.sync()
		st.says("with a third", st.s.Look(), "J1", verdict.InConflict, -1)
		st.c.Strike(P3, wrong, "dirt")
		v := st.c.Look()
		c := st.says("struck", v, "J1", verdict.Conforms, -1)
		i := slices.IndexFunc(c.Stations, func(s verdict.Station) bool { return s.Plane == "1" && s.Angle == 0 })
		st.um("mean of the two", &c.Stations[i].Value, k.mean)
		st.c.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("the struck reading was within its limits, so its striker may decide", st.c.Look(), "shaft", "")
		st.sync()
		st.same()
	}
	st := tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", 5.0, 5, 5, 5, 5, 5)
	on := st.b.SetUp(P2, ring("g2"))
	st.b.Read(P2, on, "J1", "1", 0, 6.2)
	st.b.Zero(P2, on, spindle.ZeroAfter, 0)
	st.sync()
	c := st.says("1.2 ≤ 1.41", st.s.Look(), "J1", verdict.Conforms, -1)
	i := slices.IndexFunc(c.Stations, func(s verdict.Station) bool { return s.Plane == "1" && s.Angle == 0 })
	st.um("mean", &c.Stations[i].Value, 5.6)
}
