package verdict

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"runtrue/internal/length"
)

// term is one contribution to the uncertainty of a value, with what a person wants to read of it.
type term struct {
	// key names the input behind the contribution: terms of equal key come from one and the same error and add with their sign, so that they
	// grow in a sum and cancel in a difference. Without a key a term is independent of every other.
	key          string
	source       string // "calibration of comparator C-7"
	given        string // the input as it was stated, with unit
	distribution string
	remedy       string  // what shrinks it
	um           float64 // contribution to the value in µm, k = 1, signed
	// atLeast is the least magnitude that the term keeps in a difference, µm: see spread.
	atLeast float64
	within  string // the set-up whose drift this is; elsewhere empty
	heat    bool   // from temperatures and expansion
}

// estimate is a value with the terms of its uncertainty, both in micrometres.
type estimate struct {
	um    float64
	terms []term
}

// combine returns Σ wᵢ·eᵢ. Terms of one key are merged; independent terms stay apart, each scaled by its weight.
func combine(weights []float64, es []estimate) estimate {
	var sum estimate
	at := map[string]int{}
	for i, e := range es {
		sum.um += float64(weights[i] * e.um)
		for _, t := range e.terms {
			t.um = float64(weights[i] * t.um)
			if j, seen := at[t.key]; seen && t.key != "" {
				sum.terms[j].um += t.um
				sum.terms[j].atLeast = max(sum.terms[j].atLeast, t.atLeast)
				continue
			}
			if t.key != "" {
				at[t.key] = len(sum.terms)
			}
			sum.terms = append(sum.terms, t)
		}
	}
	return sum
}

// mean returns the equally weighted mean.
func mean(es []estimate) estimate {
	weights := make([]float64, len(es))
	for i := range weights {
		weights[i] = 1 / float64(len(es))
	}
	return combine(weights, es)
}

// spread returns Σ wᵢ·eᵢ for weights that sum to 0, such as the difference of two sizes.
//
// What the stations share cancels: calibration, master, temperatures. Two things do not. The drift of a set-up acts between its readings:
// the difference of two moments of a steady drift d is triangular over ±|d|, which is what two independent terms of |d|/√12 give. And where
// neither a study of the gauge nor repeats tell how well it repeats, nothing would be left of its uncertainty; then the calibration uncertainty stands in, once.
func spread(weights []float64, es []estimate) estimate {
	loose := make([]estimate, len(es))
	for i, e := range es {
		loose[i] = estimate{e.um, slices.Clone(e.terms)}
		for j := range loose[i].terms {
			if loose[i].terms[j].within != "" {
				loose[i].terms[j].key = ""
			}
		}
	}
	sum := combine(weights, loose)
	for i, t := range sum.terms {
		if math.Abs(t.um) < t.atLeast {
			sum.terms[i].um = t.atLeast
			sum.terms[i].source = t.source + ", in place of a repeatability study that the gauge lacks"
			sum.terms[i].remedy = "a study of how well the gauge repeats"
		}
	}
	return sum
}

// u returns the combined standard uncertainty in micrometres. Terms must have been through combine, so that no key stands twice.
func (e estimate) u() float64 {
	variance := 0.0
	for _, t := range e.terms {
		variance += float64(t.um * t.um)
	}
	return math.Sqrt(variance)
}

// standard returns u rounded to a picometre, the form in which it is shown and decided on.
func (e estimate) standard() length.Length { return toLength(e.u()) }

// expanded returns U = 2u.
func (e estimate) expanded() length.Length { return toLength(2 * e.standard().Micrometres()) }

func (e estimate) value() length.Length { return toLength(e.um) }

// lines sets the terms out as a person reads them, biggest first. Independent terms of one source are one line.
func (e estimate) lines() []BudgetLine {
	type row struct {
		term
		variance float64
	}
	var rows []row
	total := 0.0
	for _, t := range e.terms {
		v := float64(t.um * t.um)
		if v == 0 {
			continue
		}
		total += v
		i := slices.IndexFunc(rows, func(r row) bool {
			return r.key == "" && t.key == "" && r.source == t.source && r.given == t.given
		})
		if i < 0 {
			rows = append(rows, row{t, v})
			continue
		}
		rows[i].variance += v
	}
	slices.SortStableFunc(rows, func(a, b row) int {
		return cmp.Or(cmp.Compare(b.variance, a.variance), strings.Compare(a.source, b.source))
	})
	var lines []BudgetLine
	for _, r := range rows {
		lines = append(lines, BudgetLine{
			Source: r.source, Value: r.given, Distribution: r.distribution,
			UUm: tidy(math.Sqrt(r.variance)), Share: tidy(r.variance / total), Mend: r.remedy,
		})
	}
	return lines
}
