package verdict

import (
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/portablemath"
	"runtrue/internal/spindle"
)

// swept is a journal with run-out limits, read at n equally spaced stations in one plane.
func swept(n int, characteristics ...spindle.Characteristic) spindle.Specification {
	s := journal()
	s.Characteristics = characteristics
	s.Plan = spindle.Plan{Planes: []spindle.Plane{{Name: "1"}}, Angles: around(n)}
	return s
}

func around(n int) []int64 {
	var angles []int64
	for i := range n {
		angles = append(angles, int64(i)*360_000/int64(n))
	}
	return angles
}

func greatest(name string, µ float64) spindle.Characteristic {
	return spindle.Characteristic{Name: name, Max: ptr(um(µ)), Required: true}
}

func round(setup string, spec spindle.Specification, characteristic, plane string, angles []int64, values ...float64) []Observation {
	var list []Observation
	for i, v := range values {
		list = append(list, reading(fmt.Sprintf("%s-%s-%d", setup, plane, i), setup, spec, characteristic, plane, angles[i], spindle.MeansIndicator, v))
	}
	return list
}

// lobes returns offset + a·cos k(θ−φ) at the angles, in µm.
func lobes(angles []int64, offset, a float64, k int, φ float64) []float64 {
	var values []float64
	for _, m := range angles {
		_, c := portablemath.SincosDegrees(float64(k) * (float64(m)/1000 - φ))
		values = append(values, offset+a*c)
	}
	return values
}

// r = 3·cos 3θ: with four stations it looks like an eccentricity of 3, which must not be said; with eight the form is 6.0 and there is no eccentricity.
func TestThreeLobes(t *testing.T) {
	spec := swept(4, greatest(spindle.CircularRunOut, 8), greatest(spindle.Roundness, 2.5))
	got := Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(4), lobes(around(4), 0, 3, 3, 0)...), indicator("i", 0.5)))
	runOut := got.of(t, spindle.CircularRunOut)
	t.Log(runOut.Sentence)
	nearLength(t, "run-out", runOut.Value, 6)
	if runOut.Outcome != Conforms || !strings.Contains(strings.Join(runOut.Notes, ""), "cannot tell eccentricity from lobing") {
		t.Errorf("%s, notes %q", runOut.Outcome, runOut.Notes)
	}
	for _, f := range runOut.Figures {
		if f.Name == "eccentricity" || f.Name == "high spot" {
			t.Errorf("four stations show %s %v %s", f.Name, f.Value, f.Unit)
		}
	}
	near(t, "missed share in %", runOut.drawn(t, "what the stations may have missed"), 29.289, 0.001)
	if r := got.of(t, spindle.Roundness); r.Outcome != CannotBeTold || !strings.Contains(r.Sentence, "4 stations of plane 1 cannot separate") {
		t.Errorf("roundness from four stations: %s", r.Sentence)
	}

	spec = swept(8, greatest(spindle.CircularRunOut, 8), greatest(spindle.Roundness, 2.5))
	got = Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(8), 3, -2.121, 0, 2.121, -3, 2.121, 0, -2.121), indicator("i", 0.5)))
	runOut, roundness := got.of(t, spindle.CircularRunOut), got.of(t, spindle.Roundness)
	t.Log(roundness.Sentence)
	near(t, "eccentricity in µm", runOut.drawn(t, "eccentricity"), 0, 0.001)
	nearLength(t, "run-out", runOut.Value, 6)
	nearLength(t, "roundness", roundness.Value, 6)
	if roundness.Outcome != Fails || got.Outcome != Fails {
		t.Errorf("roundness 6.0 of at most 2.5: %s", roundness.Sentence)
	}
}

func TestEccentricityAndHighSpot(t *testing.T) {
	spec := swept(12, greatest(spindle.CircularRunOut, 12))
	values := lobes(around(12), -7, 2.5, 1, 40)
	for i, v := range lobes(around(12), 0, 0.4, 2, 10) {
		values[i] += v
	}
	got := Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(12), values...), indicator("i", 0.2))).of(t, spindle.CircularRunOut)
	near(t, "eccentricity in µm", got.drawn(t, "eccentricity"), 2.5, 1e-5)
	near(t, "high spot in °", got.drawn(t, "high spot"), 40, 1e-4)
	near(t, "form in µm", got.drawn(t, "form, least squares"), 0.8*0.93969, 1e-4)
	if z := got.drawn(t, "form, minimum zone"); z <= 0 || z > got.drawn(t, "form, least squares")+1e-6 {
		t.Errorf("minimum zone %v µm is wider than that of the least-squares circle", z)
	}
}

// An eccentricity below its own uncertainty, u·√(2/N), has no direction; above it the direction has one, ± 2·atan(u/e).
func TestDirectionThatIsNotKnown(t *testing.T) {
	spec := swept(8, greatest(spindle.CircularRunOut, 8))
	read := func(e float64) Characteristic {
		return Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(8), lobes(around(8), 0, e, 1, 40)...), indicator("i", 0.5))).of(t, spindle.CircularRunOut)
	}
	small := read(0.2)
	for _, f := range small.Figures {
		if f.Name == "high spot" {
			t.Errorf("0.2 µm, u 0.25 µm: %+v", f)
		}
	}
	if !strings.Contains(strings.Join(small.Notes, "\n"), "its direction is not known") {
		t.Errorf("notes %q", small.Notes)
	}
	large := read(1) // 2·atan(0.25) = 28.07°
	for _, f := range large.Figures {
		if f.Name == "high spot" && f.Note != "± 28° (2u)" {
			t.Errorf("%+v", f)
		}
	}
	near(t, "high spot in °", large.drawn(t, "high spot"), 40, 1e-4)
}

// A closing reading that does not come back to the first adds d/√6 to u; a study replaces the calibration by √2·s_p.
func TestUncertaintyOfASweep(t *testing.T) {
	spec := swept(4, greatest(spindle.CircularRunOut, 8))
	list := round("i", spec, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1)
	got := Assess(input(spec, list, indicator("i", 0.5))).of(t, spindle.CircularRunOut)
	near(t, "u in µm", got.U.Micrometres()/2, 0.5, 1e-6)
	closing := reading("c", "i", spec, spindle.CircularRunOut, "1", 0, spindle.MeansIndicator, 0.6)
	closing.Reading.Closing = true
	got = Assess(input(spec, append(list, closing), indicator("i", 0.5))).of(t, spindle.CircularRunOut)
	nearLength(t, "run-out", got.Value, 2)
	near(t, "u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, 0.25+0.06, 1e-5)
	s := indicator("i", 0.5)
	s.Gauge.SPooled, s.Gauge.Nu, s.Gauge.Resolution = um(0.1), 20, um(0.2)
	got = Assess(input(spec, list, s)).of(t, spindle.CircularRunOut)
	near(t, "u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, 2*0.01+2*0.04/12, 1e-5)
}

// A sweep read twice at every station: half the variance of a single one.
func TestRepeatsInASweep(t *testing.T) {
	spec, s := swept(4, greatest(spindle.CircularRunOut, 8)), indicator("i", 0.5)
	s.Gauge.SPooled, s.Gauge.Nu, s.Gauge.Resolution = um(0.1), 1_000_000, um(0.2)
	twice := repeatedly(round("i", spec, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1), 2)
	got := Assess(input(spec, twice, s)).of(t, spindle.CircularRunOut)
	nearLength(t, "run-out", got.Value, 2)
	near(t, "u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, 0.01+0.04/12, 1e-5)
	// One station read once only: nothing is gained.
	got = Assess(input(spec, twice[1:], s)).of(t, spindle.CircularRunOut)
	near(t, "u² in µm²", got.U.Micrometres()*got.U.Micrometres()/4, 2*0.01+2*0.04/12, 1e-5)
}

func TestSweepsAreComparedAsAWhole(t *testing.T) {
	spec := swept(4, greatest(spindle.CircularRunOut, 8))
	// Different zeros, the same run-out: no conflict. Run-outs of 2 and 4 µm with U 1 each: conflict.
	first := round("a", spec, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1)
	same := round("b", spec, spindle.CircularRunOut, "1", around(4), 50, 51, 52, 51)
	other := round("b", spec, spindle.CircularRunOut, "1", around(4), 50, 52, 54, 52)
	a, b := indicator("a", 0.5), indicator("b", 0.5)
	got := Assess(input(spec, append(first[:4:4], same...), a, b)).of(t, spindle.CircularRunOut)
	if got.Outcome != Conforms {
		t.Error(got.Sentence)
	}
	near(t, "u of the mean in µm", got.U.Micrometres()/2, 0.35355, 1e-5)
	got = Assess(input(spec, append(first[:4:4], other...), a, b)).of(t, spindle.CircularRunOut)
	t.Log(got.Sentence)
	if got.Outcome != InConflict {
		t.Error(got.Sentence)
	}
	for _, c := range []struct {
		later  []Observation
		agrees bool
	}{{same, true}, {other, false}, {same[:2], true}, {round("b", spec, spindle.CircularRunOut, "1", around(4), 50, 55), false}} {
		in := input(spec, append(first[:4:4], c.later...), a, b)
		if agrees, delta, limit := Agree(in, first, c.later[0]); agrees != c.agrees {
			t.Errorf("a sweep of %d stations: agrees %v (difference %v, limit %v), want %v", len(c.later), agrees, delta, limit, c.agrees)
		}
	}
}

// A sweep that has only begun cannot contradict a larger run-out from before.
func TestBegunSweepContradictsNothing(t *testing.T) {
	spec := swept(4, greatest(spindle.CircularRunOut, 8))
	earlier := round("a", spec, spindle.CircularRunOut, "1", around(4), 0, 3, 6, 3)
	for n, want := range map[int]bool{1: true, 3: true, 4: false} {
		later := round("b", spec, spindle.CircularRunOut, "1", around(4), []float64{9, 9, 9, 9}[:n]...)
		in := input(spec, append(earlier[:4:4], later...), indicator("a", 0.5), indicator("b", 0.5))
		if agrees, delta, limit := Agree(in, earlier, later[0]); agrees != want {
			t.Errorf("%d of 4 stations, all alike, after a run-out of 6 µm: agrees %v (difference %v, limit %v)", n, agrees, delta, limit)
		}
	}
}

// Eight stations that leave half of the part unseen split nothing.
func TestUnevenSweep(t *testing.T) {
	spec := swept(8, greatest(spindle.CircularRunOut, 8), greatest(spindle.Roundness, 8))
	spec.Plan.Angles = []int64{0, 20_000, 40_000, 60_000, 80_000, 100_000, 120_000, 140_000}
	got := Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", spec.Plan.Angles, 0, 1, 2, 3, 3, 2, 1, 0), indicator("i", 0.5)))
	for _, f := range got.of(t, spindle.CircularRunOut).Figures {
		if f.Name == "eccentricity" {
			t.Errorf("eccentricity %v %s", f.Value, f.Unit)
		}
	}
	if r := got.of(t, spindle.Roundness); r.Outcome != CannotBeTold {
		t.Errorf("roundness: %s", r.Sentence)
	}
}

// The weights give the amplitude of any first harmonic back, also from stations unequally spaced, and nothing of a mean.
func TestWeightsOfTheFirstHarmonic(t *testing.T) {
	for _, angles := range [][]int64{around(4), around(7), {0, 30_000, 100_000, 170_000, 260_000}} {
		deg := make([]float64, len(angles))
		for i, a := range angles {
			deg[i] = float64(a) / 1000
		}
		weights, ok := firstWeights(2, deg, 70)
		if !ok {
			t.Fatalf("%v m°: no weights", angles)
		}
		for _, c := range []struct{ offset, amplitude, at, want float64 }{{9, 0, 0, 0}, {9, 1.5, 70, 3}, {0, 1.5, 160, 0}} {
			sum := 0.0
			for i, v := range lobes(angles, c.offset, c.amplitude, 1, c.at) {
				sum += weights[i] * v
			}
			near(t, fmt.Sprintf("%v m°: 2C₁ along 70° of %+v", angles, c), sum, c.want, 1e-9)
		}
	}
	if _, ok := firstWeights(2, []float64{10, 190}, 0); ok {
		t.Error("two stations fix no first harmonic")
	}
}

func TestTotalRunOutNeedsOneZero(t *testing.T) {
	spec := swept(4, greatest(spindle.TotalRunOut, 8))
	spec.Plan.Planes = []spindle.Plane{{Name: "1"}, {Name: "2", Z: 20 * length.Millimetre}}
	one := append(round("i", spec, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1), round("i", spec, spindle.CircularRunOut, "2", around(4), 3, 4, 5, 4)...)
	got := Assess(input(spec, one, indicator("i", 0.5))).of(t, spindle.TotalRunOut)
	nearLength(t, "total run-out under one zero", got.Value, 5)
	if got.Outcome != Conforms {
		t.Error(got.Sentence)
	}
	two := append(round("i", spec, spindle.CircularRunOut, "1", around(4), 0, 1, 2, 1), round("k", spec, spindle.CircularRunOut, "2", around(4), 3, 4, 5, 4)...)
	got = Assess(input(spec, two, indicator("i", 0.5), indicator("k", 0.5))).of(t, spindle.TotalRunOut)
	t.Log(got.Sentence)
	if got.Outcome != CannotBeTold || !strings.Contains(got.Sentence, "separate indicator zeros") {
		t.Error(got.Sentence)
	}
	if got = Assess(input(spec, one[:4], indicator("i", 0.5))).of(t, spindle.TotalRunOut); got.Outcome != Incomplete {
		t.Error(got.Sentence)
	}
	// One set-up touches both planes but completes only one; another completes the second.
	mixed := append(one[:6:6], round("k", spec, spindle.CircularRunOut, "2", around(4), 3, 4, 5, 4)...)
	if got = Assess(input(spec, mixed, indicator("i", 0.5), indicator("k", 0.5))).of(t, spindle.TotalRunOut); got.Outcome != CannotBeTold {
		t.Errorf("no zero spans all stations: %s", got.Sentence)
	}
	two[2].Reading.Value = ptr(um(20))
	if got = Assess(input(spec, two, indicator("i", 0.5), indicator("k", 0.5))).of(t, spindle.TotalRunOut); got.Outcome != Fails {
		t.Errorf("one plane alone runs out by 20 µm: %s", got.Sentence)
	}
}

// A sweep can fail before it is complete, but not conform.
func TestPartOfASweep(t *testing.T) {
	spec := swept(8, greatest(spindle.CircularRunOut, 3))
	for _, c := range []struct {
		values  []float64
		outcome Outcome
	}{{[]float64{0, 6}, Fails}, {[]float64{0, 1, 1, 1, 0}, Incomplete}, {nil, Incomplete}, {[]float64{0, 1, 1, 1, 0, 1, 1, 1}, Conforms}} {
		got := Assess(input(spec, round("i", spec, spindle.CircularRunOut, "1", around(8), c.values...), indicator("i", 0.5))).of(t, spindle.CircularRunOut)
		if got.Outcome != c.outcome || got.Have != len(c.values) {
			t.Errorf("%v µm: %s, %d stations, want %s", c.values, got.Outcome, got.Have, c.outcome)
		}
	}
	three := swept(3, greatest(spindle.CircularRunOut, 3))
	if got := Assess(input(three, round("i", three, spindle.CircularRunOut, "1", around(3), 0, 1, 1), indicator("i", 0.1))).of(t, spindle.CircularRunOut); got.Outcome != CannotBeTold {
		t.Errorf("three stations: %s", got.Sentence)
	}
}

// 3 µm over 90 mm is 6.9″.
func TestSquareness(t *testing.T) {
	spec := swept(4, greatest(spindle.Perpendicular, 4), greatest(spindle.AxialRunOut, 4))
	spec.Geometry, spec.Plan.Radius = spindle.Face, 45*length.Millimetre
	got := Assess(input(spec, round("i", spec, spindle.AxialRunOut, "1", around(4), lobes(around(4), 9, 1.5, 1, 45)...), indicator("i", 0.2)))
	square, axial := got.of(t, spindle.Perpendicular), got.of(t, spindle.AxialRunOut)
	t.Log(square.Sentence)
	nearLength(t, "tilt over the diameter", square.Value, 3)
	near(t, "squareness in ″", square.drawn(t, "squareness"), 6.875, 0.001)
	near(t, "direction in °", square.drawn(t, "tilt direction"), 45, 1e-4)
	nearLength(t, "axial run-out, under-reported", axial.Value, 2.1213)
	for _, s := range []string{"2.12", "3.00", "90 mm", "6.9″"} {
		if !strings.Contains(square.Sentence, s) {
			t.Errorf("the sentence lacks %q", s)
		}
	}
	// Form without tilt is in the zone too.
	got = Assess(input(spec, round("i", spec, spindle.AxialRunOut, "1", around(4), lobes(around(4), 0, 4, 2, 0)...), indicator("i", 0.2)))
	if square = got.of(t, spindle.Perpendicular); square.Outcome != Fails {
		t.Errorf("a saddle of 8 µm: %s", square.Sentence)
	}
}

// Spacer, at most 3 µm: +1.4 +1.4 −1.4 −1.4 is 2.8 by max − min, but a wedge of 3.96 at 45°.
func TestWedgeMissed(t *testing.T) {
	spec := spacer(4)
	got := Assess(input(spec, sized(spec, "s", 1.4, 1.4, -1.4, -1.4), comparator("s", 0.5))).of(t, spindle.Parallelism)
	t.Log(got.Sentence)
	if got.Outcome != Fails {
		t.Error(got.Outcome)
	}
	nearLength(t, "parallelism", got.Value, 3.96)
	near(t, "max − min in µm", got.drawn(t, "max − min"), 2.8, 1e-6)
	near(t, "wedge direction in °", got.drawn(t, "wedge direction"), 45, 1e-6)
	for _, s := range []string{"2.8", "3.96", "45°"} {
		if !strings.Contains(got.Sentence, s) {
			t.Errorf("the sentence lacks %q", s)
		}
	}
	spec = spacer(8)
	got = Assess(input(spec, sized(spec, "s", lobes(around(8), 0, 2, 1, 45)...), comparator("s", 0.5))).of(t, spindle.Parallelism)
	near(t, "max − min in µm", got.drawn(t, "max − min"), 4, 1e-6)
	near(t, "wedge in µm", got.drawn(t, "wedge"), 4, 1e-5)
	if got.Mend == nil || !got.Mend.Allowed || got.Mend.Direction != MetalOff {
		t.Errorf("a wedge of 4 µm with 20 µm to take off: %+v", got.Mend)
	}
}

func spacer(n int) spindle.Specification {
	return spindle.Specification{
		Feature: "S1", Component: "spacer", Name: "inner spacer", Geometry: spindle.Thickness, Nominal: 20 * length.Millimetre,
		Characteristics: []spindle.Characteristic{greatest(spindle.Parallelism, 3)}, Plan: spindle.Plan{Angles: around(n)},
		Rework: spindle.ReworkAllowance{MaxOff: 20 * µm}, Source: spindle.FromDrawing, Reference: "T-2042",
	}
}
