package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

const radian = 180 * 3600 / math.Pi // seconds of arc in a radian

// Face is what axial readings around a face say of it.
type Face struct {
	N              int
	Even           bool
	RadiusMm       float64
	AxialRunOutUm  float64 // max − min at that radius (ISO 1101)
	SquarenessUm   float64 // 2·C₁: height difference of the tilted face over the diameter 2·RadiusMm
	TiltSeconds    float64 // the same as an angle, seconds of arc
	DirectionDeg   float64 // where the tilted face stands furthest out
	FormUm         float64 // peak to valley after the tilt is taken off
	UnseenShare    float64 // of a pure tilt's run-out, 0 … 1, that the stations can have missed; 2·C₁ does not miss it
	LooksLikeTilt  string  // the orders of waviness that these stations cannot tell from tilt, in words
	SquarenessGain float64 // u(SquarenessUm) per independent u of a reading
}

// EvaluateFace evaluates four or more axial readings at one radius in millimetres. The float of the shaft along its axis enters the readings in full: without a stop at
// its centre they say nothing.
func EvaluateFace(stations []Station, radiusMm float64) (Face, error) {
	r, err := around("face", stations, leastForRunOut, 360)
	if err != nil {
		return Face{}, err
	}
	if !(radiusMm > 0) || math.IsInf(radiusMm, 1) {
		return Face{}, fmt.Errorf("radius of the stations %g mm: %w; give the radius at which the face was read", radiusMm, ErrMalformed)
	}
	first, err := r.first()
	if err != nil {
		return Face{}, err
	}
	low, high := r.extremes()
	f := Face{N: len(r), Even: r.even(), RadiusMm: radiusMm, AxialRunOutUm: high.Um - low.Um, SquarenessUm: float64(2 * first.Harmonics[0].CUm),
		DirectionDeg: first.Harmonics[0].PhaseDeg, FormUm: r.without(first, 1), UnseenShare: r.unseenOfFirst(), SquarenessGain: first.AmplitudeU(2)}
	f.TiltSeconds = float64(portablemath.Atan(first.Harmonics[0].CUm/float64(1000*radiusMm)) * radian)
	f.LooksLikeTilt = looksLikeFirst(r)
	return f, nil
}

// first returns mean and first harmonic alone: for equally spaced stations those of the full analysis, else the least-squares plane.
func (r round) first() (Spectrum, error) {
	if r.even() {
		return r.analyseEven(), nil
	}
	s, ok := r.analyseUneven(1)
	if !ok || s.NoiseGain > largestNoiseGain {
		return Spectrum{}, StationError{"tilt", len(r), "spread the stations around the turn", ErrUneven}
	}
	return s, nil
}

func looksLikeFirst(r round) string {
	if r.even() {
		return AliasingStatement(len(r))
	}
	return fmt.Sprintf("the %d stations are not equally spaced: waviness enters the first harmonic in part", len(r))
}

// Ring is what thickness readings around a spacer say of it. Thickness holds the errors of both faces; it cannot say which of them is out.
type Ring struct {
	N             int
	Even          bool
	MeanUm        float64 // mean thickness, from where the readings count
	ParallelismUm float64 // max − min of the readings (ISO 1101, by thickness)
	WedgeUm       float64 // 2·C₁ over the diameter on which the stations lie; found also where no station hits its thickest place
	WedgeDeg      float64 // where the ring is thickest
	FormUm        float64 // peak to valley after the wedge is taken off
	UnseenShare   float64 // of a wedge, 0 … 1, that max − min can have missed: 1 − cos(180°/N) for even N
	LooksLike     string  // what the stations cannot tell from a wedge
	WedgeGain     float64 // u(WedgeUm) per independent u of a reading
}

// EvaluateRing evaluates four or more thickness readings around a ring.
func EvaluateRing(stations []Station) (Ring, error) {
	r, err := around("thickness of a ring", stations, leastForRunOut, 360)
	if err != nil {
		return Ring{}, err
	}
	first, err := r.first()
	if err != nil {
		return Ring{}, err
	}
	low, high := r.extremes()
	return Ring{N: len(r), Even: r.even(), MeanUm: first.MeanUm, ParallelismUm: high.Um - low.Um, WedgeUm: float64(2 * first.Harmonics[0].CUm),
		WedgeDeg: first.Harmonics[0].PhaseDeg, FormUm: r.without(first, 1), UnseenShare: r.unseenOfFirst(), LooksLike: looksLikeFirst(r), WedgeGain: first.AmplitudeU(2)}, nil
}
