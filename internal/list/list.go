// Package list writes the list of a job: one line a component, whether it is reused, reworked or replaced, and why.
//
// The list is the base of the firm price: what must be bought, what must be ground or plated, and what nobody can tell yet. It is written as a page to print, as CSV for a
// spreadsheet and as JSON for programs, all from the same [Row]s. Nothing here computes a verdict; nothing knows the time: a date is handed in or left out.
package list

import (
	"errors"
	"fmt"
	"strings"

	"runtrue/internal/jobfile"
	"runtrue/internal/length"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Row is one component.
type Row struct {
	Component string // its id in the job
	Name      string
	Place     string
	Serial    string
	Proposal  verdict.Action
	Decision  string // the outcome that stands; empty while none does
	Sentence  string // why the proposal is what it is
	// Feature and Characteristic are the worst ones, which the sentence is on; empty where it is on the whole part.
	Feature        string
	Characteristic string
	// ByHowMuch says how far the worst value lies inside or outside its limits, in words with unit; empty where there is no value.
	ByHowMuch string
	// Rework says what to take off or put on, for a part that is to be reworked.
	Rework  string
	Cleared bool
	Status  string   // "cleared: reuse, decided by …", or "held: …" with how many reasons there are
	Holds   []string // every reason, in words
}

// Rows sets the sheet out, in its order.
func Rows(s *sheet.Sheet) []Row {
	rows := make([]Row, 0, len(s.Components))
	for _, c := range s.Components {
		r := Row{Component: c.ID, Name: c.Name, Place: c.Place, Serial: c.Serial, Proposal: c.Proposal.Action, Decision: c.Decision, Sentence: c.Proposal.Reason,
			Feature: c.Proposal.Feature, Characteristic: c.Proposal.Characteristic, Cleared: c.Cleared}
		if k, ok := worst(c); ok {
			r.ByHowMuch = byHowMuch(k)
			if c.Proposal.Action == verdict.Rework {
				r.Rework = reworks(c)
			}
		}
		for _, h := range c.Holds {
			r.Holds = append(r.Holds, h.Words)
		}
		switch {
		case c.Cleared:
			r.Status = "cleared: " + c.ClearedBy
		case len(r.Holds) == 1:
			r.Status = "held: " + r.Holds[0]
		case len(r.Holds) > 1:
			r.Status = fmt.Sprintf("held: %s; and %d more", r.Holds[0], len(r.Holds)-1)
		default:
			r.Status = "held"
		}
		rows = append(rows, r)
	}
	return rows
}

// worst finds the verdict that the proposal's sentence is on.
func worst(c sheet.Component) (verdict.Characteristic, bool) {
	for _, f := range c.Features {
		if f.Spec.Feature != c.Proposal.Feature {
			continue
		}
		for _, k := range f.Verdict.Characteristics {
			if k.Name == c.Proposal.Characteristic {
				return k, true
			}
		}
	}
	return verdict.Characteristic{}, false
}

// byHowMuch: a margin is the distance to the nearer limit, positive inside.
func byHowMuch(k verdict.Characteristic) string {
	switch {
	case k.Outcome == verdict.Incomplete:
		return fmt.Sprintf("%d of %d read", k.Have, k.Need)
	case k.Margin != nil && *k.Margin < 0:
		return micrometres(-*k.Margin) + " outside"
	case k.Margin != nil:
		return micrometres(*k.Margin) + " inside"
	}
	return ""
}

// micrometres prints to a tenth, or exactly where that would read as nothing.
func micrometres(l length.Length) string {
	if l.Abs() < length.Micrometre/10 && l != 0 {
		return l.String()
	}
	return length.Format(l, length.Micrometres, 1)
}

// reworks lists every mend that is needed and allowed, one a failing characteristic.
func reworks(c sheet.Component) string {
	var out []string
	for _, f := range c.Features {
		for _, k := range f.Verdict.Characteristics {
			if m := k.Mend; k.Required && k.Outcome == verdict.Fails && m != nil && m.Allowed {
				out = append(out, fmt.Sprintf("%s: %s, %s to %s, aim %s", f.Spec.Feature, m.Direction, micrometres(m.From), micrometres(m.To), micrometres(m.Aim)))
			}
		}
	}
	return strings.Join(out, "; ")
}

// Totals counts rows by proposal, in the order in which they are shown, and those that are cleared.
type Totals struct {
	ByProposal []ProposalCount
	Components int
	Cleared    int
}

// ProposalCount is how many rows have one proposal.
type ProposalCount struct {
	Proposal verdict.Action
	Count    int
}

// Sum counts the rows.
func Sum(rows []Row) Totals {
	t := Totals{Components: len(rows)}
	for _, a := range []verdict.Action{verdict.Reuse, verdict.Rework, verdict.Replace, verdict.Measure, verdict.Decide} {
		n := ProposalCount{Proposal: a}
		for _, r := range rows {
			if r.Proposal == a {
				n.Count++
			}
		}
		t.ByProposal = append(t.ByProposal, n)
	}
	for _, r := range rows {
		if r.Cleared {
			t.Cleared++
		}
	}
	return t
}

// ErrFormat says that there is no such form of the list.
var ErrFormat = errors.New("no such format")

// Export writes the job in one of the formats html, csv, json (the list) or job (the job file, see package jobfile), with a file name and a content type.
//
// Errors: [ErrFormat]; for the job file what [jobfile.FromSheet] says.
func Export(s *sheet.Sheet, format string) (name, contentType string, body []byte, err error) {
	base := s.Job
	if base == "" {
		base = "job"
	}
	switch format {
	case "html":
		return base + "-list.html", "text/html; charset=utf-8", HTML(s, ""), nil
	case "csv":
		return base + "-list.csv", "text/csv; charset=utf-8", CSV(s), nil
	case "json":
		return base + "-list.json", "application/json", JSON(s), nil
	case "job":
		f, err := jobfile.FromSheet(s)
		if err != nil {
			return "", "", nil, err
		}
		return base + "-job.json", "application/json", f.JSON(), nil
	}
	return "", "", nil, fmt.Errorf("%w: %q; the job can be had as html, csv, json or job", ErrFormat, format)
}

// line is a component in JSON: what the job file's result says of it, and behind that what people decided.
type line struct {
	jobfile.ComponentLine
	Type      spindle.ComponentType `json:"type"`
	Decision  string                `json:"decision"`
	Cleared   bool                  `json:"cleared"`
	ClearedBy string                `json:"cleared_by"`
	Holds     []string              `json:"holds"`
	ByHowMuch string                `json:"by_how_much"`
	Rework    string                `json:"rework"`
}

// JSON writes {"components":[…]}, each component with the keys of an assessed job file and, behind them, decision, cleared and what holds it.
func JSON(s *sheet.Sheet) []byte {
	rows := Rows(s)
	lines := []line{}
	for i, c := range jobfile.ResultOf(s).Lines() {
		r := rows[i]
		lines = append(lines, line{ComponentLine: c, Type: s.Components[i].Type, Decision: r.Decision, Cleared: r.Cleared, ClearedBy: s.Components[i].ClearedBy,
			Holds: append([]string{}, r.Holds...), ByHowMuch: r.ByHowMuch, Rework: r.Rework})
	}
	return jobfile.Indented(struct {
		Components []line `json:"components"`
		Job        string `json:"job"`
	}{lines, s.Job})
}
