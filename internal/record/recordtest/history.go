package recordtest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// History is a generated job: a bad week in a small shop. Several tablets write apart and meet by halves, screens lag behind, a tablet is cloned, people act without the right role or grant, name what they have not seen,
// strike strikes, grind twice, object, concede and settle; parts are measured well often enough that some are cleared.
type History struct {
	*Bench
	Seed    uint64
	Tablets []*Tablet
	rng     *rand.Rand
	known   map[string][]record.ID // by kind
	screen  map[*Tablet][]record.ID
	calm    int // of 100 steps, how many are plain work: measure, meet, decide
	rough   int // one value in so many is a strange one
	Options
}

// Options change how a history is written without changing the draws, so that two histories of one seed can be compared.
type Options struct {
	// Clock gives what to add to the clock of the tablet's next entry, ms; nil: nothing. It is drawn from its own chance.
	Clock func() int64
	// Mute leaves the grant out of entries of the kind, so that they have no effect.
	Mute func(kind string) bool
}

// Parts and features of a generated job. J2's run-out refers to J1, B1's to the housing's own face; the rings are a set.
var (
	Parts    = []string{"shaft", "housing", "ring-a", "ring-b"}
	Features = []string{"J1", "J2", "B1", "Q1", "Q2"}
	partOf   = map[string]string{"J1": "shaft", "J2": "shaft", "B1": "housing", "Q1": "ring-a", "Q2": "ring-b"}
)

// Generate writes a history of about that many entries.
func Generate(tb testing.TB, seed uint64, entries int, o Options) *History {
	h := &History{Bench: NewBench(tb, "job-1"), Seed: seed, rng: rand.New(rand.NewPCG(seed, 0x5eed)), known: map[string][]record.ID{}, screen: map[*Tablet][]record.ID{}, Options: o}
	h.calm, h.rough = pick(h, []int{0, 40, 80}), pick(h, []int{6, 12, 40, 200})
	first := h.Tablet("t0")
	h.Tablets = []*Tablet{first}
	h.begin(first)
	for i := range 1 + h.rng.IntN(4) {
		t := h.Tablet(fmt.Sprintf("t%d", i+1))
		t.take(first)
		h.Tablets = append(h.Tablets, t)
	}
	for len(h.Entries) < entries {
		h.Step()
	}
	return h
}

// Alone goes on with one tablet that holds everything.
func (h *History) Alone() *Tablet {
	t := h.Tablet("alone")
	t.Take(h.Entries...)
	h.Tablets, h.screen[t] = []*Tablet{t}, t.Job.Heads()
	return t
}

// Union returns a new replica that holds everything, taken in the order of writing.
func (h *History) Union() *record.Job {
	j := record.NewJob(h.job)
	if _, err := j.AddAll(h.Entries); err != nil {
		h.tb.Fatal(err)
	}
	return j
}

func (h *History) begin(t *Tablet) {
	for _, part := range Parts {
		h.component(t, part)
	}
	for _, f := range Features {
		h.write(t, P3, &record.Specification{Specification: h.spec(f, partOf[f], spindle.FromDrawing)})
	}
}

func (h *History) one(in int) bool { return h.rng.IntN(in) == 0 }

func pick[T any](h *History, list []T) T { return list[h.rng.IntN(len(list))] }

func (h *History) component(t *Tablet, part string) {
	typ, set := spindle.Shaft, ""
	switch part {
	case "housing":
		typ = spindle.Housing
	case "ring-a", "ring-b":
		typ, set = spindle.Bearing, "set-1"
	}
	h.write(t, P1, &record.Component{TemplateID: part, Component: spindle.Component{Type: typ, Name: part, Origin: spindle.New, SetID: set}})
}

// spec is small, so that a handful of readings fill it.
func (h *History) spec(f, part string, source spindle.Source) spindle.Specification {
	s := spindle.Specification{Feature: f, Component: part, Name: "seat", Geometry: spindle.Outside, Nominal: Mm(70), Source: source,
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Lower: Ptr(Um(2)), Upper: Ptr(Um(10)), Required: true}},
		Plan:            spindle.Plan{Planes: []spindle.Plane{{Name: "1"}}, Angles: []int64{0, 90_000}}, Rework: spindle.ReworkAllowance{MaxOff: Um(20), BuildUp: true}}
	switch f {
	case "B1":
		s.Geometry, s.Plan.Angles = spindle.Inside, []int64{0}
	case "J2":
		s.Plan.SweepAngles = []int64{0, 90_000, 180_000, 270_000}
		s.Characteristics = append(s.Characteristics, spindle.Characteristic{Name: spindle.CircularRunOut, Max: Ptr(Um(4)), Datum: []string{"J1"}, Required: h.one(2)})
	case "Q1", "Q2":
		s = spindle.Specification{Feature: f, Component: part, Geometry: spindle.Attribute, Source: source, Characteristics: []spindle.Characteristic{{Name: spindle.AttributeChar, Required: true, Ask: "Sound?"}}}
	}
	return s
}

// write writes on what the tablet's screen shows, which may be older than what it holds. Now and then the author's role or grant is not the right one.
func (h *History) write(t *Tablet, by Person, body record.Body) record.ID {
	if len(h.Entries) > 20 {
		switch {
		case h.one(25 + h.calm):
			by.NoGrant = true
		case h.one(25 + h.calm):
			by.Role = pick(h, spindle.Roles())
		}
	}
	if h.Mute != nil && h.Mute(body.Kind()) {
		by.NoGrant = true
	}
	if h.one(4) || h.screen[t] == nil {
		h.screen[t] = t.Job.Heads()
	}
	wall := t.WallMS
	if h.Clock != nil {
		t.WallMS += h.Clock()
	}
	id := t.WriteOn(h.screen[t], by, body)
	t.WallMS = wall + 60_000
	// What was written is on the screen at once.
	e := h.Entries[len(h.Entries)-1]
	h.screen[t] = append(slices.DeleteFunc(slices.Clone(h.screen[t]), func(p record.ID) bool { return slices.Contains(e.Parents, p) }), id)
	h.known[body.Kind()] = append(h.known[body.Kind()], id)
	return id
}

// seen draws an entry of one of the kinds that is on the tablet, seldom one that is not; false if there is none.
func (h *History) seen(t *Tablet, kinds ...string) (record.ID, bool) {
	for range 8 {
		list := h.known[pick(h, kinds)]
		if len(list) == 0 {
			continue
		}
		// Mostly the younger ones.
		i := len(list) - 1 - min(h.rng.IntN(len(list)), h.rng.IntN(len(list)))
		if t.Job.Has(list[i]) || h.one(30) {
			return list[i], true
		}
	}
	return record.ID{}, false
}

// Step lets somebody do something on one of the tablets: mostly one entry, sometimes several or none.
func (h *History) Step() {
	t := pick(h, h.Tablets)
	if h.rng.IntN(100) < h.calm {
		h.plainWork(t)
		return
	}
	switch n := h.rng.IntN(100); {
	case n < 14:
		h.meet(t)
	case n < 32:
		h.measure(t, pick(h, Features))
	case n < 36:
		h.straggler(t)
	case n < 40:
		h.check(t)
	case n < 47:
		h.strike(t)
	case n < 53:
		h.rework(t)
	case n < 59:
		h.settle(t)
	case n < 76:
		h.decide(t)
	case n < 79:
		h.correct(t)
	case n < 82:
		h.concede(t)
	case n < 85:
		h.object(t)
	case n < 87:
		h.damage(t)
	case n < 90:
		h.specify(t)
	case n < 92:
		h.newPart(t)
	case n < 95:
		h.assemble(t)
	case n < 97:
		h.write(t, Office, &record.Fact{Subject: "job", Field: pick(h, []string{"stage", "customer"}), Value: fmt.Sprint(h.rng.IntN(3))})
	case n < 98:
		h.write(t, P1, &record.Gather{})
	case n < 99 && len(h.Tablets) < 6:
		c := t.Clone()
		h.screen[c] = slices.Clone(h.screen[t])
		h.Tablets = append(h.Tablets, c)
	default:
		h.screen[t] = t.Job.Heads()
	}
}

// plainWork is what most hours of the week look like.
func (h *History) plainWork(t *Tablet) {
	switch h.rng.IntN(4) {
	case 0:
		h.measure(t, pick(h, Features))
	case 1:
		Meet(t, pick(h, h.Tablets))
		h.screen[t] = t.Job.Heads()
	default:
		h.screen[t] = t.Job.Heads()
		h.write(t, h.inspector(), Decision(pick(h, Parts), record.OutcomeReuse))
	}
}

// meet brings entries from one tablet to another: all of them, or a part with holes, which stays in quarantine until the rest comes.
func (h *History) meet(t *Tablet) {
	from := pick(h, h.Tablets)
	// In the order of writing, not of ids: the draws must not depend on what the entries hash to.
	var bring []*record.Entry
	for _, e := range h.Entries {
		if from.Job.Has(e.ID) {
			bring = append(bring, e)
		}
	}
	holes := h.one(5)
	h.rng.Shuffle(len(bring), func(i, k int) { bring[i], bring[k] = bring[k], bring[i] })
	for _, e := range bring {
		if !holes || !h.one(6) {
			t.Take(e)
		}
	}
	if h.one(2) {
		h.screen[t] = t.Job.Heads()
	}
}
