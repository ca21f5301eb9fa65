package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Section is one turn of radial readings at a place along the axis. All sections of a cylinder are read under one indicator zero, on a straight guide.
type Section struct {
	ZMm      float64
	Stations []Station
}

// Cylinder is what the sections of a cylindrical surface say together.
type Cylinder struct {
	N              int
	Axis           Axis    // of the surface, to the axis of rotation
	RadiusUm       float64 // mean reading: radius from where the readings count
	CylindricityUm float64 // peak to valley about the least-squares cylinder (ISO 12180-1: CYLt, LSCY); never below that of a minimum zone
	// ConicityUm is how much larger the radius is at the largest z than at the smallest, by least squares; BowUm how much larger in the middle than the line between: above 0 a
	// barrel, below 0 an hour-glass, 0 with fewer than three sections.
	ConicityUm float64
	BowUm      float64
	Residuals  [][]float64 // of each section's stations, in the order of their angles, µm
}

// FitCylinder fits a cylinder by least squares to two or more sections of four or more stations, equally spaced or not:
//
//	y(θ, z) = R + (a + p·z)·cos θ + (b + q·z)·sin θ,
//
// which is linear and right to first order: what it leaves out is e²/4R, far below a nanometre for a part set up in a lathe (see [FalseOvalityUm]).
// With sections of fewer than eight stations lobing is taken for eccentricity; see [AliasingStatement].
func FitCylinder(sections []Section) (Cylinder, error) {
	if len(sections) < 2 {
		return Cylinder{}, StationError{"cylinder", len(sections), "it needs sections at two places or more", ErrTooFewStations}
	}
	var rounds []round
	mean, count := 0.0, 0
	low, high := math.Inf(1), math.Inf(-1)
	for i, s := range sections {
		if math.IsNaN(s.ZMm) || math.IsInf(s.ZMm, 0) {
			return Cylinder{}, fmt.Errorf("section %d at z = %g mm: %w; give its place along the axis", i+1, s.ZMm, ErrMalformed)
		}
		r, err := around("cylinder", s.Stations, leastForRunOut, 360)
		if err != nil {
			return Cylinder{}, fmt.Errorf("section %d: %w", i+1, err)
		}
		rounds = append(rounds, r)
		mean += float64(float64(len(r)) * s.ZMm)
		count += len(r)
		low, high = math.Min(low, s.ZMm), math.Max(high, s.ZMm)
	}
	mean /= float64(count)
	if low == high {
		return Cylinder{}, fmt.Errorf("cylinder: all sections at z = %g mm: %w; read at two places or more", low, ErrDegenerate)
	}
	span := high - low
	var rows [][]float64
	var y, along []float64
	for i, r := range rounds {
		z := (sections[i].ZMm - mean) / span // near 1, which keeps the columns alike
		for _, st := range r {
			sin, cos := portablemath.SincosDegrees(st.AngleDeg)
			rows = append(rows, []float64{1, cos, sin, float64(z * cos), float64(z * sin)})
			y = append(y, st.Um)
			along = append(along, z)
		}
	}
	fit, ok := leastSquares(rows, y)
	if !ok {
		return Cylinder{}, StationError{"cylinder", count, "spread the stations around the turn in each section", ErrDegenerate}
	}
	c := Cylinder{N: count, RadiusUm: fit.x[0],
		Axis: Axis{ZMm: mean, At: Offset{fit.x[1], fit.x[2]}, PerMm: Offset{fit.x[3] / span, fit.x[4] / span}}}
	least, most := math.Inf(1), math.Inf(-1)
	at := 0
	for _, r := range rounds {
		c.Residuals = append(c.Residuals, fit.residuals[at:at+len(r)])
		at += len(r)
	}
	for _, v := range fit.residuals {
		least, most = math.Min(least, v), math.Max(most, v)
	}
	c.CylindricityUm = most - least
	// The cone and the bow in what is left, each by one more column.
	for i := range rows {
		rows[i] = append(rows[i], along[i])
	}
	cone, ok := leastSquares(rows, y)
	if !ok {
		return Cylinder{}, StationError{"conicity", count, "spread the stations around the turn in each section", ErrDegenerate}
	}
	c.ConicityUm = cone.x[5]
	for i := range rows {
		rows[i] = append(rows[i], float64(along[i]*along[i]))
	}
	if bow, ok := leastSquares(rows, y); ok && len(sections) > 2 { // not ok: fewer than three different places
		c.BowUm = float64(-0.25 * bow.x[6])
	}
	return c, nil
}

// Bow returns how much larger sizes are in the middle of the span than on the line between its ends, by a parabola through three or more sizes at different places: above 0 a
// barrel, below 0 an hour-glass. z and sizes may be in any unit; the result is in that of the sizes.
func Bow(z, sizes []float64) (float64, error) {
	if len(z) != len(sizes) || len(z) < 3 {
		return 0, StationError{"barrel or hour-glass", len(sizes), "it needs the sizes of three planes or more", ErrTooFewStations}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range z {
		for _, v := range []float64{z[i], sizes[i]} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return 0, fmt.Errorf("plane %d at z = %g, size %g: %w; correct or strike it", i+1, z[i], sizes[i], ErrMalformed)
			}
		}
		low, high = math.Min(low, z[i]), math.Max(high, z[i])
	}
	rows := make([][]float64, len(z))
	for i := range z {
		t := (z[i] - low) / (high - low) // 0 … 1 over the span
		rows[i] = []float64{1, t, float64(t * t)}
	}
	fit, ok := leastSquares(rows, sizes)
	if high == low || !ok {
		return 0, fmt.Errorf("barrel or hour-glass: %d planes at fewer than three places: %w; read a plane in the middle", len(z), ErrDegenerate)
	}
	return float64(-0.25 * fit.x[2]), nil
}

// Reversal is what two sweeps of a test bar say, the bar turned by 180° in the spindle between them: what stays is the spindle's, what turns with the bar is the bar's.
type Reversal struct {
	Spindle Offset // axis of the spindle's seat, at the place that was swept, to the axis of rotation
	Bar     Offset // what the bar adds in its first position: its own eccentricity and how it sits
}

// SeparateByReversal separates bar and spindle. Both sweeps are read at the same stations counted from the spindle's own zero mark. Eccentricities alone are separated:
// lobing of even order turns into itself and cannot be.
func SeparateByReversal(first, turned []Station) (Reversal, error) {
	var at [2]Offset
	for i, s := range [][]Station{first, turned} {
		r, err := around("reversal", s, leastForRunOut, 360)
		if err != nil {
			return Reversal{}, fmt.Errorf("position %d of the bar: %w", i+1, err)
		}
		h, err := r.first()
		if err != nil {
			return Reversal{}, fmt.Errorf("position %d of the bar: %w", i+1, err)
		}
		at[i] = Offset{h.Harmonics[0].A, h.Harmonics[0].B}
	}
	return Reversal{
		Spindle: Offset{float64(0.5 * (at[0].XUm + at[1].XUm)), float64(0.5 * (at[0].YUm + at[1].YUm))},
		Bar:     Offset{float64(0.5 * (at[0].XUm - at[1].XUm)), float64(0.5 * (at[0].YUm - at[1].YUm))},
	}, nil
}
