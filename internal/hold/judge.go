package hold

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Judgement is the whole job, judged.
type Judgement struct {
	Components []*Component // in the order of the state
	Job        []Reason     // what holds every part
	Alarms     []string
}

// Component is one component, judged.
type Component struct {
	*record.ComponentState
	Inputs   []verdict.Input   // what each verdict rests on, in the order of Features
	Verdicts []verdict.Feature // in the order of Features
	Damage   []string          // found, and no standing decision has seen it
	Proposal verdict.Proposal
	Held     []Reason // empty: cleared
	// Decisions in order, each with whether it stands.
	Decisions []Decision
	// ClearedBy says in words by whom and on what; "" while held.
	ClearedBy string
	// Digest names the evidence: it changes whenever anything that bears on the part does.
	Digest string
}

// Cleared reports whether nothing stands against the part.
func (c *Component) Cleared() bool { return len(c.Held) == 0 }

// Decision is one decision and, where it does not stand, why.
type Decision struct {
	*record.Item
	Stands bool
	Why    string
}

// Judge judges every component of the job.
func Judge(s *record.State, overlay Overlay) *Judgement {
	j := &Judgement{Job: append(jobReasons(s), onHold(s)...)}
	unstruck := map[string]*record.State{}
	for _, state := range s.Components {
		k := judge{state: s, unstruck: unstruck, Component: &Component{ComponentState: state}}
		k.verdicts()
		k.reasons()
		k.overlay(overlay)
		k.Held = append(k.Held, j.Job...)
		k.Digest = digest(state)
		j.Components = append(j.Components, k.Component)
	}
	holdSets(j.Components)
	for _, c := range j.Components {
		if c.Cleared() {
			c.ClearedBy = clearedBy(c)
		}
		if c.Fitted != nil && c.withdrawn() && !c.answered(s) {
			j.Alarms = append(j.Alarms, fmt.Sprintf("%s was fitted by %s on a clearance since withdrawn", c.Card.Name, c.Fitted.By))
		}
	}
	return j
}

func jobReasons(s *record.State) []Reason {
	var out []Reason
	if n := len(s.Unread); n > 0 {
		code, words := TooOld, fmt.Sprintf("this program is too old to read %s", count(n, "entry", "entries"))
		act := "update the program"
		if slices.ContainsFunc(s.Unread, func(i *record.Item) bool { return i.V == 0 }) {
			code, words, act = Withheld, "the server withholds an entry whose bytes could not be read", "send the entry again from the device that wrote it"
		}
		out = append(out, Reason{Code: code, Words: words, Act: act, Who: []spindle.Role{spindle.Admin}, Refs: ids(s.Unread)})
	}
	if n := len(s.Waiting); n > 0 {
		out = append(out, Reason{Code: NotClosed, Words: fmt.Sprintf("%s here that rest on entries that are not here yet", count(n, "entry is", "entries are")),
			Act: "let this device reach the server", Who: spindle.Roles(), Refs: s.Waiting})
	}
	return out
}

// onHold holds every part while the latest decision on the job as a whole is to hold it, or several differ and one of them is.
func onHold(s *record.State) []Reason {
	var out []Reason
	for _, d := range s.JobDecisions() {
		if b := d.Body.(*record.Decision); b.Outcome == record.OutcomeHold {
			out = append(out, Reason{Code: DecidedAgainst, Words: fmt.Sprintf("the whole job is on hold, by %s: %s", d.By, b.Reason), Act: "decide on the job again", Who: inspector, Refs: []record.ID{d.ID}})
		}
	}
	return out
}

// withdrawn reports whether something in the record holds the part, or the decider's role was withdrawn: not only that this device has been out of touch.
func (c *Component) withdrawn() bool {
	return slices.ContainsFunc(c.Held, func(r Reason) bool { return r.Code != OldKnowledge })
}

// answered reports whether everybody who decided last on the part knew that it is fitted, and nobody of them clears it: the alarm has done its work.
func (c *Component) answered(s *record.State) bool {
	return len(c.Maximal) > 0 && !slices.ContainsFunc(c.Maximal, func(d *record.Item) bool {
		return d.Body.(*record.Decision).Clears() || !s.Saw(d, c.Fitted)
	})
}

// holdSets holds every ring of a matched set when one of them is held by itself or decided away.
func holdSets(components []*Component) {
	own := map[*Component]bool{}
	for _, c := range components {
		own[c] = len(c.Held) > 0
	}
	for _, c := range components {
		for _, set := range c.Sets() {
			i := slices.IndexFunc(components, func(other *Component) bool { return other != c && own[other] && slices.Contains(other.Sets(), set) })
			if i >= 0 {
				c.Held = append(c.Held, Reason{Code: SetHeld, Words: fmt.Sprintf("set %s: %s is held, and a set is fitted whole", set, components[i].Card.Name),
					Act: "clear the other ring, or replace the set", Who: []spindle.Role{spindle.Inspector}})
			}
		}
	}
}

func clearedBy(c *Component) string {
	var people []string
	outcome := ""
	for _, d := range c.Maximal {
		if !slices.Contains(people, d.By) {
			people = append(people, d.By)
		}
		outcome = d.Body.(*record.Decision).Outcome
	}
	words := fmt.Sprintf("%s, decided by %s", outcome, strings.Join(people, " and "))
	for _, v := range c.Verdicts {
		for _, k := range v.Characteristics {
			if k.Conceded != "" {
				words += fmt.Sprintf(", by concession (%s)", k.Conceded)
			}
		}
	}
	return words
}

// digest names the evidence and the decisions that stand on it.
func digest(c *record.ComponentState) string {
	var list []record.ID
	for _, e := range c.Evidence {
		list = append(list, e.ID)
	}
	for _, d := range c.Maximal {
		list = append(list, d.ID)
	}
	slices.SortFunc(list, record.ID.Compare)
	h := sha256.New()
	for _, id := range list {
		h.Write(id[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}

func ids(items []*record.Item) []record.ID {
	out := make([]record.ID, 0, len(items))
	for _, i := range items {
		out = append(out, i.ID)
	}
	return out
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
