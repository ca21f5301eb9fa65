package record

import (
	"fmt"
	"slices"

	"runtrue/internal/spindle"
)

// foldReworks finds the rounds: which reworks are done, on which features, which are contested, and what is away.
func (s *State) foldReworks() {
	for _, item := range of[*Rework](s) {
		b := item.Body.(*Rework)
		c := s.component[b.Component]
		if c == nil {
			item.Without = "the job has no component " + b.Component
			continue
		}
		c.Reworks = append(c.Reworks, item)
		if b.State != ReworkDone {
			continue
		}
		for _, name := range b.Features {
			if f := s.feature[name]; f != nil {
				f.Reworks = append(f.Reworks, item)
			}
		}
	}
	for _, c := range s.Components {
		for _, f := range c.Features {
			for i, a := range f.Reworks {
				for _, b := range f.Reworks[i+1:] {
					if !s.Saw(b, a) && !s.Saw(a, b) && s.one(a) != s.one(b) && !s.settled(HowBothInOrder, a, b) {
						f.Contested = append(f.Contested, [2]*Item{a, b})
					}
				}
			}
		}
		for _, w := range c.Reworks {
			if w.Body.(*Rework).State != ReworkDone && s.unfinished(w, c.Reworks) {
				c.Away = w
			}
		}
	}
}

// unfinished reports whether a feature of a rework that was asked or sent is named in no later report by somebody who knew of it.
func (s *State) unfinished(w *Item, reworks []*Item) bool {
	return slices.ContainsFunc(w.Body.(*Rework).Features, func(feature string) bool {
		return !slices.ContainsFunc(reworks, func(later *Item) bool {
			return later != w && s.Saw(later, w) && slices.Contains(later.Body.(*Rework).Features, feature)
		})
	})
}

// oneRework returns the representative of each rework under the settlements "one rework": one job, reported twice.
func (s *State) oneRework() func(*Item) *Item {
	leader := map[*Item]*Item{}
	find := func(w *Item) *Item {
		for leader[w] != nil {
			w = leader[w]
		}
		return w
	}
	for _, item := range s.settles {
		b := item.Body.(*Settle)
		if b.How != HowOneRework || len(b.About) < 2 {
			continue
		}
		for _, id := range b.About[1:] {
			x, y := find(s.byID[b.About[0]]), find(s.byID[id])
			if x != y {
				if x.ID.Compare(y.ID) > 0 {
					x, y = y, x
				}
				leader[y] = x
			}
		}
	}
	return find
}

// settled reports whether a settlement of that sort names both entries.
func (s *State) settled(how string, a, b *Item) bool {
	return slices.ContainsFunc(s.settles, func(item *Item) bool {
		body := item.Body.(*Settle)
		return body.How == how && slices.Contains(body.About, a.ID) && slices.Contains(body.About, b.ID)
	})
}

// ReworksOf lists the done reworks that void readings of the characteristic: those of the feature and those of its datum features.
func (s *State) ReworksOf(f *FeatureState, characteristic string) []*Item {
	out := slices.Clone(f.Reworks)
	c, _ := f.Spec().Characteristic(characteristic)
	for _, name := range c.Datum {
		if d := s.feature[name]; d != nil && d != f {
			for _, w := range d.Reworks {
				if !slices.Contains(out, w) {
					out = append(out, w)
				}
			}
		}
	}
	return out
}

// foldReadings gives every reading its status, and hangs it under its feature or its set-up.
func (s *State) foldReadings() {
	for _, item := range s.Items {
		b, ok := item.Body.(*Reading)
		if !ok {
			continue
		}
		r := &ReadingState{Item: item, Reading: b.Reading, Status: ReadingCounts}
		if id, err := ParseID(b.Setup); err == nil {
			r.Setup = s.family[id]
		}
		switch {
		case item.Without != "":
			r.Status, r.Why = ReadingWithoutEffect, item.Without
		case item.Struck():
			b := item.StruckBy[0].Body.(*Strike)
			r.Status, r.Why = ReadingStruck, strikeWords(item.StruckBy[0], b)
		case b.Setup != "" && r.Setup == nil:
			r.Status, r.Why = ReadingWithoutEffect, "its set-up has no effect"
			item.Without = r.Why
		case r.Setup != nil && r.Setup.Struck:
			r.Status, r.Why = ReadingStruck, "its set-up was struck"
		}
		if b.Feature == spindle.MasterFeature {
			if r.Setup != nil && r.Status == ReadingCounts {
				r.Setup.Checks = append(r.Setup.Checks, r)
			}
			continue
		}
		f := s.feature[b.Feature]
		if f == nil {
			if item.Without == "" {
				item.Without = "the job has no specification of " + b.Feature
			}
			continue
		}
		f.Readings = append(f.Readings, r)
		if r.Status == ReadingCounts {
			s.place(r, f)
		}
		if r.Status == ReadingCounts && r.Setup != nil {
			r.Setup.Readings++
		}
	}
}

func strikeWords(item *Item, b *Strike) string {
	if b.Text != "" {
		return fmt.Sprintf("struck by %s: %s (%s)", item.By, b.Reason, b.Text)
	}
	return fmt.Sprintf("struck by %s: %s", item.By, b.Reason)
}

func (s *State) struckReworks() []*Item {
	var out []*Item
	for _, item := range s.Items {
		if b, ok := item.Body.(*Rework); ok && item.Without == "" && item.Struck() && b.State == ReworkDone {
			out = append(out, item)
		}
	}
	return out
}

// place decides whether a reading belongs to the present round.
func (s *State) place(r *ReadingState, f *FeatureState) {
	characteristic := r.Characteristic
	for _, w := range s.undone {
		if !s.touches(w, f, characteristic) || !s.Saw(r.Item, w) {
			continue
		}
		if !slices.ContainsFunc(w.StruckBy, func(strike *Item) bool { return s.Saw(r.Item, strike) }) {
			r.Status, r.Why = ReadingEarlierRound, "the rework after which it was taken was struck"
			return
		}
	}
	const after, before, unknown = 1, 2, 3
	groups := map[*Item]int{}
	reworks := s.ReworksOf(f, characteristic)
	for _, w := range reworks {
		where := unknown
		switch {
		case s.Saw(r.Item, w):
			where = after
		case s.Saw(w, r.Item):
			where = before
		default:
			where = s.placed(r.Item, w)
		}
		// One job reported twice counts as done when either report was seen.
		if g := s.one(w); groups[g] == 0 || where < groups[g] {
			groups[g] = where
		}
	}
	for _, w := range reworks {
		switch groups[s.one(w)] {
		case before:
			r.Status, r.Why = ReadingEarlierRound, "taken before: "+w.Body.(*Rework).Operation
			return
		case unknown:
			if r.Status == ReadingCounts {
				r.Status, r.Why, r.Against = ReadingUnplaced, "before or after: "+w.Body.(*Rework).Operation+"?", w
			}
		}
	}
}

// placed looks for a settlement that saw both and says where the reading belongs: 1 after, 2 before, 3 nobody said. A settlement that names reworks beside the reading speaks of those alone.
// The latest that is not followed by another decides; two that contradict each other leave it open.
func (s *State) placed(r, w *Item) int {
	var about []*Item
	for _, item := range s.settles {
		b := item.Body.(*Settle)
		if (b.How == HowPlaceAfter || b.How == HowPlaceBefore) && slices.Contains(b.About, r.ID) && s.Saw(item, w) && s.speaksOf(b, w) {
			about = append(about, item)
		}
	}
	where := 0
	for _, item := range s.maximal(about) {
		here := 1
		if item.Body.(*Settle).How == HowPlaceBefore {
			here = 2
		}
		if where != 0 && where != here {
			return 3
		}
		where = here
	}
	if where == 0 {
		return 3
	}
	return where
}

func (s *State) speaksOf(b *Settle, w *Item) bool {
	named := false
	for _, id := range b.About {
		if target := s.byID[id]; target != nil && target.Kind == "rework" {
			if target == w || s.one(target) == s.one(w) {
				return true
			}
			named = true
		}
	}
	return !named
}

func (s *State) touches(w *Item, f *FeatureState, characteristic string) bool {
	features := w.Body.(*Rework).Features
	if slices.Contains(features, f.Name) {
		return true
	}
	c, _ := f.Spec().Characteristic(characteristic)
	return slices.ContainsFunc(c.Datum, func(d string) bool { return slices.Contains(features, d) })
}

// foldConcessions finds which concessions apply to the present round and specification.
func (s *State) foldConcessions() {
	var all []*Item
	for _, item := range of[*Concession](s) {
		b := item.Body.(*Concession)
		if f := s.feature[b.Feature]; f == nil || s.component[b.Component] != f.Component {
			item.Without = "the job has no feature " + b.Feature + " on " + b.Component
			continue
		}
		all = append(all, item)
	}
	for _, item := range all {
		b := item.Body.(*Concession)
		f := s.feature[b.Feature]
		c := &ConcessionState{Item: item, Applies: true}
		f.Concessions = append(f.Concessions, c)
		fail := func(why string) { c.Applies, c.Why = false, why }
		if !b.Withdraws.IsZero() {
			fail("it withdraws an earlier one")
			continue
		}
		for _, later := range all {
			l := later.Body.(*Concession)
			if later != item && l.Withdraws.IsZero() && s.Saw(later, item) && l.Feature == b.Feature && l.Characteristic == b.Characteristic {
				fail("a later one took its place")
			}
			if l.Withdraws == item.ID {
				fail("withdrawn by " + later.By)
			}
		}
		for _, w := range s.ReworksOf(f, b.Characteristic) {
			if !s.Saw(item, w) {
				fail("given for an earlier round")
			}
		}
		for _, w := range s.undone {
			if s.touches(w, f, b.Characteristic) && s.Saw(item, w) && !slices.ContainsFunc(w.StruckBy, func(k *Item) bool { return s.Saw(item, k) }) {
				fail("the round that it was given for was struck")
			}
		}
		for _, spec := range f.Specs {
			if !s.Saw(item, spec) {
				fail("the specification changed since")
			}
		}
	}
}

// withoutStrike is the status that a struck reading would have if nothing struck it.
func (s *State) withoutStrike(r *ReadingState) ReadingStatus {
	f := s.feature[r.Feature]
	if f == nil {
		return ReadingWithoutEffect
	}
	free := &ReadingState{Item: r.Item, Reading: r.Reading, Status: ReadingCounts, Setup: r.Setup}
	s.place(free, f)
	return free.Status
}
