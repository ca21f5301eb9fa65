package verdict

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"runtrue/internal/form"
	"runtrue/internal/spindle"
)

// sweep is what one set-up read round the part at one plane, under one indicator zero. It is compared and averaged as a whole, never station by station.
type sweep struct {
	setup  *SetupState
	plane  string
	angles []int64     // ascending, thousandths of a degree
	values []float64   // mean reading at each angle, µm, from an arbitrary zero
	raw    [][]float64 // the repeats
	ids    [][]string
	people []string
	drift  *float64 // closing reading minus the first at that angle, µm
	often  int      // readings at the station that has fewest
	repeat repeatability
	doubt  string
	notes  []string
	// The causes of its uncertainty, and what package form says of it: found once, for all characteristics that rest on it.
	standIn, resolution *cause
	said                *said
}

// sweeps returns the sweeps for a characteristic, in the order of the planes of the plan, then by set-up. The caller must not change them.
func (r *reader) sweeps(characteristic string) (list []sweep, faults []string) {
	as := spindle.ReadAs(r.in.Spec.Geometry, characteristic)
	if g, done := r.sweepsRead[as]; done {
		return g.sweeps, g.faults
	}
	list, faults = r.gatherSweeps(as)
	if r.sweepsRead == nil {
		r.sweepsRead = map[string]gatheredSweeps{}
	}
	r.sweepsRead[as] = gatheredSweeps{list, faults}
	return list, faults
}

func (r *reader) gatherSweeps(characteristic string) (list []sweep, faults []string) {
	use, faults := r.readings(characteristic)
	type closing struct {
		angle int64
		value float64
		n     int
	}
	var ends []closing
	var means []spindle.Meaning
	for _, o := range use {
		i := 0
		for i < len(list) && (list[i].setup != o.setup || list[i].plane != o.Reading.Plane) {
			i++
		}
		if i == len(list) {
			s := newSweep(o.setup, o.Reading.Plane, repeatability{})
			s.doubt, s.notes = doubt(o.setup, zero{}, nil), sweepNotes(o.setup)
			list = append(list, s)
			ends = append(ends, closing{})
			means = append(means, o.Reading.Means)
		}
		s := &list[i]
		if means[i] != o.Reading.Means && s.doubt == "" {
			s.doubt = "the readings of the sweep do not all mean the same: correct or strike those that differ"
		}
		s.people = addNote(s.people, o.Person)
		if o.Reading.Closing {
			c := &ends[i]
			c.angle, c.value, c.n = o.Reading.Angle, c.value+o.um, c.n+1
			continue
		}
		j, found := s.find(o.Reading.Angle)
		if !found {
			s.open(j, o.Reading.Angle)
		}
		s.raw[j] = append(s.raw[j], o.um)
		s.ids[j] = append(s.ids[j], o.ID)
	}
	for i := range list {
		s := &list[i]
		for _, raw := range s.raw {
			m := 0.0
			for _, v := range raw {
				m += v
			}
			s.values = append(s.values, m/float64(len(raw)))
			if s.often == 0 || len(raw) < s.often {
				s.often = len(raw)
			}
		}
		var pools repeatPools
		pools.add(s.setup, nil)
		for _, raw := range s.raw {
			pools.add(s.setup, raw)
		}
		pools[0].close()
		s.repeat = pools[0].repeatability
		if j, found := s.find(ends[i].angle); ends[i].n > 0 && found {
			s.drift = pointer(ends[i].value/float64(ends[i].n) - s.values[j])
		} else {
			s.notes = append(s.notes, "no closing reading at the first station: how far the sweep drifted is not known")
		}
	}
	planes := plannedPlanes(r.in.Spec)
	at := func(name string) int {
		if i := slices.IndexFunc(planes, func(p spindle.Plane) bool { return p.Name == name }); i >= 0 {
			return i
		}
		return len(planes)
	}
	inOrder(list, func(a, b *sweep) int {
		return cmp.Or(cmp.Compare(at(a.plane), at(b.plane)), strings.Compare(a.plane, b.plane), strings.Compare(a.setup.ID, b.setup.ID))
	})
	return list, faults
}

// find returns the place of an angle among those of the sweep, or where it would stand.
func (s *sweep) find(angle int64) (at int, found bool) {
	for at < len(s.angles) && s.angles[at] < angle {
		at++
	}
	return at, at < len(s.angles) && s.angles[at] == angle
}

// open makes room for a station.
func (s *sweep) open(at int, angle int64) {
	s.angles, s.raw, s.ids = append(s.angles, 0), append(s.raw, nil), append(s.ids, nil)
	copy(s.angles[at+1:], s.angles[at:])
	copy(s.raw[at+1:], s.raw[at:])
	copy(s.ids[at+1:], s.ids[at:])
	s.angles[at], s.raw[at], s.ids[at] = angle, nil, nil
}

func sweepNotes(s *SetupState) (notes []string) {
	if len(s.Gauge.BlindTo) > 0 {
		notes = append(notes, blindWords(s.Gauge))
	}
	return append(notes, supportNotes(s)...)
}

// newSweep prepares the causes of its uncertainty.
func newSweep(setup *SetupState, plane string, repeat repeatability) sweep {
	s := sweep{setup: setup, plane: plane, repeat: repeat, standIn: calibration(setup).standIn(), said: &said{}}
	if g := setup.Gauge; g.Resolution > 0 {
		s.resolution = &cause{source: "resolution of " + g.ID, given: exact(g.Resolution), distribution: "rectangular", u: g.Resolution.Micrometres() / math.Sqrt(12), unit: "µm",
			remedy: "a gauge that resolves finer", kind: ofReading}
	}
	return s
}

// estimate gives a figure of the sweep its uncertainty. The factor is the root of the sum of the squared weights of the single readings in the figure: √2 for a
// difference of two; repeats at the stations divide it by the root of their number. The indicator's calibration cancels in every such figure; without a study of its repeatability it stands in, once.
func (s sweep) estimate(um, factor float64) estimate {
	e := estimate{um: um, terms: make([]term, 0, 4)}
	if s.often > 1 { // every station's value is a mean
		factor /= math.Sqrt(float64(s.often))
	}
	if !s.repeat.known {
		e.terms = append(e.terms, term{cause: s.standIn, um: s.standIn.u})
	}
	if s.repeat.cause != nil {
		e.terms = append(e.terms, term{cause: s.repeat.cause, um: float64(factor * s.repeat.s)})
	}
	if s.resolution != nil {
		e.terms = append(e.terms, term{cause: s.resolution, um: float64(factor * s.resolution.u)})
	}
	if s.drift != nil && *s.drift != 0 {
		u := math.Abs(*s.drift) / math.Sqrt(6)
		e.terms = append(e.terms, term{um: u, cause: &cause{within: s.setup.ID, source: "drift of the sweep", given: signedExact(toLength(*s.drift)), distribution: "triangular over ±|d|",
			u: u, unit: "µm", remedy: "sweep again, with the indicator clamped and warm", kind: ofDrift}})
	}
	return e
}

// said keeps what package form says of a sweep.
type said struct {
	done  bool
	e     form.Eccentric
	fault error
}

// eccentricity evaluates the sweep, once.
func (s sweep) eccentricity() (form.Eccentric, error) {
	if !s.said.done {
		s.said.e, s.said.fault = form.Eccentricity(s.stations())
		s.said.done = true
	}
	return s.said.e, s.said.fault
}

func (s sweep) runOut() estimate {
	return s.estimate(extent(s.values), math.Sqrt2)
}

// stations returns the sweep as package form wants it.
func (s sweep) stations() []form.Station { return stationsOf(s.degrees(), s.values) }

func (s sweep) degrees() []float64 {
	deg := make([]float64, len(s.angles))
	for i, a := range s.angles {
		deg[i] = float64(a) / 1000
	}
	return deg
}

// covers counts how many of the planned angles the sweep has.
func (s sweep) covers(planned []int64) int {
	n := 0
	for _, a := range planned {
		if slices.Contains(s.angles, a) {
			n++
		}
	}
	return n
}

// preferred picks, of the sweeps at each plane, those that decide: sound ones before doubtful, and of them those that cover most of the plan.
// The planes are in order; complete says whether together they are what the plan wants.
func (q *inquiry) preferred(all []sweep) (planes [][]sweep, complete bool) {
	planned := q.in.Spec.AnglesFor(q.c.Name)
	if len(planned) == 0 {
		planned = []int64{0}
	}
	reach := func(s sweep) int { return s.covers(planned)<<10 + len(s.angles) }
	var read []StationName
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j].plane == all[i].plane {
			j++
		}
		here := slices.Clone(all[i:j])
		if slices.ContainsFunc(here, func(s sweep) bool { return s.doubt == "" }) {
			here = slices.DeleteFunc(here, func(s sweep) bool { return s.doubt != "" })
		}
		most := here[0]
		for _, s := range here[1:] {
			if reach(s) > reach(most) {
				most = s
			}
		}
		here = slices.DeleteFunc(here, func(s sweep) bool {
			return s.covers(planned) < most.covers(planned) || len(s.angles) < min(leastStations, len(most.angles))
		})
		planes = append(planes, here)
		for _, a := range most.angles {
			read = append(read, StationName{Plane: most.plane, Angle: a})
		}
		i = j
	}
	return planes, q.count(read)
}

// reconciled makes one finding of the sweeps at one place, given the figure that each yields: their mean, or a clash where two differ beyond their uncertainties.
func reconciled(sweeps []sweep, figures []estimate, where string) finding {
	f := finding{estimate: mean(figures), where: where}
	for i, s := range sweeps {
		if f.doubt == "" {
			f.doubt = s.doubt
		}
		for _, n := range s.notes {
			f.notes = addNote(f.notes, n)
		}
		for j := range sweeps[:i] {
			if delta, limit, agree := difference(figures[j], figures[i], false); !agree && f.clash == "" {
				f.clash = "the sweeps of set-ups " + sweeps[j].setup.ID + " and " + s.setup.ID + " give " + exactTenth(figures[j].value()) + " and " + exactTenth(figures[i].value()) +
					", which differ by " + exactTenth(delta.Abs()) + ", more than their uncertainties allow together (" + exactTenth(limit) + "): sweep again"
			}
		}
	}
	return f
}

// show appends the readings of the sweep for the picture; the outcome and p_c are those of the plane that they belong to.
func (s sweep) show(out []Station, f *finding) []Station {
	u := s.estimate(0, 1).standard()
	for i, a := range s.angles {
		out = append(out, Station{Plane: s.plane, Angle: a, Value: toLength(s.values[i]), U: u, PC: f.pc, N: len(s.raw[i]),
			People: s.people, IDs: s.ids[i], Clash: f.clash != "", Outcome: f.outcome})
	}
	return out
}

// spotWords names a plane in a sentence, or nothing where the plan has one without a name.
func spotWords(plane string) string {
	if plane == "" {
		return ""
	}
	return planeWords(plane)
}
