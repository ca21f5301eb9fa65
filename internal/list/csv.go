package list

import (
	"encoding/json"
	"strconv"
	"strings"

	"runtrue/internal/jobfile"
	"runtrue/internal/sheet"
)

// CSV writes the rows for a spreadsheet, in UTF-8 with a line of headings. A cell that a spreadsheet could take for a formula has an apostrophe before it.
func CSV(s *sheet.Sheet) []byte {
	t := table{}
	t.row("component", "name", "place", "serial", "proposal", "decision", "status", "why", "feature", "characteristic", "by how much", "rework", "holds")
	for _, r := range Rows(s) {
		t.row(r.Component, r.Name, r.Place, r.Serial, string(r.Proposal), r.Decision, r.Status, r.Sentence, r.Feature, r.Characteristic, r.ByHowMuch, r.Rework, strings.Join(r.Holds, "; "))
	}
	return t
}

// CharacteristicsCSV writes one line a characteristic, with its numbers in micrometres; a quantity has its value and unit in columns of their own.
func CharacteristicsCSV(result jobfile.Result) []byte {
	t := table{}
	t.row("component", "proposal", "reason", "feature", "characteristic", "outcome", "value_um", "lower_um", "upper_um", "u_um", "rule", "p_c", "value", "lower", "upper", "unit", "sentence")
	for _, c := range result.Lines() {
		if len(c.Features) == 0 {
			t.row(c.Component, string(c.Proposal), c.Reason, "", "", "", "", "", "", "", "", "", "", "", "", "", "")
		}
		for _, k := range c.Features {
			pc := ""
			if k.PC != nil {
				pc = strconv.FormatFloat(*k.PC, 'f', -1, 64)
			}
			t.row(c.Component, string(c.Proposal), c.Reason, k.Feature, k.Characteristic, string(k.Outcome), k.Value.String(), k.Lower.String(), k.Upper.String(), k.U.String(), k.Rule, pc,
				k.Bound+number(k.Quantity), number(k.LowerQ), number(k.UpperQ), k.Unit, k.Sentence)
		}
	}
	return t
}

// number is a number of JSON, which CSV writes alike.
func number(raw *json.RawMessage) string {
	if raw == nil {
		return ""
	}
	return string(*raw)
}

// table is CSV as it grows (RFC 4180).
type table []byte

func (t *table) row(cells ...string) {
	for i, c := range cells {
		if i > 0 {
			*t = append(*t, ',')
		}
		*t = append(*t, quoted(harmless(c))...)
	}
	*t = append(*t, '\r', '\n')
}

func quoted(cell string) string {
	if !strings.ContainsAny(cell, ",\"\r\n") && cell == strings.TrimSpace(cell) {
		return cell
	}
	return `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
}

// harmless puts an apostrophe before a cell that a spreadsheet would run: one that begins, perhaps behind white space, with an equals, plus, minus or at sign, in
// either width. A plain number stays a number.
func harmless(cell string) string {
	trimmed := strings.TrimLeft(cell, " \t\r\n\u00a0\u3000")
	if trimmed == "" || isNumber(cell) {
		return cell
	}
	if strings.ContainsAny(trimmed[:1], "=+-@") || strings.ContainsRune("＝＋－＠", []rune(trimmed)[0]) {
		return "'" + cell
	}
	return cell
}

// isNumber reports whether the whole cell is a decimal number: a minus sign, digits, one point, an exponent.
func isNumber(cell string) bool {
	cell = strings.TrimPrefix(cell, "-")
	mantissa, exponent, scientific := strings.Cut(cell, "e")
	whole, decimals, pointed := strings.Cut(mantissa, ".")
	return digits(whole) && (!pointed || digits(decimals)) && (!scientific || digits(strings.TrimPrefix(exponent, "-")))
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
