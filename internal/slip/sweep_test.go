package slip

import (
	"math"
	"math/rand/v2"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// TestSweepsAreLeftAlone draws sweeps of parts that run true and of parts that do not, and spoils them by decimal point and unit. The indicator starts at 0 as a rule.
func TestSweepsAreLeftAlone(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 2))
	good, questioned := 0, 0
	type count struct{ outside, caught int }
	counts := map[Kind]*count{DecimalPoint: {}, Unit: {}}
	for range 2000 {
		limit := length.Length(2+r.IntN(9)) * µm
		// Half the run-out, from well within the limit to four times as much; one part in twenty is bent by up to 100 µm.
		amplitude := float64(limit) * 0.5 * math.Exp2(3*r.Float64()-1)
		if r.IntN(20) == 0 {
			amplitude = r.Float64() * 50e6
		}
		phase, lobes := 2*math.Pi*r.Float64(), 0.3e6*r.NormFloat64()
		step := []length.Length{100 * length.Nanometre, 500 * length.Nanometre, µm}[r.IntN(3)]
		var values []length.Length
		for i := range 8 {
			a := 2 * math.Pi * float64(i) / 8
			v := length.Length(amplitude*(math.Cos(a-phase)-math.Cos(phase)) + lobes*math.Sin(3*a) + 0.1e6*r.NormFloat64())
			values = append(values, (v+step/2)/step*step)
		}
		for i, v := range values {
			right := Reading{Spec: journal(), Characteristic: spindle.CircularRunOut, Means: spindle.MeansIndicator, Unit: length.Micrometres, Text: length.Decimal(v, length.Micrometres, 1),
				Upper: &limit, Earlier: values[:i]}
			good++
			if len(Ask(right)) > 0 {
				questioned++
			}
			n, _ := readNumber(right.Text, right.Unit)
			for kind, wrong := range map[Kind]typed{DecimalPoint: n.shifted(1), Unit: {n.negative, n.digits, n.decimals, length.Millimetres}} {
				w := right
				w.Text, w.Unit = wrong.number(), wrong.unit
				d, _ := wrong.value()
				if expect(w.Lower, w.Upper, w.Earlier, true).holds(d) {
					continue
				}
				counts[kind].outside++
				if len(Ask(w)) > 0 {
					counts[kind].caught++
				}
			}
		}
	}
	t.Logf("seed %d: %d good indicator readings, %d questioned (%.2f %%)", seed, good, questioned, 100*float64(questioned)/float64(good))
	if share := float64(questioned) / float64(good); share > 0.02 {
		t.Errorf("%.2f %% of the good indicator readings are questioned, at most 2 %% are wanted", 100*share)
	}
	for _, kind := range []Kind{DecimalPoint, Unit} {
		c := counts[kind]
		share := float64(c.caught) / float64(c.outside)
		t.Logf("%s: %d land outside, of these asked about %.1f %%", kind, c.outside, 100*share)
		if c.outside < 1000 || share < 0.9 {
			t.Errorf("%s: %.1f %% of %d are asked about, want at least 90 %%", kind, 100*share, c.outside)
		}
	}
}
