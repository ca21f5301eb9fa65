package verdict

import (
	"strconv"

	"runtrue/internal/form"
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// leastStations is the fewest stations of a round from which a run-out, a tilt or a wedge is stated.
const leastStations = 4

// ring judges the parallelism of a spacer from the thickness at its stations.
//
// Max − min under-reports a wedge, by up to 29 % with four stations, since the thickest and the thinnest place need not lie on one. The wedge 2·C₁ of the first
// harmonic finds it, but says nothing of the rest of the form. The larger of the two decides; the sentence names both.
func (q *inquiry) ring() {
	stations, faults := q.sizesForComparison()
	complete := q.count(names(stations))
	if len(stations) < 2 {
		q.conclude(nil, false, faults)
		return
	}
	es := estimates(stations)
	low, high := extremes(es)
	decisive := spread([]float64{1, -1}, []estimate{es[high], es[low]})
	figures := "max − min " + q.finely(decisive.um)
	q.figure("max − min", decisive.um, "µm", "")

	fewest, unsure := 0, ""
	for _, p := range q.planeMeans(stations) {
		n := len(p.values)
		if fewest == 0 || n < fewest {
			fewest = n
		}
		values := make([]float64, n)
		for i, e := range p.values {
			values[i] = e.um
		}
		q.figure(spaced("mean of", planeWords(orAll(p.Name))), p.um, "µm", "")
		if n < leastStations {
			continue
		}
		ring, err := form.EvaluateRing(stationsOf(p.angles, values))
		if err != nil {
			unsure = err.Error()
			continue
		}
		weights, ok := firstWeights(2, p.angles, ring.WedgeDeg)
		if !ok {
			unsure = "the stations do not surround the ring"
			continue
		}
		wedge := spread(weights, p.values)
		wedge.um = ring.WedgeUm
		q.figure("wedge", wedge.um, "µm", "twice the first harmonic; "+ring.LooksLike)
		q.figure("what the stations may have missed", 100*ring.UnseenShare, "%", "of a wedge, by max − min from "+plural(n, "station", "stations"))
		q.figure("form without wedge", ring.FormUm, "µm", "")
		figures += ", wedge " + q.finely(wedge.um)
		if wedge.um >= noDirection {
			q.figure("wedge direction", ring.WedgeDeg, "°", "thickest")
			figures += " at " + number(tenth(ring.WedgeDeg)) + "°"
		}
		if n == leastStations {
			q.note("four stations cannot tell a wedge from three lobes")
		}
		if wedge.um > decisive.um {
			decisive = wedge
		}
	}
	f := gathered(decisive, stations)
	f.figures, f.lacking = figures, unsure
	if fewest < leastStations {
		f.lacking = "parallelism needs at least 4 stations round the ring"
	}
	q.conclude([]finding{f}, complete, faults)
}

// finely prints a computed figure with one decimal more than a single reading.
func (q *inquiry) finely(um float64) string {
	return length.Format(toLength(um), length.Micrometres, min(q.places()+1, 2))
}

func tenth(x float64) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'f', 1, 64), 64)
	if err != nil {
		return x
	}
	return v
}

// diameterOf returns the diameter on which the stations of a face lie, 0 if nobody said.
func diameterOf(spec spindle.Specification) length.Length {
	if spec.Plan.Radius > 0 {
		return 2 * spec.Plan.Radius
	}
	return spec.Nominal
}
