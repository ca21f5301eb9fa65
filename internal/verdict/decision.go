package verdict

import (
	"cmp"
	"math"

	"runtrue/internal/length"
	"runtrue/internal/portablemath"
	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

// wanted is the probability from which a guarded decision is taken (ISO 14253-1: 95 %).
const wanted = 0.95

// guard is Φ⁻¹(0.95) = 1.645: how many standard uncertainties a value must keep from one limit.
func guard() float64 { return portablemath.NormalQuantile(wanted) }

// Decision rules by name.
const (
	guarded = "guarded: p_c ≥ 0.95"
	simple  = "simple: limits as they are, U ≤ T/4"
)

// limits returns the band in micrometres for package uncertainty.
func (b band) limits(characteristic string) uncertainty.Limits {
	var l uncertainty.Limits
	if b.lower != nil {
		l.Lower = pointer(b.lower.Micrometres())
	}
	if b.upper != nil {
		l.Upper = pointer(b.upper.Micrometres())
	}
	if width, ok := b.width(neverNegative(characteristic)); ok && b.lower == nil {
		l.Width = width.Micrometres()
	}
	return l
}

// decide applies the rule of the characteristic to one value. The simple rule is only for an uncertainty U = 2u of at most a quarter of the tolerance;
// where that is not so, or there is no tolerance with two ends, the guarded rule takes its place and the name says so.
func decide(y, u length.Length, b band, c spindle.Characteristic) (outcome Outcome, pc float64, rule string, err error) {
	asked := uncertainty.Guarded
	if c.Rule == "simple" {
		asked = uncertainty.Simple
	}
	d, err := uncertainty.Decide(y.Micrometres(), u.Micrometres(), b.limits(c.Name), asked)
	if err != nil {
		return CannotBeTold, 0, guarded, err
	}
	rule = guarded
	switch {
	case d.Rule == uncertainty.Simple:
		rule = simple
	case d.Fallback != nil:
		rule += " (the simple rule needs U ≤ T/4)"
	}
	return Outcome(d.Outcome), d.Tails.Inside, rule, nil
}

// neverNegative reports whether the value of the characteristic is a magnitude.
func neverNegative(characteristic string) bool {
	return characteristic != spindle.Size && characteristic != spindle.TaperChar
}

// margin returns the distance of the value from the nearer limit, positive inside, or nil without limits.
func margin(y length.Length, b band) *length.Length {
	var m *length.Length
	if b.lower != nil {
		m = pointer(minus(y, *b.lower))
	}
	if b.upper != nil {
		if above := minus(*b.upper, y); m == nil || above < *m {
			m = &above
		}
	}
	return m
}

// Severity of an outcome, worst first: the precedence of the package comment.
func severity(o Outcome) int {
	switch o {
	case InConflict:
		return 0
	case Fails:
		return 1
	case Incomplete:
		return 2
	case CannotBeTold:
		return 3
	}
	return 4
}

// finding is one value that must be within the limits: a local size, the run-out of one plane, a taper.
type finding struct {
	estimate
	where string // "plane 1, 120°"; empty where the feature has one value only
	// figures replaces the value in the sentence, where two figures decide together.
	figures string
	doubt   string // of the set-up: no reading of it can fail or pass
	// lacking says why the readings cannot show that the feature conforms, although they may show that it fails.
	lacking string
	clash   string // in words; empty: none
	open    bool
	notes   []string
	// Set by judge.
	outcome Outcome
	pc      float64
	rule    string
	margin  *length.Length
}

func (f *finding) judge(b band, c spindle.Characteristic) {
	y := f.value()
	var err error
	if f.outcome, f.pc, f.rule, err = decide(y, f.standard(), b, c); err != nil {
		f.lacking = err.Error()
	}
	f.margin = margin(y, b)
	switch {
	case f.clash != "":
		f.outcome = InConflict
	case f.doubt != "":
		f.outcome = CannotBeTold
	case f.lacking != "" && f.outcome == Conforms:
		f.outcome = CannotBeTold
	}
}

// worse orders findings: by outcome, then by p_c, then by the margin, so that of several surely good values the one nearest to a limit is
// reported. Equal ones stay in the order of the plan.
func (f finding) worse(g finding) bool {
	order := cmp.Or(cmp.Compare(severity(f.outcome), severity(g.outcome)), cmp.Compare(f.pc, g.pc))
	if order == 0 && f.margin != nil && g.margin != nil {
		order = cmp.Compare(*f.margin, *g.margin)
	}
	return order < 0
}

// overall returns the outcome of findings that have been judged, and the index of the worst, −1 for none.
func overall(findings []finding, complete bool) (Outcome, int) {
	worst := -1
	for i := range findings {
		if worst < 0 || findings[i].worse(findings[worst]) {
			worst = i
		}
	}
	switch {
	case worst >= 0 && severity(findings[worst].outcome) <= severity(Fails):
		return findings[worst].outcome, worst
	case !complete || worst < 0:
		return Incomplete, worst
	}
	return findings[worst].outcome, worst
}

// minus is a − b, held at the ends of the range instead of wrapping round.
func minus(a, b length.Length) length.Length {
	d := a - b
	switch {
	case a >= 0 && b < 0 && d < 0:
		return math.MaxInt64
	case a < 0 && b > 0 && d >= 0:
		return math.MinInt64
	}
	return d
}
