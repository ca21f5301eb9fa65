package uncertainty

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Contribution is one line of a budget.
type Contribution struct {
	Source       string  // in words: "calibration of the comparator"
	Key          string  // of the unknown error behind it: equal keys, fully correlated; "": independent of all others
	Value        float64 // as it was given: a half-width, an expanded or a standard uncertainty, in the unit of the input
	Distribution string  // in words, one of the Distribution constants
	U            float64 // standard uncertainty of the input, in its unit, ≥ 0
	Sensitivity  float64 // change of the result in µm per unit of the input, signed
	Um           float64 // Sensitivity·U: the contribution to the result in µm, signed
	Nu           float64 // degrees of freedom; +Inf: u is known well
}

// Budget is all contributions to one result. The empty budget is that of an exact number.
type Budget []Contribution

// Times returns the contribution to a result that moves s times as much.
func (c Contribution) Times(s float64) Contribution {
	c.Sensitivity = float64(c.Sensitivity * s)
	c.Um = float64(c.Um * s)
	return c
}

// Keyed returns the contribution with a correlation key.
func (c Contribution) Keyed(key string) Contribution {
	c.Key = key
	return c
}

// WithNu returns the contribution with nu degrees of freedom.
func (c Contribution) WithNu(nu float64) Contribution {
	c.Nu = nu
	return c
}

// group is the part of a budget that is one unknown error: one independent contribution, or all with the same key.
type group struct {
	source string
	key    string
	um     float64 // signed sum
	nu     float64 // smallest
}

// groups keeps the order of first appearance, so that sums come out with the same bits everywhere.
func (b Budget) groups() []group {
	var all []group
	place := map[string]int{}
	for _, c := range b {
		if i, known := place[c.Key]; known && c.Key != "" {
			all[i].um += c.Um
			all[i].nu = math.Min(all[i].nu, c.Nu)
			continue
		}
		place[c.Key] = len(all)
		all = append(all, group{c.Source, c.Key, c.Um, c.Nu})
	}
	return all
}

// Combined returns the combined standard uncertainty u in µm (the Guide, 5.1 and 5.2 with correlation coefficients of 1 for equal keys).
func (b Budget) Combined() float64 { return math.Sqrt(b.variance()) }

func (b Budget) variance() float64 {
	sum := 0.0
	for _, g := range b.groups() {
		sum += float64(g.um * g.um)
	}
	return sum
}

// Expanded returns U = 2u in µm.
func (b Budget) Expanded() float64 { return float64(2 * b.Combined()) }

// NuEff returns the effective degrees of freedom by the formula of Welch and Satterthwaite (the Guide, G.4.1), not truncated; +Inf where all u are known well.
// Contributions with one key count as one, with the smallest of their degrees of freedom.
func (b Budget) NuEff() float64 {
	groups := b.groups()
	largest := 0.0
	for _, g := range groups {
		largest = math.Max(largest, math.Abs(g.um))
	}
	if largest == 0 {
		return math.Inf(1)
	}
	v, sum := 0.0, 0.0
	for _, g := range groups {
		portion := g.um / largest // keeps the fourth powers from under- and overflow
		square := float64(portion * portion)
		v += square
		sum += float64(square*square) / g.nu
	}
	if sum == 0 {
		return math.Inf(1)
	}
	return float64(v*v) / sum
}

// ExpandedT returns the expanded uncertainty in µm for coverage probability p in (0, 1): Student's t for the effective degrees of freedom, times u (the Guide, G.4.1).
func (b Budget) ExpandedT(p float64) (float64, error) {
	if !(p > 0 && p < 1) {
		return 0, BadValue{"coverage probability", p, "a probability between 0 and 1, such as 0.95"}
	}
	nu := b.NuEff()
	if !(nu > 0) {
		return 0, BadValue{"effective degrees of freedom", nu, "each contribution its degrees of freedom, +Inf where u is known well"}
	}
	return float64(portablemath.StudentQuantile(p, nu) * b.Combined()), nil
}

// Share is one unknown error of a budget and its part of the variance.
type Share struct {
	Source  string
	Key     string
	Um      float64 // signed, µm
	Portion float64 // of the variance, 0 … 1; 0 for all if the variance is 0
}

// Shares returns the unknown errors of the budget, biggest first; equal ones keep their order.
func (b Budget) Shares() []Share {
	v := b.variance()
	var all []Share
	for _, g := range b.groups() {
		s := Share{Source: g.source, Key: g.key, Um: g.um}
		if v > 0 {
			s.Portion = float64(g.um*g.um) / v
		}
		at := len(all)
		for at > 0 && math.Abs(all[at-1].Um) < math.Abs(s.Um) {
			at--
		}
		all = append(all, Share{})
		copy(all[at+1:], all[at:])
		all[at] = s
	}
	return all
}

// Weighted returns the budget of Σ wᵢ·yᵢ, where budgets[i] belongs to yᵢ. Equal keys stay one unknown error across the budgets.
func Weighted(budgets []Budget, weights []float64) (Budget, error) {
	if len(budgets) != len(weights) {
		return nil, fmt.Errorf("%d budgets and %d weights: %w; give one weight for each", len(budgets), len(weights), ErrMalformed)
	}
	var sum Budget
	for i, b := range budgets {
		if err := finite("weight", weights[i]); err != nil {
			return nil, err
		}
		for _, c := range b {
			sum = append(sum, c.Times(weights[i]))
		}
	}
	return sum, nil
}

// Mean returns the budget of the plain mean. The mean of none is an error.
func Mean(budgets ...Budget) (Budget, error) {
	if len(budgets) == 0 {
		return nil, fmt.Errorf("mean of no budgets: %w; give at least one", ErrMalformed)
	}
	weights := make([]float64, len(budgets))
	for i := range weights {
		weights[i] = 1 / float64(len(budgets))
	}
	return Weighted(budgets, weights)
}

// Difference returns the budget of y_a − y_b. Equal keys act with opposite signs and so cancel as far as they are equal in size. With dropShared every
// key that stands in both is left out altogether: for asking whether two people disagree by more than what is their own.
func Difference(a, b Budget, dropShared bool) Budget {
	keys := func(b Budget) map[string]bool {
		set := map[string]bool{}
		for _, c := range b {
			if c.Key != "" {
				set[c.Key] = true
			}
		}
		return set
	}
	inA, inB := keys(a), keys(b)
	var out Budget
	for _, c := range a {
		if !dropShared || !inB[c.Key] {
			out = append(out, c)
		}
	}
	for _, c := range b {
		if !dropShared || !inA[c.Key] {
			out = append(out, c.Times(-1))
		}
	}
	return out
}

// CombinedWith returns the combined standard uncertainty in µm for correlation coefficients r[i][j] between the contributions (the Guide, equation 16); keys are not
// looked at. r must be square of the budget's size, symmetric, with ones on the diagonal and nothing outside [−1, 1].
func (b Budget) CombinedWith(r [][]float64) (float64, error) {
	if len(r) != len(b) {
		return 0, fmt.Errorf("%d rows of correlation coefficients for %d contributions: %w; give one row for each", len(r), len(b), ErrMalformed)
	}
	sum := 0.0
	for i := range r {
		if len(r[i]) != len(b) {
			return 0, fmt.Errorf("row %d has %d correlation coefficients for %d contributions: %w; give one for each", i, len(r[i]), len(b), ErrMalformed)
		}
		for j, rij := range r[i] {
			if !(math.Abs(rij) <= 1) || (i == j && rij != 1) || rij != r[j][i] {
				return 0, BadValue{fmt.Sprintf("correlation coefficient [%d][%d]", i, j), rij, "a symmetric matrix within ±1 with ones on the diagonal"}
			}
			sum += float64(rij * b[i].Um * b[j].Um)
		}
	}
	if sum < 0 { // rounding, or coefficients that no three quantities can have together
		if sum < -1e-12*b.variance() {
			return 0, fmt.Errorf("the correlation coefficients give a negative variance: %w; they cannot all be true together", ErrMalformed)
		}
		sum = 0
	}
	return math.Sqrt(sum), nil
}
