package sheet

import (
	"slices"
	"strings"

	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// JobLine is one line of the list of jobs.
type JobLine struct {
	Job        string `json:"job"`
	Customer   string `json:"customer"`
	Maker      string `json:"maker"`
	Model      string `json:"model"`
	Serial     string `json:"serial"`
	Stage      string `json:"stage"`
	Promised   string `json:"promised"`
	Entries    int    `json:"entries"`
	Components int    `json:"components"`
	Cleared    int    `json:"cleared"`
	Held       int    `json:"held"`
	// WaitsFor counts, for each role, the held parts with something that the role could lift.
	WaitsFor map[spindle.Role]int `json:"waits_for"` // encoding/json writes map keys in order
	// Out counts required characteristics that fail, cannot be told or are in conflict.
	Out int `json:"out"`
}

// Line sums the sheet up.
func (s *Sheet) Line() JobLine {
	l := JobLine{Job: s.Job, Customer: s.Fact("customer"), Maker: s.Fact("maker"), Model: s.Fact("model"), Serial: s.Fact("serial"), Stage: s.Fact("stage"), Promised: s.Fact("promised"),
		Entries: s.Entries, Components: len(s.Components), WaitsFor: map[spindle.Role]int{}}
	for _, c := range s.Components {
		if c.Cleared {
			l.Cleared++
		} else {
			l.Held++
		}
		var roles []spindle.Role
		for _, r := range c.Holds {
			for _, role := range r.Who {
				if !slices.Contains(roles, role) {
					roles = append(roles, role)
				}
			}
		}
		for _, role := range roles {
			l.WaitsFor[role]++
		}
		for _, f := range c.Features {
			for _, k := range f.Verdict.Characteristics {
				if k.Required && k.Outcome != verdict.Conforms && k.Outcome != verdict.Incomplete {
					l.Out++
				}
			}
		}
	}
	return l
}

// Fact returns the value of a register of the job; several concurrent ones joined by " · ".
func (s *Sheet) Fact(field string) string {
	for _, f := range s.Facts {
		if f.Subject == "job" && f.Field == field {
			return strings.Join(f.Values, " · ")
		}
	}
	return ""
}
