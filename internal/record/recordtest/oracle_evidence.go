package recordtest

import (
	"slices"

	"runtrue/internal/record"
)

// bearsOn lists the parts on which an entry bears, in whatever round.
func (o *oracle) bearsOn(e *record.Entry) []string {
	var out []string
	add := func(parts ...string) {
		for _, c := range parts {
			if c != "" && !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	through := func(ids []record.ID) {
		for _, id := range ids {
			if t := o.get(id); t != nil {
				add(o.bearsOn(t)...)
			}
		}
	}
	users := func(first *record.Entry) {
		for _, r := range o.es {
			if b, ok := r.Body.(*record.Reading); ok && first != nil && o.rootOf(b) == first {
				add(o.owner(b.Feature))
			}
		}
	}
	switch b := e.Body.(type) {
	case *record.Component:
		add(o.leader(partName(e)))
	case *record.Specification:
		add(o.leader(b.Component))
	case *record.Reading:
		add(o.owner(b.Feature))
		if o.owner(b.Feature) == "" {
			users(o.rootOf(b))
		}
	case *record.Setup:
		users(o.root(e))
	case *record.Finding:
		add(o.owner(b.Subject), o.leader(b.Subject))
	case *record.Rework:
		add(o.leader(b.Component))
		for _, c := range o.components() {
			for _, f := range o.features(c) {
				for _, k := range o.spec(f).Characteristics {
					if slices.Contains(b.Features, f) || slices.ContainsFunc(k.Datum, func(d string) bool { return slices.Contains(b.Features, d) }) {
						add(c)
					}
				}
			}
		}
	case *record.Decision:
		add(o.subjects(b.Subject)...)
	case *record.Concession:
		add(o.owner(b.Feature))
	case *record.Step:
		add(o.leader(b.Component))
	case *record.Strike:
		through([]record.ID{b.Target})
	case *record.Settle:
		through(b.About)
		for _, n := range b.Names {
			add(o.leader(n))
		}
	case *record.Objection:
		through(b.Targets)
		for _, n := range b.Names {
			add(o.leader(n))
		}
	}
	return out
}

// evidence lists everything with effect that bears on the part's current rounds; mayFollow tells what may come after a decision if it agrees.
func (o *oracle) evidence(c string) (list []*record.Entry, mayFollow map[record.ID]bool) {
	mayFollow = map[record.ID]bool{}
	add := func(follow bool, es ...*record.Entry) {
		for _, e := range es {
			if !slices.Contains(list, e) {
				list = append(list, e)
				mayFollow[e.ID] = follow
			}
		}
	}
	for _, f := range o.features(c) {
		add(false, o.specs(f)...)
		for _, r := range o.readings(f) {
			if s := o.status(r); s != record.ReadingCounts && s != record.ReadingUnplaced {
				continue
			}
			add(true, r)
			if first := o.rootOf(r.Body.(*record.Reading)); first != nil {
				add(true, first)
				add(false, o.corrections(first)...)
				add(true, o.checks(first)...)
			}
		}
	}
	for _, e := range o.es {
		switch b := e.Body.(type) {
		case *record.Specification:
			if o.stands(e) && o.leader(b.Component) == c && o.owner(b.Feature) != c {
				add(false, o.specs(b.Feature)...)
			}
		case *record.Rework:
			if !o.counts(e) {
				continue
			}
			if o.leader(b.Component) == c || b.State == record.ReworkDone && slices.Contains(o.bearsOn(e), c) && o.touchesAny(e, c) {
				add(false, e)
			}
		case *record.Concession:
			if o.counts(e) && o.owner(b.Feature) == c {
				add(false, e)
			}
		case *record.Finding:
			if o.counts(e) && b.Severity == record.SeverityDamage && slices.Contains(o.damaged(b.Subject), c) {
				add(false, e)
			}
		case *record.Strike:
			if o.may(e) && slices.Contains(o.bearsOn(e), c) && o.matters(e) {
				add(false, e)
			}
		case *record.Settle, *record.Objection:
			if o.may(e) && slices.Contains(o.bearsOn(e), c) {
				add(false, e)
			}
		}
	}
	return list, mayFollow
}

// damaged is the part that a finding's subject means: a feature's before a part of the same name.
func (o *oracle) damaged(subject string) []string {
	if c := o.owner(subject); c != "" {
		return []string{c}
	}
	return []string{o.leader(subject)}
}

func (o *oracle) touchesAny(w *record.Entry, c string) bool {
	for _, f := range o.features(c) {
		for _, k := range o.spec(f).Characteristics {
			if o.touches(w, f, k.Name) {
				return true
			}
		}
	}
	return false
}

// matters is false for the strike of what belongs to an earlier round anyway, of a note, or of a step.
func (o *oracle) matters(strike *record.Entry) bool {
	t := o.get(strike.Body.(*record.Strike).Target)
	switch b := t.Body.(type) {
	case *record.Strike:
		return o.matters(t)
	case *record.Step:
		return false
	case *record.Finding:
		return b.Severity == record.SeverityDamage
	case *record.Reading:
		return o.owner(b.Feature) == "" || o.round(t) != record.ReadingEarlierRound
	}
	return true
}
