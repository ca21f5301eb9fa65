package uncertainty

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// BestPossible returns the greatest probability of conformity that a gauge of standard uncertainty u can ever give between two limits a width apart:
// that of a value at dead centre, 1 − 2Φ(−width/2u). width > 0, u ≥ 0, the same unit.
func BestPossible(width, u float64) float64 {
	if u == 0 {
		return 1
	}
	return 1 - float64(2*portablemath.NormalCDF(-0.5*width/u))
}

// CanEverConform reports whether such a gauge can ever say "conforms" under the guarded rule.
func CanEverConform(width, u float64) bool { return ppm(BestPossible(width, u)) >= decisionPPM }

// LargestU returns the largest expanded uncertainty U = 2u with which a gauge can say "conforms" at dead centre: T/1.96 for a tolerance width T.
func LargestU(width float64) float64 { return width / portablemath.NormalQuantile(0.975) }

// Needed is what would settle a value as it stands.
type Needed struct {
	U       float64 // standard uncertainty, at most; the unit of the value
	Outcome Outcome // what the value would then be
}

// Expanded returns the same as U = 2u.
func (n Needed) Expanded() float64 { return float64(2 * n.U) }

// NeededU returns the largest standard uncertainty with which the value y, if it came out the same again, would be decided by the guarded rule: for one near limit
// its distance over 1.645. Error ErrOnLimit for a value on a limit, which no gauge can settle; otherwise those of Probability.
func NeededU(y float64, limits Limits) (Needed, error) {
	if _, err := Probability(y, 0, limits); err != nil {
		return Needed{}, err
	}
	distance := math.Inf(1)
	if limits.Lower != nil {
		distance = math.Abs(y - *limits.Lower)
	}
	if limits.Upper != nil {
		distance = math.Min(distance, math.Abs(y-*limits.Upper))
	}
	if distance == 0 {
		return Needed{}, fmt.Errorf("value %g: %w; no gauge can tell on which side it lies", y, ErrOnLimit)
	}
	n := Needed{U: distance / coverage95, Outcome: Fails}
	if !limits.contains(y) {
		return n, nil
	}
	n.Outcome = Conforms
	if limits.Lower == nil || limits.Upper == nil {
		return n, nil
	}
	// Both tails count: p_c falls as u grows, so halve between what surely conforms and what one limit alone would allow.
	enough, tooMuch := 0.0, n.U
	for range 60 {
		u := enough + float64(0.5*(tooMuch-enough))
		t, err := Probability(y, u, limits)
		if err != nil {
			return Needed{}, err
		}
		if t.Inside >= 0.95 {
			enough = u
		} else {
			tooMuch = u
		}
	}
	n.U = enough
	return n, nil
}

// manyReadings is where taking more of them stops being advice.
const manyReadings = 100

// MoreReadings returns how many readings of the same station are to be added to the have that there are, so that the standard uncertainty comes down to
// needed. fixed is the part that repeating does not reduce (calibration, master, temperature, drift), single the standard deviation of one reading.
// 0: there are enough. Error ErrNotReducible if the fixed part alone is too large or over a hundred readings would be wanted.
func MoreReadings(needed, fixed, single float64, have int) (int, error) {
	for _, c := range []struct {
		what string
		x    float64
	}{{"needed uncertainty", needed}, {"fixed uncertainty", fixed}, {"standard deviation of one reading", single}, {"number of readings", float64(have)}} {
		if err := notNegative(c.what, c.x); err != nil {
			return 0, err
		}
	}
	if single == 0 && fixed <= needed {
		return 0, nil
	}
	room := float64(needed*needed) - float64(fixed*fixed)
	if !(room > 0) {
		return 0, fmt.Errorf("u must come down to %.3g, and %.3g of it has nothing to do with repeating: %w; use a better gauge or master, or let the part soak",
			needed, fixed, ErrNotReducible)
	}
	total := math.Ceil(float64(single*single)/room - 1e-9) // a whole number must not become the next one by rounding
	if total > manyReadings {
		return 0, fmt.Errorf("%.0f readings would be needed to bring u from repeats of %.3g down: %w; use a gauge that repeats better", total, single, ErrNotReducible)
	}
	return max(0, int(total)-have), nil
}
