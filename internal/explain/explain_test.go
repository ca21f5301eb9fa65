package explain

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

func ptr[T any](v T) *T { return &v }

func micro(um float64) length.Length { return length.Length(math.RoundToEven(um * 1e6)) }

// hot is a journal of 70 k4 out of the washer at 32 °C, read from a master at 21 °C.
func hot() verdict.Input {
	spec := spindle.Specification{
		Feature: "J1", Component: "shaft", Name: "front journal", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre,
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}},
		Plan:            spindle.Plan{Planes: []spindle.Plane{{Name: "1"}}, Angles: []int64{0, 90_000}},
		Source:          spindle.FromDrawing, Reference: "T-2041",
	}
	in := verdict.Input{Spec: spec, Setups: map[string]verdict.SetupState{"s": {ID: "s", Setup: spindle.Setup{
		Gauge: spindle.Gauge{ID: "C-7", UCal: micro(0.5)}, Mode: spindle.ModeMaster, Master: &spindle.Master{ID: "M-70", Certified: 70*length.Millimetre + micro(1)},
		TPart: ptr(int64(32_000)), TMaster: ptr(int64(21_000)), UT: ptr(int64(1000)),
	}, Checks: []verdict.ZeroCheck{{Value: micro(0.1)}, {After: true, Value: micro(0.3)}}}}}
	for i, v := range []float64{11.2, 11.6} {
		in.Observations = append(in.Observations, verdict.Observation{ID: fmt.Sprint("r", i), Person: "P1", Reading: spindle.Reading{Setup: "s", Feature: "J1", Characteristic: spindle.Size, Plane: "1",
			Angle: int64(i) * 90_000, Typed: fmt.Sprint(v), Unit: "µm", Means: spindle.MeansFromMaster, Value: ptr(micro(v)), Purpose: spindle.ForInspection}})
	}
	return in
}

func TestHotJournalOnPaper(t *testing.T) {
	e, err := Of(hot(), spindle.Size)
	if err != nil {
		t.Fatal(err)
	}
	text := e.Text()
	// 11.2 + 1 (master) − 0.1 (before) − 0.1 (half of +0.2) − 8.855 = 3.145; u² = 0.5² + 0.2²/12 + 0.805² + 0.485² + 0.0404²; p_c = Φ((3.145−2)/u).
	u := math.Sqrt(0.25 + 0.04/12 + 0.805*0.805 + math.Pow(70_000*12*1e-6/math.Sqrt(3), 2) + math.Pow(70_000*1e-6/math.Sqrt(3), 2))
	pc := 0.5 * math.Erfc(-1.145/u/math.Sqrt2)
	for _, want := range []string{
		"J1 front journal, size: cannot be told",
		"1, 0°    11.2 µm  from master  s       C-7    P1",
		"+1 µm, certified value 70.001 mm of master M-70 less the nominal 70 mm (certified − nominal; certificate of the master)",
		"−0.1 µm, the gauge stood at +0.1 µm on the master before the readings",
		"−0.1 µm, the zero moved by +0.2 µm from before to after (−d/2",
		"−8.855 µm, expansion of part at 32 °C and master at 21 °C, to 20 °C (L·[α_g(t_g − 20) − α_p(t_p − 20)]; ISO 1)",
		"1, 0°    +11.2    −8.055       +3.145",
		"−0.805 µm/K",
		fmt.Sprintf("u = %.3f µm, U = 2u = %.3f µm", u, 2*u),
		"lower limit  +2 µm",
		"ISO 286-2:2010, 70 k4",
		fmt.Sprintf("p_c = Φ((10 − 3.145)/%.3f) − Φ((2 − 3.145)/%.3f) = %.4f", u, u, pc),
		"so it cannot be told",
		"let it soak",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the text does not say %q:\n%s", want, text)
		}
	}
}

func TestNothingToExplain(t *testing.T) {
	if _, err := Of(hot(), spindle.Roundness); !errors.Is(err, ErrNoCharacteristic) {
		t.Errorf("roundness, which is not specified: %v", err)
	}
}

// Whatever is read: the numbers of the trace add up, every reading that counts is named, and the text can be written.
func TestTheNumbersAddUp(t *testing.T) {
	explained := 0
	rapid.Check(t, func(t *rapid.T) {
		in := hot()
		in.Spec.Characteristics = nil
		for _, name := range spindle.Characteristics() {
			c := spindle.Characteristic{Name: name, Max: ptr(micro(8))}
			switch name {
			case spindle.Size:
				c = spindle.Characteristic{Name: name, Class: "k4"}
			case spindle.QuantityChar:
				c = spindle.Characteristic{Name: name, LowerQ: &spindle.Quantity{Value: 8, Unit: "kN"}}
			case spindle.AttributeChar:
				c = spindle.Characteristic{Name: name, Ask: "Clean?"}
			}
			in.Spec.Characteristics = append(in.Spec.Characteristics, c)
		}
		s := in.Setups["s"]
		in.Setups["i"] = verdict.SetupState{ID: "i", Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "I-1", UCal: micro(0.2)}, Mode: spindle.ModeIndicator}}
		if rapid.Bool().Draw(t, "doubted") {
			s.Doubted = "dropped"
		}
		in.Setups["s"] = s
		in.Observations = nil
		for i := range rapid.IntRange(0, 30).Draw(t, "readings") {
			r := spindle.Reading{Setup: rapid.SampledFrom([]string{"s", "i", "gone"}).Draw(t, "set-up"), Feature: "J1", Plane: "1",
				Characteristic: rapid.SampledFrom(spindle.Characteristics()).Draw(t, "characteristic"),
				Angle:          rapid.SampledFrom([]int64{0, 45_000, 90_000, 135_000, 180_000, 225_000, 270_000, 315_000}).Draw(t, "angle"),
				Means:          rapid.SampledFrom([]spindle.Meaning{spindle.MeansSize, spindle.MeansFromNominal, spindle.MeansFromMaster, spindle.MeansIndicator}).Draw(t, "means"),
				Repeat:         i, Value: ptr(micro(float64(rapid.IntRange(-9000, 9000).Draw(t, "value in nm")) / 1000))}
			switch r.Characteristic {
			case spindle.QuantityChar:
				r.Value, r.Quantity = nil, &spindle.Quantity{Value: int64(i), Unit: "kN"}
			case spindle.AttributeChar:
				r.Value, r.Yes = nil, ptr(i&1 == 0)
			}
			in.Observations = append(in.Observations, verdict.Observation{ID: fmt.Sprint(i), Person: "P1", Reading: r})
		}
		for _, c := range in.Spec.Characteristics {
			tr, ok := verdict.TraceOf(in, c.Name)
			if !ok {
				t.Fatalf("%s is not traced", c.Name)
			}
			named := map[string]bool{}
			for _, r := range tr.Readings {
				sum := r.ReadUm
				for _, k := range r.Corrections {
					sum += k.Um
				}
				if named[r.ID] = true; math.Abs(sum-r.ValueUm) > 1e-6 {
					t.Fatalf("%s, reading %s: %v + %+v = %v, not %v", c.Name, r.ID, r.ReadUm, r.Corrections, sum, r.ValueUm)
				}
			}
			for _, st := range tr.Stations {
				for _, id := range st.IDs {
					if !named[id] {
						t.Fatalf("%s: reading %s stands at a station and is not explained", c.Name, id)
					}
				}
			}
			if tr.Value != nil && len(tr.Budget) > 0 {
				squares := 0.0
				for _, l := range tr.Budget {
					squares += l.UUm * l.UUm
					if math.Abs(math.Abs(l.Sensitivity*l.UInput)-l.UUm) > 1e-4+1e-4*l.UUm {
						t.Fatalf("%s: %+v", c.Name, l)
					}
				}
				if u := tr.U.Micrometres() / 2; math.Abs(math.Sqrt(squares)-u) > 1e-4 {
					t.Fatalf("%s: the budget gives %v µm, u is %v µm", c.Name, math.Sqrt(squares), u)
				}
			}
			e, err := Of(in, c.Name)
			if err != nil {
				t.Fatal(err)
			}
			text := e.Text()
			if !strings.Contains(text, e.Sentence) || strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
				t.Fatal(text)
			}
			if _, err := json.Marshal(e); err != nil {
				t.Fatal(err)
			}
			explained++
		}
	})
	if explained == 0 {
		t.Error("nothing was explained")
	}
}
