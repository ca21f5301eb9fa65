package verdict

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// group is what one person read under one set-up at one station: repeats, averaged first.
type group struct {
	basis
	estimate
	person string
	ids    []string
	raw    []float64 // µm, in the order of the repeats
	repeat repeatability
	marked bool
	loose  bool // an indicator's own zero
}

// station is one place of the plan, or beside it, with everything read there.
type station struct {
	StationName
	groups []group
	// The result over the groups that count.
	estimate
	counting []group // sound groups, or all where none is sound
	doubt    string
	clash    string
	open     bool
}

// plannedStations lists the stations of the plan for a characteristic, planes first. A plan without planes has one, without a name; without angles one, at 0°.
func plannedStations(spec spindle.Specification, characteristic string) []StationName {
	angles := spec.AnglesFor(characteristic)
	if len(angles) == 0 {
		angles = []int64{0}
	}
	var names []StationName
	for _, p := range plannedPlanes(spec) {
		for _, a := range angles {
			names = append(names, StationName{Plane: p.Name, Angle: a})
		}
	}
	return names
}

func plannedPlanes(spec spindle.Specification) []spindle.Plane {
	if len(spec.Plan.Planes) == 0 {
		return []spindle.Plane{{}}
	}
	return spec.Plan.Planes
}

// byPlan orders stations as the plan does; those beside it follow, by plane and angle.
func byPlan(planned []StationName) func(a, b StationName) int {
	at := make(map[StationName]int, len(planned))
	for i, s := range planned {
		at[s] = i - len(planned)
	}
	return func(a, b StationName) int {
		return cmp.Or(cmp.Compare(at[a], at[b]), strings.Compare(a.Plane, b.Plane), cmp.Compare(a.Angle, b.Angle))
	}
}

// reader gathers what one feature's readings say.
type reader struct {
	in        Input
	tolerance *length.Length // the size tolerance that drifts are held against
	bases     map[basisKey]basis
	// What has been gathered once: several characteristics rest on the same readings.
	sizesRead  map[bool]gatheredSizes
	sweepsRead map[string]gatheredSweeps
}

type basisKey struct {
	setup  string
	marked bool
}

type gatheredSizes struct {
	stations []station
	faults   []string
}

type gatheredSweeps struct {
	sweeps []sweep
	faults []string
}

// readings returns the lengths read for the characteristic, in an order that does not depend on how they arrived, and what is wrong with those that cannot be used.
func (r *reader) readings(characteristic string) (use []Observation, faults []string) {
	as := spindle.ReadAs(r.in.Spec.Geometry, characteristic)
	for _, o := range r.in.Observations {
		if spindle.ReadAs(r.in.Spec.Geometry, o.Reading.Characteristic) != as || o.Reading.Value == nil {
			continue
		}
		s, known := r.in.Setups[o.Reading.Setup]
		if !known {
			faults = addNote(faults, "a reading rests on set-up "+o.Reading.Setup+", which is not here")
			continue
		}
		if _, _, err := deviation(r.in.Spec, s, o.Reading); err != nil {
			faults = addNote(faults, err.Error())
			continue
		}
		use = append(use, o)
	}
	slices.SortStableFunc(use, func(a, b Observation) int {
		return cmp.Or(strings.Compare(a.Reading.Setup, b.Reading.Setup), strings.Compare(a.Person, b.Person),
			cmp.Compare(a.Reading.Repeat, b.Reading.Repeat), strings.Compare(a.ID, b.ID))
	})
	return use, faults
}

// basis reads a set-up for the feature. A deviation marked on a ring is stated at 20 °C, so that no temperature bears on it.
func (r *reader) basis(id string, marked bool) basis {
	key := basisKey{id, marked}
	if b, done := r.bases[key]; done {
		return b
	}
	s, spec := r.in.Setups[id], r.in.Spec
	s.ID = id // readings refer to it by this
	if marked {
		spec.Nominal = 0
	}
	b := basisOf(spec, s, r.tolerance)
	if r.bases == nil {
		r.bases = map[basisKey]basis{}
	}
	r.bases[key] = b
	return b
}

// sizes returns the stations at which sizes were read, in the order of the plan: those with a true zero, or with loose those read from an indicator's own.
// The caller must not change them.
func (r *reader) sizes(loose bool) (stations []station, faults []string) {
	if g, done := r.sizesRead[loose]; done {
		return g.stations, g.faults
	}
	stations, faults = r.gatherSizes(loose)
	if r.sizesRead == nil {
		r.sizesRead = map[bool]gatheredSizes{}
	}
	r.sizesRead[loose] = gatheredSizes{stations, faults}
	return stations, faults
}

func (r *reader) gatherSizes(loose bool) (stations []station, faults []string) {
	use, faults := r.readings(spindle.Size)
	index := map[StationName]int{}
	for _, o := range use {
		raw, isLoose, err := deviation(r.in.Spec, r.in.Setups[o.Reading.Setup], o.Reading)
		if err != nil || isLoose != loose {
			continue // the error was reported by readings
		}
		name := StationName{Plane: o.Reading.Plane, Angle: o.Reading.Angle}
		i, seen := index[name]
		if !seen {
			i = len(stations)
			index[name] = i
			stations = append(stations, station{StationName: name})
		}
		st := &stations[i]
		last := len(st.groups) - 1
		if last < 0 || st.groups[last].setup.ID != o.Reading.Setup || st.groups[last].person != o.Person {
			b := r.basis(o.Reading.Setup, o.Reading.Purpose == spindle.ForMarked)
			if isLoose { // a difference of sizes knows neither master nor temperature
				b.correction, b.terms = 0, calibration(b.setup, nil)
			}
			st.groups = append(st.groups, group{basis: b, person: o.Person, loose: isLoose})
			last++
		}
		g := &st.groups[last]
		g.raw = append(g.raw, raw)
		g.ids = append(g.ids, o.ID)
		g.marked = g.marked || o.Reading.Purpose == spindle.ForMarked
	}
	repeats := poolRepeats(stations)
	for i := range stations {
		for j := range stations[i].groups {
			g := &stations[i].groups[j]
			g.repeat = repeats[g.setup.ID]
			g.estimate = g.average(g.raw, g.repeat, g.marked)
		}
		stations[i].settle()
	}
	order := byPlan(plannedStations(r.in.Spec, spindle.Size))
	slices.SortStableFunc(stations, func(a, b station) int { return order(a.StationName, b.StationName) })
	return stations, faults
}

// poolRepeats finds how well each set-up repeats. With a study of the gauge (s_p, ν) every pair of repeats adds to it; without one only stations
// with three or more repeats count, since two alone say next to nothing (t = 12.7). Readings at different stations are form, not repeats.
func poolRepeats(stations []station) map[string]repeatability {
	type pool struct {
		squares float64
		nu      int
		study   bool
	}
	pools := map[string]*pool{}
	for _, st := range stations {
		for _, g := range st.groups {
			p := pools[g.setup.ID]
			if p == nil {
				p = &pool{}
				if s := g.setup.Gauge.SPooled; s > 0 {
					p.nu, p.study = max(g.setup.Gauge.Nu, 1), true
					p.squares = float64(float64(p.nu) * float64(s.Micrometres()*s.Micrometres()))
				}
				pools[g.setup.ID] = p
			}
			n := len(g.raw)
			if n < 2 || (n < 3 && !p.study) {
				continue
			}
			m := 0.0
			for _, v := range g.raw {
				m += v
			}
			m /= float64(n)
			for _, v := range g.raw {
				p.squares += float64((v - m) * (v - m))
			}
			p.nu += n - 1
		}
	}
	found := map[string]repeatability{}
	for _, st := range stations {
		for _, g := range st.groups {
			p := pools[g.setup.ID]
			if p.nu == 0 {
				continue
			}
			r := repeatability{s: math.Sqrt(p.squares / float64(p.nu)), known: true}
			r.from = ", from repeats (ν = " + strconv.Itoa(p.nu) + ")"
			if p.study {
				r.from = ", from its study and repeats (ν = " + strconv.Itoa(p.nu) + ")"
			}
			found[g.setup.ID] = r
		}
	}
	return found
}

// settle forms the station's value: the mean over the groups that nothing stands against; over all of them where something stands against each.
func (s *station) settle() {
	s.counting = s.counting[:0]
	for _, g := range s.groups {
		if g.doubt == "" {
			s.counting = append(s.counting, g)
		}
	}
	if len(s.counting) == 0 {
		s.counting = append(s.counting, s.groups...)
		s.doubt = s.groups[0].doubt
	}
	es := make([]estimate, len(s.counting))
	for i, g := range s.counting {
		es[i] = g.estimate
		s.open = s.open || g.open
	}
	s.estimate = mean(es)
	s.clash = clash(s.counting)
}

// clash says in words that two groups, or the two readings of a pair of repeats, differ by more than their uncertainties explain.
// A longer row of repeats carries its own spread into u and needs no such test.
func clash(groups []group) string {
	for i, a := range groups {
		for _, b := range groups[i+1:] {
			if delta, limit, agree := compare(a, b); !agree {
				return a.who(b) + " " + signed1(a.value()) + " and " + b.who(a) + " " + signed1(b.value()) + " µm differ by " + exactTenth(delta.Abs()) +
					", more than their uncertainties allow together (" + exactTenth(limit) + "): take a third reading"
			}
		}
		if len(a.raw) != 2 {
			continue
		}
		first, second := a.average(a.raw[:1], a.repeat, a.marked), a.average(a.raw[1:], a.repeat, a.marked)
		if delta, limit, agree := difference(first, second, a.setup.Gauge.SPooled > 0); !agree {
			return "two readings of one set-up, " + signed1(first.value()) + " and " + signed1(second.value()) + " µm, differ by " + exactTenth(delta.Abs()) +
				", more than " + exactTenth(limit) + ": take a third reading or strike the wrong one"
		}
	}
	return ""
}

func (g group) who(other group) string {
	if g.person == other.person || g.person == "" {
		return "set-up " + g.setup.ID
	}
	return g.person
}

// compare holds two groups against each other.
func compare(a, b group) (delta, limit length.Length, agree bool) {
	return difference(a.estimate, b.estimate, a.setup.Gauge.SPooled > 0 && b.setup.Gauge.SPooled > 0)
}

// difference returns b − a and how large it may be: √(U₁²+U₂²), with U = 2u. What the two share, such as one gauge and one master, is left out of that only
// where studies say how well the gauges repeat; otherwise nothing would be left of U, and the whole of it counts for each.
func difference(a, b estimate, studied bool) (delta, limit length.Length, agree bool) {
	delta = minus(b.value(), a.value())
	if studied {
		limit = combine([]float64{1, -1}, []estimate{b, a}).expanded()
	} else {
		limit = rootSum(a.expanded(), b.expanded())
	}
	return delta, limit, delta.Abs() <= limit
}

func rootSum(a, b length.Length) length.Length {
	x, y := a.Micrometres(), b.Micrometres()
	return toLength(math.Sqrt(float64(x*x) + float64(y*y)))
}
