package verdict

import (
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Worked by hand: common case u = 0.5 µm, guard 1.645·0.5 = 0.82 µm; 70 k4 is +2 … +10, 110 JS5 is ±7.5 µm (ISO 286-2).
func TestSizesWorkedByHand(t *testing.T) {
	k4, js5 := journal(), bore()
	for _, c := range []struct {
		name    string
		spec    spindle.Specification
		u       float64
		values  []float64
		value   float64
		pc      float64
		outcome Outcome
		mend    []float64 // from, to, aim
		way     Direction
		says    []string
	}{
		{"the main path", k4, 0.5, []float64{4, 5, 4.5, 5, 6, 5.08}, 4, 0.99997, Conforms, nil, "", []string{"+4.0 ± 1.0 µm", "70 k4: +2 … +10 µm"}},
		{"too near the limit", k4, 0.5, []float64{2.5, 5, 4.5, 5, 6, 5}, 2.5, 0.841, CannotBeTold, nil, "", []string{"u ≤ 0.304", "U ≤ 0.61", "p_c 0.841", "too near its lower limit"}},
		{"journal too small", k4, 0.5, []float64{0.5, 1, 1.5, 1, 0.8, 1.2}, 0.5, 0.0013, Fails, []float64{2.32, 7.68, 5}, MetalOn, []string{"1.5 µm below its lower limit"}},
		{"bore too small", js5, 0.8, []float64{-9, -8.5, -8.7, -8.8, -8.6, -9}, -9, 0.030, Fails, []float64{2.82, 14.68, 8.75}, MetalOff, []string{"1.5 µm below its lower limit", "−7.5 … +7.5 µm"}},
		{"half a micrometre decides", js5, 0.8, []float64{6.5, 0, 0, 0, 0, 0}, 6.5, 0.894, CannotBeTold, nil, "", []string{"too near its upper limit"}},
		{"journal too large", k4, 0.5, []float64{11.5, 8, 8, 8, 8, 8}, 11.5, 0.0013, Fails, []float64{2.32, 5.18, 3.75}, MetalOff, []string{"J1 front bearing journal is 1.5 µm above its upper limit (70 k4: +2 … +10 µm; worst local +11.5 ± 1.0 µm at plane 1, 0°)"}},
		{"no amount brings all inside", k4, 0.5, []float64{12, 3, 8, 8, 8, 8}, 12, 0, Fails, []float64{2.82, 0.18, 1.5}, MetalOff, nil},
		{"both sides", k4, 0.5, []float64{12, 0, 8, 8, 8, 8}, 12, 0.00003, Fails, nil, "", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Assess(input(c.spec, sized(c.spec, "s", c.values...), comparator("s", c.u))).of(t, spindle.Size)
			t.Logf("%v µm, u %v µm: %s", c.values, c.u, got.Sentence)
			if got.Outcome != c.outcome {
				t.Errorf("outcome %q, want %q", got.Outcome, c.outcome)
			}
			nearLength(t, "value", got.Value, c.value)
			nearLength(t, "U", got.U, 2*c.u)
			nearPC(t, got.PC, c.pc)
			for _, s := range c.says {
				if !strings.Contains(got.Sentence, s) {
					t.Errorf("the sentence lacks %q", s)
				}
			}
			if c.outcome != Fails && got.Mend != nil || c.outcome == Fails && got.Mend == nil {
				t.Fatalf("mend %+v for outcome %s", got.Mend, got.Outcome)
			}
			if c.mend != nil {
				near(t, "from", got.Mend.From.Micrometres(), c.mend[0], 0.01)
				near(t, "to", got.Mend.To.Micrometres(), c.mend[1], 0.01)
				near(t, "aim", got.Mend.Aim.Micrometres(), c.mend[2], 0.01)
				if got.Mend.Direction != c.way {
					t.Errorf("direction %q, want %q", got.Mend.Direction, c.way)
				}
				if allowed := c.mend[0] <= c.mend[1]; got.Mend.Allowed != allowed {
					t.Errorf("allowed %v, want %v: %s", got.Mend.Allowed, allowed, got.Mend.Why)
				}
			}
		})
	}
}

func TestMainPathFigures(t *testing.T) {
	spec := journal()
	all := sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08)
	got := Assess(input(spec, all, comparator("s", 0.5))).of(t, spindle.Size)
	near(t, "mean of plane 1", got.drawn(t, "mean of plane 1"), 4.5, 1e-6)
	near(t, "mean of plane 2", got.drawn(t, "mean of plane 2"), 5.36, 1e-6)
	near(t, "taper", got.drawn(t, "taper"), -0.86, 1e-6)
	near(t, "roundness-type figure", got.drawn(t, "roundness-type figure"), 0.5, 1e-6)
	nearLength(t, "margin", got.Margin, 2)
	if got.Mend != nil || got.Open || got.Need != 6 || got.Have != 6 || len(got.Stations) != 6 {
		t.Errorf("mend %v, open %v, %d of %d stations, %d shown", got.Mend, got.Open, got.Have, got.Need, len(got.Stations))
	}
	half := Assess(input(spec, all[:3], comparator("s", 0.5))).of(t, spindle.Size)
	t.Log(half.Sentence)
	if half.Outcome != Incomplete || half.Have != 3 || half.Need != 6 || len(half.Missing) != 3 || !strings.Contains(half.Sentence, "3 of 6 stations read, missing plane 2 at 0°, 60° and 120°") {
		t.Errorf("%s: %d of %d, missing %v", half.Outcome, half.Have, half.Need, half.Missing)
	}
	failed := Assess(input(spec, sized(spec, "s", 12), comparator("s", 0.5))).of(t, spindle.Size)
	if failed.Outcome != Fails {
		t.Errorf("one local size of +12 µm: %s, want fails, however many stations are missing", failed.Outcome)
	}
}

// A drawing's own limits, here those of js4 after a drawing was found: metal off 2.82 … 7.18, aim 5.0 µm.
func TestDrawingLimitsAfterward(t *testing.T) {
	spec := journal()
	spec.Characteristics[0] = spindle.Characteristic{Name: spindle.Size, Lower: ptr(-4 * µm), Upper: ptr(4 * µm), Required: true}
	got := Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), comparator("s", 0.5))).of(t, spindle.Size)
	t.Log(got.Sentence)
	if got.Outcome != Fails || got.Mend == nil || got.Mend.Direction != MetalOff || !got.Mend.Allowed {
		t.Fatalf("%s, mend %+v", got.Outcome, got.Mend)
	}
	nearPC(t, got.PC, 0.00003)
	nearLength(t, "from", &got.Mend.From, 2.82)
	nearLength(t, "to", &got.Mend.To, 7.18)
	nearLength(t, "aim", &got.Mend.Aim, 5)
	if got.LimitsFrom != "drawing T-2041" {
		t.Errorf("limits from %q", got.LimitsFrom)
	}
}

// A gauge with u 2.3 µm on a tolerance of 8 µm: best p_c 2Φ(4/2.3)−1 = 0.918; the bound is U ≤ 8/1.96 = 4.08 µm.
func TestGaugeThatCanNeverDecide(t *testing.T) {
	can, best, bound, words := GaugeCanDecide(journal(), spindle.Size, comparator("s", 2.3))
	t.Log(words)
	if can || !strings.Contains(words, "0.918") || !strings.Contains(words, "4.08") {
		t.Errorf("can decide: %v, in words: %s", can, words)
	}
	near(t, "best p_c", best, 0.918, 0.003)
	near(t, "largest U in µm", bound.Micrometres(), 4.08, 0.01)
	if can, best, _, words := GaugeCanDecide(journal(), spindle.Size, comparator("s", 0.5)); !can || best < 0.999 || words != "" {
		t.Errorf("u 0.5 µm on 8 µm: can %v, best p_c %v, %q", can, best, words)
	}
	if can, _, _, _ := GaugeCanDecide(journal(), spindle.Size, indicator("i", 0.1)); can {
		t.Error("an indicator's own zero tells no size")
	}
	if _, _, _, words := GaugeCanDecide(journal(), spindle.Roundness, comparator("s", 0.5)); words == "" {
		t.Error("a characteristic that is not specified must be said so")
	}
	// The bound is where the verdict turns, for either kind of tolerance.
	spec := journal()
	spec.Characteristics = append(spec.Characteristics, spindle.Characteristic{Name: spindle.CircularRunOut, Max: ptr(3 * µm)})
	spec.Characteristics = append(spec.Characteristics, greatest(spindle.TaperChar, 3))
	for name, make := range map[string]func(string, float64) SetupState{spindle.Size: comparator, spindle.CircularRunOut: indicator, spindle.TaperChar: comparator} {
		_, _, bound, _ := GaugeCanDecide(spec, name, make("s", 1))
		under, _, _, _ := GaugeCanDecide(spec, name, make("s", bound.Micrometres()/2-1e-5))
		over, _, _, _ := GaugeCanDecide(spec, name, make("s", bound.Micrometres()/2+1e-5))
		if !under || over {
			t.Errorf("%s: at U just under %v can is %v, just over %v", name, bound, under, over)
		}
	}
}

// Hot part: 70 000·11.5e-6·(1−12) = −8.855 µm; u² = 0.5² + 0.805² + 0.485².
func TestTemperature(t *testing.T) {
	spec := journal()
	hot := comparator("s", 0.5)
	hot.TPart, hot.TMaster, hot.UT = ptr(int64(32_000)), ptr(int64(21_000)), ptr(int64(1000))
	soaked := comparator("s", 0.5)
	soaked.TPart, soaked.TMaster, soaked.UT = ptr(int64(21_000)), ptr(int64(21_000)), ptr(int64(200))
	for _, c := range []struct {
		name    string
		setup   SetupState
		reading float64
		value   float64
		u       float64
		pc      float64
		outcome Outcome
		settle  string
	}{
		{"out of the washer", hot, 12, 3.145, 1.065, 0.859, CannotBeTold, "soak"},
		{"soaked", soaked, 3.1, 3.1, 0.527, 0.982, Conforms, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			spec.Plan.MinN = 1
			o := []Observation{reading("r", "s", spec, spindle.Size, "1", 0, spindle.MeansFromMaster, c.reading)}
			got := Assess(input(spec, o, c.setup)).of(t, spindle.Size)
			t.Log(got.Sentence)
			nearLength(t, "value", got.Value, c.value)
			near(t, "u in µm", got.U.Micrometres()/2, c.u, 0.01)
			nearPC(t, got.PC, c.pc)
			if got.Outcome != c.outcome || !strings.Contains(got.Settle, c.settle) {
				t.Errorf("%s (%s), want %s", got.Outcome, got.Settle, c.outcome)
			}
			value, lines, err := ValueAt20(spec, c.setup, o[0].Reading)
			if err != nil || value != *got.Value || len(lines) != len(got.Budget) {
				t.Errorf("one reading: %v, %d lines, error %v; the verdict has %v, %d lines", value, len(lines), err, *got.Value, len(got.Budget))
			}
		})
	}
}

// Aluminium housing bore, steel master, both at 26 °C, 110 mm: 110 000·(11.5−23.1)e-6·6 = −7.66 µm.
func TestUnequalExpansion(t *testing.T) {
	spec, s := bore(), comparator("s", 0.5)
	spec.MaterialAlpha = 23_100
	s.Master.Certified = 110 * length.Millimetre
	s.TPart, s.TMaster = ptr(int64(26_000)), ptr(int64(26_000))
	v, _, err := ValueAt20(spec, s, reading("r", "s", spec, spindle.Size, "1", 0, spindle.MeansFromMaster, 10).Reading)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "deviation in µm", v.Micrometres(), 10-7.656, 0.001)
}

func TestTemperatureNotMeasured(t *testing.T) {
	spec := journal()
	size := spec.Nominal.Micrometres() * 11.5e-6
	for _, c := range []struct {
		name          string
		soaked        bool
		part, master  *int64
		half          float64
		noteMentioned string
	}{
		{"soaked", true, nil, nil, 1, "temperature not measured"},
		{"not soaked", false, nil, nil, 5, "temperature not measured"},
		{"part alone, hot", false, ptr(int64(45_000)), nil, 30, "temperature of the master not measured"},
		{"master alone", false, nil, ptr(int64(22_000)), 7, "temperature of the part not measured"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := comparator("s", 0.5)
			s.Soaked, s.TPart, s.TMaster, s.UT = c.soaked, c.part, c.master, nil
			got := Assess(input(spec, sized(spec, "s", 6, 6, 6, 6, 6, 6), s)).of(t, spindle.Size)
			nearLength(t, "value, not corrected", got.Value, 6)
			heat := size * c.half / 1.7320508
			near(t, "u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, 0.25+heat*heat, 1e-3)
			if !strings.Contains(strings.Join(got.Notes, "\n"), c.noteMentioned) {
				t.Errorf("notes %q lack %q", got.Notes, c.noteMentioned)
			}
		})
	}
}

// Six readings +1 … +3 from a master taken for 70.0000 mm; its certified value turns out to be 70.0030.
func TestMasterCorrected(t *testing.T) {
	spec := journal()
	var list []Observation
	for i, s := range plannedStations(spec, spindle.Size) {
		list = append(list, reading(string(rune('a'+i)), "s", spec, spindle.Size, s.Plane, s.Angle, spindle.MeansFromMaster, []float64{1, 2, 3, 1.5, 2.5, 2}[i]))
	}
	wrong := Assess(input(spec, list, comparator("s", 0.5))).of(t, spindle.Size)
	if wrong.Outcome != Fails {
		t.Errorf("with 70.0000: %s", wrong.Sentence)
	}
	nearPC(t, wrong.PC, 0.023)
	s := comparator("s", 0.5)
	s.Master.Certified = 70*length.Millimetre + 3*µm
	right := Assess(input(spec, list, s)).of(t, spindle.Size)
	if right.Outcome != Conforms {
		t.Errorf("with 70.0030: %s", right.Sentence)
	}
	nearLength(t, "value", right.Value, 4)
}

// Zero 0.0 before, +1.5 after: too much for T 8; on T 15 it is corrected by −0.75 with u 1.5/√12 = 0.433.
func TestDrift(t *testing.T) {
	spec, s := journal(), comparator("s", 0.8)
	s.Checks[1].Value = um(1.5)
	got := Assess(input(spec, sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08), s)).of(t, spindle.Size)
	t.Log(got.Sentence)
	if got.Outcome != CannotBeTold || !strings.Contains(got.Doubtful, "zero moved by +1.5 µm, more than a tenth of the tolerance 8 µm: set again") {
		t.Errorf("%s, doubtful %q", got.Outcome, got.Doubtful)
	}
	b := bore()
	got = Assess(input(b, sized(b, "s", 4, 4, 4, 4, 4, 4), s)).of(t, spindle.Size)
	t.Log(got.Sentence)
	if got.Outcome != Conforms || got.Doubtful != "" {
		t.Errorf("%s, doubtful %q", got.Outcome, got.Doubtful)
	}
	nearLength(t, "value", got.Value, 3.25)
	near(t, "u in µm", got.U.Micrometres()/2, 0.910, 0.001)
	nearPC(t, got.PC, 1)

	s.Checks = s.Checks[:1]
	if open := Assess(input(b, sized(b, "s", 4, 4, 4, 4, 4, 4), s)).of(t, spindle.Size); !open.Open || open.Outcome != Conforms || !strings.Contains(strings.Join(open.Notes, ""), "closing zero check missing") {
		t.Errorf("without a closing check: open %v, %s, %q", open.Open, open.Outcome, open.Notes)
	}
}

// Two people at one station: 2.5 > √2 = 1.41 is a conflict, 1.2 is not; a third reading alone settles nothing until one is struck.
func TestTwoPeopleDiffer(t *testing.T) {
	spec := journal()
	read := func(values ...float64) Characteristic {
		list := sized(spec, "P1", values[0], 5, 5, 5, 5, 5)
		setups := []SetupState{comparator("P1", 0.5)}
		for i, v := range values[1:] {
			id := []string{"P2", "P3"}[i]
			o := reading("x"+id, id, spec, spindle.Size, "1", 0, spindle.MeansFromNominal, v)
			o.Person = id
			list = append(list, o)
			setups = append(setups, comparator(id, 0.5))
		}
		return Assess(input(spec, list, setups...)).of(t, spindle.Size)
	}
	for _, c := range []struct {
		values  []float64
		outcome Outcome
		mean    float64
	}{
		{[]float64{5, 7.5}, InConflict, 6.25},
		{[]float64{5, 7.5, 5.2}, InConflict, 5.9},
		{[]float64{5, 5.2}, Conforms, 5.1},
		{[]float64{5, 6.2}, Conforms, 5.6},
	} {
		got := read(c.values...)
		t.Logf("%v µm: %s", c.values, got.Sentence)
		if got.Outcome != c.outcome || got.Stations[0].Clash != (c.outcome == InConflict) {
			t.Errorf("%v µm: %s, clash %v", c.values, got.Outcome, got.Stations[0].Clash)
		}
		near(t, "station in µm", got.Stations[0].Value.Micrometres(), c.mean, 1e-6)
		// Independent gauges, one master without uncertainty: u shrinks.
		near(t, "u of the station in µm", got.Stations[0].U.Micrometres(), 0.5/[]float64{1, 1.41421, 1.73205}[len(c.values)-1], 1e-4)
	}
}

// Re-measured after the decision: +5.1 against 5.08 agrees, +7.0 differs by 1.92 > 1.41; a part at +0.2 against 1.4 differs by 1.2 and agrees.
func TestLaterReadings(t *testing.T) {
	spec := journal()
	all := sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08)
	for _, c := range []struct {
		value, delta float64
		agrees       bool
	}{{5.1, 0.02, true}, {7, 1.92, false}, {3.9, -1.18, true}, {3.6, -1.48, false}} {
		later := reading("late", "late", spec, spindle.Size, "2", 120_000, spindle.MeansFromNominal, c.value)
		in := input(spec, append(all[:6:6], later), comparator("s", 0.5), comparator("late", 0.5))
		agrees, delta, limit := Agree(in, all, later)
		if agrees != c.agrees {
			t.Errorf("%+.2f µm after +5.08 µm: agrees %v, want %v", c.value, agrees, c.agrees)
		}
		near(t, "difference in µm", delta.Micrometres(), c.delta, 1e-6)
		near(t, "limit in µm", limit.Micrometres(), 1.41421, 1e-4)
	}
	if agrees, _, _ := Agree(input(spec, all, comparator("s", 0.5)), all[:3], all[5]); agrees {
		t.Error("a station that nobody read before cannot confirm anything")
	}
}

// min +1.4: p_c 0.115; conceded to +0.5: 0.964; at assembly +0.2 with the same gauge and master: mean 0.8, u stays 0.5, p_c 0.726.
func TestConcession(t *testing.T) {
	spec := journal()
	values := []float64{1.4, 5, 4.5, 5, 6, 4}
	in := input(spec, sized(spec, "s", values...), comparator("s", 0.5))
	got := Assess(in).of(t, spindle.Size)
	if got.Outcome != CannotBeTold || got.Conceded != "" {
		t.Errorf("before: %s", got.Sentence)
	}
	nearPC(t, got.PC, 0.115)
	in.Concessions = []Concession{{ID: "c", Characteristic: spindle.Size, Lower: ptr(um(0.5)), By: "customer, ref. 4711"}}
	got = Assess(in).of(t, spindle.Size)
	t.Log(got.Sentence)
	if got.Outcome != Conforms || got.Conceded != "customer, ref. 4711" || *got.Lower != um(0.5) || *got.Upper != um(10) {
		t.Errorf("conceded %q, limits %v … %v: %s", got.Conceded, got.Lower, got.Upper, got.Sentence)
	}
	nearPC(t, got.PC, 0.964)

	late := comparator("late", 0.5)
	late.Gauge.ID = in.Setups["s"].Gauge.ID
	in.Setups["late"] = late
	o := reading("late", "late", spec, spindle.Size, "1", 0, spindle.MeansFromNominal, 0.2)
	in.Observations = append(in.Observations, o)
	got = Assess(in).of(t, spindle.Size)
	t.Log(got.Sentence)
	if got.Outcome != CannotBeTold || got.Conceded != "" {
		t.Errorf("at assembly: %s", got.Sentence)
	}
	nearLength(t, "value", got.Value, 0.8)
	nearLength(t, "U", got.U, 1)
	nearPC(t, got.PC, 0.726)
}

// Of several surely good values the one nearest to a limit is reported.
func TestWorstOfTheGood(t *testing.T) {
	spec := journal()
	spec.Characteristics[0] = spindle.Characteristic{Name: spindle.Size, Lower: ptr(-50 * µm), Upper: ptr(50 * µm)}
	got := Assess(input(spec, sized(spec, "s", 0, 10, 20, -30, 5, 29), comparator("s", 0.5))).of(t, spindle.Size)
	nearLength(t, "value", got.Value, -30)
	nearLength(t, "margin", got.Margin, 20)
}
