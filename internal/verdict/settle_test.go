package verdict

import (
	"math"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Every act that is said to be enough is done, with the value coming out the same: then the outcome is told. One that is not enough leaves U where it says.
func TestWhatSettles(t *testing.T) {
	worst := func(y float64) []float64 { return []float64{y, 6, 6, 6, 6, 6} }
	for _, c := range []struct {
		name   string
		value  float64
		change func(*SetupState)
		act    string
		enough bool
		// do carries the act out.
		do func(s *SetupState, list []Observation) []Observation
	}{
		{"a better gauge", 2.5, func(*SetupState) {}, "a gauge with a smaller calibration uncertainty (gauge and master together U ≤ 0.607 µm)", true,
			func(s *SetupState, list []Observation) []Observation {
				s.Gauge.UCal = um(0.607 / 2)
				return list
			}},
		{"more readings", 2.7, func(s *SetupState) { s.Gauge.UCal, s.Gauge.SPooled, s.Gauge.Nu = um(0.2), um(0.6), 1_000_000 }, "read every station 3 times as often as now", true,
			func(s *SetupState, list []Observation) []Observation { return repeatedly(list, 3) }},
		{"fewer would not do", 2.7, func(s *SetupState) { s.Gauge.UCal, s.Gauge.SPooled, s.Gauge.Nu = um(0.2), um(0.6), 1_000_000 }, "", false,
			func(s *SetupState, list []Observation) []Observation { return repeatedly(list, 2) }},
		{"measured temperatures", 2.6, func(s *SetupState) { s.Gauge.UCal = um(0.2); s.TPart, s.TMaster, s.UT, s.Soaked = nil, nil, nil, false },
			"let it soak, part and master at one temperature, and measure both temperatures (to u = 0.2 K)", true,
			func(s *SetupState, list []Observation) []Observation {
				s.TPart, s.TMaster, s.UT = ptr(int64(20_000)), ptr(int64(20_000)), ptr(int64(200))
				return list
			}},
		{"a steady zero", 2.55, func(s *SetupState) {
			s.Gauge.UCal = um(0.28)
			s.Checks = []ZeroCheck{{Value: um(-0.4)}, {Value: um(0.4), After: true}}
		}, "set the zero again and read at once, so that it does not move in between", true,
			func(s *SetupState, list []Observation) []Observation {
				s.Checks = comparator("s", 0).Checks
				return list
			}},
		{"near 20 °C", 2.65, func(s *SetupState) {
			s.Gauge.UCal = um(0.3)
			s.TPart, s.TMaster = ptr(int64(28_000)), ptr(int64(28_000))
		},
			"measure near 20 °C, where the expansion coefficients do not matter", true,
			func(s *SetupState, list []Observation) []Observation {
				s.TPart, s.TMaster = ptr(int64(20_000)), ptr(int64(20_000))
				return list
			}},
	} {
		spec, s := journal(), comparator("s", 0.5)
		c.change(&s)
		list := sized(spec, "s", worst(c.value)...)
		before := Assess(input(spec, list, s)).of(t, spindle.Size)
		if before.Outcome != CannotBeTold || len(before.SettleBy) == 0 {
			t.Errorf("%s: %s, settled by %+v", c.name, before.Outcome, before.SettleBy)
			continue
		}
		list = c.do(&s, list)
		after := Assess(input(spec, list, s)).of(t, spindle.Size)
		if (after.Outcome == Conforms) != (c.enough) {
			t.Errorf("%s: done, it %s at p_c %v", c.name, after.Outcome, *after.PC)
		}
		if c.act == "" {
			continue
		}
		found := false
		for _, by := range before.SettleBy {
			if by.Act == c.act {
				found = true
				if by.Enough != c.enough || (by.U-*after.U).Abs() > length.Micrometre/500 {
					t.Errorf("%s: enough %v, U %v; done: %s, U %v", c.name, by.Enough, by.U, after.Outcome, *after.U)
				}
			}
		}
		if !found || !strings.Contains(before.Settle, before.SettleBy[0].Act) {
			t.Errorf("%s: %q; acts %+v, want %q", c.name, before.Settle, before.SettleBy, c.act)
		}
	}
}

func repeatedly(list []Observation, times int) []Observation {
	var all []Observation
	for _, o := range list {
		for i := range times {
			o.Reading.Repeat = i
			o.ID += "'"
			all = append(all, o)
		}
	}
	return all
}

// Where no single act is enough, that is said, and the greatest help comes first.
func TestNothingSettlesAlone(t *testing.T) {
	spec, s := journal(), comparator("s", 0.5)
	s.Gauge.SPooled, s.Gauge.Nu = um(0.5), 50
	s.TPart, s.TMaster, s.UT = nil, nil, nil
	got := Assess(input(spec, sized(spec, "s", 2.3, 6, 6, 6, 6, 6), s)).of(t, spindle.Size)
	for i, by := range got.SettleBy {
		if by.Enough || (i > 0 && by.U < got.SettleBy[i-1].U) {
			t.Errorf("act %d: %+v", i, by)
		}
	}
	for _, act := range []string{": let it soak", ", and read every station", ", and a gauge with a smaller calibration uncertainty"} {
		if !strings.Contains(got.Settle, act) {
			t.Errorf("%q does not say %q", got.Settle, act)
		}
	}
}

// Few repeats: ν_eff by hand, t from the table of the Guide, and the decision as before.
func TestFewDegreesOfFreedom(t *testing.T) {
	spec, s := journal(), comparator("s", 0.2)
	spec.Plan.MinN = 1
	read := func(values ...float64) Characteristic {
		var list []Observation
		for i, v := range values {
			o := reading(string(rune('a'+i)), "s", spec, spindle.Size, "1", 0, spindle.MeansFromNominal, v)
			o.Reading.Repeat = i
			list = append(list, o)
		}
		return Assess(input(spec, list, s)).of(t, spindle.Size)
	}
	got := read(5.4, 6.0, 6.6) // s = 0.6, ν = 2; u² = 0.04 + 0.36/3 = 0.16, ν_eff = 0.16²·2/0.12² = 3.5556, t(3) = 3.18
	near(t, "ν_eff", *got.NuEff, 0.16*0.16*2/(0.12*0.12), 1e-5)
	near(t, "U for 95 % in µm", got.U95.Micrometres(), 3.18*0.4, 0.005*0.4)
	near(t, "U in µm", got.U.Micrometres(), 0.8, 1e-5)
	near(t, "figure", got.drawn(t, "effective degrees of freedom"), 3.555556, 1e-5)
	if !strings.Contains(strings.Join(got.Notes, "\n"), "ν_eff = 3") {
		t.Errorf("notes %q", got.Notes)
	}
	share := got.Budget[0]
	near(t, "contribution of the repeats in µm", share.UUm, 0.6/math.Sqrt(3), 1e-5)
	if near(t, "its sensitivity", share.Sensitivity, 1/math.Sqrt(3), 1e-5); share.Nu != 2 || share.Unit != "µm" {
		t.Errorf("%+v", share)
	}
	s.Gauge.SPooled, s.Gauge.Nu = um(0.3), 40
	if got := read(6); got.NuEff == nil || *got.NuEff < fewDegrees || strings.Contains(strings.Join(got.Notes, "\n"), "ν_eff") {
		t.Errorf("a study with ν 40: %v, notes %q", got.NuEff, got.Notes)
	}
	s.Gauge.SPooled = 0
	if got := read(6); got.NuEff != nil {
		t.Errorf("nothing from repeats: ν_eff %v", *got.NuEff)
	}
}
