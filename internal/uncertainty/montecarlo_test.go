package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The law of propagation against the propagation of distributions (JCGM 101:2008): the same model is run with random inputs and its spread compared.
// The tolerance is four standard errors of the simulated figure, so that a right budget fails once in 16 000 runs, and with this seed never.

const (
	trials         = 200_000
	simulationSeed = 20261125
)

func simulate(t *testing.T, model func(r *rand.Rand) float64) (mean, deviation float64, values []float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(simulationSeed, 1))
	values = make([]float64, trials)
	for i := range values {
		values[i] = model(r)
	}
	mean, squares := Spread(values)
	return mean, math.Sqrt(squares / (trials - 1)), values
}

func uniform(r *rand.Rand, half float64) float64 { return (2*r.Float64() - 1) * half }

func TestBudgetAgainstSimulation(t *testing.T) {
	// Mean of three readings of a warm part against one master: the master, the gauge and the temperatures are drawn once, the repeats each time.
	e := Expansion{SizeUm: 70000, PartC: 26, GaugeC: 21, AlphaPart: AlphaSteel, AlphaGauge: 12.5e-6, UDifferenceK: 0.5, ULevelK: 0.8, AlphaDoubt: AlphaDoubt}
	const uMaster, resolution, scatter = 0.3, 1.0, 0.4
	drift := 0.6
	common := append(Budget{Standard("master", uMaster).Keyed("master:M1"), Rectangular("drift of the zero", drift/2).Keyed("drift:S1")},
		e.Contributions("S1", "steel", "alloy")...)
	var readings []Budget
	for range 3 {
		readings = append(readings, append(append(Budget{}, common...), Resolution(resolution), Standard("repeatability", scatter)))
	}
	mean, err := Mean(readings...)
	if err != nil {
		t.Fatal(err)
	}
	_, deviation, values := simulate(t, func(r *rand.Rand) float64 {
		level, difference := r.NormFloat64()*e.ULevelK, r.NormFloat64()*e.UDifferenceK
		ap, ag := e.AlphaPart+uniform(r, e.AlphaDoubt), e.AlphaGauge+uniform(r, e.AlphaDoubt)
		tg := e.GaugeC + level
		tp := e.PartC + level + difference
		shared := r.NormFloat64()*uMaster + uniform(r, drift/2) + e.SizeUm*(ag*(tg-20)-ap*(tp-20))
		sum := 0.0
		for range 3 {
			sum += shared + uniform(r, resolution/2) + r.NormFloat64()*scatter
		}
		return sum / 3
	})
	u := mean.Combined()
	allowed := 4*deviation/math.Sqrt(2*trials) + e.SecondOrder().Um*e.SecondOrder().Um/deviation // the simulation holds the second order too
	if math.Abs(u-deviation) > allowed {
		t.Errorf("u = %.5f µm by the budget, %.5f by simulation (±%.5f); seed %d", u, deviation, allowed, simulationSeed)
	}
	inside := 0
	for _, v := range values {
		if math.Abs(v-e.CorrectionUm()) <= mean.Expanded() {
			inside++
		}
	}
	if share := float64(inside) / trials; share < 0.945 || share > 0.965 {
		t.Errorf("U = 2u covers %.4f of the simulated values, want about 0.954; seed %d", share, simulationSeed)
	}
}

func TestDifferenceAgainstSimulation(t *testing.T) {
	// Taper: both planes with one gauge, whose calibration cancels, and one master.
	plane := Budget{Standard("calibration", 0.5).Keyed("gauge:G1"), Standard("master", 0.3).Keyed("master:M1"), Standard("repeatability", 0.25)}
	u := Difference(plane, plane, false).Combined()
	_, deviation, _ := simulate(t, func(r *rand.Rand) float64 {
		shared := r.NormFloat64()*0.5 + r.NormFloat64()*0.3
		return (shared + r.NormFloat64()*0.25) - (shared + r.NormFloat64()*0.25)
	})
	if math.Abs(u-deviation) > 4*deviation/math.Sqrt(2*trials) {
		t.Errorf("u of the difference = %.5f µm by the budget, %.5f by simulation; seed %d", u, deviation, simulationSeed)
	}
}

func TestProbabilityAgainstSimulation(t *testing.T) {
	for _, c := range []struct{ y, u float64 }{{2.5, 0.5}, {6, 2.3}, {9.7, 1.1}, {1.2, 0.8}, {-1, 4}} {
		p, err := Probability(c.y, c.u, j1)
		if err != nil {
			t.Fatal(err)
		}
		var below, inside float64
		simulate(t, func(r *rand.Rand) float64 {
			v := c.y + c.u*r.NormFloat64()
			switch {
			case v < 2:
				below++
			case v <= 10:
				inside++
			}
			return v
		})
		for _, f := range []struct {
			name      string
			got, seen float64
		}{{"below", p.Below, below / trials}, {"inside", p.Inside, inside / trials}} {
			if math.Abs(f.got-f.seen) > 4*math.Sqrt(f.got*(1-f.got)/trials)+1e-9 {
				t.Errorf("y = %g, u = %g: %s with %.5f, simulated %.5f; seed %d", c.y, c.u, f.name, f.got, f.seen, simulationSeed)
			}
		}
	}
}

// Student's factor with the effective degrees of freedom must cover what it promises, when the standard deviations themselves come from few repeats.
func TestCoverageOfWelchSatterthwaite(t *testing.T) {
	covered := 0
	const runs = 40_000
	r := rand.New(rand.NewPCG(simulationSeed, 2))
	for range runs {
		truth := 0.0
		var b Budget
		estimate := 0.0
		for _, input := range []struct {
			sigma float64
			n     int
		}{{1, 4}, {0.7, 6}, {0.4, 10}} {
			readings := make([]float64, input.n)
			for i := range readings {
				readings[i] = r.NormFloat64() * input.sigma
			}
			mean, squares := Spread(readings)
			estimate += mean
			n := float64(input.n)
			b = append(b, Standard("mean of repeats", math.Sqrt(squares/(n*(n-1)))).WithNu(n-1))
		}
		u, err := b.ExpandedT(0.95)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(estimate-truth) <= u {
			covered++
		}
	}
	if share := float64(covered) / runs; share < 0.94 || share > 0.965 {
		t.Errorf("the 95 %% interval covered %.4f of %d runs; seed %d", share, runs, simulationSeed)
	}
}
