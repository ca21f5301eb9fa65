package record

import (
	"cmp"
	"slices"
)

// foldComponents finds the components: one per template id or first entry, joined where a person declared two to be the same part.
func (s *State) foldComponents() {
	byName := map[string][]*Item{}
	for _, item := range of[*Component](s) {
		id := item.componentID()
		byName[id] = append(byName[id], item)
	}
	names := make([]string, 0, len(byName))
	for name := range byName {
		names = append(names, name)
	}
	slices.Sort(names)
	leader := s.sameParts(names)
	for _, name := range names {
		c := s.component[leader[name]]
		if c == nil {
			c = &ComponentState{ID: leader[name]}
			s.component[c.ID] = c
			s.Components = append(s.Components, c)
		}
		if name != c.ID {
			c.Aliases = append(c.Aliases, name)
			s.component[name] = c
		}
		c.Cards = append(c.Cards, s.maximal(byName[name])...)
	}
	for _, c := range s.Components {
		c.Card = c.Cards[0].Body.(*Component).Component
		c.Card.ID = c.ID
	}
}

// componentID is the id of the component that the entry brings in: its template's, or the entry's own.
func (i *Item) componentID() string {
	if id := i.Body.(*Component).TemplateID; id != "" {
		return id
	}
	return i.ID.String()
}

// sameParts is a union-find over the settlements "same as"; the smallest id names the part.
func (s *State) sameParts(names []string) map[string]string {
	leader := map[string]string{}
	for _, n := range names {
		leader[n] = n
	}
	find := func(n string) string {
		for leader[n] != n {
			n = leader[n]
		}
		return n
	}
	for _, item := range s.settles {
		b := item.Body.(*Settle)
		if b.How != HowSameAs {
			continue
		}
		for _, n := range b.Names[1:] {
			if leader[n] == "" || leader[b.Names[0]] == "" {
				continue
			}
			x, y := find(b.Names[0]), find(n)
			if x > y {
				x, y = y, x
			}
			leader[y] = x
		}
	}
	for _, n := range names {
		leader[n] = find(n)
	}
	return leader
}

// foldSpecifications finds each feature's register and hangs it under its component. A specification of an unknown component waits without effect for its entry.
func (s *State) foldSpecifications() {
	byFeature := map[string][]*Item{}
	for _, item := range of[*Specification](s) {
		b := item.Body.(*Specification)
		if s.component[b.Component] == nil {
			item.Without = "the job has no component " + b.Component
			continue
		}
		byFeature[b.Feature] = append(byFeature[b.Feature], item)
	}
	for name, items := range byFeature {
		f := &FeatureState{Name: name, Specs: s.maximal(items)}
		f.Component = s.component[f.Spec().Component]
		for _, item := range items {
			if c := s.component[item.Body.(*Specification).Component]; c != f.Component && !slices.Contains(c.moved, f) {
				c.moved = append(c.moved, f)
			}
		}
		s.feature[name] = f
		f.Component.Features = append(f.Component.Features, f)
	}
	byFeatureName := func(a, b *FeatureState) int { return cmp.Compare(a.Name, b.Name) }
	for _, c := range s.Components {
		slices.SortFunc(c.Features, byFeatureName)
		slices.SortFunc(c.moved, byFeatureName)
	}
}

// foldSetups joins each set-up with its corrections.
func (s *State) foldSetups() {
	for _, item := range s.Items {
		b, ok := item.Body.(*Setup)
		if !ok || item.Without != "" {
			continue
		}
		if b.Corrects == "" {
			f := &SetupFamily{First: item, Struck: item.Struck()}
			s.family[item.ID] = f
			s.Setups = append(s.Setups, f)
			continue
		}
		id, err := ParseID(b.Corrects)
		f := s.family[id]
		if err != nil || f == nil {
			item.Without = "the set-up that it corrects has no effect"
			continue
		}
		s.family[item.ID] = f
		if !item.Struck() {
			f.Corrections = append(f.Corrections, item)
		}
	}
	for _, f := range s.Setups {
		f.Latest = s.maximal(f.Corrections)
		if len(f.Latest) == 0 {
			f.Latest = []*Item{f.First}
		}
	}
}

// partsNamed lists the component of that id or alias or, where there is none, all rings of the set of that name.
func (s *State) partsNamed(subject string) []*ComponentState {
	if c := s.component[subject]; c != nil {
		return []*ComponentState{c}
	}
	var out []*ComponentState
	for _, c := range s.Components {
		if slices.Contains(c.Sets(), subject) {
			out = append(out, c)
		}
	}
	return out
}

// Sets lists the matched sets to which the component belongs by any of its cards: one, unless people wrote it differently.
func (c *ComponentState) Sets() []string {
	var out []string
	for _, card := range c.Cards {
		if id := card.Body.(*Component).SetID; id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// foldActs hangs findings, decisions and steps where they belong.
func (s *State) foldActs() {
	for _, item := range of[*Finding](s) {
		s.Findings = append(s.Findings, item)
		b := item.Body.(*Finding)
		if b.Severity != SeverityDamage {
			continue
		}
		if f := s.feature[b.Subject]; f != nil {
			f.Component.Findings = append(f.Component.Findings, item)
		} else if c := s.component[b.Subject]; c != nil {
			c.Findings = append(c.Findings, item)
		} else {
			item.Without = "the job has no part or feature " + b.Subject
		}
	}
	for _, item := range of[*Decision](s) {
		b := item.Body.(*Decision)
		if b.Subject == SubjectJob {
			s.Decisions = append(s.Decisions, item)
			continue
		}
		parts := s.partsNamed(b.Subject)
		for _, c := range parts {
			c.Decisions = append(c.Decisions, item)
		}
		if len(parts) == 0 {
			item.Without = "the job has no component or set " + b.Subject
		}
	}
	fitted := map[*ComponentState][]*Item{} // steps that no removal has seen
	for _, item := range of[*Step](s) {
		b := item.Body.(*Step)
		c := s.component[b.Component]
		if c == nil {
			item.Without = "the job has no component " + b.Component
			continue
		}
		s.Steps = append(s.Steps, item)
		switch b.What {
		case StepFitted:
			fitted[c] = append(fitted[c], item)
		case StepRemoved:
			fitted[c] = slices.DeleteFunc(fitted[c], func(fit *Item) bool { return s.Saw(item, fit) })
		}
	}
	for _, c := range s.Components {
		if n := len(fitted[c]); n > 0 {
			c.Fitted = fitted[c][n-1]
		}
		c.Maximal = s.maximal(c.Decisions)
	}
}
