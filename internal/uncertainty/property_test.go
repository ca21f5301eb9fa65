package uncertainty

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawLimits(t *rapid.T) Limits {
	lower := rapid.Float64Range(-50, 50).Draw(t, "lower µm")
	upper := lower + rapid.Float64Range(0.01, 60).Draw(t, "width µm")
	switch rapid.IntRange(0, 3).Draw(t, "sides") {
	case 0:
		return Limits{Lower: &lower}
	case 1:
		return Limits{Upper: &upper}
	}
	return Limits{Lower: &lower, Upper: &upper}
}

func mirrored(l Limits) Limits {
	var m Limits
	if l.Lower != nil {
		x := -*l.Lower
		m.Upper = &x
	}
	if l.Upper != nil {
		x := -*l.Upper
		m.Lower = &x
	}
	return m
}

func TestProbabilitiesSumToOneAndMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		y, u := rapid.Float64Range(-100, 100).Draw(t, "y µm"), rapid.Float64Range(0, 30).Draw(t, "u µm")
		p, err := Probability(y, u, l)
		if err != nil {
			t.Fatal(err)
		}
		if sum := p.Below + p.Inside + p.Above; math.Abs(sum-1) > 1e-15*8 || p.Below < 0 || p.Inside < 0 || p.Above < 0 {
			t.Fatalf("tails %+v sum to %v", p, sum)
		}
		m, err := Probability(-y, u, mirrored(l))
		if err != nil {
			t.Fatal(err)
		}
		if m.Below != p.Above || m.Above != p.Below || math.Abs(m.Inside-p.Inside) > 1e-15 {
			t.Fatalf("%+v and mirrored %+v", p, m)
		}
	})
}

// Whatever the gauge, a value inside its limits never fails and one outside never conforms.
func TestNoDecisionAgainstTheValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		y, u := rapid.Float64Range(-100, 100).Draw(t, "y µm"), rapid.Float64Range(0, 1000).Draw(t, "u µm")
		d, err := Decide(y, u, l, Guarded)
		if err != nil {
			t.Fatal(err)
		}
		if inside := l.contains(y); (inside && d.Outcome == Fails) || (!inside && d.Outcome == Conforms) {
			t.Fatalf("inside %v, but %s: %+v", inside, d.Outcome, d.Tails)
		}
		if d.Outcome == Conforms && l.Lower != nil && l.Upper != nil && !CanEverConform(*l.Upper-*l.Lower, u) {
			t.Fatalf("conforms with a gauge that can never say so: u = %v", u)
		}
	})
}

// The needed uncertainty settles the value, and a twentieth more does not.
func TestNeededUncertaintyIsTheLargest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		y := rapid.Float64Range(-100, 100).Draw(t, "y µm")
		n, err := NeededU(y, l)
		if errors.Is(err, ErrOnLimit) {
			if (l.Lower == nil || y != *l.Lower) && (l.Upper == nil || y != *l.Upper) {
				t.Fatalf("y = %v is on no limit", y)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		d, err := Decide(y, n.U, l, Guarded)
		if err != nil {
			t.Fatal(err)
		}
		if d.Outcome != n.Outcome {
			t.Fatalf("u = %v: %s, promised %s", n.U, d.Outcome, n.Outcome)
		}
		if d, err = Decide(y, 1.05*n.U, l, Guarded); err != nil || d.Outcome != CannotBeTold {
			t.Fatalf("u = %v, a twentieth above the needed: %s, %v", 1.05*n.U, d.Outcome, err)
		}
	})
}

func TestGuardedLimitsConformAtOneLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		if l.Lower != nil && l.Upper != nil {
			l.Lower = nil
		}
		u := rapid.Float64Range(0.001, 10).Draw(t, "u µm")
		g, err := GuardedLimits(l, u)
		if err != nil {
			t.Fatal(err)
		}
		edge, out := 0.0, 0.0
		if g.Lower != nil {
			edge, out = *g.Lower, -1
		} else {
			edge, out = *g.Upper, 1
		}
		at, err := Decide(edge-out*1e-6*u, u, l, Guarded)
		if err != nil {
			t.Fatal(err)
		}
		beyond, err := Decide(edge+out*1e-4*u, u, l, Guarded)
		if err != nil {
			t.Fatal(err)
		}
		if at.Outcome != Conforms || beyond.Outcome == Conforms {
			t.Fatalf("guarded limit %v: %s at it, %s beyond", edge, at.Outcome, beyond.Outcome)
		}
	})
}

func drawBudget(t *rapid.T, name string) Budget {
	var b Budget
	for range rapid.IntRange(1, 6).Draw(t, name+" lines") {
		key := rapid.SampledFrom([]string{"", "", "gauge:G1", "master:M1"}).Draw(t, "key")
		nu := rapid.SampledFrom([]float64{1, 4, 20, math.Inf(1)}).Draw(t, "ν")
		b = append(b, Standard("line", rapid.Float64Range(0, 5).Draw(t, "u µm")).Times(rapid.Float64Range(-3, 3).Draw(t, "sensitivity")).Keyed(key).WithNu(nu))
	}
	return b
}

func TestBudgetAlgebra(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawBudget(t, "a"), drawBudget(t, "b")
		same := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1e-12*(1+want) {
				t.Fatalf("%s: %v, want %v", what, got, want)
			}
		}
		ua, ub := a.Combined(), b.Combined()
		twice, err := Weighted([]Budget{a, b}, []float64{2, 0})
		if err != nil {
			t.Fatal(err)
		}
		same("twice a", twice.Combined(), 2*ua)
		sum, err := Weighted([]Budget{a, b}, []float64{1, 1})
		if err != nil {
			t.Fatal(err)
		}
		difference := Difference(a, b, false)
		same("parallelogram", sum.Combined()*sum.Combined()+difference.Combined()*difference.Combined(), 2*(ua*ua+ub*ub))
		if sum.Combined() > ua+ub+1e-12 {
			t.Fatalf("u of a sum %v above the sum of both %v + %v", sum.Combined(), ua, ub)
		}
		total := 0.0
		shares := sum.Shares()
		for i, s := range shares {
			total += s.Portion
			if i > 0 && math.Abs(s.Um) > math.Abs(shares[i-1].Um) {
				t.Fatalf("shares out of order: %+v", shares)
			}
		}
		if sum.Combined() > 0 {
			same("shares", total, 1)
		}
		if nu := sum.NuEff(); !(nu >= 1-1e-9) {
			t.Fatalf("ν_eff = %v, below the smallest of the parts", nu)
		}
		var keyed Budget
		for _, c := range a {
			if c.Key != "" {
				keyed = append(keyed, c)
			}
		}
		same("keyed lines against themselves", Difference(keyed, keyed, false).Combined(), 0)
		same("shared keys dropped", Difference(keyed, keyed, true).Combined(), 0)
	})
}

func BenchmarkDecide(b *testing.B) {
	for b.Loop() {
		if _, err := Decide(4.1, 0.5, j1, Guarded); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCombinedOfTwelve(b *testing.B) {
	var budget Budget
	for range 4 {
		budget = append(budget, Standard("a", 1).Keyed("k"), Resolution(1), Rectangular("b", 2).WithNu(5))
	}
	for b.Loop() {
		budget.Combined()
	}
}
