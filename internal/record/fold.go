package record

import (
	"cmp"
	"fmt"
	"slices"

	"runtrue/internal/spindle"
)

// Fold computes the state of the set. It is a pure function of the set and of this program's version: the order in which entries arrived, repeated entries and the device's clock change nothing.
func Fold(j *Job) *State { return fold(j, func(*Item) bool { return false }) }

// WithoutStrikes folds the same set as if some of its strikes, and what stands only because of them, had not been written: to see what they changed.
func (s *State) WithoutStrikes(ignored func(strike *Item) bool) *State { return fold(s.Job, ignored) }

func fold(j *Job, ignored func(strike *Item) bool) *State {
	s := &State{Job: j, past: j.past, byID: map[ID]*Item{}, component: map[string]*ComponentState{}, feature: map[string]*FeatureState{}, family: map[ID]*SetupFamily{}, bears: map[*Item][]*ComponentState{}}
	s.Waiting, _ = j.Waiting()
	for _, k := range j.order() {
		item := &Item{Entry: j.entries[k], at: k}
		s.Items = append(s.Items, item)
		s.byID[item.ID] = item
		if item.Unread != "" {
			item.Without = item.Unread
			s.Unread = append(s.Unread, item)
		}
	}
	for _, item := range s.Items {
		if item.Unread == "" {
			item.Without = s.withoutEffect(item)
		}
	}
	s.strikes(ignored)
	s.foldFacts()
	s.foldComponents()
	s.foldSpecifications()
	s.foldSetups()
	s.one, s.undone = s.oneRework(), s.struckReworks()
	s.foldReworks()
	s.foldReadings()
	s.foldConcessions()
	s.foldActs()
	s.foldObjections()
	s.foldEvidence()
	return s
}

// of returns the entries of a kind with effect and not struck, in order.
func of[B Body](s *State) []*Item {
	var out []*Item
	for _, item := range s.Items {
		if _, ok := item.Body.(B); ok && item.Counts() {
			out = append(out, item)
		}
	}
	return out
}

// withoutEffect says why an entry has no effect, as far as that depends on its author's role and its own past; "" where it has.
func (s *State) withoutEffect(item *Item) string {
	rule := kindTable[item.Kind]
	switch {
	case !slices.Contains(rule.who, item.As):
		return fmt.Sprintf("%s may not write a %s", roleWord(item.As), item.Kind)
	case item.As == spindle.Machine && item.By != serverName:
		return "only the server writes as the server"
	case item.As != spindle.Machine && item.Grant.IsZero():
		return fmt.Sprintf("no grant of the role %s is named", item.As)
	}
	switch b := item.Body.(type) {
	case *Specification:
		if b.Source != spindle.FromProposal || b.AcceptedBy != "" {
			if !slices.Contains([]spindle.Role{spindle.Inspector, spindle.Admin, spindle.Office}, item.As) {
				return fmt.Sprintf("%s may propose a specification, not set or accept one", roleWord(item.As))
			}
		}
		if b.AcceptedBy != "" && (b.AcceptedBy != item.By || item.As != spindle.Inspector) {
			return "a specification is accepted by an inspector, in the inspector's own name"
		}
	case *Setup:
		return s.correctionWithout(item, b)
	case *Reading:
		return s.readingWithout(item, b)
	case *Strike:
		return s.strikeWithout(item, b)
	case *Settle:
		return s.settleWithout(item, b)
	case *Concession:
		if !b.Withdraws.IsZero() {
			target := s.byID[b.Withdraws]
			if target == nil || target.Kind != "concession" || !s.Saw(item, target) {
				return "the concession that it withdraws is not in its past"
			}
		}
	case *Grant:
		if !b.Withdraws.IsZero() {
			target := s.byID[b.Withdraws]
			if target == nil || target.Kind != "grant" || !s.Saw(item, target) {
				return "the grant that it withdraws is not in its past"
			}
		}
	}
	return ""
}

func roleWord(r spindle.Role) string {
	if r == "" {
		return "somebody without a role"
	}
	return string(r)
}

// serverName is the person of the server's own entries.
const serverName = "server"

func isChecker(r spindle.Role) bool { return slices.Contains(checkers, r) }

func (s *State) correctionWithout(item *Item, b *Setup) string {
	if b.Corrects == "" {
		return ""
	}
	id, err := ParseID(b.Corrects)
	if err != nil {
		return "the set-up that it corrects is not named by an id"
	}
	target := s.byID[id]
	switch {
	case target == nil || target.Kind != "setup" || !s.Saw(item, target):
		return "the set-up that it corrects is not in its past"
	case target.By != item.By && !isChecker(item.As):
		return "another person's set-up is corrected by inspector or quality"
	}
	return ""
}

func (s *State) readingWithout(item *Item, b *Reading) string {
	if b.Setup == "" {
		return ""
	}
	id, err := ParseID(b.Setup)
	if err != nil {
		return "its set-up is not named by an id"
	}
	if target := s.byID[id]; target == nil || target.Kind != "setup" || !s.Saw(item, target) {
		return "its set-up is not in its past"
	}
	return ""
}

func (s *State) strikeWithout(item *Item, b *Strike) string {
	target := s.byID[b.Target]
	switch {
	case target == nil || !s.Saw(item, target):
		return "what it strikes is not in its past"
	case !slices.Contains([]string{"reading", "setup", "finding", "rework", "strike", "step", "settle"}, target.Kind):
		return fmt.Sprintf("a %s is not struck, it is superseded", target.Kind)
	case target.By != item.By && !isChecker(item.As):
		return "another person's entry is struck by inspector or quality"
	}
	return ""
}

func (s *State) settleWithout(item *Item, b *Settle) string {
	for _, id := range b.About {
		if target := s.byID[id]; target == nil || !s.Saw(item, target) {
			return "what it settles is not in its past"
		}
	}
	if b.How != HowPlaceBefore && b.How != HowPlaceAfter && !isChecker(item.As) {
		return fmt.Sprintf("%q is said by inspector or quality", b.How)
	}
	return ""
}

// strikes finds which strikes stand, from the youngest to the oldest: a strike of a strike has its target in its past, so it is younger.
func (s *State) strikes(ignored func(*Item) bool) {
	for i := len(s.Items) - 1; i >= 0; i-- {
		item := s.Items[i]
		if b, ok := item.Body.(*Strike); ok && item.Counts() && !ignored(item) {
			target := s.byID[b.Target]
			target.StruckBy = append(target.StruckBy, item)
		}
	}
	for _, item := range s.Items {
		slices.Reverse(item.StruckBy)
	}
}

func (s *State) foldFacts() {
	byName := map[[2]string][]*Item{}
	for _, item := range of[*Fact](s) {
		b := item.Body.(*Fact)
		key := [2]string{b.Subject, b.Field}
		byName[key] = append(byName[key], item)
	}
	kept := map[ID]*Item{}
	for _, item := range of[*Settle](s) {
		s.settles = append(s.settles, item)
		if b := item.Body.(*Settle); b.How == HowKeepFact {
			for _, id := range b.About {
				kept[id] = item
			}
		}
	}
	for key, items := range byName {
		r := &Register{Subject: key[0], Field: key[1]}
		latest := s.maximal(items)
		for _, item := range latest {
			if settle := kept[item.ID]; settle != nil && !slices.ContainsFunc(latest, func(o *Item) bool { return !s.Saw(settle, o) }) {
				latest = []*Item{item}
				break
			}
		}
		for _, item := range latest {
			r.Items = append(r.Items, item)
			if v := item.Body.(*Fact).Value; !slices.Contains(r.Values, v) {
				r.Values = append(r.Values, v)
			}
		}
		slices.Sort(r.Values)
		s.Facts = append(s.Facts, r)
	}
	slices.SortFunc(s.Facts, func(a, b *Register) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Field, b.Field))
	})
}
