package verdict

import (
	"slices"

	"runtrue/internal/form"
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Remarks on what sizes cannot show.
const (
	oddLobesUnseen = "odd lobing cannot be seen by two-point measuring"
	noSizeFromZero = "readings from an indicator's own zero say nothing of a size and are left out"
)

// size judges local two-point sizes: each must lie within the limits, the worst decides (ISO 14405-1 default).
func (q *inquiry) size() {
	stations, faults := q.sizes(false)
	if loose, _ := q.sizes(true); len(loose) > 0 {
		q.note(noSizeFromZero)
	}
	complete := q.count(names(stations))
	findings := make([]finding, len(stations))
	for i := range stations {
		findings[i] = stations[i].finding()
	}
	q.out.Figures = make([]Figure, 0, 8)
	q.sizeFigures(stations)
	q.conclude(findings, complete, faults)
	q.out.Stations = make([]Station, len(stations))
	for i := range stations {
		q.out.Stations[i] = stations[i].shown(&findings[i])
	}
	if q.out.Outcome == Fails {
		q.out.Mend = q.mendSize(findings)
	}
}

// sizesForComparison returns stations whose differences mean something: true sizes where there are any, else one indicator's readings from its own zero.
func (q *inquiry) sizesForComparison() (stations []station, faults []string) {
	stations, faults = q.sizes(false)
	if len(stations) > 0 {
		return stations, faults
	}
	stations, faults = q.sizes(true)
	stations = slices.Clone(stations)
	for i := range stations {
		for _, g := range stations[i].groups {
			if g.setup.ID != stations[0].groups[0].setup.ID {
				stations[i].doubt = "readings from different indicator zeros cannot be compared: read all stations under one zero"
			}
		}
	}
	return stations, faults
}

func names(stations []station) []StationName {
	list := make([]StationName, len(stations))
	for i, s := range stations {
		list[i] = s.StationName
	}
	return list
}

// count compares the stations read with the plan, fills in how many are wanted and missing, and reports whether there are enough.
// Stations beside the plan count where the plan only states how many it wants.
func (q *inquiry) count(read []StationName) (complete bool) {
	planned := q.plannedStations(q.c.Name)
	q.out.Need = len(planned)
	have := 0
	for _, p := range planned {
		if slices.Contains(read, p) {
			have++
			continue
		}
		q.out.Missing = append(q.out.Missing, p)
	}
	if n := q.in.Spec.Plan.MinN; n > 0 {
		q.out.Need, have = n, len(read)
	}
	q.out.Have = have
	if have >= q.out.Need {
		q.out.Missing = nil
		return true
	}
	return false
}

func (s *station) finding() finding {
	f := finding{estimate: s.estimate, where: place(s.Plane, s.Angle), doubt: s.doubt, clash: s.clash, open: s.open}
	for i := range s.counting {
		for _, n := range s.counting[i].notes {
			f.notes = addNote(f.notes, n)
		}
	}
	if len(s.counting) < len(s.groups) {
		for _, g := range s.groups {
			if g.doubt != "" && s.doubt == "" {
				f.notes = addNote(f.notes, "readings of set-up "+g.setup.ID+" are left out where a sound one stands beside them: "+g.doubt)
			}
		}
	}
	return f
}

func (s *station) shown(f *finding) Station {
	out := Station{
		Plane: s.Plane, Angle: s.Angle, Value: s.value(), U: s.standard(),
		PC: f.pc, Clash: s.clash != "", Outcome: f.outcome,
	}
	for i := range s.groups {
		g := &s.groups[i]
		out.N += len(g.raw)
		out.IDs = append(out.IDs, g.ids...)
		out.People = addNote(out.People, g.person)
	}
	return out
}

// planeMean is the mean size of one plane.
type planeMean struct {
	spindle.Plane
	estimate
	angles []float64 // degrees
	values []estimate
}

func (q *inquiry) planeMeans(stations []station) []planeMean {
	var means []planeMean
	for _, s := range stations {
		i := slices.IndexFunc(means, func(m planeMean) bool { return m.Name == s.Plane })
		if i < 0 {
			i = len(means)
			p := spindle.Plane{Name: s.Plane}
			for _, planned := range q.in.Spec.Plan.Planes {
				if planned.Name == s.Plane {
					p = planned
				}
			}
			means = append(means, planeMean{Plane: p})
		}
		if means[i].values == nil {
			means[i].values, means[i].angles = make([]estimate, 0, len(stations)), make([]float64, 0, len(stations))
		}
		means[i].values = append(means[i].values, s.estimate)
		means[i].angles = append(means[i].angles, float64(s.Angle)/1000)
	}
	for i := range means {
		means[i].estimate = mean(means[i].values)
	}
	return means
}

// sizeFigures adds the means, the taper and what two-point sizes show of the form.
func (q *inquiry) sizeFigures(stations []station) {
	if len(stations) == 0 {
		return
	}
	planes := q.planeMeans(stations)
	for _, p := range planes {
		q.figure(spaced("mean of", planeWords(orAll(p.Name))), p.um, "µm", "")
	}
	es := estimates(stations)
	if len(planes) > 1 {
		q.figure("mean of all stations", mean(es).um, "µm", "")
	}
	if front, rear, ok := ends(planes); ok {
		q.figure("taper", front.um-rear.um, "µm", "bigger towards the nose is positive, over "+trimmed(minus(rear.Z, front.Z), length.Millimetres, 3)+" mm")
	}
	if len(planes) > 2 {
		z, sizes := make([]float64, len(planes)), make([]float64, len(planes))
		for i, p := range planes {
			z[i], sizes[i] = p.Z.Millimetres(), p.um
		}
		if bow, err := form.Bow(z, sizes); err == nil { // planes without places of their own have none
			q.figure("barrel or hour-glass", bow, "µm", "mean size in the middle above (+, a barrel) or below (−, an hour-glass) the line between the ends, by a parabola")
		}
	}
	if len(stations) > 1 {
		low, high := extremes(es)
		spread := es[high].um - es[low].um
		q.figure("size variation", spread, "µm", "largest minus smallest local size")
		if q.in.Spec.Geometry != spindle.Thickness {
			// A roundness of a plane, not of the feature: two planes of different size are no lobes.
			widest, most := "", 0.0
			for _, p := range planes {
				low, high := extremes(p.values)
				if v := p.values[high].um - p.values[low].um; len(p.values) > 2 && v >= most {
					widest, most = p.Name, v
				}
			}
			if most > 0 || len(planes[0].values) > 2 {
				q.figure("roundness-type figure", most/2, "µm", spaced("half the size variation of", planeWords(orAll(widest)))+"; "+oddLobesUnseen)
			}
		}
	}
	if q.in.Spec.Geometry != spindle.Thickness {
		q.note(oddLobesUnseen)
	}
}

func orAll(plane string) string {
	if plane == "" {
		return "the plane"
	}
	return plane
}

func (q *inquiry) figure(name string, value float64, unit, note string) {
	q.out.Figures = append(q.out.Figures, Figure{Name: name, Value: tidy(value), Unit: unit, Note: note})
}

func estimates(stations []station) []estimate {
	es := make([]estimate, len(stations))
	for i := range stations {
		es[i] = stations[i].estimate
	}
	return es
}

// extremes returns the indices of the smallest and the largest value; of equal ones the first.
func extremes(es []estimate) (low, high int) {
	for i, e := range es {
		if e.um < es[low].um {
			low = i
		}
		if e.um > es[high].um {
			high = i
		}
	}
	return low, high
}

// ends returns the planes nearest to and furthest from the nose face, if they stand at different places.
func ends(planes []planeMean) (front, rear planeMean, ok bool) {
	if len(planes) < 2 {
		return front, rear, false
	}
	front, rear = planes[0], planes[0]
	for _, p := range planes[1:] {
		if p.Z < front.Z {
			front = p
		}
		if p.Z > rear.Z {
			rear = p
		}
	}
	return front, rear, front.Z != rear.Z
}
