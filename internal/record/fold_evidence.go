package record

import (
	"fmt"
	"slices"
	"strconv"
)

// foldObjections finds which objections stand, and against what.
func (s *State) foldObjections() {
	for _, item := range of[*Objection](s) {
		if s.Lifted(item) {
			continue
		}
		b := item.Body.(*Objection)
		hit := map[*ComponentState]bool{}
		for _, id := range b.Targets {
			target := s.byID[id]
			if target == nil || target.Struck() {
				continue
			}
			if f := s.family[id]; f != nil && !slices.Contains(f.Objections, item) {
				f.Objections = append(f.Objections, item)
			}
			for _, c := range s.bearsOn(target) {
				hit[c] = true
			}
		}
		for _, name := range b.Names {
			if c := s.component[name]; c != nil {
				hit[c] = true
			}
		}
		for _, c := range s.Components {
			if hit[c] {
				c.Objections = append(c.Objections, item)
			}
		}
	}
}

// Lifted reports whether a settlement lifted the objection.
func (s *State) Lifted(objection *Item) bool {
	return slices.ContainsFunc(s.settles, func(item *Item) bool {
		b := item.Body.(*Settle)
		return b.How == HowLift && slices.Contains(b.About, objection.ID)
	})
}

// bearsOn lists the components on which an entry bears, whatever its round. It ends, since an entry can only name entries that were written before it.
func (s *State) bearsOn(item *Item) []*ComponentState {
	if out, done := s.bears[item]; done {
		return out
	}
	out := s.findBearing(item)
	s.bears[item] = out
	return out
}

func (s *State) findBearing(item *Item) []*ComponentState {
	var out []*ComponentState
	add := func(c *ComponentState) {
		if c != nil && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	byFeature := func(name string) {
		if f := s.feature[name]; f != nil {
			add(f.Component)
		}
	}
	about := func(ids ...ID) {
		for _, id := range ids {
			if target := s.byID[id]; target != nil {
				for _, c := range s.bearsOn(target) {
					add(c)
				}
			}
		}
	}
	switch b := item.Body.(type) {
	case *Component:
		add(s.component[item.componentID()])
	case *Specification:
		add(s.component[b.Component])
	case *Reading:
		byFeature(b.Feature)
		if s.feature[b.Feature] == nil {
			s.usersOf(b.Setup, add)
		}
	case *Setup:
		s.usersOf(item.ID.String(), add)
	case *Strike:
		about(b.Target)
	case *Finding:
		byFeature(b.Subject)
		add(s.component[b.Subject])
	case *Rework:
		add(s.component[b.Component])
		for _, c := range s.Components {
			if slices.ContainsFunc(c.Features, func(f *FeatureState) bool { return f.refersTo(b.Features) }) {
				add(c)
			}
		}
	case *Decision:
		for _, c := range s.partsNamed(b.Subject) {
			add(c)
		}
	case *Concession:
		byFeature(b.Feature)
	case *Step:
		add(s.component[b.Component])
	case *Settle:
		about(b.About...)
		for _, name := range b.Names {
			add(s.component[name])
		}
	case *Objection:
		about(b.Targets...)
		for _, name := range b.Names {
			add(s.component[name])
		}
	}
	return out
}

// usersOf calls add for every component that has a reading, of whatever status, on the set-up.
func (s *State) usersOf(setup string, add func(*ComponentState)) {
	id, err := ParseID(setup)
	family := s.family[id]
	if err != nil || family == nil {
		return
	}
	for _, c := range s.Components {
		for _, f := range c.Features {
			if slices.ContainsFunc(f.Readings, func(r *ReadingState) bool { return r.Setup == family }) {
				add(c)
			}
		}
	}
}

// foldEvidence gathers, for each component, everything with effect that bears on its current rounds.
func (s *State) foldEvidence() {
	for _, c := range s.Components {
		seen := map[ID]bool{}
		families := map[*SetupFamily]bool{}
		add := func(e Evidence) {
			if !seen[e.ID] {
				seen[e.ID] = true
				c.Evidence = append(c.Evidence, e)
			}
		}
		for _, f := range c.Features {
			for _, spec := range f.Specs {
				add(Evidence{Item: spec, Words: "the specification of " + f.Name})
			}
			for _, r := range f.Readings {
				if r.Status == ReadingCounts || r.Status == ReadingUnplaced {
					add(Evidence{Item: r.Item, Confirms: true, Reading: r, Words: r.Words()})
				}
				if r.Setup != nil && (r.Status == ReadingCounts || r.Status == ReadingUnplaced) {
					families[r.Setup] = true
				}
			}
			for _, characteristic := range f.Spec().Characteristics {
				for _, w := range s.ReworksOf(f, characteristic.Name) {
					add(Evidence{Item: w, Words: reworkWords(w)})
				}
			}
			for _, k := range f.Concessions {
				add(Evidence{Item: k.Item, Words: "a concession on " + f.Name + " " + k.Body.(*Concession).Characteristic})
			}
		}
		for _, family := range s.Setups {
			if !families[family] {
				continue
			}
			add(Evidence{Item: family.First, Confirms: true, Words: "a set-up with gauge " + family.Constants().Gauge.ID})
			for _, k := range family.Corrections {
				add(Evidence{Item: k, Words: "a set-up corrected after"})
			}
			for _, k := range family.Checks {
				add(Evidence{Item: k.Item, Confirms: true, Words: "a zero check of gauge " + family.Constants().Gauge.ID})
			}
		}
		for _, w := range c.Reworks {
			add(Evidence{Item: w, Words: reworkWords(w)})
		}
		for _, f := range c.moved {
			for _, spec := range f.Specs {
				add(Evidence{Item: spec, Words: "the specification of " + f.Name + ", now on " + f.Component.Card.Name})
			}
		}
		for _, d := range c.Findings {
			add(Evidence{Item: d, Words: "damage found: " + d.Body.(*Finding).Text})
		}
		for _, item := range s.Items {
			if item.Without != "" || seen[item.ID] {
				continue
			}
			switch b := item.Body.(type) {
			case *Strike, *Settle:
				if slices.Contains(s.bearsOn(item), c) && s.ofPresentRound(item) {
					add(Evidence{Item: item, Words: actWords(item)})
				}
			case *Objection:
				if slices.Contains(s.bearsOn(item), c) {
					add(Evidence{Item: item, Words: "an objection: " + b.Reason})
				}
			}
		}
	}
}

// ofPresentRound is false for a strike of a reading that belongs to an earlier round anyway.
func (s *State) ofPresentRound(item *Item) bool {
	b, ok := item.Body.(*Strike)
	if !ok {
		return true
	}
	target := s.byID[b.Target]
	switch t := target.Body.(type) {
	case *Strike:
		return s.ofPresentRound(target)
	case *Step:
		return false
	case *Finding:
		return t.Severity == SeverityDamage
	case *Reading:
		return s.withoutStrike(&ReadingState{Item: target, Reading: t.Reading}) != ReadingEarlierRound
	}
	return true
}

func reworkWords(w *Item) string { return "a rework: " + w.Body.(*Rework).Operation }

// refersTo reports whether one of the features named is this one or a datum of one of its characteristics.
func (f *FeatureState) refersTo(names []string) bool {
	if slices.Contains(names, f.Name) {
		return true
	}
	for _, c := range f.Spec().Characteristics {
		if slices.ContainsFunc(c.Datum, func(d string) bool { return slices.Contains(names, d) }) {
			return true
		}
	}
	return false
}

func actWords(item *Item) string {
	switch b := item.Body.(type) {
	case *Strike:
		return fmt.Sprintf("a strike by %s: %s", item.By, b.Reason)
	case *Settle:
		return fmt.Sprintf("a settlement by %s: %s", item.By, b.How)
	}
	return item.Kind
}

// Words names the station of a reading: "J1 size, plane 2 at 120°".
func (r *ReadingState) Words() string {
	words := r.Feature + " " + r.Characteristic
	if r.Plane != "" {
		words += ", plane " + r.Plane
	}
	if r.Quantity == nil && r.Yes == nil {
		words += " at " + Degrees(r.Angle)
	}
	return words
}

// Degrees writes an angle in thousandths of a degree: "120°", "22.5°".
func Degrees(mdeg int64) string {
	if mdeg%1000 == 0 {
		return strconv.FormatInt(mdeg/1000, 10) + "°"
	}
	s := fmt.Sprintf("%d.%03d", mdeg/1000, mdeg%1000)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	return s + "°"
}
