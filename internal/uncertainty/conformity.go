package uncertainty

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Limits are what a value is held against, both belonging to what is allowed. Nil: no limit on that side.
type Limits struct {
	Lower, Upper *float64
	// Width is the tolerance width where only one limit stands and the value has a natural end, such as a run-out that cannot be below 0: then the
	// limit itself. 0: none. With two limits it is not looked at.
	Width float64
}

// T returns the tolerance width, and false where there is none.
func (l Limits) T() (float64, bool) {
	if l.Lower != nil && l.Upper != nil {
		return *l.Upper - *l.Lower, true
	}
	return l.Width, l.Width > 0
}

func (l Limits) check() error {
	switch {
	case l.Lower == nil && l.Upper == nil:
		return fmt.Errorf("%w: give at least one", ErrNoLimits)
	case l.Lower != nil && math.IsNaN(*l.Lower):
		return BadValue{"lower limit", *l.Lower, "a number, or none"}
	case l.Upper != nil && math.IsNaN(*l.Upper):
		return BadValue{"upper limit", *l.Upper, "a number, or none"}
	case l.Lower != nil && l.Upper != nil && *l.Lower > *l.Upper:
		return fmt.Errorf("limits %g and %g: %w; look whether they were exchanged", *l.Lower, *l.Upper, ErrLimitsCrossed)
	}
	return nil
}

// contains treats values on a limit as allowed.
func (l Limits) contains(y float64) bool {
	return (l.Lower == nil || y >= *l.Lower) && (l.Upper == nil || y <= *l.Upper)
}

// Tails is where the true value lies, as probabilities that sum to 1: below the lower limit, inside, above the upper.
type Tails struct {
	Below, Inside, Above float64
}

// Probability returns where the true value lies when y was measured with standard uncertainty u, both in the unit of the limits, the true value being taken
// as normal about y (JCGM 106, 7.2: p_c = Φ((T_U−y)/u) − Φ((T_L−y)/u)). With u = 0 the value is the truth and the limits belong to what is allowed.
// Errors: ErrMalformed for y not finite or u negative, ErrNoLimits, ErrLimitsCrossed.
func Probability(y, u float64, limits Limits) (Tails, error) {
	if err := limits.check(); err != nil {
		return Tails{}, err
	}
	if err := finite("measured value", y); err != nil {
		return Tails{}, err
	}
	if err := notNegative("standard uncertainty", u); err != nil {
		return Tails{}, err
	}
	if u == 0 {
		switch {
		case limits.contains(y):
			return Tails{Inside: 1}, nil
		case limits.Lower != nil && y < *limits.Lower:
			return Tails{Below: 1}, nil
		}
		return Tails{Above: 1}, nil
	}
	low, high := math.Inf(-1), math.Inf(1) // limits in units of u from y
	if limits.Lower != nil {
		low = (*limits.Lower - y) / u
	}
	if limits.Upper != nil {
		high = (*limits.Upper - y) / u
	}
	t := Tails{Below: portablemath.NormalCDF(low), Above: portablemath.NormalCDF(-high)}
	if low > 0 { // the difference of the two small tails, not of two numbers near 1
		t.Inside = portablemath.NormalCDF(-low) - t.Above
	} else {
		t.Inside = portablemath.NormalCDF(high) - t.Below
	}
	return t, nil
}

// Outcome is what can be said of one value. The list is closed.
type Outcome string

// The outcomes.
const (
	Conforms     Outcome = "conforms"
	Fails        Outcome = "fails"
	CannotBeTold Outcome = "cannot be told"
)

// Rule is a decision rule by name.
type Rule string

// The rules. Guarded: conforms if p_c ≥ 0.95, fails if one tail alone is ≥ 0.95, else cannot be told. Simple: the limits as they are, allowed only if U = 2u ≤ T/4.
const (
	Guarded Rule = "guarded"
	Simple  Rule = "simple"
)

const (
	million      = 1e6
	decisionPPM  = 950_000 // of a million: the probability that a decision asks for
	simpleShare  = 4       // T/U that the simple rule asks for
	decisionText = "p_c ≥ 0.95"
)

// Decision is an outcome with what it rests on.
type Decision struct {
	Outcome Outcome
	// Tails are rounded to 1e-6, and so compared: a device and a server, or a person with a table, come to the same answer.
	Tails Tails
	// Rule is the one that was used.
	Rule Rule
	// Fallback is an ErrSimpleNotAllowed saying why the simple rule that was asked for gave way to the guarded one; else nil.
	Fallback error
}

// Decide decides on a value y measured with standard uncertainty u. Errors are those of Probability, and ErrMalformed for a rule of another name.
func Decide(y, u float64, limits Limits, rule Rule) (Decision, error) {
	t, err := Probability(y, u, limits)
	if err != nil {
		return Decision{}, err
	}
	below, inside, above := ppm(t.Below), ppm(t.Inside), ppm(t.Above)
	d := Decision{Rule: rule, Tails: Tails{float64(below) / million, float64(inside) / million, float64(above) / million}}
	switch rule {
	case Simple:
		if d.Fallback = simpleAllowed(u, limits); d.Fallback == nil {
			d.Outcome = Fails
			if limits.contains(y) {
				d.Outcome = Conforms
			}
			return d, nil
		}
		d.Rule = Guarded
	case Guarded:
	default:
		return Decision{}, fmt.Errorf("decision rule %q: %w; give %q or %q", rule, ErrMalformed, Guarded, Simple)
	}
	switch {
	case inside >= decisionPPM:
		d.Outcome = Conforms
	case below >= decisionPPM || above >= decisionPPM:
		d.Outcome = Fails
	default:
		d.Outcome = CannotBeTold
	}
	return d, nil
}

func ppm(p float64) int64 { return int64(math.RoundToEven(float64(p * million))) }

func simpleAllowed(u float64, limits Limits) error {
	t, ok := limits.T()
	switch expanded := float64(2 * u); {
	case !ok:
		return fmt.Errorf("%w: one limit alone has no tolerance width that U could be compared with; decided by the guarded rule, %s", ErrSimpleNotAllowed, decisionText)
	case expanded > t/simpleShare:
		return fmt.Errorf("%w: U = %.3g is above T/4 = %.3g; decided by the guarded rule, %s", ErrSimpleNotAllowed, expanded, t/simpleShare, decisionText)
	}
	return nil
}

// GuardedLimits returns the limits drawn in by 1.645u: a value on a guarded limit conforms with 95 % as far as that limit alone goes. Between two limits a
// little more is wanted where u is not small against T; Decide is exact. Error ErrNoAcceptanceZone if nothing is left.
func GuardedLimits(limits Limits, u float64) (Limits, error) {
	if err := limits.check(); err != nil {
		return Limits{}, err
	}
	if err := notNegative("standard uncertainty", u); err != nil {
		return Limits{}, err
	}
	guard := float64(coverage95 * u)
	var g Limits
	if limits.Lower != nil {
		l := *limits.Lower + guard
		g.Lower = &l
	}
	if limits.Upper != nil {
		h := *limits.Upper - guard
		g.Upper = &h
	}
	if g.Lower != nil && g.Upper != nil && *g.Lower > *g.Upper {
		return Limits{}, fmt.Errorf("limits %g … %g with guards of %.3g: %w; measure with a smaller uncertainty", *limits.Lower, *limits.Upper, guard, ErrNoAcceptanceZone)
	}
	return g, nil
}
