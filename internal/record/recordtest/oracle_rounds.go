package recordtest

import (
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// root is the first set-up of a chain of corrections, nil where a link of it has no effect.
func (o *oracle) root(e *record.Entry) *record.Entry {
	for e != nil {
		b, ok := e.Body.(*record.Setup)
		if !ok || !o.may(e) {
			return nil
		}
		if b.Corrects == "" {
			return e
		}
		e = o.named(b.Corrects)
	}
	return nil
}

// corrections of a first set-up that stand.
func (o *oracle) corrections(first *record.Entry) []*record.Entry {
	var out []*record.Entry
	for _, e := range o.es {
		if b, ok := e.Body.(*record.Setup); ok && b.Corrects != "" && o.stands(e) && o.root(e) == first {
			out = append(out, e)
		}
	}
	return out
}

// constants are the latest corrections of a first set-up, or itself.
func (o *oracle) constants(first *record.Entry) []*record.Entry {
	if latest := o.latest(o.corrections(first)); len(latest) > 0 {
		return latest
	}
	return []*record.Entry{first}
}

func (o *oracle) rootOf(r *record.Reading) *record.Entry { return o.root(o.named(r.Setup)) }

// touches reports whether a done rework touches what a characteristic of a feature is measured on: the feature or one of its datum features.
func (o *oracle) touches(w *record.Entry, feature, characteristic string) bool {
	b, ok := w.Body.(*record.Rework)
	if !ok || b.State != record.ReworkDone || o.leader(b.Component) == "" || !o.may(w) {
		return false
	}
	c, _ := o.spec(feature).Characteristic(characteristic)
	for _, f := range b.Features {
		if f == feature || slices.Contains(c.Datum, f) && len(o.specs(f)) > 0 {
			return true
		}
	}
	return false
}

// struckTouches is touches for a struck rework; its part and features need not be known.
func (o *oracle) struckTouches(w *record.Entry, feature, characteristic string) bool {
	b, ok := w.Body.(*record.Rework)
	if !ok || b.State != record.ReworkDone || !o.may(w) || !o.struck(w) {
		return false
	}
	c, _ := o.spec(feature).Characteristic(characteristic)
	return slices.ContainsFunc(b.Features, func(f string) bool { return f == feature || slices.Contains(c.Datum, f) })
}

// status is what a reading counts for.
func (o *oracle) status(r *record.Entry) record.ReadingStatus {
	b := r.Body.(*record.Reading)
	first := o.rootOf(b)
	switch {
	case !o.may(r):
		return record.ReadingWithoutEffect
	case o.struck(r):
		return record.ReadingStruck
	case b.Setup != "" && first == nil:
		return record.ReadingWithoutEffect
	case first != nil && o.struck(first):
		return record.ReadingStruck
	case len(o.specs(b.Feature)) == 0:
		return record.ReadingCounts // a zero check has no round
	}
	return o.round(r)
}

// round is the status of a reading that nothing strikes.
func (o *oracle) round(r *record.Entry) record.ReadingStatus {
	b := r.Body.(*record.Reading)
	result := record.ReadingCounts
	for _, w := range o.es {
		if o.struckTouches(w, b.Feature, b.Characteristic) && o.saw(r, w) && !o.strikeSeen(r, w) {
			return record.ReadingEarlierRound
		}
	}
	for _, w := range o.es {
		if _, ok := w.Body.(*record.Rework); !ok || o.struck(w) || !o.touches(w, b.Feature, b.Characteristic) {
			continue
		}
		// One job reported twice counts as done when any report of it was seen.
		best := "unknown"
		for _, twin := range o.twins(w) {
			if o.struck(twin) || !o.touches(twin, b.Feature, b.Characteristic) {
				continue
			}
			switch where := o.place(r, twin); {
			case where == "after", where == "before" && best == "unknown":
				best = where
			}
		}
		switch {
		case best == "before":
			return record.ReadingEarlierRound
		case best == "unknown":
			result = record.ReadingUnplaced
		}
	}
	return result
}

// strikeSeen reports whether e has in its past one of the strikes that stand against w.
func (o *oracle) strikeSeen(e, w *record.Entry) bool {
	for _, k := range o.es {
		if b, ok := k.Body.(*record.Strike); ok && b.Target == w.ID && o.stands(k) && !o.ignore(k) && o.saw(e, k) {
			return true
		}
	}
	return false
}

// twins are all reports of the job that w reports, w among them.
func (o *oracle) twins(w *record.Entry) []*record.Entry {
	same := map[record.ID]bool{w.ID: true}
	for grew := true; grew; {
		grew = false
		for _, e := range o.es {
			b, ok := e.Body.(*record.Settle)
			if !ok || b.How != record.HowOneRework || !o.stands(e) || !slices.ContainsFunc(b.About, func(id record.ID) bool { return same[id] }) {
				continue
			}
			for _, id := range b.About {
				grew = grew || !same[id]
				same[id] = true
			}
		}
	}
	var out []*record.Entry
	for _, e := range o.es {
		if same[e.ID] {
			out = append(out, e)
		}
	}
	return out
}

// place says whether a reading was taken before or after a rework: by ancestry, else by the last word of a person who saw both.
func (o *oracle) place(r, w *record.Entry) string {
	switch {
	case o.saw(r, w):
		return "after"
	case o.saw(w, r):
		return "before"
	}
	var words []*record.Entry
	for _, e := range o.es {
		b, ok := e.Body.(*record.Settle)
		if !ok || b.How != record.HowPlaceAfter && b.How != record.HowPlaceBefore || !o.stands(e) || !slices.Contains(b.About, r.ID) || !o.saw(e, w) {
			continue
		}
		speaks, namesAny := false, false
		for _, id := range b.About {
			if t := o.get(id); t.Kind == "rework" {
				namesAny = true
				speaks = speaks || slices.Contains(o.twins(w), t)
			}
		}
		if speaks || !namesAny {
			words = append(words, e)
		}
	}
	said := map[string]bool{}
	for _, e := range o.latest(words) {
		said[e.Body.(*record.Settle).How] = true
	}
	switch {
	case said[record.HowPlaceAfter] && !said[record.HowPlaceBefore]:
		return "after"
	case said[record.HowPlaceBefore] && !said[record.HowPlaceAfter]:
		return "before"
	}
	return "unknown"
}

// contested: two reworks of the feature itself, reported apart, and nobody said how they belong together.
func (o *oracle) contested(feature string) bool {
	for _, a := range o.es {
		for _, b := range o.es {
			if a != b && o.doneOn(a, feature) && o.doneOn(b, feature) && o.apart(a, b) && !slices.Contains(o.twins(a), b) && !o.ordered(a, b) {
				return true
			}
		}
	}
	return false
}

func (o *oracle) doneOn(w *record.Entry, feature string) bool {
	b, ok := w.Body.(*record.Rework)
	return ok && o.counts(w) && b.State == record.ReworkDone && slices.Contains(b.Features, feature)
}

func (o *oracle) ordered(a, b *record.Entry) bool {
	return slices.ContainsFunc(o.es, func(e *record.Entry) bool {
		s, ok := e.Body.(*record.Settle)
		return ok && s.How == record.HowBothInOrder && o.stands(e) && slices.Contains(s.About, a.ID) && slices.Contains(s.About, b.ID)
	})
}

// away: a rework asked or sent with a feature that no later report names.
func (o *oracle) away(c string) bool {
	for _, w := range o.es {
		b, ok := w.Body.(*record.Rework)
		if !ok || !o.counts(w) || b.State == record.ReworkDone || o.leader(b.Component) != c {
			continue
		}
		for _, f := range b.Features {
			back := slices.ContainsFunc(o.es, func(e *record.Entry) bool {
				later, ok := e.Body.(*record.Rework)
				return ok && e != w && o.counts(e) && o.leader(later.Component) == c && o.saw(e, w) && slices.Contains(later.Features, f)
			})
			if !back {
				return true
			}
		}
	}
	return false
}

// applies: the concession is the latest word, was given for all rounds and specifications that are, and was not withdrawn.
func (o *oracle) applies(e *record.Entry) bool {
	b := e.Body.(*record.Concession)
	if !o.counts(e) || b.Withdraws != (record.ID{}) {
		return false
	}
	for _, x := range o.es {
		switch other := x.Body.(type) {
		case *record.Concession:
			if !o.counts(x) || x == e {
				continue
			}
			if other.Withdraws == e.ID {
				return false
			}
			if other.Withdraws == (record.ID{}) && o.saw(x, e) && other.Feature == b.Feature && other.Characteristic == b.Characteristic {
				return false
			}
		case *record.Rework:
			if o.struckTouches(x, b.Feature, b.Characteristic) && o.saw(e, x) && !o.strikeSeen(e, x) {
				return false
			}
			if !o.struck(x) && o.touches(x, b.Feature, b.Characteristic) && !o.saw(e, x) {
				return false
			}
		}
	}
	return !slices.ContainsFunc(o.specs(b.Feature), func(s *record.Entry) bool { return !o.saw(e, s) })
}

func isCheck(e *record.Entry) bool {
	b, ok := e.Body.(*record.Reading)
	return ok && b.Feature == spindle.MasterFeature
}
