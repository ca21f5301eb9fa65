// Package explain opens a verdict up: from the readings over the corrections, the formula, the uncertainty budget and the limits to the decision and to what would settle it, each step
// with its numbers and its source.
//
// An [Explanation] is a list of steps in the order in which a person would work them out on paper. The page draws it, the report prints it and the command line writes it as
// text; all of them say the same, since the words are made here.
package explain

import (
	"errors"
	"fmt"
	"sort"
	"strings"

	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// ErrNoCharacteristic says that the specification has no such characteristic.
var ErrNoCharacteristic = errors.New("nothing to explain")

// Explanation is the derivation of the verdict of one characteristic.
type Explanation struct {
	Feature        string          `json:"feature"`
	Name           string          `json:"name"`
	Characteristic string          `json:"characteristic"`
	Outcome        verdict.Outcome `json:"outcome"`
	Sentence       string          `json:"sentence"`
	Steps          []Step          `json:"steps"`
}

// Step is one step of the derivation. What it has nothing to say of is left out.
type Step struct {
	Key   string   `json:"key"`   // "readings", "corrections", "stations", "value", "uncertainty", "limits", "decision", "settle", "mend", "notes"
	Title string   `json:"title"` // for a heading
	Words []string `json:"words,omitempty"`
	// Formula is the rule by which the numbers of this step follow from those before, Source where it is written.
	Formula string   `json:"formula,omitempty"`
	Source  string   `json:"source,omitempty"`
	Head    []string `json:"head,omitempty"` // of the table
	Rows    []Row    `json:"rows,omitempty"`
}

// Row is one line of a step's table.
type Row struct {
	Cells []string `json:"cells"`
	IDs   []string `json:"ids,omitempty"` // of the readings behind it
}

// Of explains one characteristic of a feature. Error [ErrNoCharacteristic] where it is not specified.
func Of(in verdict.Input, characteristic string) (Explanation, error) {
	t, ok := verdict.TraceOf(in, characteristic)
	if !ok {
		return Explanation{}, fmt.Errorf("%w: the specification of %s says nothing of %s", ErrNoCharacteristic, in.Spec.Feature, characteristic)
	}
	inPlanOrder(in.Spec.Plan, t.Readings)
	e := Explanation{Feature: in.Spec.Feature, Name: in.Spec.Name, Characteristic: characteristic, Outcome: t.Outcome, Sentence: t.Sentence}
	for _, make := range []func(verdict.Trace) Step{readings, corrections, stations, value, budget, limits, decision, settle, mend, notes} {
		if s := make(t); len(s.Rows)+len(s.Words) > 0 {
			e.Steps = append(e.Steps, s)
		}
	}
	return e, nil
}

// inPlanOrder sorts readings as a person went round the part: by plane, angle and repeat, the closing reading of a sweep last.
func inPlanOrder(plan spindle.Plan, list []verdict.TracedReading) {
	plane := func(name string) int {
		for i, p := range plan.Planes {
			if p.Name == name {
				return i
			}
		}
		return len(plan.Planes)
	}
	key := func(r spindle.Reading) [4]int64 {
		closing := int64(0)
		if r.Closing {
			closing = 1
		}
		return [4]int64{int64(plane(r.Plane)), closing, r.Angle, int64(r.Repeat)}
	}
	sort.SliceStable(list, func(i, k int) bool {
		a, b := key(list[i].Reading), key(list[k].Reading)
		for n := range a {
			if a[n] != b[n] {
				return a[n] < b[n]
			}
		}
		return false
	})
}

// Text writes the explanation for a terminal: a heading for each step, tables in columns.
func (e Explanation) Text() string {
	var b strings.Builder
	title := e.Feature
	if e.Name != "" {
		title += " " + e.Name
	}
	b.WriteString(title + ", " + e.Characteristic + ": " + string(e.Outcome) + "\n  " + e.Sentence + "\n")
	for _, s := range e.Steps {
		b.WriteString("\n  " + s.Title + "\n")
		if s.Formula != "" {
			b.WriteString("    " + s.Formula)
			if s.Source != "" {
				b.WriteString("   [" + s.Source + "]")
			}
			b.WriteByte('\n')
		} else if s.Source != "" {
			b.WriteString("    [" + s.Source + "]\n")
		}
		writeTable(&b, s)
		for _, w := range s.Words {
			b.WriteString("    " + w + "\n")
		}
	}
	return b.String()
}

// writeTable sets head and rows in columns as wide as they need, counted in characters.
func writeTable(b *strings.Builder, s Step) {
	lines := make([][]string, 0, len(s.Rows)+1)
	if len(s.Head) > 0 {
		lines = append(lines, s.Head)
	}
	for _, r := range s.Rows {
		lines = append(lines, r.Cells)
	}
	var widths []int
	for _, cells := range lines {
		for i, c := range cells {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], runes(c))
		}
	}
	for _, cells := range lines {
		line := "   "
		for i, c := range cells {
			line += " " + c + strings.Repeat(" ", widths[i]-runes(c)+1)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

func runes(s string) int {
	n := 0
	for range s {
		n++
	}
	return n
}
