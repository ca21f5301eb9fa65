package verdict

import (
	"slices"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// gathered adds what stands against any of the stations to a finding made from them all.
func gathered(e estimate, stations []station) finding {
	f := finding{estimate: e}
	for i := range stations {
		g := stations[i].finding()
		f.open = f.open || g.open
		if f.doubt == "" {
			f.doubt = g.doubt
		}
		if f.clash == "" && g.clash != "" {
			f.clash, f.where = g.clash, g.where
		}
		for _, n := range g.notes {
			f.notes = addNote(f.notes, n)
		}
	}
	return f
}

// sizeVariation judges the largest minus the smallest local size of the feature. It can only grow with further stations, so a part of them can fail it.
func (q *inquiry) sizeVariation() {
	stations, faults := q.sizesForComparison()
	complete := q.count(names(stations))
	if len(stations) < 2 {
		q.conclude(nil, false, faults)
		return
	}
	es := estimates(stations)
	low, high := extremes(es)
	f := gathered(spread([]float64{1, -1}, []estimate{es[high], es[low]}), stations)
	if q.in.Spec.Geometry != spindle.Thickness {
		q.figure("roundness-type figure", f.um/2, "µm", oddLobesUnseen)
		q.note(oddLobesUnseen)
	}
	q.conclude([]finding{f}, complete, faults)
}

// taper judges the mean size nearest the nose minus the mean size furthest from it. A greatest value limits its magnitude; lower and upper limits its sign too.
func (q *inquiry) taper() {
	stations, faults := q.sizesForComparison()
	complete := q.count(names(stations))
	planes := q.planeMeans(stations)
	front, rear, ok := ends(planes)
	if !ok {
		if complete {
			q.refuse("a taper needs two planes at different places on the axis: give the planes of the plan their places and read both")
			return
		}
		q.conclude(nil, false, faults)
		return
	}
	weights := append(repeated(1/float64(len(front.values)), len(front.values)), repeated(-1/float64(len(rear.values)), len(rear.values))...)
	e := spread(weights, append(slices.Clone(front.values), rear.values...))
	q.figure("taper", e.um, "µm", "bigger towards the nose is positive, over "+trimmed(minus(rear.Z, front.Z), length.Millimetres, 3)+" mm")
	if q.c.Max != nil && e.um < 0 {
		e = combine([]float64{-1}, []estimate{e})
	}
	// Half the stations say little of the means: no early failure.
	if !complete {
		q.figureOnly(e, faults)
		return
	}
	q.conclude([]finding{gathered(e, stations)}, complete, faults)
}

// figureOnly answers "incomplete" with the value so far.
func (q *inquiry) figureOnly(e estimate, faults []string) {
	q.note(faults...)
	q.out.Outcome = Incomplete
	q.out.Value, q.out.U = pointer(e.value()), pointer(e.expanded())
	q.out.Sentence = q.noun() + " is incomplete: " + q.missingWords() + "; so far " + plusMinus(e.value(), e.expanded(), q.places(), q.signed()) + " (" + q.limitWords + ")"
}

func repeated(w float64, n int) []float64 {
	ws := make([]float64, n)
	for i := range ws {
		ws[i] = w
	}
	return ws
}
