package verdict

import (
	"math"
	"math/rand/v2"
	"testing"

	"runtrue/internal/spindle"
)

const simulationSeed = 20_261_128

// TestHonestOverAWholeShop draws true sizes and every error that a set-up can have, lets a person read, and holds the verdicts against the truth: propagation of distributions
// (JCGM 101) through the whole of the program, next to which the first-order u must hold. The errors are drawn from the distributions that the budget states;
// expansion acts in full, α·(t − 20)·L on part and master, not to first order in anything.
func TestHonestOverAWholeShop(t *testing.T) {
	r := rand.New(rand.NewPCG(simulationSeed, 1))
	uniform := func(half float64) float64 { return half * (2*r.Float64() - 1) }
	const trials = 20_000
	var sum, squares float64
	bad, passed, good, failed, told := 0, 0, 0, 0, 0
	for range trials {
		spec := journal()
		spec.Plan.Planes, spec.Plan.Angles = spec.Plan.Planes[:1], []int64{0}
		s := comparator("s", 0.2+0.3*r.Float64())
		s.Gauge.Resolution = um(0.5)
		s.Gauge.SPooled, s.Gauge.Nu = um(0.2), 1000
		s.Master.U = um(0.15)
		partC, masterC := 18+10*r.Float64(), 18+4*r.Float64()
		s.TPart, s.TMaster, s.UT = ptr(int64(math.Round(partC*1000))), ptr(int64(math.Round(masterC*1000))), ptr(int64(300))
		before, drift := uniform(0.5), uniform(0.7)
		s.Checks = []ZeroCheck{{Value: um(before)}, {Value: um(before + drift), After: true}}

		truth := 2 + 8*(1.6*r.Float64()-0.3) // from nominal, at 20 °C: some inside 70 k4, some not
		size := spec.Nominal.Micrometres()
		alphaPart, alphaMaster := 11.5e-6+uniform(1e-6), 11.5e-6+uniform(1e-6)
		partTrueC := partC + 0.3*r.NormFloat64() // all the error of the difference lies with the part
		warm := (size+truth)*(1+alphaPart*(partTrueC-20)) - (size+s.Master.U.Micrometres()*r.NormFloat64())*(1+alphaMaster*(masterC-20))
		shown := warm + s.Gauge.UCal.Micrometres()*r.NormFloat64() + 0.2*r.NormFloat64() + before + drift*r.Float64()
		step := s.Gauge.Resolution.Micrometres()
		shown = math.Round(shown/step) * step

		got := Assess(input(spec, []Observation{reading("1", "s", spec, spindle.Size, "1", 0, spindle.MeansFromMaster, shown)}, s)).of(t, spindle.Size)
		z := (got.Value.Micrometres() - truth) / (got.U.Micrometres() / 2)
		sum, squares = sum+z, squares+z*z
		inside := truth >= 2 && truth <= 10
		if inside {
			good++
		} else {
			bad++
		}
		switch got.Outcome {
		case Conforms:
			told++
			if !inside {
				passed++
			}
		case Fails:
			told++
			if inside {
				failed++
			}
		}
	}
	mean := sum / trials
	deviation := math.Sqrt(squares/trials - mean*mean)
	t.Logf("seed %d: %d parts, error over u: mean %.3f, standard deviation %.3f; %d told; of %d bad ones %d passed (%.2f %%), of %d good ones %d failed (%.2f %%)",
		simulationSeed, trials, mean, deviation, told, bad, passed, 100*float64(passed)/float64(bad), good, failed, 100*float64(failed)/float64(good))
	// 20 000 trials know a standard deviation to 0.005; what is drawn leaves out nothing that the budget counts and adds nothing.
	if math.Abs(mean) > 0.03 || math.Abs(deviation-1) > 0.03 {
		t.Errorf("errors are %.3f ± %.3f of the stated u, want 0 ± 1", mean, deviation)
	}
	if told < trials/2 || float64(passed) > 0.05*float64(bad) || float64(failed) > 0.05*float64(good) {
		t.Errorf("%d of %d told, %d of %d bad parts passed, %d of %d good ones failed; at most 5 %% of either is wanted", told, trials, passed, bad, failed, good)
	}
	if passed == 0 && failed == 0 {
		t.Error("no wrong decision at all: the uncertainty is overstated, or nothing is tested")
	}
}
