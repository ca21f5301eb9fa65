package iso286

import (
	"fmt"
	"strings"

	"runtrue/internal/length"
)

// Status says in one term how well a result is confirmed by what publishers print.
type Status string

// From best to worst. A result has the worst status of what it was made from.
const (
	Confirmed   Status = "confirmed"   // every number is printed alike by two or more independent publishers, or is the standard's definition
	OneSource   Status = "one source"  // at least one number was read from a single publisher
	RuleOnly    Status = "rule only"   // follows from a rule of the standard; no published limit read confirms it
	Unconfirmed Status = "unconfirmed" // at least one number is from memory, from a footnote alone, or printed in differing versions
)

func (s Status) rank() int {
	switch s {
	case Confirmed:
		return 0
	case OneSource:
		return 1
	case RuleOnly:
		return 2
	}
	return 3
}

func worse(a, b Status) Status {
	if b.rank() > a.rank() {
		return b
	}
	return a
}

// Provenance is one number of a result and where it came from.
type Provenance struct {
	What      string        `json:"what"`      // such as "IT4", "ei of k", "delta"
	Value     length.Length `json:"value_pm"`  // pm, signed
	Table     string        `json:"table"`     // standard, edition and table
	Step      Step          `json:"-"`         // the step of nominal size that the number stands for
	Sources   []string      `json:"sources"`   // the publishers it was read from, by title
	Confirmed string        `json:"confirmed"` // how well it is confirmed, in words
	Status    Status        `json:"status"`    // the same in one term
}

// provenance builds the account of one cell.
func (t *tableSet) provenance(what, table string, step Step, c cell) Provenance {
	p := Provenance{What: what, Value: c.value, Table: table, Step: step}
	for _, id := range c.sources {
		plain, mirrored := strings.CutPrefix(id, "~")
		title := t.sources[plain]
		if mirrored {
			title += " (mirrored letter)"
		}
		p.Sources = append(p.Sources, title)
	}
	p.Confirmed, p.Status = markInWords(c)
	if c.note != "" && p.Status != Confirmed {
		p.Confirmed += " (" + c.note + ")"
	}
	return p
}

// markInWords turns a table's status mark into a sentence part and a status. An unknown mark counts as unconfirmed and says so.
func markInWords(c cell) (string, Status) {
	switch c.mark {
	case "two_or_more":
		if c.publishers == 0 {
			return "two or more publishers print it alike", Confirmed
		}
		return fmt.Sprintf("%d independent publishers print it alike", c.publishers), Confirmed
	case "two_with_mirror":
		return fmt.Sprintf("%d independent publishers agree, tables of the mirrored letter counted", c.publishers), Confirmed
	case "one":
		return "read from one publisher", OneSource
	case "one_mirror":
		return "read from one publisher's table of the mirrored letter", OneSource
	case "definition":
		return "a definition of the standard", Confirmed
	case "difference":
		if len(c.sources) > 0 {
			return "the difference of two standard tolerances, and printed by one publisher", Confirmed
		}
		return "the difference of two standard tolerances, as where it is printed", Confirmed
	case "rule":
		return "a rule of the standard; no published limit read confirms it", RuleOnly
	case "footnote":
		return "rests on one printed footnote", Unconfirmed
	case "disputed":
		return "printed tables differ here; unconfirmed", Unconfirmed
	case "memory":
		return "from memory; no print read confirms it", Unconfirmed
	}
	return fmt.Sprintf("unknown mark %q; take it as unconfirmed", c.mark), Unconfirmed
}
