package uncertainty

import (
	"errors"
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// ErrNotSettling says that two temperatures do not show the part coming nearer to the master's.
var ErrNotSettling = errors.New("the part does not come to the master's temperature")

// Soaking is a part on its way to the temperature of the master beside it, seen twice.
type Soaking struct {
	MasterC       float64 // where it is going: the master and the air, taken as steady
	FirstC        float64 // the part
	LaterC        float64 // the part, ApartMinutes later
	ApartMinutes  float64 // > 0
	TimeConstant  float64 // set by [Soaking.Fit]: minutes in which the difference falls to 1/e
	differenceNow float64
}

// Fit finds the time constant, the difference falling exponentially (Newton's law of cooling; a thick part's core lags behind its skin, so that the true time is rather longer).
// Errors: ErrMalformed, ErrNotSettling for a difference that grows, stays or changes its sign.
func (s Soaking) Fit() (Soaking, error) {
	for _, c := range []struct {
		what string
		x    float64
	}{{"temperature of the master", s.MasterC}, {"first temperature of the part", s.FirstC}, {"later temperature of the part", s.LaterC}} {
		if err := finite(c.what, c.x); err != nil {
			return Soaking{}, err
		}
	}
	if !(s.ApartMinutes > 0) || math.IsInf(s.ApartMinutes, 1) {
		return Soaking{}, BadValue{"minutes between the two temperatures", s.ApartMinutes, "a finite number above 0"}
	}
	was, is := s.FirstC-s.MasterC, s.LaterC-s.MasterC
	ratio := was / is
	if is != 0 && !(ratio > 1) {
		return Soaking{}, fmt.Errorf("%.1f °C and %.1f min later %.1f °C beside a master at %.1f °C: %w; wait and measure again, or look for what warms or cools one of them",
			s.FirstC, s.ApartMinutes, s.LaterC, s.MasterC, ErrNotSettling)
	}
	s.differenceNow = is
	if is != 0 {
		s.TimeConstant = s.ApartMinutes / portablemath.Log(ratio)
	}
	return s, nil
}

// Wait returns how many minutes from the later temperature on the part is still further than within kelvin from the master's: 0 if it is not. within > 0.
func (s Soaking) Wait(within float64) (minutes float64, err error) {
	if !(within > 0) {
		return 0, BadValue{"difference of temperature wanted", within, "a number of kelvin above 0"}
	}
	away := math.Abs(s.differenceNow)
	if away <= within {
		return 0, nil
	}
	return float64(s.TimeConstant * portablemath.Log(away/within)), nil
}

// SoakedWithin returns the difference of temperature, in kelvin, from which on a part of the size, µm, and its master of the same coefficient differ by less than a tenth of the
// tolerance, µm: T/(10·L·α). The tenth is the same as for a zero that moves (common practice, no source).
func SoakedWithin(toleranceUm, sizeUm, alpha float64) float64 {
	return toleranceUm / 10 / float64(sizeUm*alpha)
}
