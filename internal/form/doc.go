// Package form says what readings around and along a part tell of its shape, and what they cannot tell.
//
// # Units and signs
//
// Readings and results are micrometres (names ending Um), angles degrees (AngleDeg, counted in the sense that the component's zero drawing
// shows), positions along the axis millimetres. A reading is positive where the surface stands further out: larger radius, thicker ring, face further along its outward normal.
//
// # Harmonics
//
// Readings around a turn are written y(θ) = mean + Σ C_k·cos(kθ − φ_k). The first harmonic is eccentricity (or tilt, or wedge), the second ovality, the third three lobes.
// N stations carry harmonics up to N/2; a lobing of another order looks exactly like one of these. With four stations a three-lobed journal
// looks wholly like an eccentric one, and so nothing here calls half a run-out an eccentricity: that word wants eight stations or more, equally spaced.
//
// # Reference circles and zones
//
// Least squares, minimum zone, minimum circumscribed and maximum inscribed (ISO 12181-1) come with the stations that prove them: a zone is minimal
// when four stations touch it alternately outside and inside, a circumscribed circle when two touch it across a diameter or three in a triangle that is not obtuse,
// an inscribed one when the triangle of three touching stations holds the centre.
package form

import (
	"errors"
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// The errors.
var (
	ErrMalformed        = errors.New("not a number that can be used")
	ErrTooFewStations   = errors.New("too few stations")
	ErrDuplicateStation = errors.New("the same station stands twice")
	ErrUneven           = errors.New("the stations are not equally spaced")
	ErrCannotSeparate   = errors.New("cannot tell eccentricity from lobing")
	ErrDegenerate       = errors.New("the points do not determine it")
	ErrNotConverged     = errors.New("no proof of the optimum was reached")
	ErrBlind            = errors.New("this way of measuring does not see it")
)

// A StationError says with which stations a question could not be answered.
type StationError struct {
	What string // what was asked for
	N    int    // stations given
	Want string // what would do
	Kind error  // one of the errors of this package
}

func (e StationError) Error() string {
	return fmt.Sprintf("%s from %d stations: %v; %s", e.What, e.N, e.Kind, e.Want)
}

// Unwrap makes errors.Is find the kind.
func (e StationError) Unwrap() error { return e.Kind }

// Station is one reading at one angle.
type Station struct {
	AngleDeg float64
	Um       float64
}

// sameAngleDeg is how near two stations may stand before they count as one; evenDeg how far one may be from its place among equally spaced ones (both common practice, no
// source: angles come in thousandths of a degree).
const (
	sameAngleDeg = 0.001
	evenDeg      = 0.01
)

// turn brings an angle into [0, 360).
func turn(deg float64) float64 {
	d := math.Mod(deg, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 { // a tiny negative angle
		d = 0
	}
	return d
}

// direction returns the angle of the vector (x, y) in [0, 360) degrees; 0 for no vector.
func direction(x, y float64) float64 {
	if x == 0 && y == 0 {
		return 0
	}
	return turn(float64(portablemath.Atan2(y, x) * (180 / math.Pi)))
}

// round is a set of checked stations in the order of their angles, all within [0, 360).
type round []Station

// around checks stations and puts them in order. period is 360, or 180 where opposite stations are one and the same (two-point sizes).
func around(what string, stations []Station, least int, period float64) (round, error) {
	if len(stations) < least {
		return nil, StationError{what, len(stations), fmt.Sprintf("take at least %d", least), ErrTooFewStations}
	}
	sorted := make(round, len(stations))
	for i, s := range stations {
		if math.IsNaN(s.Um) || math.IsInf(s.Um, 0) || math.IsNaN(s.AngleDeg) || math.IsInf(s.AngleDeg, 0) {
			return nil, fmt.Errorf("%s: station at %g° reads %g µm: %w; correct or strike it", what, s.AngleDeg, s.Um, ErrMalformed)
		}
		sorted[i] = Station{math.Mod(turn(s.AngleDeg), period), s.Um}
	}
	for i := 1; i < len(sorted); i++ { // they come in order as a rule, and are few
		for j := i; j > 0 && sorted[j].AngleDeg < sorted[j-1].AngleDeg; j-- {
			sorted[j], sorted[j-1] = sorted[j-1], sorted[j]
		}
	}
	for i, s := range sorted {
		next := sorted[(i+1)%len(sorted)]
		gap := next.AngleDeg - s.AngleDeg
		if i == len(sorted)-1 {
			gap += period
		}
		if len(sorted) > 1 && gap < sameAngleDeg {
			return nil, fmt.Errorf("%s: two readings at %g°: %w; average repeats first, or strike one", what, s.AngleDeg, ErrDuplicateStation)
		}
	}
	return sorted, nil
}

// even reports whether the stations are equally spaced.
func (r round) even() bool {
	step := 360 / float64(len(r))
	for i, s := range r {
		if math.Abs(s.AngleDeg-r[0].AngleDeg-float64(float64(i)*step)) > evenDeg {
			return false
		}
	}
	return true
}

// extremes returns the stations with the smallest and the largest reading, the first of each in the order of the angles.
func (r round) extremes() (least, most Station) {
	least, most = r[0], r[0]
	for _, s := range r {
		if s.Um < least.Um {
			least = s
		}
		if s.Um > most.Um {
			most = s
		}
	}
	return least, most
}

func (r round) mean() float64 {
	sum := 0.0
	for _, s := range r {
		sum += s.Um
	}
	return sum / float64(len(r))
}
