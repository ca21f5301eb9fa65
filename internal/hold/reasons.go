package hold

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

var (
	inspector = []spindle.Role{spindle.Inspector}
	checkers  = []spindle.Role{spindle.Inspector, spindle.Quality}
	bench     = []spindle.Role{spindle.Technician, spindle.Inspector, spindle.Assembler, spindle.Quality}
)

func (k *judge) hold(r Reason) { k.Held = append(k.Held, r) }

// reasons finds everything in the record that stands against the part.
func (k *judge) reasons() {
	k.specified()
	k.conforming()
	k.rounds()
	k.setups()
	k.objections()
	k.decisions()
	k.openSetups()
}

// specified: never cleared for want of anything to fail.
func (k *judge) specified() {
	required := false
	for _, f := range k.Features {
		spec := f.Spec()
		for _, c := range spec.Characteristics {
			required = required || c.Required && spec.Accepted()
		}
		if !spec.Accepted() {
			k.hold(Reason{Code: SpecNotAccepted, Words: fmt.Sprintf("the limits of %s are proposed, not from the drawing, and nobody has accepted them", f.Name),
				Act: "accept or correct the specification", Who: inspector, Refs: ids(f.Specs), Feature: f.Name})
		}
		if f.Conflicting() {
			k.hold(Reason{Code: SpecConflict, Words: fmt.Sprintf("%s has %d specifications that differ, written without knowledge of each other", f.Name, len(f.Specs)),
				Act: "write the specification that holds", Who: inspector, Refs: ids(f.Specs), Feature: f.Name})
		}
	}
	if !required {
		k.hold(Reason{Code: NotSpecified, Words: "no required characteristic of this part is specified and accepted", Act: "specify what the part must be", Who: inspector})
	}
}

func (k *judge) conforming() {
	for _, v := range k.Verdicts {
		for _, c := range v.Characteristics {
			if !c.Required || c.Outcome == verdict.Conforms {
				continue
			}
			r := Reason{Code: NotConforming, Words: fmt.Sprintf("%s %s: %s. %s", v.Feature, c.Name, c.Outcome, c.Sentence), Feature: v.Feature, Characteristic: c.Name}
			switch {
			case c.Doubtful != "":
				r.Code, r.Words, r.Act, r.Who = DoubtfulSetup, fmt.Sprintf("%s %s: %s", v.Feature, c.Name, c.Doubtful), "set the gauge again and measure", bench
				if useless := withoutMaster(k.state.Feature(v.Feature)); len(useless) > 0 {
					r.Act, r.Who, r.Refs = "correct the set-up, or strike what was read on it with its reason", checkers, ids(useless)
				}
			case c.Outcome == verdict.Incomplete:
				r.Act, r.Who = "measure the missing stations", bench
			case c.Outcome == verdict.InConflict:
				r.Act, r.Who = "take a third reading and strike the wrong one with its reason", checkers
			case c.Outcome == verdict.CannotBeTold:
				r.Act, r.Who = "measure so that it can be told, or concede", append(slices.Clone(bench), spindle.Office)
				if c.Settle != "" {
					r.Act = c.Settle
				}
			default:
				r.Act, r.Who = "rework, replace or concede", inspector
			}
			k.hold(r)
		}
	}
}

// withoutMaster lists readings that are differences to a master which their set-up does not name: no further reading mends them.
func withoutMaster(f *record.FeatureState) []*record.Item {
	var out []*record.Item
	for _, r := range f.Readings {
		if r.Status == record.ReadingCounts && r.Means == spindle.MeansFromMaster && r.Setup != nil && r.Setup.Constants().Master == nil {
			out = append(out, r.Item)
		}
	}
	return out
}

func (k *judge) rounds() {
	for _, f := range k.Features {
		var unplaced []*record.Item
		for _, r := range f.Readings {
			if r.Status == record.ReadingUnplaced {
				unplaced = append(unplaced, r.Item)
			}
		}
		if n := len(unplaced); n > 0 {
			k.hold(Reason{Code: Unplaced, Words: fmt.Sprintf("%s of %s, taken without knowledge of a rework: before or after it?", count(n, "reading", "readings"), f.Name),
				Act: "say whether before or after", Who: bench, Refs: ids(unplaced), Feature: f.Name})
		}
		for _, pair := range f.Contested {
			k.hold(Reason{Code: ReworkContested, Words: fmt.Sprintf("two reworks of %s were reported without knowledge of each other, by %s and %s", f.Name, pair[0].By, pair[1].By),
				Act: "say whether it was one job reported twice, or both in order", Who: checkers, Refs: ids(pair[:]), Feature: f.Name})
		}
	}
	if w := k.Away; w != nil {
		b := w.Body.(*record.Rework)
		k.hold(Reason{Code: Away, Words: fmt.Sprintf("rework %s and not yet back: %s", b.State, b.Operation), Act: "record the rework as done, or strike it", Who: bench, Refs: []record.ID{w.ID}})
	}
}

// setups: one that was overdue, or corrected twice apart, holds as long as readings on it count. The verdict leaves such readings out where sound ones stand beside them, and a wrong clock or two corrections must
// not take a bad reading away.
func (k *judge) setups() {
	seen := map[*record.SetupFamily]bool{}
	for _, f := range k.Features {
		for _, r := range f.Readings {
			if r.Status != record.ReadingCounts || r.Setup == nil || seen[r.Setup] {
				continue
			}
			seen[r.Setup] = true
			refs := []record.ID{r.Setup.First.ID}
			if words := overdue(r.Setup); words != "" {
				k.hold(Reason{Code: Overdue, Words: f.Name + ": " + words, Act: "measure with a gauge in calibration and strike this set-up", Who: checkers, Refs: refs, Feature: f.Name})
			}
			if r.Setup.Conflicting() {
				k.hold(Reason{Code: DoubtfulSetup, Words: f.Name + ": " + correctedTwice, Act: "correct the set-up once more, having seen both corrections", Who: checkers, Refs: refs, Feature: f.Name})
			}
		}
	}
}

// objections: those against a decision fall with it when a later one takes its place.
func (k *judge) objections() {
	for _, o := range k.Objections {
		b := o.Body.(*record.Objection)
		if len(b.Names) == 0 && k.onlySupersededDecisions(b) {
			continue
		}
		k.hold(Reason{Code: Objected, Words: "objection: " + b.Reason, Act: "confirm by a decision of one's own, or lift the objection with a reason", Who: checkers, Refs: []record.ID{o.ID}})
	}
}

func (k *judge) onlySupersededDecisions(b *record.Objection) bool {
	for _, id := range b.Targets {
		target := k.state.Item(id)
		if target == nil {
			continue
		}
		d, ok := target.Body.(*record.Decision)
		if !ok || k.state.Component(d.Subject) == k.ComponentState && slices.Contains(k.Maximal, target) {
			return false
		}
	}
	return true
}

// decisions: whether one stands that clears.
func (k *judge) decisions() {
	for _, d := range k.ComponentState.Decisions {
		entry := Decision{Item: d}
		if !slices.Contains(k.Maximal, d) {
			entry.Why = "a later decision took its place"
		}
		k.Decisions = append(k.Decisions, entry)
	}
	if len(k.Maximal) == 0 {
		k.hold(Reason{Code: NoDecision, Words: "no decision", Act: "decide", Who: inspector})
		for _, text := range k.openDamage() {
			k.hold(Reason{Code: Damage, Words: "damage found, nobody has decided on it: " + text, Act: "decide", Who: inspector})
		}
		return
	}
	first := k.Maximal[0].Body.(*record.Decision)
	for _, d := range k.Maximal[1:] {
		if d.Body.(*record.Decision).Outcome != first.Outcome {
			k.hold(Reason{Code: DecisionsDiffer, Words: "decisions taken without knowledge of each other differ: " + outcomes(k.Maximal), Act: "decide again having seen both", Who: inspector, Refs: ids(k.Maximal)})
			return
		}
	}
	if !first.Clears() {
		k.stand(k.Maximal[0], "")
		k.hold(Reason{Code: DecidedAgainst, Words: fmt.Sprintf("decided: %s, by %s: %s", first.Outcome, k.Maximal[0].By, first.Reason), Act: "decide again once it is done", Who: inspector, Refs: ids(k.Maximal)})
		return
	}
	var best []Reason
	stands := false
	for _, d := range k.Maximal {
		against := k.against(d)
		if len(against) == 0 {
			stands = true
			k.stand(d, "")
			continue
		}
		k.stand(d, against[0].Words)
		if best == nil || len(against) < len(best) {
			best = against
		}
	}
	if !stands {
		k.Held = append(k.Held, best...)
	}
}

func outcomes(items []*record.Item) string {
	var words []string
	for _, d := range items {
		words = append(words, fmt.Sprintf("%s by %s", d.Body.(*record.Decision).Outcome, d.By))
	}
	return strings.Join(words, ", ")
}

func (k *judge) stand(d *record.Item, why string) {
	for i := range k.Decisions {
		if k.Decisions[i].Item == d {
			k.Decisions[i].Stands, k.Decisions[i].Why = why == "", why
		}
	}
}

// against lists why a clearing decision does not stand; none: it stands.
func (k *judge) against(d *record.Item) []Reason {
	var out []Reason
	var unseen, disagree []string
	var refs []record.ID
	overtaken := map[string]int{}
	for _, e := range k.Evidence {
		if k.state.Saw(d, e.Item) {
			continue
		}
		refs = append(refs, e.ID)
		switch {
		case e.Confirms && k.state.Saw(e.Item, d):
			if e.Reading == nil {
				refs = refs[:len(refs)-1]
				continue
			}
			if agrees, words := k.agrees(d, e.Reading); !agrees {
				disagree = append(disagree, words)
			} else {
				refs = refs[:len(refs)-1]
			}
		case e.Reading != nil:
			unseen = append(unseen, fmt.Sprintf("%s, %s by %s", e.Words, readingValue(e.Reading.Reading), e.By))
		default:
			overtaken[e.Words]++
			if overtaken[e.Words] == 1 {
				unseen = append(unseen, e.Words)
			}
		}
	}
	if n := len(unseen); n > 0 {
		list := unseen
		if n > 3 {
			list = append(slices.Clone(unseen[:3]), fmt.Sprintf("and %d more", n-3))
		}
		what := "that the decision has not seen: "
		out = append(out, Reason{Code: DecisionOvertaken, Words: count(n, "thing ", "things ") + what + strings.Join(list, "; "), Act: "look at it and decide again", Who: inspector, Refs: refs})
	}
	if len(disagree) > 0 {
		out = append(out, Reason{Code: DecisionOvertaken, Words: "measured again since the decision, and it does not agree: " + strings.Join(disagree, "; "), Act: "find out which is right and decide again", Who: inspector, Refs: refs})
	}
	if words := k.ownStrike(d); words != "" {
		out = append(out, Reason{Code: OwnStrike, Words: words, Act: "another inspector decides", Who: inspector, Refs: []record.ID{d.ID}})
	}
	return out
}

// agrees compares a reading taken after the decision with what was measured at its station before.
func (k *judge) agrees(d *record.Item, later *record.ReadingState) (bool, string) {
	f := k.state.Feature(later.Feature)
	in := k.input(f, f.Readings)
	var earlier []verdict.Observation
	for _, r := range f.Readings {
		if r.Status == record.ReadingCounts && k.state.Saw(d, r.Item) {
			earlier = append(earlier, observation(r))
		}
	}
	agrees, delta, limit := verdict.Agree(in, earlier, observation(later))
	if agrees {
		return true, ""
	}
	return false, fmt.Sprintf("%s: %s by %s, %s from before, %s would agree", later.Words(), readingValue(later.Reading), later.By,
		length.FormatSigned(delta, length.Micrometres, 1), "±"+length.Format(limit, length.Micrometres, 1))
}

// openSetups: readings whose zero was never closed are provisional. A set-up that only confirms a standing decision does not hold: the decision rests on others.
func (k *judge) openSetups() {
	seen := map[*record.SetupFamily]bool{}
	for _, f := range k.Features {
		for _, r := range f.Readings {
			s := r.Setup
			if r.Status != record.ReadingCounts || s == nil || seen[s] || s.Constants().Mode != spindle.ModeMaster {
				continue
			}
			closed := slices.ContainsFunc(s.Checks, func(c *record.ReadingState) bool { return c.Plane == spindle.ZeroAfter })
			if closed || k.onlyConfirms(s) {
				continue
			}
			seen[s] = true
			k.hold(Reason{Code: OpenSetup, Words: fmt.Sprintf("%s: the zero of gauge %s was not checked after the readings", f.Name, s.Constants().Gauge.ID),
				Act: "check the zero on the master", Who: bench, Refs: []record.ID{s.First.ID}, Feature: f.Name})
		}
	}
}

func (k *judge) onlyConfirms(s *record.SetupFamily) bool {
	return slices.ContainsFunc(k.Decisions, func(d Decision) bool {
		return d.Stands && d.Body.(*record.Decision).Clears() && !k.state.Saw(d.Item, s.First)
	})
}

// overlay adds what lies outside the record.
func (k *judge) overlay(o Overlay) {
	if o.KnowledgeMS != nil && o.FreshMS > 0 {
		switch age := *o.KnowledgeMS; {
		case age < 0:
			k.hold(Reason{Code: OldKnowledge, Words: "how old this tablet's knowledge is cannot be told", Act: "reach the server", Who: spindle.Roles()})
		case age > o.FreshMS:
			k.hold(Reason{Code: OldKnowledge, Words: fmt.Sprintf("old knowledge: the server last answered %d minutes ago", age/60_000), Act: "reach the server, or fit on old knowledge and say so", Who: spindle.Roles()})
		}
	}
	for _, d := range k.Maximal {
		if slices.Contains(o.Revoked, Revocation{d.By, d.As}) {
			k.hold(Reason{Code: Revoked, Words: fmt.Sprintf("decided by %s, whose role %s has been withdrawn", d.By, d.As), Act: "another inspector confirms", Who: inspector, Refs: []record.ID{d.ID}})
		}
	}
}

// readingValue writes what was read as it was typed.
func readingValue(r spindle.Reading) string {
	switch {
	case r.Value != nil && r.Means == spindle.MeansSize:
		return length.Format(*r.Value, length.Millimetres, 4)
	case r.Value != nil:
		return length.FormatSigned(*r.Value, length.Micrometres, 1)
	case r.Quantity != nil:
		return r.Typed + " " + r.Quantity.Unit
	case r.Yes != nil && *r.Yes:
		return "yes"
	}
	return "no"
}
