package verdict

import (
	"math"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/portablemath"
)

// cause is one uncertain input of a set-up. All terms that come from it point to the same one, so that it is written once however many stations it bears on.
type cause struct {
	// key names the input: terms of equal key come from one and the same error and add with their sign, so that they grow in a sum and cancel
	// in a difference. Without a key every term is independent of every other.
	key          string
	source       string // "calibration of comparator C-7"
	given        string // the input as it was stated, with unit
	distribution string
	remedy       string  // what shrinks it
	u            float64 // standard uncertainty of the input, ≥ 0, in unit
	unit         string  // "µm", "K", "10⁻⁶/K"
	nu           int     // degrees of freedom; 0: u is known well
	kind         kind
	within       string // the set-up whose drift this is; elsewhere empty
}

// kind is the part of the work in which the remedy lies.
type kind int

const (
	ofGauge kind = iota // calibration, master, mark
	ofRepeats
	ofReading // resolution
	ofDrift
	ofTemperature // of the difference or the level
	ofExpansion   // of the coefficients
)

// term is one contribution to the uncertainty of a value.
type term struct {
	*cause
	um float64 // contribution to the value in µm, k = 1, signed
	// atLeast is the least magnitude that the term keeps in a difference, µm: see spread.
	atLeast float64
	loose   bool // independent in spite of its key
}

func (t term) keyed() bool { return t.key != "" && !t.loose }

// estimate is a value with the terms of its uncertainty, both in micrometres. No cause stands twice among the terms.
type estimate struct {
	um    float64
	terms []term
}

// add merges a term into the list: with its sign where it is the same error, in quadrature where it is another one from the same cause.
func (e *estimate) add(t term) {
	for i := range e.terms {
		o := &e.terms[i]
		switch {
		case t.keyed() && o.keyed() && (t.cause == o.cause || t.key == o.key):
			o.um += t.um
			o.atLeast = max(o.atLeast, t.atLeast)
			return
		case !t.keyed() && !o.keyed() && (t.cause == o.cause || (t.nu == 0 && o.nu == 0 && t.source == o.source && t.given == o.given)):
			o.um = math.Sqrt(float64(o.um*o.um) + float64(t.um*t.um))
			return
		}
	}
	if e.terms == nil {
		e.terms = make([]term, 0, 10)
	}
	e.terms = append(e.terms, t)
}

// combine returns Σ wᵢ·eᵢ.
func combine(weights []float64, es []estimate) estimate { return combined(weights, es, false) }

// combined is combine, with the drifts of the set-ups loosened where it is asked for.
func combined(weights []float64, es []estimate, loosen bool) estimate {
	var sum estimate
	for i, e := range es {
		sum.um += float64(weights[i] * e.um)
		for _, t := range e.terms {
			t.um = float64(weights[i] * t.um)
			t.loose = t.loose || (loosen && t.within != "")
			sum.add(t)
		}
	}
	return sum
}

// mean returns the equally weighted mean.
func mean(es []estimate) estimate {
	if len(es) == 1 {
		return es[0]
	}
	return combine(repeated(1/float64(len(es)), len(es)), es)
}

// spread returns Σ wᵢ·eᵢ for weights that sum to 0, such as the difference of two sizes.
//
// What the stations share cancels: calibration, master, temperatures. Two things do not. The drift of a set-up acts between its readings:
// the difference of two moments of a steady drift d is triangular over ±|d|, which is what two independent terms of |d|/√12 give. And where
// neither a study of the gauge nor repeats tell how well it repeats, nothing would be left of its uncertainty; then the calibration uncertainty stands in, once.
func spread(weights []float64, es []estimate) estimate {
	sum := combined(weights, es, true)
	for i, t := range sum.terms {
		if math.Abs(t.um) < t.atLeast {
			sum.terms[i] = term{cause: t.standIn(), um: t.atLeast, atLeast: t.atLeast}
		}
	}
	return sum
}

// standIn is the calibration where it stands in for a repeatability that nobody studied.
func (c *cause) standIn() *cause {
	in := *c
	in.source += ", in place of a repeatability study that the gauge lacks"
	in.remedy = "a study of how well the gauge repeats"
	return &in
}

// u returns the combined standard uncertainty in micrometres.
func (e estimate) u() float64 { return math.Sqrt(e.variance()) }

func (e estimate) variance() float64 {
	variance := 0.0
	for _, t := range e.terms {
		variance += float64(t.um * t.um)
	}
	return variance
}

// standard returns u rounded to a picometre, the form in which it is shown and decided on.
func (e estimate) standard() length.Length { return toLength(e.u()) }

// expanded returns U = 2u.
func (e estimate) expanded() length.Length { return toLength(2 * e.standard().Micrometres()) }

func (e estimate) value() length.Length { return toLength(e.um) }

// nuEff returns the effective degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1); +Inf where every input is known well or nothing is uncertain.
// Repeats of one set-up share one standard deviation, and so count as one.
func (e estimate) nuEff() float64 {
	total, sum := e.variance(), 0.0
	for _, t := range e.terms {
		if v := float64(t.um * t.um); t.nu > 0 && total > 0 {
			portion := v / total
			sum += float64(portion*portion) / float64(t.nu)
		}
	}
	if sum == 0 {
		return math.Inf(1)
	}
	return 1 / sum
}

// fewDegrees is where the coverage factor of 2 stops being a fair stand-in for Student's t: at 20 it is 2.09 for 95 % (JCGM 100:2008, table G.2).
const fewDegrees = 20

// coverage returns the factor of Student's distribution for 95 %, the degrees of freedom cut to a whole number as JCGM 100:2008, G.4.1 advises.
func coverage(nu float64) float64 {
	return portablemath.StudentQuantile(0.95, math.Max(1, math.Floor(nu)))
}

// lines sets the terms out as a person reads them, biggest first.
func (e estimate) lines() []BudgetLine {
	total := e.variance()
	if total == 0 {
		return nil
	}
	lines := make([]BudgetLine, 0, len(e.terms))
	for _, t := range e.terms {
		v := float64(t.um * t.um)
		if tidy(math.Abs(t.um)) == 0 { // nothing, or what rounding left of errors that cancel
			continue
		}
		l := BudgetLine{Source: t.source, Value: t.given, Distribution: t.distribution, UUm: tidy(math.Abs(t.um)), Share: tidy(v / total), Mend: t.remedy,
			UInput: tidy(t.u), Unit: t.unit, Nu: t.nu}
		if t.u > 0 {
			l.Sensitivity = tidy(t.um / t.u)
		}
		at := len(lines)
		for at > 0 && (lines[at-1].UUm < l.UUm || (lines[at-1].UUm == l.UUm && strings.Compare(lines[at-1].Source, l.Source) > 0)) {
			at--
		}
		lines = append(lines, BudgetLine{})
		copy(lines[at+1:], lines[at:])
		lines[at] = l
	}
	return lines
}
