package list

import (
	"fmt"
	"html"
	"strings"

	"runtrue/internal/sheet"
	"runtrue/internal/verdict"
)

// style is the page's own. It sets words apart by weight and rule, not by colour alone, and prints black on white.
const style = `
:root { color-scheme: light dark; --ink: #1d2326; --soft: #5b666b; --rule: #c9d0d2; --wash: #f3f5f4; --paper: #fff; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6eaea; --soft: #9aa5a8; --rule: #3c4649; --wash: #20272a; --paper: #161b1d; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.5rem; max-width: 78rem; background: var(--paper); color: var(--ink); font: 16px/1.45 system-ui, sans-serif; }
h1 { margin: 0; font-size: 1.5rem; }
h2 { margin: 2rem 0 .4rem; font-size: 1.1rem; }
.about { margin: .2rem 0 1rem; color: var(--soft); }
.totals { display: flex; flex-wrap: wrap; gap: .4rem 1.6rem; margin: 0 0 1rem; padding: .6rem .9rem; background: var(--wash); list-style: none; }
.totals b { font-variant-numeric: tabular-nums; }
.wide { overflow-x: auto; }
table { width: 100%; border-collapse: collapse; }
th, td { padding: .45rem .6rem; border-bottom: 1px solid var(--rule); text-align: left; vertical-align: top; }
th { font-size: .85rem; color: var(--soft); font-weight: 600; }
td.proposal { font-weight: 700; white-space: nowrap; }
td small { display: block; color: var(--soft); }
tr.held td.status { border-left: 3px double var(--ink); }
tr.cleared td.status { border-left: 3px solid var(--ink); }
.caution { margin-top: 2rem; color: var(--soft); font-size: .9rem; }
@media screen and (max-width: 44rem) {
  thead { display: none; }
  table, tbody, tr, td { display: block; }
  tr { padding: .7rem 0; border-bottom: 1px solid var(--rule); }
  td { padding: .1rem 0; border: 0; }
  td:empty { display: none; }
  td.name { font-weight: 600; }
  td small { font-weight: 400; }
  td.decision::before { content: "decision: "; }
  td.margin::before { content: "by how much: "; }
  td.status { padding-left: .5rem; }
}
@media print {
  :root { --ink: #000; --soft: #333; --rule: #888; --wash: #fff; --paper: #fff; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  thead { display: table-header-group; }
  tr, li { break-inside: avoid; }
  .wide { overflow: visible; }
  @page { size: A4 landscape; margin: 14mm; }
}
`

// HTML writes the list as a page that stands alone: no script, no picture, nothing fetched. The date is printed as it is handed in; empty, it is left out.
func HTML(s *sheet.Sheet, date string) []byte {
	p := page{}
	rows := Rows(s)
	title := "Reuse or replace: " + s.Job
	p.add(`<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>`)
	p.text(title)
	p.add("</title><style>" + style + "</style></head><body><h1>")
	p.text(title)
	p.add("</h1>")
	p.about(s, date)
	p.totals(Sum(rows))
	for _, alarm := range s.Alarms {
		p.add("<p><strong>Alarm: ")
		p.text(alarm)
		p.add("</strong></p>")
	}
	p.rows(rows)
	p.section("To buy", rows, func(r Row) string {
		if r.Proposal != verdict.Replace && r.Decision != "replace" {
			return ""
		}
		return r.Name + place(r)
	})
	p.section("To rework", rows, func(r Row) string {
		switch {
		case r.Rework != "":
			return r.Name + place(r) + ": " + r.Rework
		case r.Proposal == verdict.Rework, r.Decision == "rework":
			return r.Name + place(r) + ": " + r.Sentence
		}
		return ""
	})
	p.section("Not known yet", rows, func(r Row) string {
		if r.Proposal != verdict.Measure && r.Proposal != verdict.Decide {
			return ""
		}
		return r.Name + place(r) + ": " + string(r.Proposal)
	})
	p.add(`<p class="caution">A proposal is advice; people who are qualified decide. A limit of the spindle maker's drawing goes before any table.</p></body></html>` + "\n")
	return []byte(p.String())
}

func place(r Row) string {
	words := ""
	if r.Place != "" {
		words = " (" + r.Place + ")"
	}
	if r.Serial != "" {
		words += ", serial " + r.Serial
	}
	return words
}

// page is HTML as it grows. Whatever people wrote goes through text.
type page struct{ strings.Builder }

func (p *page) add(markup string) { p.WriteString(markup) }

func (p *page) text(s string) { p.WriteString(html.EscapeString(s)) }

// cell writes a cell with a word and, below it, smaller ones.
func (p *page) cell(class, words string, below ...string) {
	p.add(`<td class="` + class + `">`)
	p.text(words)
	for _, b := range below {
		if b != "" {
			p.add("<small>")
			p.text(b)
			p.add("</small>")
		}
	}
	p.add("</td>")
}

func (p *page) about(s *sheet.Sheet, date string) {
	var parts []string
	for _, field := range []string{"customer", "maker", "model", "serial"} {
		if v := s.Fact(field); v != "" {
			parts = append(parts, field+" "+v)
		}
	}
	if date != "" {
		parts = append(parts, "printed "+date)
	}
	parts = append(parts, fmt.Sprintf("record of %d entries, %.12s", s.Entries, s.Digest))
	p.add(`<p class="about">`)
	p.text(strings.Join(parts, " · "))
	p.add("</p>")
}

func (p *page) totals(t Totals) {
	p.add(`<ul class="totals">`)
	item := func(n int, words string) { p.add(fmt.Sprintf("<li><b>%d</b> %s</li>", n, words)) }
	item(t.Components, "components")
	for _, c := range t.ByProposal {
		item(c.Count, string(c.Proposal))
	}
	item(t.Cleared, "cleared")
	item(t.Components-t.Cleared, "held")
	p.add("</ul>")
}

func (p *page) rows(rows []Row) {
	if len(rows) == 0 {
		p.add("<p>The job has no components yet. Add the parts as they come off the spindle.</p>")
		return
	}
	p.add(`<div class="wide"><table><thead><tr><th>Component</th><th>Proposal</th><th>Decision</th><th>Why</th><th>Feature</th><th>By how much</th><th>Cleared or held</th></tr></thead><tbody>`)
	for _, r := range rows {
		class, serial := "held", ""
		if r.Cleared {
			class = "cleared"
		}
		if r.Serial != "" {
			serial = "serial " + r.Serial
		}
		p.add(`<tr class="` + class + `">`)
		p.cell("name", r.Name, r.Place, serial)
		p.cell("proposal", string(r.Proposal))
		p.cell("decision", orNone(r.Decision))
		p.cell("why", r.Sentence, r.Rework)
		p.cell("feature", r.Feature, r.Characteristic)
		p.cell("margin", r.ByHowMuch)
		p.cell("status", r.Status)
		p.add("</tr>")
	}
	p.add("</tbody></table></div>")
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// section lists what the words say of each row, if anything.
func (p *page) section(title string, rows []Row, words func(Row) string) {
	var items []string
	for _, r := range rows {
		if w := words(r); w != "" {
			items = append(items, w)
		}
	}
	if len(items) == 0 {
		return
	}
	p.add("<h2>" + title + "</h2><ul>")
	for _, i := range items {
		p.add("<li>")
		p.text(i)
		p.add("</li>")
	}
	p.add("</ul>")
}
