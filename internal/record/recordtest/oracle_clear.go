package recordtest

import (
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// wholeJobFree reports whether the set is closed and readable, and nobody holds the job as a whole.
func (o *oracle) wholeJobFree() bool {
	var onJob []*record.Entry
	for _, e := range o.es {
		if e.Body == nil {
			return false
		}
		if b, ok := e.Body.(*record.Decision); ok && b.Subject == record.SubjectJob && o.counts(e) {
			onJob = append(onJob, e)
		}
	}
	for _, d := range o.latest(onJob) {
		if d.Body.(*record.Decision).Outcome == record.OutcomeHold {
			return false
		}
	}
	return o.waiting == 0
}

// features of a part, by name.
func (o *oracle) features(c string) []string {
	var out []string
	for _, e := range o.es {
		if b, ok := e.Body.(*record.Specification); ok && o.owner(b.Feature) == c && !slices.Contains(out, b.Feature) {
			out = append(out, b.Feature)
		}
	}
	slices.Sort(out)
	return out
}

// clear reports whether a part is cleared, leaving aside its set and the job as a whole, and which clearing decisions stand on all evidence.
func (o *oracle) clear(c string) (cleared bool, stand []*record.Entry) {
	cleared = true
	required := false
	for _, f := range o.features(c) {
		spec := o.spec(f)
		if !spec.Accepted() || o.differ(o.specs(f)) || o.contested(f) {
			cleared = false
		}
		for _, k := range spec.Characteristics {
			required = required || k.Required && spec.Accepted()
		}
		for _, e := range o.readings(f) {
			if o.status(e) == record.ReadingUnplaced {
				cleared = false
			}
		}
		for _, r := range o.counting(f) {
			first := o.rootOf(r.Body.(*record.Reading))
			if first != nil && (o.differ(o.constants(first)) || o.overdue(first)) {
				cleared = false
			}
		}
		for _, k := range o.assess(f, o.counting(f)).Characteristics {
			if k.Required && k.Outcome != verdict.Conforms {
				cleared = false
			}
		}
	}
	var all []*record.Entry
	for _, e := range o.es {
		if b, ok := e.Body.(*record.Decision); ok && b.Subject != record.SubjectJob && o.counts(e) && slices.Contains(o.subjects(b.Subject), c) {
			all = append(all, e)
		}
	}
	maximal := o.latest(all)
	if !required || o.away(c) || o.objected(c, maximal) {
		cleared = false
	}
	for _, d := range maximal {
		if d.Body.(*record.Decision).Outcome != maximal[0].Body.(*record.Decision).Outcome {
			return false, nil
		}
	}
	if len(maximal) == 0 || !maximal[0].Body.(*record.Decision).Clears() {
		return false, nil
	}
	for _, d := range maximal {
		if o.covers(d, c) && !o.ownStrike(d, c) {
			stand = append(stand, d)
		}
	}
	return cleared && len(stand) > 0 && !o.open(c, stand), stand
}

func (o *oracle) readings(feature string) []*record.Entry {
	var out []*record.Entry
	for _, e := range o.es {
		if b, ok := e.Body.(*record.Reading); ok && b.Feature == feature {
			out = append(out, e)
		}
	}
	return out
}

func (o *oracle) counting(feature string) []*record.Entry {
	return slices.DeleteFunc(o.readings(feature), func(e *record.Entry) bool { return o.status(e) != record.ReadingCounts })
}

// checks of a first set-up that count.
func (o *oracle) checks(first *record.Entry) []*record.Entry {
	var out []*record.Entry
	for _, e := range o.es {
		if isCheck(e) && o.status(e) == record.ReadingCounts && o.rootOf(e.Body.(*record.Reading)) == first {
			out = append(out, e)
		}
	}
	return out
}

func (o *oracle) observation(e *record.Entry) verdict.Observation {
	b := e.Body.(*record.Reading)
	r := b.Reading
	if first := o.rootOf(b); first != nil {
		r.Setup = first.ID.String()
	}
	return verdict.Observation{ID: e.ID.String(), Person: e.By, Reading: r}
}

func (o *oracle) input(feature string, readings []*record.Entry) verdict.Input {
	in := verdict.Input{Spec: o.spec(feature), Setups: map[string]verdict.SetupState{}}
	for _, e := range readings {
		in.Observations = append(in.Observations, o.observation(e))
		if first := o.rootOf(e.Body.(*record.Reading)); first != nil {
			in.Setups[first.ID.String()] = o.setupState(first)
		}
	}
	for _, k := range in.Spec.Characteristics {
		if c, ok := o.conceded(feature, k.Name); ok {
			in.Concessions = append(in.Concessions, c)
		}
	}
	return in
}

func (o *oracle) setupState(first *record.Entry) verdict.SetupState {
	constants := o.constants(first)
	st := verdict.SetupState{ID: first.ID.String(), Person: first.By, Setup: constants[0].Body.(*record.Setup).Setup}
	for _, e := range o.checks(first) {
		b := e.Body.(*record.Reading)
		st.Checks = append(st.Checks, verdict.ZeroCheck{ID: e.ID.String(), After: b.Plane == spindle.ZeroAfter, Value: *b.Value})
	}
	if o.overdue(first) {
		st.Overdue = "overdue"
	}
	for _, x := range o.es {
		b, ok := x.Body.(*record.Objection)
		if !ok || !o.unlifted(x) {
			continue
		}
		for _, id := range b.Targets {
			if t := o.get(id); t != nil && !o.struck(t) && t.Kind == "setup" && o.root(t) == first {
				st.Doubted = "objected to"
			}
		}
	}
	if o.differ(constants) {
		st.Doubted = "corrected twice"
	}
	return st
}

func (o *oracle) overdue(first *record.Entry) bool {
	due := o.constants(first)[0].Body.(*record.Setup).Gauge.Due
	ms, _ := first.TimeMS()
	return due != 0 && ms > due
}

// conceded is what all concessions that apply to a characteristic accept.
func (o *oracle) conceded(feature, characteristic string) (verdict.Concession, bool) {
	var out verdict.Concession
	n, lowers, uppers := 0, 0, 0
	for _, e := range o.es {
		b, ok := e.Body.(*record.Concession)
		if !ok || b.Feature != feature || b.Characteristic != characteristic || !o.applies(e) {
			continue
		}
		n++
		if b.Lower != nil {
			lowers++
			if out.Lower == nil || *b.Lower > *out.Lower {
				out.Lower = b.Lower
			}
		}
		if b.Upper != nil {
			uppers++
			if out.Upper == nil || *b.Upper < *out.Upper {
				out.Upper = b.Upper
			}
		}
	}
	if lowers < n {
		out.Lower = nil
	}
	if uppers < n {
		out.Upper = nil
	}
	out.Characteristic = characteristic
	return out, n > 0
}

func (o *oracle) assess(feature string, readings []*record.Entry) verdict.Feature {
	return verdict.Assess(o.input(feature, readings))
}

func (o *oracle) unlifted(objection *record.Entry) bool {
	return o.may(objection) && !slices.ContainsFunc(o.es, func(e *record.Entry) bool {
		b, ok := e.Body.(*record.Settle)
		return ok && b.How == record.HowLift && o.stands(e) && slices.Contains(b.About, objection.ID)
	})
}

// objected: an objection that nobody lifted bears on the part. One that is only against decisions falls with them.
func (o *oracle) objected(c string, maximal []*record.Entry) bool {
	for _, x := range o.es {
		b, ok := x.Body.(*record.Objection)
		if !ok || !o.unlifted(x) {
			continue
		}
		if slices.ContainsFunc(b.Names, func(n string) bool { return o.leader(n) == c && c != "" }) {
			return true
		}
		hits, living := false, false
		for _, id := range b.Targets {
			t := o.get(id)
			if t == nil || o.struck(t) {
				continue
			}
			hits = hits || slices.Contains(o.bearsOn(t), c)
		}
		for _, id := range b.Targets {
			if t := o.get(id); t != nil {
				living = living || t.Kind != "decision" || slices.Contains(maximal, t)
			}
		}
		if hits && living {
			return true
		}
	}
	return false
}

// covers: every piece of evidence was seen, or is a reading by somebody who had seen the decision, that agrees.
func (o *oracle) covers(d *record.Entry, c string) bool {
	list, mayFollow := o.evidence(c)
	for _, x := range list {
		if o.saw(d, x) {
			continue
		}
		if !mayFollow[x.ID] || !o.saw(x, d) {
			return false
		}
		b, ok := x.Body.(*record.Reading)
		if !ok || isCheck(x) {
			continue
		}
		var earlier []verdict.Observation
		for _, r := range o.counting(b.Feature) {
			if o.saw(d, r) {
				earlier = append(earlier, o.observation(r))
			}
		}
		if agrees, _, _ := verdict.Agree(o.input(b.Feature, o.counting(b.Feature)), earlier, o.observation(x)); !agrees {
			return false
		}
	}
	return true
}

// open: a set-up to a master without a closing check, on which more rests than the confirmation of a decision that stands.
func (o *oracle) open(c string, stand []*record.Entry) bool {
	for _, f := range o.features(c) {
		for _, r := range o.counting(f) {
			first := o.rootOf(r.Body.(*record.Reading))
			if first == nil || o.constants(first)[0].Body.(*record.Setup).Mode != spindle.ModeMaster {
				continue
			}
			closed := slices.ContainsFunc(o.checks(first), func(e *record.Entry) bool { return e.Body.(*record.Reading).Plane == spindle.ZeroAfter })
			confirms := slices.ContainsFunc(stand, func(d *record.Entry) bool { return !o.saw(d, first) })
			if !closed && !confirms {
				return true
			}
		}
	}
	return false
}

// ownStrike: without the decider's own strikes something that conforms now would fail, by all that was struck together or by any of it in the place of what counts there now.
func (o *oracle) ownStrike(d *record.Entry, c string) bool {
	before := newOracle(o.all, func(k *record.Entry) bool { return k.By == d.By })
	for _, f := range o.features(c) {
		if len(before.specs(f)) == 0 {
			continue
		}
		now, was := o.counting(f), before.counting(f)
		in := func(list []*record.Entry, e *record.Entry) bool {
			return slices.ContainsFunc(list, func(x *record.Entry) bool { return x.ID == e.ID })
		}
		tries := [][]*record.Entry{was}
		for _, r := range was {
			if in(now, r) {
				continue
			}
			b := r.Body.(*record.Reading)
			sweep := spindle.IsSweep(b.Characteristic)
			rival := func(e *record.Entry) bool {
				x := e.Body.(*record.Reading)
				return x.Characteristic == b.Characteristic && x.Plane == b.Plane && (sweep || x.Angle == b.Angle)
			}
			try := []*record.Entry{r}
			for _, e := range now {
				if !rival(e) {
					try = append(try, e)
				}
			}
			for _, e := range was {
				if sweep && e != r && rival(e) && !in(now, e) && before.rootOf(e.Body.(*record.Reading)) == before.rootOf(b) {
					try = append(try, e)
				}
			}
			tries = append(tries, try)
		}
		result := o.assess(f, now)
		for _, try := range tries {
			input := o.input(f, nil)
			for _, e := range try {
				input.Observations = append(input.Observations, o.observation(e))
				if first := before.rootOf(e.Body.(*record.Reading)); first != nil {
					input.Setups[first.ID.String()] = before.setupState(first)
				}
			}
			for n, k := range verdict.Assess(input).Characteristics {
				if now := result.Characteristics[n]; k.Outcome == verdict.Fails && now.Required && now.Outcome == verdict.Conforms {
					return true
				}
			}
		}
	}
	return false
}
