package verdict

import (
	"cmp"
	"math"
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

// inOrder sorts, leaving equal ones in their order. The lists are short and nearly sorted as they come, for which moving each into its place is quickest.
func inOrder[T any](list []T, order func(a, b *T) int) {
	for i := 1; i < len(list); i++ {
		if order(&list[i], &list[i-1]) >= 0 {
			continue
		}
		moved := list[i]
		low, high := 0, i-1 // its place is after the last that is not greater
		for low < high {
			if half := (low + high) / 2; order(&moved, &list[half]) < 0 {
				high = half
			} else {
				low = half + 1
			}
		}
		copy(list[low+1:i+1], list[low:i])
		list[low] = moved
	}
}

// plannedStations lists the stations of the plan for a characteristic, planes first. A plan without planes has one, without a name; without angles one, at 0°.
func plannedStations(spec spindle.Specification, characteristic string) []StationName {
	angles, planes := spec.AnglesFor(characteristic), plannedPlanes(spec)
	if len(angles) == 0 {
		angles = []int64{0}
	}
	names := make([]StationName, 0, len(planes)*len(angles))
	for _, p := range planes {
		for _, a := range angles {
			names = append(names, StationName{Plane: p.Name, Angle: a})
		}
	}
	return names
}

// plannedStations is the same, found once. The caller must not change it.
func (r *reader) plannedStations(characteristic string) []StationName {
	i := 0
	if spindle.IsSweep(characteristic) {
		i = 1
	}
	if r.planned[i] == nil {
		r.planned[i] = plannedStations(r.in.Spec, characteristic)
	}
	return r.planned[i]
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
	setups    []*SetupState  // those that were looked up, with their ids
	bases     []keptBasis
	// What has been gathered once: several characteristics rest on the same readings.
	planned    [2][]StationName  // of the plan, for sizes and for sweeps
	sizesRead  [2]*gatheredSizes // with a true zero, and from an indicator's own
	sweepsRead map[string]gatheredSweeps
}

type keptBasis struct {
	setup  *SetupState
	marked bool
	basis
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
func (r *reader) readings(characteristic string) (use []usable, faults []string) {
	as := spindle.ReadAs(r.in.Spec.Geometry, characteristic)
	use = make([]usable, 0, len(r.in.Observations))
	for i := range r.in.Observations {
		o := &r.in.Observations[i]
		if spindle.ReadAs(r.in.Spec.Geometry, o.Reading.Characteristic) != as || o.Reading.Value == nil {
			continue
		}
		s := r.setup(o.Reading.Setup)
		if s == nil {
			faults = addNote(faults, "a reading rests on set-up "+o.Reading.Setup+", which is not here")
			continue
		}
		um, loose, err := deviation(&r.in.Spec, s, &o.Reading)
		if err != nil {
			faults = addNote(faults, err.Error())
			continue
		}
		use = append(use, usable{o, s, um, loose})
	}
	inOrder(use, func(a, b *usable) int {
		if a.setup != b.setup {
			return strings.Compare(a.setup.ID, b.setup.ID)
		}
		if c := strings.Compare(a.Person, b.Person); c != 0 {
			return c
		}
		if c := cmp.Compare(a.Reading.Repeat, b.Reading.Repeat); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return use, faults
}

// usable is a reading of a length with its set-up, its value before any correction in µm, and whether that is from an indicator's own zero.
type usable struct {
	*Observation
	setup *SetupState
	um    float64
	loose bool
}

// setup looks a set-up up; nil where it is not here. Readings refer to it by the id under which it was handed in.
func (r *reader) setup(id string) *SetupState {
	for _, s := range r.setups {
		if s.ID == id {
			return s
		}
	}
	s, known := r.in.Setups[id]
	if !known {
		return nil
	}
	s.ID = id
	r.setups = append(r.setups, &s)
	return &s
}

// basis reads a set-up for the feature. A deviation marked on a ring is stated at 20 °C, so that no temperature bears on it.
func (r *reader) basis(s *SetupState, marked bool) basis {
	for i := range r.bases {
		if b := &r.bases[i]; b.setup == s && b.marked == marked {
			return b.basis
		}
	}
	spec := r.in.Spec
	if marked {
		spec.Nominal = 0
	}
	b := basisOf(spec, s, r.tolerance)
	r.bases = append(r.bases, keptBasis{s, marked, b})
	return b
}

// sizes returns the stations at which sizes were read, in the order of the plan: those with a true zero, or with loose those read from an indicator's own.
// The caller must not change them.
func (r *reader) sizes(loose bool) (stations []station, faults []string) {
	if r.sizesRead[0] == nil {
		for i := range r.sizesRead {
			g := &gatheredSizes{}
			g.stations, g.faults = r.gatherSizes(i == 1)
			r.sizesRead[i] = g
		}
	}
	g := r.sizesRead[0]
	if loose {
		g = r.sizesRead[1]
	}
	return g.stations, g.faults
}

func (r *reader) gatherSizes(loose bool) (stations []station, faults []string) {
	use, faults := r.readings(spindle.Size)
	for _, o := range use {
		if o.loose != loose {
			continue
		}
		name := StationName{Plane: o.Reading.Plane, Angle: o.Reading.Angle}
		i := 0
		for i < len(stations) && stations[i].StationName != name {
			i++
		}
		if i == len(stations) {
			if stations == nil {
				stations = make([]station, 0, len(use))
			}
			stations = append(stations, station{StationName: name})
		}
		st := &stations[i]
		last := len(st.groups) - 1
		if last < 0 || st.groups[last].setup != o.setup || st.groups[last].person != o.Person {
			b := r.basis(o.setup, o.Reading.Purpose == spindle.ForMarked)
			if loose {
				b.uncorrected()
			}
			st.groups = append(st.groups, group{basis: b, person: o.Person, loose: loose})
			last++
		}
		g := &st.groups[last]
		g.raw = append(g.raw, o.um)
		g.ids = append(g.ids, o.ID)
		g.marked = g.marked || o.Reading.Purpose == spindle.ForMarked
	}
	pools := poolRepeats(stations)
	for i := range stations {
		for j := range stations[i].groups {
			g := &stations[i].groups[j]
			g.repeat = pools.of(g.setup)
			g.estimate = g.average(g.raw, g.repeat, g.marked)
		}
		stations[i].settle()
	}
	order := byPlan(r.plannedStations(spindle.Size))
	inOrder(stations, func(a, b *station) int { return order(a.StationName, b.StationName) })
	return stations, faults
}

// settle forms the station's value: the mean over the groups that nothing stands against; over all of them where something stands against each.
func (s *station) settle() {
	sound := 0
	for i := range s.groups {
		if s.groups[i].doubt == "" {
			sound++
		}
	}
	switch sound {
	case len(s.groups):
		s.counting = s.groups
	case 0:
		s.counting, s.doubt = s.groups, s.groups[0].doubt
	default:
		s.counting = make([]group, 0, sound)
		for _, g := range s.groups {
			if g.doubt == "" {
				s.counting = append(s.counting, g)
			}
		}
	}
	es := make([]estimate, len(s.counting))
	for i := range s.counting {
		es[i] = s.counting[i].estimate
		s.open = s.open || s.counting[i].open
	}
	s.estimate = mean(es)
	s.clash = clash(s.counting)
}

// clash says in words that two groups, or the two readings of a pair of repeats, differ by more than their uncertainties explain.
// A longer row of repeats carries its own spread into u and needs no such test.
func clash(groups []group) string {
	for i := range groups {
		a := &groups[i]
		for j := range groups[i+1:] {
			b := &groups[i+1+j]
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

func (g *group) who(other *group) string {
	if g.person == other.person || g.person == "" {
		return "set-up " + g.setup.ID
	}
	return g.person
}

// compare holds two groups against each other.
func compare(a, b *group) (delta, limit length.Length, agree bool) {
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
