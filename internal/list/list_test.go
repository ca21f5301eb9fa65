package list

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"runtrue/internal/demo"
	"runtrue/internal/hold"
	"runtrue/internal/jobfile"
	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// demoSheets are the jobs of the invented shop.
func demoSheets(t *testing.T) []*sheet.Sheet {
	t.Helper()
	entries, err := demo.Shop(1_790_000_000_000)
	if err != nil {
		t.Fatal(err)
	}
	jobs := map[string]*record.Job{}
	var names []string
	for _, e := range entries {
		if jobs[e.Job] == nil {
			jobs[e.Job] = record.NewJob(e.Job)
			names = append(names, e.Job)
		}
		if _, err := jobs[e.Job].Add(e); err != nil {
			t.Fatal(err)
		}
	}
	var out []*sheet.Sheet
	for _, n := range names {
		if n != record.ShopJob {
			out = append(out, sheet.Build(jobs[n], hold.Overlay{}))
		}
	}
	if len(out) < 3 {
		t.Fatalf("the invented shop has %d jobs", len(out))
	}
	return out
}

// hostile is a sheet whose people write what a page or a spreadsheet could run.
func hostile() *sheet.Sheet {
	const script = `<script>alert("1")</script>`
	return &sheet.Sheet{Job: "job-9", Alarms: []string{script}, Facts: []sheet.Fact{{Subject: "job", Field: "customer", Values: []string{script}}},
		Components: []sheet.Component{{
			Component: spindle.Component{ID: "a", Name: script, Place: `"><img src=x onerror=y>`, Serial: "=1+1"},
			Proposal:  verdict.Proposal{Action: verdict.Rework, Reason: "+cmd|' /C calc'!A0", Feature: "J1", Characteristic: spindle.Size},
			Decision:  "-2.5", Holds: []hold.Reason{{Words: "@SUM(A1)"}, {Words: script}},
		}}}
}

func TestRowsSayWhatTheSheetSays(t *testing.T) {
	for _, s := range demoSheets(t) {
		rows := Rows(s)
		if len(rows) != len(s.Components) {
			t.Fatalf("job %s: %d rows of %d components", s.Job, len(rows), len(s.Components))
		}
		total := Sum(rows)
		sum := 0
		for _, c := range total.ByProposal {
			sum += c.Count
		}
		if sum != len(rows) || total.Components != len(rows) {
			t.Errorf("job %s: %d rows, by proposal %d, in all %d", s.Job, len(rows), sum, total.Components)
		}
		for i, r := range rows {
			c := s.Components[i]
			if r.Sentence == "" || r.Proposal != c.Proposal.Action || r.Cleared != c.Cleared {
				t.Errorf("job %s, %s: %+v", s.Job, c.ID, r)
			}
			if want := map[bool]string{true: "cleared: ", false: "held"}[c.Cleared]; !strings.HasPrefix(r.Status, want) || !c.Cleared && r.Status == "held" {
				t.Errorf("job %s, %s: status %q", s.Job, c.ID, r.Status)
			}
			if r.Proposal == verdict.Rework && r.Rework == "" {
				t.Errorf("job %s, %s is to be reworked, and nothing says what", s.Job, c.ID)
			}
		}
	}
}

func TestByHowMuch(t *testing.T) {
	um := func(v float64) *int64 { pm := int64(v * 1e6); return &pm }
	for _, c := range []struct {
		margin *int64
		k      verdict.Characteristic
		want   string
	}{
		{um(2), verdict.Characteristic{Outcome: verdict.Conforms}, "2.0 µm inside"},
		{um(-1.5), verdict.Characteristic{Outcome: verdict.Fails}, "1.5 µm outside"},
		{um(-0.04), verdict.Characteristic{Outcome: verdict.CannotBeTold}, "0.04 µm outside"},
		{um(2), verdict.Characteristic{Outcome: verdict.Incomplete, Have: 3, Need: 6}, "3 of 6 read"},
		{nil, verdict.Characteristic{Outcome: verdict.Fails}, ""},
	} {
		if c.margin != nil {
			l := length.Length(*c.margin)
			c.k.Margin = &l
		}
		if got := byHowMuch(c.k); got != c.want {
			t.Errorf("%s with a margin of %v pm is %q; want %q", c.k.Outcome, c.margin, got, c.want)
		}
	}
}

func TestThePageRunsNothingAndFetchesNothing(t *testing.T) {
	for _, s := range append(demoSheets(t), hostile(), &sheet.Sheet{Job: "empty"}) {
		body := HTML(s, "2026-11-25")
		var elements, texts []string
		d := xml.NewDecoder(bytes.NewReader(body))
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("job %s: the page cannot be read: %v", s.Job, err)
			}
			switch token := token.(type) {
			case xml.StartElement:
				elements = append(elements, token.Name.Local)
				for _, a := range token.Attr {
					if key := strings.ToLower(a.Name.Local); strings.HasPrefix(key, "on") || key == "src" || key == "href" || key == "style" {
						t.Errorf("job %s: <%s> has %s=%q", s.Job, token.Name.Local, a.Name.Local, a.Value)
					}
				}
			case xml.CharData:
				texts = append(texts, string(token))
			}
		}
		for _, e := range elements {
			if !strings.Contains(" html head meta title style body h1 h2 p strong ul li b div table thead tbody tr th td small ", " "+e+" ") {
				t.Errorf("job %s: an element <%s>", s.Job, e)
			}
		}
		all := strings.Join(texts, "\n")
		for _, c := range s.Components {
			if !strings.Contains(all, c.Name) || !strings.Contains(all, c.Proposal.Reason) {
				t.Errorf("job %s: %s is not on the page", s.Job, c.Name)
			}
		}
		if strings.Contains(string(body), "@import") || strings.Contains(string(body), "url(") || !strings.Contains(all, "printed 2026-11-25") {
			t.Errorf("job %s: the page fetches something, or has lost its date", s.Job)
		}
		if !bytes.Equal(body, HTML(s, "2026-11-25")) {
			t.Errorf("job %s: written twice, the page differs", s.Job)
		}
		if strings.Contains(string(HTML(s, "")), "printed") {
			t.Errorf("job %s: a date that nobody handed in", s.Job)
		}
	}
}

func TestCSVHoldsNoFormulas(t *testing.T) {
	for _, s := range append(demoSheets(t), hostile()) {
		records, err := csv.NewReader(bytes.NewReader(CSV(s))).ReadAll()
		if err != nil || len(records) != len(s.Components)+1 {
			t.Fatalf("job %s: %d lines, %v", s.Job, len(records), err)
		}
		for _, record := range records {
			for _, cell := range record {
				if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") && !isNumber(cell) {
					t.Errorf("job %s: a cell %q", s.Job, cell)
				}
			}
		}
	}
	records, err := csv.NewReader(bytes.NewReader(CSV(hostile()))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if r := records[1]; r[3] != "'=1+1" || r[5] != "-2.5" || r[7] != "'+cmd|' /C calc'!A0" || !strings.HasPrefix(r[12], "'@SUM(A1)") {
		t.Errorf("cells are %q", r)
	}
}

func TestHarmlessCells(t *testing.T) {
	for cell, want := range map[string]string{
		"": "", "shaft": "shaft", "-2.5": "-2.5", "12": "12", "1e-5": "1e-5", "-": "'-", "-2.5 µm": "'-2.5 µm", "=A1": "'=A1", " =A1": "' =A1", "\t@x": "'\t@x", "＝A1": "'＝A1", "+5": "'+5", "-1-1": "'-1-1",
		"1.": "1.", "−2": "−2", "--1": "'--1", "-.5": "'-.5",
	} {
		if got := harmless(cell); got != want {
			t.Errorf("cell %q becomes %q; want %q", cell, got, want)
		}
	}
}

func TestJSONHasTheKeysOfAnAssessedJob(t *testing.T) {
	for _, s := range append(demoSheets(t), hostile()) {
		var list, assessed struct {
			Components []map[string]json.RawMessage `json:"components"`
		}
		for b, v := range map[*struct {
			Components []map[string]json.RawMessage `json:"components"`
		}][]byte{&list: JSON(s), &assessed: jobfile.ResultOf(s).JSON()} {
			if err := json.Unmarshal(v, b); err != nil {
				t.Fatal(err)
			}
		}
		if len(list.Components) != len(s.Components) || len(assessed.Components) != len(s.Components) {
			t.Fatalf("job %s: %d and %d components of %d", s.Job, len(list.Components), len(assessed.Components), len(s.Components))
		}
		for i, c := range assessed.Components {
			for key, value := range c {
				if !bytes.Equal(list.Components[i][key], value) {
					t.Errorf("job %s, component %d: %s is %s in the list and %s in the result", s.Job, i, key, list.Components[i][key], value)
				}
			}
			for _, key := range []string{"component", "proposal", "reason", "features", "decision", "cleared", "holds"} {
				if list.Components[i][key] == nil {
					t.Errorf("job %s, component %d has no %s", s.Job, i, key)
				}
			}
		}
	}
}

func TestExport(t *testing.T) {
	for _, s := range demoSheets(t) {
		for format, want := range map[string][2]string{"html": {"-list.html", "text/html; charset=utf-8"}, "csv": {"-list.csv", "text/csv; charset=utf-8"}, "json": {"-list.json", "application/json"}, "job": {"-job.json", "application/json"}} {
			name, kind, body, err := Export(s, format)
			if err != nil || name != s.Job+want[0] || kind != want[1] || len(body) == 0 {
				t.Errorf("job %s as %s: %s, %s, %d bytes, %v", s.Job, format, name, kind, len(body), err)
			}
			if format == "job" {
				f, err := jobfile.Read(name, body)
				if err != nil {
					t.Fatalf("job %s: %v", s.Job, err)
				}
				if got, want := f.Assess().JSON(), jobfile.ResultOf(s).JSON(); !bytes.Equal(got, want) {
					t.Errorf("job %s: the file says\n%s\nand the record\n%s", s.Job, got, want)
				}
			}
		}
		if _, _, _, err := Export(s, "pdf"); !errors.Is(err, ErrFormat) {
			t.Errorf("a format that is not there: %v", err)
		}
	}
}
