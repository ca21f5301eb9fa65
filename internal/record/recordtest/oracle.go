package recordtest

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Answer is what the slow fold says.
type Answer struct {
	Effect    map[record.ID]bool
	Struck    map[record.ID]bool
	Status    map[record.ID]record.ReadingStatus // of readings of specified features
	Specs     map[string][]record.ID             // the specifications that stand, by feature, in rising order
	Component map[string]string                  // the id under which each part's name goes
	Stands    map[string][]record.ID             // the clearing decisions that stand, by component, in rising order
	Cleared   map[string]bool
}

// Slow folds and judges a set of entries the slow way, from their bytes: everything is found by looking through all entries again each time, nothing is kept but the ancestors. It shares no code with the fast fold but
// the reading of entries and the verdict on readings.
func Slow(list []*record.Entry) *Answer {
	o := newOracle(list, func(*record.Entry) bool { return false })
	a := &Answer{Effect: map[record.ID]bool{}, Struck: map[record.ID]bool{}, Status: map[record.ID]record.ReadingStatus{}, Specs: map[string][]record.ID{}, Component: map[string]string{},
		Stands: map[string][]record.ID{}, Cleared: map[string]bool{}}
	for _, e := range o.es {
		a.Effect[e.ID], a.Struck[e.ID] = o.effect(e), o.struck(e)
		switch b := e.Body.(type) {
		case *record.Reading:
			if len(o.specs(b.Feature)) > 0 {
				a.Status[e.ID] = o.status(e)
			}
		case *record.Specification:
			for _, s := range o.specs(b.Feature) {
				if !slices.Contains(a.Specs[b.Feature], s.ID) {
					a.Specs[b.Feature] = append(a.Specs[b.Feature], s.ID)
				}
			}
			slices.SortFunc(a.Specs[b.Feature], record.ID.Compare)
		}
	}
	for _, name := range o.names() {
		a.Component[name] = o.leader(name)
	}
	own := map[string]bool{}
	for _, c := range o.components() {
		var stands []*record.Entry
		own[c], stands = o.clear(c)
		for _, d := range stands {
			a.Stands[c] = append(a.Stands[c], d.ID)
		}
		slices.SortFunc(a.Stands[c], record.ID.Compare)
	}
	for _, c := range o.components() {
		a.Cleared[c] = own[c] && o.wholeJobFree()
		for _, other := range o.components() {
			if other != c && !(own[other] && o.wholeJobFree()) && slices.ContainsFunc(o.sets(c), func(s string) bool { return slices.Contains(o.sets(other), s) }) {
				a.Cleared[c] = false
			}
		}
	}
	return a
}

type oracle struct {
	es      []*record.Entry // the closed part of the set, by depth, then id
	waiting int
	past    map[record.ID]map[record.ID]bool
	ignore  func(*record.Entry) bool // strikes that are passed over
	all     []*record.Entry
}

func newOracle(list []*record.Entry, ignore func(*record.Entry) bool) *oracle {
	o := &oracle{past: map[record.ID]map[record.ID]bool{}, ignore: ignore, all: list}
	depth := map[record.ID]int{}
	for grew := true; grew; {
		grew = false
		for _, old := range list {
			if o.past[old.ID] != nil || slices.ContainsFunc(old.Parents, func(p record.ID) bool { return o.past[p] == nil }) {
				continue
			}
			e, err := record.Decode(old.Bytes)
			if err != nil {
				panic("recordtest: an entry that was decoded once cannot be decoded again: " + err.Error())
			}
			grew = true
			o.past[e.ID] = map[record.ID]bool{e.ID: true}
			for _, p := range e.Parents {
				depth[e.ID] = max(depth[e.ID], depth[p]+1)
				for id := range o.past[p] {
					o.past[e.ID][id] = true
				}
			}
			o.es = append(o.es, e)
		}
	}
	distinct := map[record.ID]bool{}
	for _, e := range list {
		distinct[e.ID] = true
	}
	o.waiting = len(distinct) - len(o.es)
	slices.SortFunc(o.es, func(a, b *record.Entry) int { return cmp.Or(depth[a.ID]-depth[b.ID], a.ID.Compare(b.ID)) })
	return o
}

func (o *oracle) get(id record.ID) *record.Entry {
	for _, e := range o.es {
		if e.ID == id {
			return e
		}
	}
	return nil
}

// named is the entry of an id that stands in a body as text; nil for "" and for what is not here.
func (o *oracle) named(hex string) *record.Entry {
	id, err := record.ParseID(hex)
	if err != nil {
		return nil
	}
	return o.get(id)
}

func (o *oracle) saw(e, x *record.Entry) bool { return o.past[e.ID][x.ID] }

// apart reports whether neither saw the other.
func (o *oracle) apart(a, b *record.Entry) bool { return !o.saw(a, b) && !o.saw(b, a) }

// latest keeps those that no other of the list has seen.
func (o *oracle) latest(list []*record.Entry) []*record.Entry {
	var out []*record.Entry
	for _, a := range list {
		if !slices.ContainsFunc(list, func(b *record.Entry) bool { return b != a && o.saw(b, a) }) {
			out = append(out, a)
		}
	}
	return out
}

// writers says who may write what: the letters are t(echnician) i(nspector) a(ssembler) q(uality) o(ffice) d (admin) s(erver).
var writers = map[string]string{
	"fact": "tiaqods", "component": "tiaqod", "specification": "tiaqod", "setup": "tiaq", "reading": "tiaq", "strike": "tiaqod", "finding": "tiaq", "rework": "tiaqo", "decision": "i",
	"concession": "iq", "settle": "tiaq", "objection": "iqds", "step": "tiaq", "gather": "tiaqods", "grant": "ds",
}

var letters = map[spindle.Role]byte{spindle.Technician: 't', spindle.Inspector: 'i', spindle.Assembler: 'a', spindle.Quality: 'q', spindle.Office: 'o', spindle.Admin: 'd', spindle.Machine: 's'}

func checker(e *record.Entry) bool { return e.As == spindle.Inspector || e.As == spindle.Quality }

// may says whether author and past let the entry have effect.
func (o *oracle) may(e *record.Entry) bool {
	letter, known := letters[e.As]
	if e.Body == nil || !known || !bytes.ContainsRune([]byte(writers[e.Kind]), rune(letter)) {
		return false
	}
	if e.As == spindle.Machine && e.By != "server" || e.As != spindle.Machine && e.Grant == (record.ID{}) {
		return false
	}
	known2 := func(id record.ID, kinds ...string) bool { // seen, and of one of the kinds
		t := o.get(id)
		return t != nil && o.saw(e, t) && (len(kinds) == 0 || slices.Contains(kinds, t.Kind))
	}
	switch b := e.Body.(type) {
	case *record.Specification:
		settled := b.Source != spindle.FromProposal || b.AcceptedBy != ""
		if settled && e.As != spindle.Inspector && e.As != spindle.Admin && e.As != spindle.Office {
			return false
		}
		return b.AcceptedBy == "" || b.AcceptedBy == e.By && e.As == spindle.Inspector
	case *record.Setup:
		t := o.named(b.Corrects)
		return b.Corrects == "" || t != nil && known2(t.ID, "setup") && (t.By == e.By || checker(e))
	case *record.Reading:
		t := o.named(b.Setup)
		return b.Setup == "" || t != nil && known2(t.ID, "setup")
	case *record.Strike:
		return known2(b.Target, "reading", "setup", "finding", "rework", "strike", "step", "settle") && (o.get(b.Target).By == e.By || checker(e))
	case *record.Settle:
		for _, id := range b.About {
			if !known2(id) {
				return false
			}
		}
		return b.How == record.HowPlaceBefore || b.How == record.HowPlaceAfter || checker(e)
	case *record.Concession:
		return b.Withdraws == (record.ID{}) || known2(b.Withdraws, "concession")
	}
	return true
}

// struck: a strike that may stand, and that is not itself struck, names it.
func (o *oracle) struck(e *record.Entry) bool {
	for _, k := range o.es {
		if b, ok := k.Body.(*record.Strike); ok && b.Target == e.ID && o.may(k) && !o.ignore(k) && !o.struck(k) {
			return true
		}
	}
	return false
}

func (o *oracle) stands(e *record.Entry) bool { return o.may(e) && !o.struck(e) }

// effect is may, and that what it speaks of is there.
func (o *oracle) effect(e *record.Entry) bool {
	if !o.may(e) {
		return false
	}
	switch b := e.Body.(type) {
	case *record.Setup:
		return o.root(e) != nil
	case *record.Reading:
		if b.Setup != "" && !o.struck(e) && o.rootOf(b) == nil {
			return false
		}
		return b.Feature == spindle.MasterFeature || len(o.specs(b.Feature)) > 0
	}
	if o.struck(e) {
		return true // withdrawn by its author; nobody asks whether its part is there
	}
	switch b := e.Body.(type) {
	case *record.Specification:
		return o.leader(b.Component) != ""
	case *record.Rework:
		return o.leader(b.Component) != ""
	case *record.Step:
		return o.leader(b.Component) != ""
	case *record.Decision:
		return b.Subject == record.SubjectJob || len(o.subjects(b.Subject)) > 0
	case *record.Concession:
		return o.owner(b.Feature) != "" && o.owner(b.Feature) == o.leader(b.Component)
	case *record.Finding:
		return b.Severity != record.SeverityDamage || o.owner(b.Subject) != "" || o.leader(b.Subject) != ""
	}
	return true
}

// counts: with effect and not struck.
func (o *oracle) counts(e *record.Entry) bool { return o.effect(e) && !o.struck(e) }

func partName(e *record.Entry) string {
	if b, ok := e.Body.(*record.Component); ok && b.TemplateID != "" {
		return b.TemplateID
	}
	return e.ID.String()
}

// names lists what parts are called.
func (o *oracle) names() []string {
	var out []string
	for _, e := range o.es {
		if _, ok := e.Body.(*record.Component); ok && o.stands(e) && !slices.Contains(out, partName(e)) {
			out = append(out, partName(e))
		}
	}
	slices.Sort(out)
	return out
}

// leader is the smallest name that a part goes by, "" for a part that is not there.
func (o *oracle) leader(name string) string {
	names := o.names()
	if !slices.Contains(names, name) {
		return ""
	}
	same := map[string]bool{name: true}
	for grew := true; grew; {
		grew = false
		for _, e := range o.es {
			b, ok := e.Body.(*record.Settle)
			if !ok || b.How != record.HowSameAs || !o.stands(e) || !slices.Contains(names, b.Names[0]) {
				continue
			}
			for _, n := range b.Names[1:] {
				if slices.Contains(names, n) && same[n] != same[b.Names[0]] {
					same[n], same[b.Names[0]], grew = true, true, true
				}
			}
		}
	}
	for _, n := range names {
		if same[n] {
			return n
		}
	}
	return ""
}

func (o *oracle) components() []string {
	var out []string
	for _, n := range o.names() {
		if o.leader(n) == n {
			out = append(out, n)
		}
	}
	return out
}

// sets lists the sets that any standing card of the part names.
func (o *oracle) sets(c string) []string {
	var out []string
	for _, name := range o.names() {
		if o.leader(name) != c {
			continue
		}
		var cards []*record.Entry
		for _, e := range o.es {
			if _, ok := e.Body.(*record.Component); ok && partName(e) == name && o.stands(e) {
				cards = append(cards, e)
			}
		}
		for _, e := range o.latest(cards) {
			if s := e.Body.(*record.Component).SetID; s != "" {
				out = append(out, s)
			}
		}
	}
	return out
}

// subjects are the parts that a decision's subject means.
func (o *oracle) subjects(subject string) []string {
	if c := o.leader(subject); c != "" {
		return []string{c}
	}
	var out []string
	for _, c := range o.components() {
		if slices.Contains(o.sets(c), subject) {
			out = append(out, c)
		}
	}
	return out
}

// specs are the specifications of a feature that stand.
func (o *oracle) specs(feature string) []*record.Entry {
	return o.latest(o.everSpecified(feature))
}

func (o *oracle) everSpecified(feature string) []*record.Entry {
	var out []*record.Entry
	for _, e := range o.es {
		if b, ok := e.Body.(*record.Specification); ok && b.Feature == feature && o.stands(e) && o.leader(b.Component) != "" {
			out = append(out, e)
		}
	}
	return out
}

func (o *oracle) spec(feature string) spindle.Specification {
	return o.specs(feature)[0].Body.(*record.Specification).Specification
}

// owner is the part that a feature is on, "" where nobody specified it.
func (o *oracle) owner(feature string) string {
	if len(o.specs(feature)) == 0 {
		return ""
	}
	return o.leader(o.spec(feature).Component)
}

func (o *oracle) differ(list []*record.Entry) bool {
	for _, e := range list[1:] {
		if !bytes.Equal(body(e), body(list[0])) {
			return true
		}
	}
	return false
}

func body(e *record.Entry) []byte {
	b, err := json.Marshal(e.Body)
	if err != nil {
		panic("recordtest: " + err.Error())
	}
	return b
}
