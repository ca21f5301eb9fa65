package form

import (
	"fmt"
	"math"
	"slices"

	"runtrue/internal/portablemath"
)

// OddLobesUnseen is to stand beside every figure of form that comes from two-point sizes.
const OddLobesUnseen = "three, five and other odd numbers of lobes cannot be seen by two-point measuring"

// DiameterPlane is the two-point sizes of one plane, as deviations from nominal or full sizes. A size at θ and one at θ + 180° are the same station.
type DiameterPlane struct {
	ZMm   float64 // along the axis
	Sizes []Station
}

// LocalSizes is what the two-point sizes of one plane say.
type LocalSizes struct {
	N             int
	ZMm           float64
	MeanUm        float64
	LeastUm       float64 // smallest and largest local size, and where
	LeastDeg      float64
	MostUm        float64
	MostDeg       float64
	VariationUm   float64 // largest − smallest: variation of size
	OutOfRoundUm  float64 // half of it, comparable to a roundness deviation, blind to odd lobes; only if HasOutOfRound
	HasOutOfRound bool    // three angles or more
}

const leastForOutOfRound = 3

// EvaluatePlane evaluates the two-point sizes of one plane: at least one, no diameter twice.
func EvaluatePlane(p DiameterPlane) (LocalSizes, error) {
	if math.IsNaN(p.ZMm) || math.IsInf(p.ZMm, 0) {
		return LocalSizes{}, fmt.Errorf("plane at z = %g mm: %w; give its place along the axis", p.ZMm, ErrMalformed)
	}
	r, err := around("two-point sizes", p.Sizes, 1, 180)
	if err != nil {
		return LocalSizes{}, err
	}
	low, high := r.extremes()
	s := LocalSizes{N: len(r), ZMm: p.ZMm, MeanUm: r.mean(), LeastUm: low.Um, LeastDeg: low.AngleDeg, MostUm: high.Um, MostDeg: high.AngleDeg, VariationUm: high.Um - low.Um}
	if len(r) >= leastForOutOfRound {
		s.HasOutOfRound, s.OutOfRoundUm = true, float64(0.5*s.VariationUm)
	}
	return s, nil
}

// Nose says at which end of the z axis the nose of the spindle lies.
type Nose int

// The ends.
const (
	NoseAtSmallZ Nose = iota
	NoseAtLargeZ
)

// Taper is how mean sizes change along a cylinder.
type Taper struct {
	Um          float64 // over the span: positive where the part is bigger towards the nose
	SpanMm      float64 // > 0
	Per100Mm    float64 // µm per 100 mm
	HalfSeconds float64 // half the included angle, seconds of arc, of the sign of Um
	BarrelUm    float64 // peak to valley of the mean sizes about the line: barrel or hour-glass; 0 for two planes
	// Weights are ∂Um/∂(mean size of each plane), in the order of the planes given: for the uncertainty. They sum to 0, so that what all planes share cancels.
	Weights []float64
	Planes  []LocalSizes // in the order given
}

// EvaluateTaper evaluates two or more planes at different places: the difference of the mean sizes for two, the least-squares line through them for more.
func EvaluateTaper(planes []DiameterPlane, nose Nose) (Taper, error) {
	if len(planes) < 2 {
		return Taper{}, StationError{"taper", len(planes), "it needs planes at two places or more", ErrTooFewStations}
	}
	var t Taper
	var z, d []float64
	for i, p := range planes {
		s, err := EvaluatePlane(p)
		if err != nil {
			return Taper{}, fmt.Errorf("plane %d: %w", i+1, err)
		}
		for _, earlier := range z {
			if earlier == p.ZMm {
				return Taper{}, fmt.Errorf("taper: two planes at z = %g mm: %w; give each plane its own place", p.ZMm, ErrDuplicateStation)
			}
		}
		t.Planes = append(t.Planes, s)
		z, d = append(z, p.ZMm), append(d, s.MeanUm)
	}
	line, err := FitLine(z, d, z[0])
	if err != nil {
		return Taper{}, err
	}
	sign := 1.0
	if nose == NoseAtSmallZ {
		sign = -1
	}
	least, most := slices.Min(z), slices.Max(z)
	t.SpanMm = most - least
	t.Um = float64(sign * line.Slope * t.SpanMm)
	t.Per100Mm = float64(100 * t.Um / t.SpanMm)
	t.HalfSeconds = float64(portablemath.Atan(float64(t.Um/2000)/t.SpanMm) * radian)
	if len(planes) > 2 {
		t.BarrelUm = slices.Max(line.Residuals) - slices.Min(line.Residuals)
	}
	mean, xx := 0.0, 0.0
	for _, v := range z {
		mean += v
	}
	mean /= float64(len(z))
	for _, v := range z {
		xx += float64((v - mean) * (v - mean))
	}
	for _, v := range z {
		t.Weights = append(t.Weights, float64(sign*(v-mean)*t.SpanMm/xx))
	}
	return t, nil
}

// SizeVariation returns the largest minus the smallest local size over all planes, µm.
func SizeVariation(planes []DiameterPlane) (float64, error) {
	if len(planes) == 0 {
		return 0, StationError{"variation of size", 0, "take sizes first", ErrTooFewStations}
	}
	var all []LocalSizes
	for i, p := range planes {
		s, err := EvaluatePlane(p)
		if err != nil {
			return 0, fmt.Errorf("plane %d: %w", i+1, err)
		}
		all = append(all, s)
	}
	least, most := all[0].LeastUm, all[0].MostUm
	for _, s := range all {
		least, most = math.Min(least, s.LeastUm), math.Max(most, s.MostUm)
	}
	return most - least, nil
}
