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

// drawMicro draws a length within ±limit µm, to the nanometre.
func drawMicro(t *rapid.T, what string, limit int64) length.Length {
	return length.Length(rapid.Int64Range(-limit*1000, limit*1000).Draw(t, what+" in nm")) * length.Nanometre
}

func drawU(t *rapid.T, what string, most int64) length.Length {
	return length.Length(rapid.Int64Range(1, most).Draw(t, what+" in nm")) * length.Nanometre
}

// drawSetup draws a sound set-up to a master, one of two gauges and two masters.
func drawSetup(t *rapid.T, id string) SetupState {
	s := comparator(id, 0)
	s.Gauge = spindle.Gauge{ID: rapid.SampledFrom([]string{"G1", "G2"}).Draw(t, "gauge"), UCal: drawU(t, "u_cal", 1000)}
	if rapid.Bool().Draw(t, "resolves") {
		s.Gauge.Resolution = rapid.SampledFrom([]length.Length{100 * length.Nanometre, µm, 2 * µm}).Draw(t, "resolution")
	}
	if rapid.Bool().Draw(t, "studied") {
		s.Gauge.SPooled, s.Gauge.Nu = drawU(t, "s_p", 600), rapid.IntRange(1, 30).Draw(t, "ν")
	}
	s.Master.ID = rapid.SampledFrom([]string{"M1", "M2"}).Draw(t, "master")
	s.Master.U = drawU(t, "u of the master", 500)
	s.Master.Certified += drawMicro(t, "certified", 50)
	s.Soaked = rapid.Bool().Draw(t, "soaked")
	if rapid.Bool().Draw(t, "temperatures measured") {
		s.TPart = ptr(rapid.Int64Range(17_000, 28_000).Draw(t, "part in m°C"))
		s.TMaster = ptr(rapid.Int64Range(17_000, 28_000).Draw(t, "master in m°C"))
		s.UT = ptr(rapid.Int64Range(0, 800).Draw(t, "u of the temperatures in mK"))
	} else {
		s.TPart, s.TMaster, s.UT = nil, nil, nil
	}
	s.Checks[1].Value = drawMicro(t, "drift", 1)
	return s
}

// drawFeature draws readings of the journal at most of its stations, under up to three set-ups, with repeats.
func drawFeature(t *rapid.T) Input {
	spec := journal()
	spec.Characteristics = append(spec.Characteristics, greatest(spindle.SizeVariation, 4), greatest(spindle.TaperChar, 3))
	in := Input{Spec: spec, Setups: map[string]SetupState{}}
	for i := range rapid.IntRange(1, 3).Draw(t, "set-ups") {
		id := fmt.Sprint("s", i)
		in.Setups[id] = drawSetup(t, id)
	}
	spread := rapid.Int64Range(0, 3).Draw(t, "spread in µm")
	middle := 6*µm + drawMicro(t, "middle", rapid.SampledFrom([]int64{1, 8}).Draw(t, "how far from the middle"))
	missing := rapid.IntRange(0, 8).Draw(t, "a station to leave out")
	for i, s := range plannedStations(spec, spindle.Size) {
		for j := range len(in.Setups) {
			if i == missing || (j > 0 && rapid.Bool().Draw(t, "not under this set-up")) {
				continue
			}
			for k := range rapid.IntRange(1, 3).Draw(t, "readings") {
				setup := in.Setups[fmt.Sprint("s", j)]
				o := reading(fmt.Sprintf("%d-%d-%d", i, j, k), setup.ID, spec, spindle.Size, s.Plane, s.Angle, spindle.MeansFromMaster, 0)
				v := middle + drawMicro(t, "value", spread) - (setup.Master.Certified - spec.Nominal) - um(plainCorrection(spec, setup))
				o.Reading.Value, o.Reading.Repeat, o.Person = &v, k, setup.Person
				in.Observations = append(in.Observations, o)
			}
		}
	}
	return in
}

// plainly decides on sizes by the definitions alone, as one would on paper: means of means, every pair of errors with its covariance, Φ by the error function of the standard library.
func plainly(in Input) (conforms bool) {
	lower, upper, _, err := Limits(in.Spec, spindle.Size)
	if err != nil {
		return false
	}
	drifted := func(s SetupState) bool { return 10*(s.Checks[1].Value-s.Checks[0].Value).Abs() > *upper-*lower }
	at := func(s StationName) (y, variance float64, any bool) {
		groups := map[string][]float64{}
		var ids []string
		for _, o := range in.Observations {
			// A set-up whose zero moved too far counts for nothing.
			if o.Reading.Plane == s.Plane && o.Reading.Angle == s.Angle && o.Reading.Characteristic == spindle.Size && !drifted(in.Setups[o.Reading.Setup]) {
				if groups[o.Reading.Setup] == nil {
					ids = append(ids, o.Reading.Setup)
				}
				m := in.Setups[o.Reading.Setup].Master.Certified - in.Spec.Nominal
				groups[o.Reading.Setup] = append(groups[o.Reading.Setup], (m + *o.Reading.Value).Micrometres())
			}
		}
		w := 1 / float64(len(ids))
		for _, g := range ids {
			a := in.Setups[g]
			sum := 0.0
			for _, v := range groups[g] {
				sum += v
			}
			y += w * (sum/float64(len(groups[g])) + plainCorrection(in.Spec, a))
			for _, h := range ids {
				variance += w * w * plainCovariance(in, a, in.Setups[h], len(groups[g]))
			}
		}
		return y, variance, len(ids) > 0
	}
	for _, s := range plannedStations(in.Spec, spindle.Size) {
		y, variance, any := at(s)
		if !any {
			return false
		}
		u := math.Sqrt(variance)
		phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
		if phi((upper.Micrometres()-y)/u)-phi((lower.Micrometres()-y)/u) < 0.95-2e-6 {
			return false
		}
	}
	return true
}

func plainCorrection(spec spindle.Specification, s SetupState) float64 {
	c := -(s.Checks[1].Value - s.Checks[0].Value).Micrometres() / 2
	if s.TPart != nil {
		c += spec.Nominal.Micrometres() * 11.5e-6 * (float64(*s.TMaster) - float64(*s.TPart)) / 1000
	}
	return c
}

// plainCovariance of the means of two set-ups at a station; of one with itself the variance.
func plainCovariance(in Input, a, b SetupState, n int) float64 {
	size := in.Spec.Nominal.Micrometres()
	v := 0.0
	if a.Gauge.ID == b.Gauge.ID {
		v += a.Gauge.UCal.Micrometres() * b.Gauge.UCal.Micrometres()
	}
	if a.Master.ID == b.Master.ID {
		v += a.Master.U.Micrometres() * b.Master.U.Micrometres()
	}
	if a.TPart != nil && b.TPart != nil {
		k := size * 1e-6 / math.Sqrt(3)
		away := func(t *int64) float64 { return k * float64(*t-20_000) / 1000 }
		v += away(a.TPart) * away(b.TPart)
		if a.Master.ID == b.Master.ID {
			v += away(a.TMaster) * away(b.TMaster)
		}
	}
	if a.ID != b.ID {
		return v
	}
	switch {
	case a.TPart != nil:
		v += math.Pow(size*11.5e-6*float64(*a.UT)/1000, 2)
	case a.Soaked:
		v += math.Pow(size*11.5e-6, 2) / 3
	default:
		v += math.Pow(size*11.5e-6*5, 2) / 3
	}
	d := (a.Checks[1].Value - a.Checks[0].Value).Micrometres()
	r := a.Gauge.Resolution.Micrometres()
	s := plainRepeats(in, a)
	return v + d*d/12 + r*r/12/float64(n) + s*s/float64(n)
}

// plainRepeats pools the study of the gauge with the repeats on the set-up; without a study only three or more at a station count.
func plainRepeats(in Input, s SetupState) float64 {
	squares, nu := 0.0, 0
	if s.Gauge.SPooled > 0 {
		nu = s.Gauge.Nu
		squares = float64(nu) * math.Pow(s.Gauge.SPooled.Micrometres(), 2)
	}
	for _, st := range plannedStations(in.Spec, spindle.Size) {
		var values []float64
		for _, o := range in.Observations {
			if o.Reading.Setup == s.ID && o.Reading.Plane == st.Plane && o.Reading.Angle == st.Angle {
				values = append(values, o.Reading.Value.Micrometres())
			}
		}
		if len(values) < 2 || (len(values) < 3 && s.Gauge.SPooled == 0) {
			continue
		}
		m := 0.0
		for _, v := range values {
			m += v / float64(len(values))
		}
		for _, v := range values {
			squares += (v - m) * (v - m)
		}
		nu += len(values) - 1
	}
	if nu == 0 {
		return 0
	}
	return math.Sqrt(squares / float64(nu))
}

func TestNeverConformsAgainstThePlainRule(t *testing.T) {
	conforming, told := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in := drawFeature(t)
		got := Assess(in).of(t, spindle.Size)
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
func TestNothingBreaksIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
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
	})
}
