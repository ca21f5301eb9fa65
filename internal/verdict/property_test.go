package verdict

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

func TestAgainstThePlainRule(t *testing.T) {
	conforming, told := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		got := Assess(in).of(t, spindle.Size)
		for _, s := range got.Stations {
			y, variance, sound := plainStation(in, StationName{s.Plane, s.Angle})
			if sound && (math.Abs(s.Value.Micrometres()-y) > 2e-6 || math.Abs(s.U.Micrometres()-math.Sqrt(variance)) > 2e-6) {
				t.Fatalf("%s: %v, u %v; on paper %.6f µm, u %.6f µm", place(s.Plane, s.Angle), s.Value, s.U, y, math.Sqrt(variance))
			}
		}
		if got.Outcome == Conforms {
			conforming++
			if !plainly(in) {
				t.Fatalf("conforms, but not by the plain rule: %s\nnotes %q\nstations %+v", got.Sentence, got.Notes, got.Stations)
			}
		}
		if got.Outcome != Incomplete {
			told++
		}
		// The other way round, where nothing but the numbers can stand against it.
		if got.Outcome == CannotBeTold && got.Doubtful == "" && *got.PC < 0.94 && plainly(in) {
			t.Fatalf("cannot be told at p_c %v, but by the plain rule it conforms: %s", *got.PC, got.Sentence)
		}
	})
	t.Logf("%d complete features, %d conform", told, conforming)
	if conforming == 0 || told == 0 {
		t.Error("nothing that conforms was drawn: the test shows nothing")
	}
}

func TestWideningNeverCondemns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		lower, upper := -drawU(t, "below", 8000), drawU(t, "above", 12_000)
		rule := rapid.SampledFrom([]string{"guarded", "simple"}).Draw(t, "rule")
		with := func(l, u length.Length) Outcome {
			spec := in.Spec
			spec.Characteristics = []spindle.Characteristic{{Name: spindle.Size, Lower: &l, Upper: &u, Rule: rule}}
			in := in
			in.Spec = spec
			return Assess(in).Characteristics[0].Outcome
		}
		narrow := with(lower, upper)
		wide := with(lower-drawU(t, "more below", 3000), upper+drawU(t, "more above", 3000))
		if narrow == Conforms && wide != Conforms {
			t.Fatalf("within %v … %v it conforms, within wider limits: %s", lower, upper, wide)
		}
	})
}

func TestUncertaintyNeverTurnsGoodIntoBad(t *testing.T) {
	seen := map[Outcome]int{}
	rapid.Check(t, func(t *rapid.T) {
		spec := journal()
		var values []float64
		for range 6 {
			values = append(values, drawMicro(t, "value", 14).Micrometres())
		}
		with := func(u length.Length) Outcome {
			return Assess(input(spec, sized(spec, "s", values...), comparator("s", u.Micrometres()))).Outcome
		}
		a, b := with(drawU(t, "u", 3000)), with(drawU(t, "another u", 3000))
		seen[a]++
		if (a == Conforms && b == Fails) || (a == Fails && b == Conforms) {
			t.Fatalf("%v µm: %s with one u and %s with another", values, a, b)
		}
	})
	if seen[Fails] == 0 {
		t.Errorf("outcomes drawn: %v", seen)
	}
}

func TestOrderOfObservationsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		other := in
		other.Observations = rapid.Permutation(in.Observations).Draw(t, "order")
		if a, b := asJSON(t, Assess(in)), asJSON(t, Assess(other)); a != b {
			t.Fatalf("one order gives\n%s\nanother\n%s", a, b)
		}
	})
}

func asJSON(t interface{ Fatal(...any) }, v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Correcting the master's value is the same as typing every reading again with the difference added.
func TestCorrectingIsRetyping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		shift := drawMicro(t, "correction", 20)
		corrected, retyped := in, in
		corrected.Setups, retyped.Observations = map[string]SetupState{}, slices.Clone(in.Observations)
		for id, s := range in.Setups {
			m := *s.Master
			m.Certified += shift
			s.Master = &m
			corrected.Setups[id] = s
		}
		for i := range retyped.Observations {
			retyped.Observations[i].Reading.Value = ptr(*in.Observations[i].Reading.Value + shift)
		}
		if a, b := asJSON(t, Assess(corrected)), asJSON(t, Assess(retyped)); a != b {
			t.Fatalf("corrected by %v:\n%s\nretyped:\n%s", shift, a, b)
		}
	})
}

// The same size said in three ways, and typed in whatever unit, gives the same verdict.
func TestMeaningAndUnitDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		for i, o := range in.Observations { // multiples of 100 µin are whole nanometres too: 2540 nm
			v := *o.Reading.Value / (2540 * length.Nanometre) * (2540 * length.Nanometre)
			in.Observations[i].Reading.Value = &v
		}
		want := asJSON(t, Assess(in))
		for _, as := range []spindle.Meaning{spindle.MeansSize, spindle.MeansFromNominal, spindle.MeansFromMaster} {
			unit := rapid.SampledFrom(length.Units()).Draw(t, "unit")
			other := in
			other.Observations = slices.Clone(in.Observations)
			for i, o := range in.Observations {
				v := *o.Reading.Value
				switch master := in.Setups[o.Reading.Setup].Master.Certified; as {
				case spindle.MeansSize:
					v += master
				case spindle.MeansFromNominal:
					v += master - in.Spec.Nominal
				}
				typed, err := length.Parse(length.Format(v, unit, 15))
				if err != nil { // not every length is a decimal in every unit
					typed = v
				}
				other.Observations[i].Reading.Value, other.Observations[i].Reading.Means = &typed, as
			}
			if got := asJSON(t, Assess(other)); got != want {
				t.Fatalf("typed in %s as %q:\n%s\nwant\n%s", unit, as, got, want)
			}
		}
	})
}

// Turning the zero mark changes no magnitude, only directions.
func TestTurningChangesNoMagnitude(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{4, 6, 8, 12, 16}).Draw(t, "stations")
		turn := rapid.Int64Range(0, 359_999).Draw(t, "turn in m°")
		var values []float64
		for range n {
			values = append(values, drawMicro(t, "value", 5).Micrometres())
		}
		read := func(turn int64) []Feature {
			angles := around(n)
			for i := range angles {
				angles[i] = (angles[i] + turn) % 360_000
			}
			ring := spacer(n)
			ring.Plan.Angles = angles
			face := swept(n, greatest(spindle.Perpendicular, 4), greatest(spindle.AxialRunOut, 4))
			face.Plan.Angles, face.Plan.Radius = angles, 30*length.Millimetre
			sweep := swept(n, greatest(spindle.CircularRunOut, 4), greatest(spindle.Roundness, 4))
			sweep.Plan.Angles = angles
			return []Feature{
				Assess(input(ring, sized(ring, "s", values...), comparator("s", 0.5))),
				Assess(input(face, round("i", face, spindle.AxialRunOut, "1", angles, values...), indicator("i", 0.5))),
				Assess(input(sweep, round("i", sweep, spindle.CircularRunOut, "1", angles, values...), indicator("i", 0.5))),
			}
		}
		before, after := read(0), read(turn)
		for i, f := range before {
			for j, c := range f.Characteristics {
				d := after[i].Characteristics[j]
				if c.Value == nil && d.Value == nil && c.Outcome == d.Outcome {
					continue
				}
				if (*c.Value-*d.Value).Abs() > 2 || (*c.U-*d.U).Abs() > 2 || math.Abs(*c.PC-*d.PC) > 2e-6 {
					t.Fatalf("%s of %v µm: %v ± %v, turned by %d m°: %v ± %v", c.Name, values, c.Value, c.U, turn, d.Value, d.U)
				}
				for k, figure := range c.Figures {
					if figure.Unit != "°" && math.Abs(figure.Value-d.Figures[k].Value) > 2e-6 {
						t.Fatalf("%s, %s of %v µm: %v, turned by %d m°: %v %s", c.Name, figure.Name, values, figure.Value, turn, d.Figures[k].Value, figure.Unit)
					}
				}
			}
		}
	})
}

// Whatever is read, however wild: no panic, no number that is none, a sentence for everything.
func TestNothingBreaksIt(t *testing.T) { rapid.Check(t, nothingBreaks) }

// FuzzAnyReadings is the same, steered by coverage: go test -fuzz FuzzAnyReadings ./internal/verdict
func FuzzAnyReadings(f *testing.F) { f.Fuzz(rapid.MakeFuzz(nothingBreaks)) }

// FuzzPlainRule looks for a feature that conforms although the guarded rule, worked out from the readings by the definitions alone, says no.
func FuzzPlainRule(f *testing.F) {
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		in := drawFeature(t)
		if got := Assess(in).of(t, spindle.Size); got.Outcome == Conforms && !plainly(in) {
			t.Fatalf("conforms, but not by the plain rule: %s", got.Sentence)
		}
	}))
}

// guardedAgain holds every value that conforms by the guarded rule against it once more, with the error function of the standard library.
func guardedAgain(t *rapid.T, c Characteristic) {
	if c.Outcome != Conforms || !strings.HasPrefix(c.Rule, "guarded") {
		return
	}
	again := func(value, u length.Length) {
		inside := 1.0
		phi := func(limit length.Length) float64 {
			d := limit.Micrometres() - value.Micrometres()
			if u == 0 {
				return 0.5 + 0.5*math.Copysign(1, d)
			}
			return 0.5 * math.Erfc(-d/u.Micrometres()/math.Sqrt2)
		}
		switch {
		case c.Upper != nil && c.Lower != nil:
			inside = phi(*c.Upper) - phi(*c.Lower)
		case c.Upper != nil:
			inside = phi(*c.Upper)
		case c.Lower != nil:
			inside = 1 - phi(*c.Lower)
		}
		onLimit := u == 0 && ((c.Upper != nil && value == *c.Upper) || (c.Lower != nil && value == *c.Lower))
		if inside < 0.95-2e-6 && !onLimit {
			t.Fatalf("%s conforms with %v, u %v, limits %v … %v: p_c %v", c.Name, value, u, c.Lower, c.Upper, inside)
		}
	}
	again(*c.Value, length.Length(math.RoundToEven(float64(*c.U)/2)))
	if c.Name == spindle.Size {
		for _, s := range c.Stations {
			again(s.Value, s.U)
		}
	}
}

func nothingBreaks(t *rapid.T) {
	spec := rapid.SampledFrom([]spindle.Specification{journal(), bore(), spacer(4), swept(8)}).Draw(t, "feature")
	spec.Characteristics = nil
	for _, name := range spindle.Characteristics() {
		c := spindle.Characteristic{Name: name, Required: true, Rule: rapid.SampledFrom([]string{"", "simple"}).Draw(t, "rule")}
		switch rapid.IntRange(0, 3).Draw(t, "limits") {
		case 0:
			c.Max = ptr(length.Length(rapid.Int64Min(0).Draw(t, "max")))
		case 1:
			c.Lower, c.Upper = ptr(length.Length(rapid.Int64().Draw(t, "lower"))), ptr(length.Length(rapid.Int64().Draw(t, "upper")))
		case 2:
			c.Upper = ptr(drawMicro(t, "upper", 10))
		}
		if name == spindle.QuantityChar {
			c.Lower, c.Upper, c.Max = nil, nil, nil
			c.LowerQ = &spindle.Quantity{Value: rapid.Int64().Draw(t, "limit"), Exp10: rapid.IntRange(-18, 18).Draw(t, "exponent"), Unit: "kN"}
		}
		spec.Characteristics = append(spec.Characteristics, c)
	}
	in := Input{Spec: spec, Setups: map[string]SetupState{"a": drawSetup(t, "a"), "b": drawSetup(t, "b"), "i": indicator("i", 0.5)}}
	a := in.Setups["a"]
	a.Checks = append(a.Checks, ZeroCheck{Value: length.Length(rapid.Int64().Draw(t, "zero"))})
	in.Setups["a"] = a
	for i := range rapid.IntRange(0, 40).Draw(t, "readings") {
		o := Observation{ID: fmt.Sprint(i), Person: rapid.SampledFrom([]string{"", "P1", "P2"}).Draw(t, "person"), Reading: spindle.Reading{
			Setup:          rapid.SampledFrom([]string{"a", "b", "i", "none"}).Draw(t, "set-up"),
			Characteristic: rapid.SampledFrom(spindle.Characteristics()).Draw(t, "characteristic"),
			Plane:          rapid.SampledFrom([]string{"1", "2", "elsewhere", ""}).Draw(t, "plane"),
			Angle:          rapid.SampledFrom([]int64{0, 60_000, 90_000, 45_000, 359_999}).Draw(t, "angle"),
			Closing:        rapid.Bool().Draw(t, "closing"),
			Means:          rapid.SampledFrom([]spindle.Meaning{spindle.MeansSize, spindle.MeansFromNominal, spindle.MeansFromMaster, spindle.MeansIndicator, "?"}).Draw(t, "means"),
		}}
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0:
			o.Reading.Value = ptr(length.Length(rapid.Int64().Draw(t, "any length")))
		case 1:
			o.Reading.Quantity = &spindle.Quantity{Value: rapid.Int64().Draw(t, "quantity"), Exp10: rapid.IntRange(-18, 18).Draw(t, "exponent"), Unit: "kN", Bound: rapid.SampledFrom([]string{"", ">", "<"}).Draw(t, "bound")}
		case 2:
			o.Reading.Yes = ptr(rapid.Bool().Draw(t, "answer"))
		default:
			o.Reading.Value = ptr(drawMicro(t, "length", 10))
		}
		in.Observations = append(in.Observations, o)
	}
	f := Assess(in)
	text := asJSON(t, f) // fails on NaN and infinity
	for _, c := range f.Characteristics {
		if c.Sentence == "" || !slices.Contains([]Outcome{Conforms, Fails, CannotBeTold, Incomplete, InConflict}, c.Outcome) {
			t.Fatalf("%s: outcome %q, sentence %q", c.Name, c.Outcome, c.Sentence)
		}
		if c.Outcome == CannotBeTold && c.Settle == "" {
			t.Fatalf("%s cannot be told, and nothing would settle it: %s", c.Name, c.Sentence)
		}
		if c.Name != spindle.QuantityChar && c.Name != spindle.AttributeChar {
			guardedAgain(t, c)
		}
	}
	if p := Propose(spindle.Component{Name: "shaft"}, []Feature{f}, []spindle.Specification{spec}, nil); p.Reason == "" || (p.Action == Reuse && f.Outcome != Conforms) {
		t.Fatalf("%+v for a feature that %s\n%s", p, f.Outcome, text)
	}
	if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
		t.Fatal(text)
	}
	for _, o := range in.Observations {
		_, delta, limit := Agree(in, in.Observations, o)
		if limit < 0 {
			t.Fatalf("difference %v, limit %v", delta, limit)
		}
	}
	for _, name := range spindle.Characteristics() {
		if can, pc, _, words := GaugeCanDecide(spec, name, in.Setups["a"]); math.IsNaN(pc) || (!can && words == "") {
			t.Fatalf("%s: can %v, p_c %v, %q", name, can, pc, words)
		}
	}
}
