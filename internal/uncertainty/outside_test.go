package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Comparisons with a general-purpose library, gonum, on random data; absolute tolerances stand beside each.
const outsideSeed = 20_261_127

func TestProbabilityAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(outsideSeed, 1))
	worst := 0.0
	for range 2000 {
		lower, width, u := 20*r.Float64()-10, 20*r.Float64(), math.Pow(10, 3*r.Float64()-2)
		upper := lower + width
		y := lower + width*(3*r.Float64()-1)
		got, err := Probability(y, u, Limits{Lower: &lower, Upper: &upper})
		if err != nil {
			t.Fatal(err)
		}
		n := distuv.Normal{Mu: y, Sigma: u}
		for _, d := range []float64{got.Below - n.CDF(lower), got.Above - n.Survival(upper), got.Inside - (n.CDF(upper) - n.CDF(lower))} {
			worst = math.Max(worst, math.Abs(d))
		}
	}
	t.Logf("seed %d: greatest difference of a probability %.2g", outsideSeed, worst)
	if worst > 1e-12 {
		t.Errorf("probabilities differ by up to %.3g, at most 1e-12 is wanted", worst)
	}
}

func TestStudentAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(outsideSeed, 2))
	for range 500 {
		nu, p := 1+60*r.Float64(), 0.5+0.499*r.Float64()
		b := Budget{Standard("repeats", 1).WithNu(nu)}
		got, err := b.ExpandedT(p)
		if err != nil {
			t.Fatal(err)
		}
		want := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(0.5 + p/2)
		if math.Abs(got-want) > 1e-6*want {
			t.Errorf("t for %.4f and ν %.3f: %v, gonum %v", p, nu, got, want)
		}
	}
}

func TestSpreadAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(outsideSeed, 3))
	for range 500 {
		x := make([]float64, 2+r.IntN(20))
		y := make([]float64, len(x))
		for i := range x {
			x[i] = 70_000 + r.NormFloat64()
			y[i] = 0.3*x[i] + r.NormFloat64()
		}
		mean, squares := Spread(x)
		if m, s := stat.MeanStdDev(x, nil); math.Abs(mean-m) > 1e-9 || math.Abs(math.Sqrt(squares/float64(len(x)-1))-s) > 1e-9 {
			t.Errorf("mean %v, s %v; gonum %v, %v", mean, math.Sqrt(squares/float64(len(x)-1)), m, s)
		}
		if len(x) < 3 {
			continue
		}
		if got, err := CorrelationOfMeans(x, y); err != nil || math.Abs(got-stat.Correlation(x, y, nil)) > 1e-9 {
			t.Errorf("correlation %v, %v; gonum %v", got, err, stat.Correlation(x, y, nil))
		}
	}
}

// The global risks by gonum's quadrature of another formula: the measured value given the true one.
func TestRisksAgainstQuadrature(t *testing.T) {
	r := rand.New(rand.NewPCG(outsideSeed, 4))
	for range 30 {
		p := Process{Mean: r.NormFloat64(), Deviation: 1 + 3*r.Float64()}
		u, half, guard := 0.2+r.Float64(), 3+3*r.Float64(), r.Float64()
		lower, upper, low, high := -half, half, -half+guard, half-guard
		got, err := GlobalRisks(p, u, Limits{Lower: &lower, Upper: &upper}, Limits{Lower: &low, Upper: &high})
		if err != nil {
			t.Fatal(err)
		}
		prior := distuv.Normal{Mu: p.Mean, Sigma: p.Deviation}
		accepted := func(x float64) float64 {
			n := distuv.Normal{Mu: x, Sigma: u}
			return n.CDF(high) - n.CDF(low)
		}
		const points = 400
		far := 12 * p.Deviation
		consumer := quad.Fixed(func(x float64) float64 { return prior.Prob(x) * accepted(x) }, upper, upper+far, points, nil, 0) +
			quad.Fixed(func(x float64) float64 { return prior.Prob(x) * accepted(x) }, lower-far, lower, points, nil, 0)
		producer := quad.Fixed(func(x float64) float64 { return prior.Prob(x) * (1 - accepted(x)) }, lower, upper, points, nil, 0)
		outside := prior.CDF(lower) + prior.Survival(upper)
		if math.Abs(got.Consumer-consumer) > 1e-6 || math.Abs(got.Producer-producer) > 1e-6 || math.Abs(got.Outside-outside) > 1e-6 {
			t.Errorf("process %+v, u %v, ±%v guarded by %v: %+v; by quadrature %v, %v, %v", p, u, half, guard, got, consumer, producer, outside)
		}
	}
}
