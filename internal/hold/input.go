package hold

import (
	"fmt"
	"slices"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// judge holds what is needed while one component is judged.
type judge struct {
	state    *record.State
	unstruck map[string]*record.State // without the strikes of a person, by person, for all components
	*Component
}

// verdicts assesses every feature and proposes.
func (k *judge) verdicts() {
	var specs []spindle.Specification
	for _, f := range k.Features {
		in := k.input(f, f.Readings)
		k.Inputs = append(k.Inputs, in)
		k.Verdicts = append(k.Verdicts, verdict.Assess(in))
		specs = append(specs, f.Spec())
	}
	k.Damage = k.openDamage()
	k.Proposal = verdict.Propose(k.Card, k.Verdicts, specs, k.Damage)
}

// openDamage lists findings of damage that no standing decision has seen.
func (k *judge) openDamage() []string {
	var out []string
	for _, d := range k.Findings {
		seen := slices.ContainsFunc(k.Maximal, func(m *record.Item) bool { return k.state.Saw(m, d) })
		if !seen {
			b := d.Body.(*record.Finding)
			text := b.Text
			if text == "" && len(b.Signs) > 0 {
				text = b.Signs[0]
			}
			out = append(out, text)
		}
	}
	return out
}

// input gathers what the verdict of a feature rests on, from those of the readings that count.
func (k *judge) input(f *record.FeatureState, readings []*record.ReadingState) verdict.Input {
	in := verdict.Input{Spec: f.Spec(), Setups: map[string]verdict.SetupState{}}
	for _, r := range readings {
		if r.Status == record.ReadingCounts {
			in.Observations = append(in.Observations, observation(r))
			addSetup(in.Setups, r.Setup)
		}
	}
	in.Concessions = k.concessions(f)
	return in
}

// observation is the reading as the verdict wants it: on the first set-up of its family, whose constants are those of the latest correction.
func observation(r *record.ReadingState) verdict.Observation {
	reading := r.Reading
	if r.Setup != nil {
		reading.Setup = r.Setup.First.ID.String()
	}
	return verdict.Observation{ID: r.ID.String(), Person: r.By, Reading: reading}
}

func addSetup(setups map[string]verdict.SetupState, f *record.SetupFamily) {
	if f == nil {
		return
	}
	id := f.First.ID.String()
	if _, ok := setups[id]; ok {
		return
	}
	st := verdict.SetupState{ID: id, Person: f.First.By, Setup: f.Constants()}
	for _, c := range f.Checks {
		if c.Value != nil {
			st.Checks = append(st.Checks, verdict.ZeroCheck{ID: c.ID.String(), After: c.Plane == spindle.ZeroAfter, Value: *c.Value})
		}
	}
	st.Overdue = overdue(f)
	if len(f.Objections) > 0 {
		st.Doubted = f.Objections[0].Body.(*record.Objection).Reason
	}
	if f.Conflicting() {
		st.Doubted = correctedTwice
	}
	setups[id] = st
}

const correctedTwice = "the set-up was corrected twice, without knowledge of each other"

// overdue says in words that the calibration had ended when the gauge was set up, by the clock of the tablet; "" where it had not, or nobody knows when it ends.
func overdue(f *record.SetupFamily) string {
	gauge := f.Constants().Gauge
	if ms, _ := f.First.TimeMS(); gauge.Due != 0 && ms > gauge.Due {
		return fmt.Sprintf("the calibration of gauge %s had ended when it was set up", gauge.ID)
	}
	return ""
}

// concessions are those that apply; of several given without knowledge of each other only what all of them accept counts.
func (k *judge) concessions(f *record.FeatureState) []verdict.Concession {
	var out []verdict.Concession
	for _, c := range f.Concessions {
		if !c.Applies {
			continue
		}
		b := c.Body.(*record.Concession)
		by := fmt.Sprintf("%s, %s, %s", b.Authority, b.Person, b.Reference)
		if i := slices.IndexFunc(out, func(o verdict.Concession) bool { return o.Characteristic == b.Characteristic }); i >= 0 {
			out[i] = intersect(out[i], b, by)
			continue
		}
		out = append(out, verdict.Concession{ID: c.ID.String(), Characteristic: b.Characteristic, Lower: b.Lower, Upper: b.Upper, By: by})
	}
	return out
}

// intersect keeps a limit only where both concede one, and the narrower of the two.
func intersect(a verdict.Concession, b *record.Concession, by string) verdict.Concession {
	pick := func(x, y *length.Length, narrower func(length.Length, length.Length) bool) *length.Length {
		switch {
		case x == nil || y == nil:
			return nil
		case narrower(*x, *y):
			return x
		}
		return y
	}
	a.Lower = pick(a.Lower, b.Lower, func(x, y length.Length) bool { return x > y })
	a.Upper = pick(a.Upper, b.Upper, func(x, y length.Length) bool { return x < y })
	a.By += "; only what this concession accepts too: " + by
	return a
}
