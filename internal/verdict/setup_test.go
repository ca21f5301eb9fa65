package verdict

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

func TestZeroChecks(t *testing.T) {
	at := func(values ...float64) []ZeroCheck { // alternately before and after
		var list []ZeroCheck
		for i, v := range values {
			list = append(list, ZeroCheck{Value: um(v), After: i%2 == 1})
		}
		return list
	}
	for _, c := range []struct {
		name           string
		mode           string
		checks         []ZeroCheck
		opening, drift float64
		worst          float64
		paired, open   bool
	}{
		{"none, to a master", spindle.ModeMaster, nil, 0, 0, 0, false, true},
		{"none, absolute", spindle.ModeAbsolute, nil, 0, 0, 0, false, false},
		{"none, indicator", spindle.ModeIndicator, nil, 0, 0, 0, false, false},
		{"a pair", spindle.ModeMaster, at(0, 1.5), 0, 1.5, 1.5, true, false},
		{"not at 0 before", spindle.ModeMaster, at(0.3, 0.1), 0.3, -0.2, -0.2, true, false},
		{"set again in between", spindle.ModeMaster, at(0, -2, 0, 0.1), 0, 0.1, -2, true, false},
		{"set again, not closed", spindle.ModeMaster, at(0, 0.5, 0), 0, 0.5, 0.5, true, true},
		{"closed without an opening check", spindle.ModeMaster, []ZeroCheck{{Value: um(0.4), After: true}}, 0, 0.4, 0.4, true, false},
		{"the last of two counts", spindle.ModeMaster, []ZeroCheck{{Value: um(5)}, {Value: um(0)}, {Value: um(9), After: true}, {Value: um(0.2), After: true}}, 0, 0.2, 0.2, true, false},
	} {
		z := readZero(&SetupState{Setup: spindle.Setup{Mode: c.mode}, Checks: c.checks})
		want := zero{opening: um(c.opening), drift: um(c.drift), worst: um(c.worst), paired: c.paired, open: c.open}
		if z != want {
			t.Errorf("%s: %+v, want %+v", c.name, z, want)
		}
	}
}

// A gauge that stood off 0 on the master, b before and a after, is corrected by −(b+a)/2 with u = |a−b|/√12; half the drift alone where b = 0.
func TestGaugeNotSetToZero(t *testing.T) {
	for _, c := range []struct{ before, after, value, variance float64 }{
		{0, 0, 6, 0.25},
		{0, 0.6, 5.7, 0.25 + 0.36/12},
		{0.6, 0.6, 5.4, 0.25},
		{0.9, 0.9, 5.1, 0.25}, // more than a tenth of the tolerance, but known
		{0.6, 0.2, 5.6, 0.25 + 0.16/12},
		{-0.4, 0.2, 6.1, 0.25 + 0.36/12},
	} {
		spec, s := journal(), comparator("s", 0.5)
		s.Checks[0].Value, s.Checks[1].Value = um(c.before), um(c.after)
		got := Assess(input(spec, sized(spec, "s", 6, 6, 6, 6, 6, 6), s)).of(t, spindle.Size)
		what := fmt.Sprintf("%+v before, %+v µm after: ", c.before, c.after)
		near(t, what+"value in µm", got.Value.Micrometres(), c.value, 1e-6)
		near(t, what+"u in µm", got.U.Micrometres()/2, math.Sqrt(c.variance), 1e-5)
		if said := strings.Contains(strings.Join(got.Notes, "\n"), "subtracted"); got.Doubtful != "" || said != (c.before != 0) {
			t.Errorf("%sdoubtful %q, notes %q", what, got.Doubtful, got.Notes)
		}
	}
	// Not yet closed: what was seen before is subtracted, and the verdict is provisional.
	spec, s := journal(), comparator("s", 0.5)
	s.Checks = []ZeroCheck{{Value: um(0.6)}}
	got := Assess(input(spec, sized(spec, "s", 6, 6, 6, 6, 6, 6), s)).of(t, spindle.Size)
	if near(t, "open set-up, value in µm", got.Value.Micrometres(), 5.4, 1e-6); !got.Open {
		t.Error("a set-up without its closing check is not open")
	}
	// So far off that it is no setting.
	s.Checks = []ZeroCheck{{Value: um(8.1)}, {Value: um(8.1), After: true}}
	if got := Assess(input(spec, sized(spec, "s", 6, 6, 6, 6, 6, 6), s)).of(t, spindle.Size); got.Outcome != CannotBeTold || !strings.Contains(got.Doubtful, "whole tolerance 8 µm") {
		t.Errorf("%s, %q", got.Outcome, got.Doubtful)
	}
	// Set off and drifting by more than a tenth of the tolerance.
	s.Checks = []ZeroCheck{{Value: um(0.6)}, {Value: um(1.5), After: true}}
	if got := Assess(input(spec, sized(spec, "s", 6, 6, 6, 6, 6, 6), s)).of(t, spindle.Size); got.Outcome != CannotBeTold || !strings.Contains(got.Doubtful, "zero moved by +0.9 µm") {
		t.Errorf("%s, %q", got.Outcome, got.Doubtful)
	}
}

func TestWhatStandsAgainstASetup(t *testing.T) {
	spec := journal()
	for _, s := range []SetupState{{Overdue: "calibration ended 3 days before"}, {Doubted: "master M-70 was found out of order"}} {
		bad := comparator("bad", 0.5)
		bad.Overdue, bad.Doubted = s.Overdue, s.Doubted
		reason := s.Overdue + s.Doubted
		list := sized(spec, "bad", 4, 5, 4.5, 5, 6, 5.08)
		got := Assess(input(spec, list, bad)).of(t, spindle.Size)
		if got.Outcome != CannotBeTold || got.Doubtful != reason || !strings.Contains(got.Sentence, reason) {
			t.Errorf("%q: %s, %q", reason, got.Outcome, got.Sentence)
		}
		// Nor does it fail a part.
		if got := Assess(input(spec, sized(spec, "bad", 30, 30, 30, 30, 30, 30), bad)).of(t, spindle.Size); got.Outcome != CannotBeTold {
			t.Errorf("+30 µm under a set-up in doubt: %s", got.Outcome)
		}
		// Measured again under a sound set-up: that counts, the old readings do not, and it is said.
		again := append(list, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08)...)
		got = Assess(input(spec, again, bad, comparator("s", 0.5))).of(t, spindle.Size)
		if got.Outcome != Conforms || got.Doubtful != "" || !strings.Contains(strings.Join(got.Notes, "\n"), "left out") {
			t.Errorf("measured again: %s, notes %q", got.Outcome, got.Notes)
		}
		sweep, i := swept(4, greatest(spindle.CircularRunOut, 8)), indicator("i", 0.5)
		i.Doubted = reason
		if got := Assess(input(sweep, round("i", sweep, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1), i)).of(t, spindle.CircularRunOut); got.Outcome != CannotBeTold || got.Doubtful != reason {
			t.Errorf("a sweep: %s, %q", got.Outcome, got.Doubtful)
		}
	}
}

func TestReadingsThatCannotBeUsed(t *testing.T) {
	spec, s := journal(), comparator("s", 0.5)
	list := sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08)
	s.Mode, s.Master = spindle.ModeAbsolute, nil
	extra := reading("x", "s", spec, spindle.Size, "1", 0, spindle.MeansFromMaster, 1)
	if _, _, err := ValueAt20(spec, s, extra.Reading); !errors.Is(err, ErrNoMaster) {
		t.Errorf("from a master that is not there: %v", err)
	}
	if _, _, err := ValueAt20(spec, s, spindle.Reading{Yes: ptr(true)}); !errors.Is(err, ErrNotALength) {
		t.Errorf("an answer as a length: %v", err)
	}
	got := Assess(input(spec, append(list, extra), s)).of(t, spindle.Size)
	if got.Outcome != CannotBeTold || !strings.Contains(got.Sentence, "names none") {
		t.Errorf("one reading that cannot be used: %s: %s", got.Outcome, got.Sentence)
	}
	list[0].Reading.Setup = "gone"
	if got := Assess(input(spec, list, s)).of(t, spindle.Size); got.Outcome != Incomplete || len(got.Notes) == 0 {
		t.Errorf("a set-up that is not there: %s, notes %q", got.Outcome, got.Notes)
	}
	// An indicator's own zero gives size variation, but no size.
	spec.Characteristics = append(spec.Characteristics, greatest(spindle.SizeVariation, 4))
	list = sized(spec, "i", 0, 1, 0, 1, 2, 1)
	for i := range list {
		list[i].Reading.Means = spindle.MeansIndicator
	}
	f := Assess(input(spec, list, indicator("i", 0.5)))
	if size, variation := f.of(t, spindle.Size), f.of(t, spindle.SizeVariation); size.Outcome != Incomplete || variation.Outcome != Conforms {
		t.Errorf("size %s, size variation %s", size.Outcome, variation.Outcome)
	}
}

func TestLimitsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		nominal length.Length
		c       spindle.Characteristic
		says    string
	}{
		{70 * length.Millimetre, spindle.Characteristic{Name: spindle.Size, Class: "q4"}, "q4"},
		{4000 * length.Millimetre, spindle.Characteristic{Name: spindle.Size, Class: "k4"}, "4000"},
		{70 * length.Millimetre, spindle.Characteristic{Name: spindle.Size}, "no limits"},
		{70 * length.Millimetre, spindle.Characteristic{Name: spindle.Size, Lower: ptr(2 * µm), Upper: ptr(-2 * µm)}, "exchanged"},
	} {
		spec := journal()
		spec.Nominal, spec.Characteristics = c.nominal, []spindle.Characteristic{c.c}
		got := Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), comparator("s", 0.5))).of(t, spindle.Size)
		if got.Outcome != CannotBeTold || !strings.Contains(got.Sentence, c.says) {
			t.Errorf("%+v: %s: %s", c.c, got.Outcome, got.Sentence)
		}
	}
}

// Repeats: without a study three at a station tell s, two never do; with one all of them add to it.
func TestRepeatability(t *testing.T) {
	spec := journal()
	spec.Plan.MinN = 1
	read := func(s SetupState, values ...float64) Characteristic {
		var list []Observation
		for i, v := range values {
			o := reading(string(rune('a'+i)), "s", spec, spindle.Size, "1", 0, spindle.MeansFromNominal, v)
			o.Reading.Repeat = i
			list = append(list, o)
		}
		return Assess(input(spec, list, s)).of(t, spindle.Size)
	}
	plain, studied := comparator("s", 0.5), comparator("s", 0.5)
	studied.Gauge.SPooled, studied.Gauge.Nu = um(0.3), 10
	resolved := comparator("s", 0.5)
	resolved.Gauge.Resolution = um(1)
	for _, c := range []struct {
		name     string
		setup    SetupState
		values   []float64
		variance float64
	}{
		{"two, no study", plain, []float64{5, 6}, 0.25},
		{"three, no study: s 1, u 1/√3", plain, []float64{5, 6, 7}, 0.25 + 1.0/3},
		{"one, studied", studied, []float64{6}, 0.25 + 0.09},
		{"two, studied: s² = (10·0.09+0.08)/11", studied, []float64{5.8, 6.2}, 0.25 + (0.9+0.08)/11/2},
		{"resolution 1 µm, once", resolved, []float64{6}, 0.25 + 1.0/12},
		{"resolution 1 µm, twice", resolved, []float64{6, 6}, 0.25 + 1.0/24},
	} {
		got := read(c.setup, c.values...)
		near(t, c.name+": u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, c.variance, 1e-5)
	}
	if got := read(plain, 5, 8); got.Outcome != InConflict {
		t.Errorf("two readings of one set-up 3 µm apart, U 1: %s", got.Outcome)
	}
}

// What gauge and master share cancels between two people only where a study says how well the gauge repeats.
func TestSharedPartsInAComparison(t *testing.T) {
	spec := journal()
	first, later := comparator("a", 0.5), comparator("b", 0.5)
	later.Gauge.ID = first.Gauge.ID
	was := []Observation{reading("1", "a", spec, spindle.Size, "1", 0, spindle.MeansFromNominal, 5)}
	now := reading("2", "b", spec, spindle.Size, "1", 0, spindle.MeansFromNominal, 5.9)
	if agrees, _, limit := Agree(input(spec, nil, first, later), was, now); !agrees || (limit-um(1.414214)).Abs() > 2 {
		t.Errorf("no study: agrees %v within %v", agrees, limit)
	}
	first.Gauge.SPooled, later.Gauge.SPooled = um(0.1), um(0.1)
	if agrees, _, limit := Agree(input(spec, nil, first, later), was, now); agrees || (limit-um(0.282843)).Abs() > 2 {
		t.Errorf("studied: agrees %v within %v", agrees, limit)
	}
}

func TestVariationAndTaper(t *testing.T) {
	spec := journal()
	spec.Characteristics = []spindle.Characteristic{greatest(spindle.SizeVariation, 3), greatest(spindle.TaperChar, 2)}
	s := comparator("s", 0.5)
	s.Gauge.SPooled, s.Gauge.Nu = um(0.1), 20
	s.Checks[1].Value = um(0.2)
	f := Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), s))
	variation, taper := f.of(t, spindle.SizeVariation), f.of(t, spindle.TaperChar)
	nearLength(t, "size variation", variation.Value, 2)
	nearLength(t, "taper, as a magnitude", taper.Value, 0.86)
	near(t, "taper with its sign", taper.drawn(t, "taper"), -0.86, 1e-6)
	// Calibration cancels; repeats and drift do not: 2·(0.1² + 0.04/12), and of two means of three 2/3 of that.
	near(t, "u² of the variation in µm²", variation.U.Micrometres()*variation.U.Micrometres()/4, 2*(0.01+0.04/12), 1e-5)
	near(t, "u² of the taper in µm²", taper.U.Micrometres()*taper.U.Micrometres()/4, 2*(0.01+0.04/12)/3, 1e-5)
	s.Gauge.SPooled, s.Checks[1].Value = 0, 0
	variation = Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), s)).of(t, spindle.SizeVariation)
	nearLength(t, "U with no study: the calibration, once", variation.U, 1)
	if !strings.Contains(variation.Budget[0].Source, "in place of a repeatability study") {
		t.Errorf("budget %+v", variation.Budget)
	}
	spec.Plan.Planes[1].Z = spec.Plan.Planes[0].Z
	if got := Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), s)).of(t, spindle.TaperChar); got.Outcome != CannotBeTold {
		t.Errorf("planes at one place: %s", got.Sentence)
	}
}

// Three planes: the middle one 3 µm above the line between its neighbours makes a barrel of 3 µm.
func TestBarrel(t *testing.T) {
	spec := journal()
	spec.Plan.Planes = append(spec.Plan.Planes, spindle.Plane{Name: "3", Z: 100 * length.Millimetre})
	got := Assess(input(spec, sized(spec, "s", 4, 4, 4, 8, 8, 8, 6, 6, 6), comparator("s", 0.5))).of(t, spindle.Size)
	near(t, "barrel in µm", got.drawn(t, "barrel or hour-glass"), 3, 1e-6)
	got = Assess(input(spec, sized(spec, "s", 8, 8, 8, 5, 5, 5, 6, 6, 6), comparator("s", 0.5))).of(t, spindle.Size)
	near(t, "hour-glass in µm", got.drawn(t, "barrel or hour-glass"), -2, 1e-6)
}

func TestSimpleRule(t *testing.T) {
	spec := journal()
	spec.Characteristics[0].Rule = "simple"
	for _, c := range []struct {
		u, worst float64
		outcome  Outcome
		rule     string
	}{
		{1, 10, Conforms, "simple"}, // on the limit; U 2 = T/4
		{1, 10.001, Fails, "simple"},
		{1.001, 10, CannotBeTold, "guarded"},
	} {
		got := Assess(input(spec, sized(spec, "s", c.worst, 6, 6, 6, 6, 6), comparator("s", c.u))).of(t, spindle.Size)
		if got.Outcome != c.outcome || !strings.HasPrefix(got.Rule, c.rule) {
			t.Errorf("u %v, worst %+v µm: %s by %q, want %s by %s", c.u, c.worst, got.Outcome, got.Rule, c.outcome, c.rule)
		}
	}
}

func TestGaugeWithoutAnyUncertaintyDecidesNothing(t *testing.T) {
	upper := 2 * length.Micrometre
	spec := spindle.Specification{Feature: "J1", Component: "shaft", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre, Source: spindle.FromDrawing,
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}, {Name: spindle.CircularRunOut, Max: &upper}}}
	for _, characteristic := range []string{spindle.Size, spindle.CircularRunOut} {
		setup := SetupState{Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "frc-1"}, Mode: spindle.ModeAbsolute, Soaked: true}}
		if can, _, _, words := GaugeCanDecide(spec, characteristic, setup); can || words == "" {
			t.Errorf("%s with a gauge of u 0 and resolution 0: can %v, %q", characteristic, can, words)
		}
		setup.Gauge.UCal = length.Micrometre / 10
		if can, _, _, words := GaugeCanDecide(spec, characteristic, setup); !can {
			t.Errorf("%s with u 0.1 µm: %q", characteristic, words)
		}
	}
}
