package iso286_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

// printed is one row of published limits.
type printed struct {
	row          int
	over, upto   length.Length // pm; both 0 where the publisher gives no step
	sample       length.Length // pm
	class        string
	upper, lower length.Length // pm from nominal
	source, why  string
}

// bounds of every step, main and intermediate, in mm; ISO 286-1:2010, Tables 1 to 5.
var bounds = []length.Length{3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500,
	560, 630, 710, 800, 900, 1000, 1120, 1250, 1400, 1600, 1800, 2000, 2240, 2500, 2800, 3150}

// sizes at which the row must hold: the sample, just above the step, at its end, and on both sides of every bound inside it. A printed step
// that begins at nothing is taken from 1 mm for a and b, which the standard does not use below; publishers leave that footnote out.
func (p printed) sizes() []length.Length {
	if p.upto == 0 {
		return []length.Length{p.sample}
	}
	over := p.over
	if over == 0 && strings.ContainsAny(p.class, "abAB") {
		over = length.Millimetre
	}
	sizes := []length.Length{p.sample, over + 1, p.upto}
	for _, b := range bounds {
		if b *= length.Millimetre; over < b && b < p.upto {
			sizes = append(sizes, b, b+1)
		}
	}
	return sizes
}

const publishedFolder = "../../testdata/published/iso286"

// readRows reads a file of check values as maps by column name.
func readRows(t testing.TB, name string) []map[string]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(publishedFolder, name))
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, column := range records[0] {
			row[column] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func readPrinted(t testing.TB, name string) []printed {
	t.Helper()
	var all []printed
	for i, row := range readRows(t, name) {
		p := printed{row: i + 1, class: row["class"], source: row["source_id"], why: row["why"]}
		p.sample = read(t, row["sample_nominal_mm"], length.Millimetres)
		if row["nominal_upto_mm"] != "" {
			p.over = read(t, row["nominal_over_mm"], length.Millimetres)
			p.upto = read(t, row["nominal_upto_mm"], length.Millimetres)
		}
		p.upper = read(t, row["upper_um"], length.Micrometres)
		p.lower = read(t, row["lower_um"], length.Micrometres)
		all = append(all, p)
	}
	return all
}

func read(t testing.TB, number string, unit length.Unit) length.Length {
	t.Helper()
	l, err := length.ParseIn(number, unit)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The outside check: limits printed by publishers other than those the tables were typed from.
func TestLimitsAgreeWithPublishedOnes(t *testing.T) {
	sources := map[string]bool{}
	for _, row := range readRows(t, "sources.csv") {
		sources[row["id"]] = row["kind"] == "check"
	}
	points := 0
	for _, p := range readPrinted(t, "limits_published.csv") {
		if !sources[p.source] {
			t.Errorf("row %d: source %q is no check source", p.row, p.source)
		}
		for _, nominal := range p.sizes() {
			points++
			l, err := iso286.Lookup(nominal, p.class)
			if err != nil {
				t.Errorf("row %d, %s: %v; printed %s / %s", p.row, p.source, err, p.upper, p.lower)
				continue
			}
			if l.Upper != p.upper || l.Lower != p.lower {
				t.Errorf("row %d: %s at %s is %s / %s; %s prints %s / %s", p.row, p.class, nominal, l.Upper, l.Lower, p.source, p.upper, p.lower)
			}
		}
	}
	if points < 3800 {
		t.Errorf("only %d points were compared; the file holds more", points)
	}
	t.Logf("%d points agree", points)
}

// Printed limits that differ do so for the reason recorded with them, and in no other way.
func TestPublishedLimitsThatDisagreeDoSoAsRecorded(t *testing.T) {
	const um = length.Micrometre
	// IT5 above 500 mm as older tables have it, by the end of the step in mm.
	older := map[length.Length]length.Length{630: 29, 800: 32, 1000: 36, 1250: 42, 1600: 50, 2000: 60, 2500: 70}
	down := func(l length.Length) length.Length { return l / um * um }
	up := func(l length.Length) length.Length { return -down(-l - um/2) }
	rows := readPrinted(t, "limits_disagreeing.csv")
	for _, p := range rows {
		l, err := iso286.Lookup(p.sample, p.class)
		if err != nil {
			t.Errorf("row %d: %s at %s: %v", p.row, p.class, p.sample, err)
			continue
		}
		if l.Upper == p.upper && l.Lower == p.lower {
			t.Errorf("row %d: %s at %s is %s / %s, as %s prints it; it is recorded as disagreeing", p.row, p.class, p.sample, l.Upper, l.Lower, p.source)
		}
		var wantUpper, wantLower length.Length // what the reason makes of the standard's limits
		switch {
		case strings.Contains(p.why, "older IT5"):
			tolerance := older[p.upto/length.Millimetre] * um
			switch {
			case strings.EqualFold(l.Class.Letters, "js"):
				wantUpper, wantLower = tolerance/2, -tolerance/2
			case l.Which == "es":
				wantUpper, wantLower = l.Upper, l.Upper-tolerance
			default:
				wantUpper, wantLower = l.Lower+tolerance, l.Lower
			}
		case strings.Contains(p.why, "SNR rounds") && p.class == "JS5", strings.Contains(p.why, "rounds js7 down"):
			wantUpper, wantLower = down(l.Upper), -down(l.Upper)
		case strings.Contains(p.why, "SNR rounds"):
			wantUpper, wantLower = up(l.Upper), -up(l.Upper)
		case strings.Contains(p.why, "fit row on same page implies ES=-5"):
			if l.Upper != -5*um {
				t.Errorf("row %d: %s at %s has ES %s; want −5 µm", p.row, p.class, p.sample, l.Upper)
			}
			wantUpper, wantLower = -4*um, l.Lower
		case p.why == "known bad source":
			wantUpper, wantLower = l.Upper, p.lower // the zero line is right, the tolerance is not
		default:
			t.Errorf("row %d: reason %q is none that this test knows", p.row, p.why)
			continue
		}
		if p.upper != wantUpper || p.lower != wantLower {
			t.Errorf("row %d: %s at %s is %s / %s; %s prints %s / %s, but for %q it should print %s / %s", p.row, p.class, p.sample,
				l.Upper, l.Lower, p.source, p.upper, p.lower, p.why, wantUpper, wantLower)
		}
	}
	if len(rows) < 50 {
		t.Errorf("only %d disagreeing rows were read", len(rows))
	}
}

// The list of classes that no published limit confirms is what it says: none of the published limits is one of them.
func TestRuleOnlyClassesHaveNoPublishedLimit(t *testing.T) {
	for _, p := range readPrinted(t, "limits_published.csv") {
		for _, nominal := range p.sizes() {
			if remark := iso286.RuleOnlyRemark(nominal, p.class); remark != "" {
				t.Errorf("row %d: %s prints %s at %s, yet rule_only_classes.csv says %q", p.row, p.source, p.class, nominal, remark)
			}
		}
	}
	for _, c := range []string{"js3", "JS3", "H3", "H4", "k3", "K4", "M4"} {
		if l, err := iso286.Lookup(70*length.Millimetre, c); err != nil || l.Status != iso286.RuleOnly || len(l.Remarks) == 0 {
			t.Errorf("%s at 70 mm: status %q, remarks %q, %v; want rule only with a remark", c, l.Status, l.Remarks, err)
		}
	}
}
