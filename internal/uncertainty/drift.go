package uncertainty

import (
	"math"

	"runtrue/internal/length"
)

// Drift is what the gauge showed on the master before and after the readings of a set-up.
//
// The readings in between are corrected by half of it, with u = |d|/√12: the drift was somewhere between none and all of it when each was taken
// (rectangular of half-width |d|/2; common practice, no source).
type Drift struct {
	Before, After length.Length
}

// D returns after − before: positive where the gauge came to read too much.
func (d Drift) D() length.Length { return d.After - d.Before }

// CorrectionUm returns what is to be added to each reading, −d/2, in µm.
func (d Drift) CorrectionUm() float64 { return float64(-0.5 * d.D().Micrometres()) }

// Doubtful reports whether the drift is more than a tenth of the tightest tolerance of the features measured, T: then the set-up decides nothing.
// The comparison is exact. T ≤ 0 makes any drift doubtful.
func (d Drift) Doubtful(tightest length.Length) bool {
	d10 := 10 * d.D().Abs()
	return d10 > 0 && d10 > tightest
}

// Contribution returns the uncertainty that is left after the correction. The error is common to all readings of the set-up, which the key must name.
func (d Drift) Contribution(key string) Contribution {
	half := float64(0.5 * d.D().Abs().Micrometres())
	return line("drift of the zero", half, DistributionRectangular, half/math.Sqrt(3), math.Inf(1)).Keyed(key)
}
