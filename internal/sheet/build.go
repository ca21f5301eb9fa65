package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Build folds and judges the job and sets it out. With a zero overlay the result is a pure function of the set of entries.
func Build(j *record.Job, overlay hold.Overlay) *Sheet {
	s := record.Fold(j)
	return FromState(s, hold.Judge(s, overlay))
}

// JSON writes the sheet's canonical bytes: the same set gives the same bytes everywhere.
func (s *Sheet) JSON() []byte {
	b, err := json.Marshal(s)
	if err != nil {
		panic("sheet: " + err.Error()) // only a NaN could be refused, and the verdict gives none
	}
	return b
}

// FromState sets out a job that is folded and judged already.
func FromState(s *record.State, judged *hold.Judgement) *Sheet {
	out := &Sheet{Job: s.Job.Name, Engine: record.Engine, Digest: setDigest(s.Job), Entries: s.Job.Len(), Heads: s.Job.Heads(),
		Facts: []Fact{}, Components: []Component{}, Setups: []Setup{}, Steps: []Step{}, Findings: []Finding{}, Alarms: orEmpty(judged.Alarms), Holds: orEmpty(judged.Job),
		WithoutEffect: []Line{}, History: []Line{}}
	for _, r := range s.Facts {
		out.Facts = append(out.Facts, Fact{Subject: r.Subject, Field: r.Field, Values: r.Values})
	}
	for _, c := range judged.Components {
		out.Components = append(out.Components, component(c))
	}
	for _, f := range s.Setups {
		out.Setups = append(out.Setups, setup(f))
	}
	for _, i := range s.Steps {
		b := i.Body.(*record.Step)
		out.Steps = append(out.Steps, Step{ID: i.ID, Stamp: stamp(i), What: b.What, Component: b.Component, Place: b.Place, Words: words(s, i)})
	}
	for _, i := range s.Items {
		if b, ok := i.Body.(*record.Finding); ok && i.Without == "" {
			out.Findings = append(out.Findings, finding(i, b))
		}
		line := Line{ID: i.ID, Stamp: stamp(i), Kind: i.Kind, Words: words(s, i), Why: i.Without}
		if i.Struck() {
			line.Why = "struck by " + i.StruckBy[0].By
		}
		out.History = append(out.History, line)
		if i.Without != "" {
			out.WithoutEffect = append(out.WithoutEffect, line)
		}
	}
	return out
}

// setDigest names the set of entries.
func setDigest(j *record.Job) string {
	h := sha256.New()
	for _, id := range j.IDs() {
		h.Write(id[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func stamp(i *record.Item) Stamp {
	ms, clocked := i.TimeMS()
	return Stamp{By: i.By, As: i.As, Device: i.Device, TimeMS: ms, Clocked: clocked}
}

func component(c *hold.Component) Component {
	out := Component{Component: c.Card, Proposal: c.Proposal, Cleared: c.Cleared(), ClearedBy: c.ClearedBy, Holds: orEmpty(c.Held), Evidence: c.Digest,
		Fitted: c.Fitted != nil, Damage: c.Damage, Decisions: []Decision{}, Features: []Feature{}}
	for _, d := range c.Decisions {
		b := d.Body.(*record.Decision)
		out.Decisions = append(out.Decisions, Decision{ID: d.ID, Stamp: stamp(d.Item), Outcome: b.Outcome, Reason: b.Reason, Stands: d.Stands, Why: d.Why})
		if d.Stands {
			out.Decision = b.Outcome
		}
	}
	for n, f := range c.Features {
		out.Features = append(out.Features, feature(f, c, n))
	}
	return out
}

func feature(f *record.FeatureState, c *hold.Component, n int) Feature {
	out := Feature{Spec: f.Spec(), SpecID: f.Specs[0].ID, Round: len(f.Reworks), Input: c.Inputs[n], Verdict: c.Verdicts[n], Readings: []Reading{}, Reworks: []Rework{}, Concessions: []Concession{}}
	if f.Conflicting() {
		for _, o := range f.Specs[1:] {
			out.Others = append(out.Others, o.Body.(*record.Specification).Specification)
		}
	}
	for _, r := range f.Readings {
		out.Readings = append(out.Readings, Reading{ID: r.ID, Stamp: stamp(r.Item), Reading: r.Reading, Status: string(r.Status), Why: r.Why})
	}
	for _, w := range c.Reworks {
		if b := w.Body.(*record.Rework); slices.Contains(b.Features, f.Name) {
			out.Reworks = append(out.Reworks, Rework{ID: w.ID, Stamp: stamp(w), State: b.State, Operation: b.Operation, Struck: w.Struck()})
		}
	}
	for _, k := range f.Concessions {
		b := k.Body.(*record.Concession)
		out.Concessions = append(out.Concessions, Concession{ID: k.ID, Stamp: stamp(k.Item), Characteristic: b.Characteristic, Words: concessionWords(b), Covers: k.Applies, Why: k.Why})
	}
	return out
}

func setup(f *record.SetupFamily) Setup {
	out := Setup{ID: f.First.ID, Stamp: stamp(f.First), Setup: f.Constants(), Corrected: len(f.Corrections) > 0, Readings: f.Readings, Struck: f.Struck}
	for _, c := range f.Checks {
		if c.Value == nil {
			continue
		}
		v := int64(*c.Value)
		if c.Plane == spindle.ZeroAfter {
			out.After = &v
		} else {
			out.Before = &v
		}
	}
	return out
}

func finding(i *record.Item, b *record.Finding) Finding {
	out := Finding{ID: i.ID, Stamp: stamp(i), Subject: b.Subject, Place: b.Place, Severity: b.Severity, Text: b.Text, Signs: orEmpty(b.Signs), Photos: []string{}, Struck: i.Struck()}
	for _, p := range b.Photos {
		out.Photos = append(out.Photos, p.Hash.String())
	}
	return out
}

func concessionWords(b *record.Concession) string {
	if !b.Withdraws.IsZero() {
		return fmt.Sprintf("withdrawn, %s %s, %s", b.Authority, b.Person, b.Reference)
	}
	words := fmt.Sprintf("%s %s, %s, accepts", b.Authority, b.Person, b.Reference)
	if b.Lower != nil {
		words += " from " + signed(*b.Lower)
	}
	if b.Upper != nil {
		words += " to " + signed(*b.Upper)
	}
	return words
}
