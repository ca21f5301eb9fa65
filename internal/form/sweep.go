package form

import "fmt"

// RunOut is what one sweep says whatever the number of stations: one turn under one indicator zero.
type RunOut struct {
	N         int
	Even      bool
	Um        float64 // circular run-out: max − min (ISO 1101), ≥ 0
	HighestAt float64 // angles of the extreme stations, °
	LowestAt  float64
	// UnseenShare is the part of a pure eccentricity's run-out that the stations can have missed, 0 … 1; AtMostUm what the run-out could then be.
	// Of lobing they can miss more, of some orders all: Statement says it in words.
	UnseenShare float64
	AtMostUm    float64
	Statement   string
}

const (
	leastForRunOut       = 4
	leastForEccentricity = 8
)

// CircularRunOut evaluates a sweep of four or more stations, equally spaced or not. Half of it is not an eccentricity.
func CircularRunOut(stations []Station) (RunOut, error) {
	r, err := around("circular run-out", stations, leastForRunOut, 360)
	if err != nil {
		return RunOut{}, err
	}
	return r.runOut(), nil
}

func (r round) runOut() RunOut {
	low, high := r.extremes()
	out := RunOut{N: len(r), Even: r.even(), Um: high.Um - low.Um, HighestAt: high.AngleDeg, LowestAt: low.AngleDeg, UnseenShare: r.unseenOfFirst()}
	if out.UnseenShare < 1 {
		out.AtMostUm = out.Um / (1 - out.UnseenShare)
	}
	out.Statement = fmt.Sprintf("%d stations may have missed %.0f %% of the run-out of an eccentric round surface; of lobing, up to all of it", len(r), float64(100*out.UnseenShare))
	return out
}

// Eccentric is what one sweep of eight or more equally spaced stations says beyond its run-out.
type Eccentric struct {
	RunOut
	EccentricityUm float64   // C₁: distance of the surface's centre from the axis of rotation
	HighSpotDeg    float64   // where the first harmonic is highest
	FormUm         float64   // peak to valley about the least-squares circle (ISO 12181-1: RONt, LSCI), harmonic one removed
	ZoneUm         float64   // of the minimum zone (MZCI) of these readings; never above FormUm
	ZoneContacts   []int     // places in Stations of four that prove the zone, alternately outside and inside
	Stations       []Station // in the order of their angles
	Spectrum       Spectrum
}

// Eccentricity evaluates a sweep. Errors: ErrTooFewStations below four; ErrCannotSeparate for four to seven stations, and for eight or more that are not equally spaced
// ErrUneven: lobing would be taken for eccentricity.
func Eccentricity(stations []Station) (Eccentric, error) {
	r, err := around("eccentricity", stations, leastForRunOut, 360)
	if err != nil {
		return Eccentric{}, err
	}
	if len(r) < leastForEccentricity {
		return Eccentric{}, StationError{"eccentricity", len(r), fmt.Sprintf("take %d or more, equally spaced (%s)", leastForEccentricity, AliasingStatement(len(r))), ErrCannotSeparate}
	}
	if !r.even() {
		return Eccentric{}, StationError{"eccentricity", len(r), "take those that are missing", ErrUneven}
	}
	s := r.analyseEven()
	e := Eccentric{RunOut: r.runOut(), Stations: r, Spectrum: s, EccentricityUm: s.Harmonics[0].CUm, HighSpotDeg: s.Harmonics[0].PhaseDeg}
	e.FormUm = r.without(s, 1)
	zone, err := r.flattestZone()
	if err != nil {
		return Eccentric{}, err
	}
	e.ZoneUm, e.ZoneContacts = zone.width, zone.contacts
	return e, nil
}

// without returns max − min of the readings after the mean and the harmonics up to order highest are taken off.
func (r round) without(s Spectrum, highest int) float64 {
	rest := make(round, len(r))
	for i, st := range r {
		rest[i] = Station{st.AngleDeg, st.Um - s.at(st.AngleDeg, highest)}
	}
	low, high := rest.extremes()
	return high.Um - low.Um
}

// FalseOvalityUm returns the amplitude of the second harmonic that a perfectly round surface of the radius shows when it turns about an axis
// eccentric by e: e²/4R, all in µm. At a spindle it is far below a nanometre; on a part set up by eye it is not.
func FalseOvalityUm(eUm, radiusUm float64) float64 {
	return float64(eUm*eUm) / float64(4*radiusUm)
}

// TotalRunOut returns max − min over all planes (ISO 1101). The planes must have been read under one indicator zero, which the caller answers for:
// separate sweeps give the largest of the circular run-outs, which is another thing. At least two planes of four stations.
func TotalRunOut(planes [][]Station) (float64, error) {
	if len(planes) < 2 {
		return 0, StationError{"total run-out", len(planes), "it needs two planes or more under one indicator zero", ErrTooFewStations}
	}
	var low, high float64
	for i, p := range planes {
		r, err := around("total run-out", p, leastForRunOut, 360)
		if err != nil {
			return 0, fmt.Errorf("plane %d: %w", i+1, err)
		}
		least, most := r.extremes()
		if i == 0 || least.Um < low {
			low = least.Um
		}
		if i == 0 || most.Um > high {
			high = most.Um
		}
	}
	return high - low, nil
}
