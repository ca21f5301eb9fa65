package iso492_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

const (
	mm = length.Millimetre
	um = length.Micrometre
)

const publishedFolder = "../../testdata/published/iso492"

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

func read(t testing.TB, number string, unit length.Unit) length.Length {
	t.Helper()
	l, err := length.ParseIn(number, unit)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// find is the one value of the list with the symbol, series and edition.
func find(values []iso492.Value, symbol, series, edition string) (iso492.Value, bool) {
	for _, v := range values {
		if v.Symbol == symbol && v.Series == series && (edition == "" || v.Edition == edition) {
			return v, true
		}
	}
	return iso492.Value{}, false
}

// sizes at which a printed row must hold: just above the step, in its middle and at its end; the first step at its lower bound too.
func sizes(ring iso492.Ring, over, upto length.Length) []length.Length {
	at := []length.Length{over + 1, (over + upto) / 2, upto}
	if ring == iso492.Inner && over == 600*um || ring == iso492.Outer && over == 2500*um {
		at = append(at, over)
	}
	return at
}

// The outside check: values printed by publishers other than the first from whom the row of the table was typed.
func TestValuesAgreeWithPublishedOnes(t *testing.T) {
	sources := map[string]string{}
	for _, row := range readRows(t, "sources.csv") {
		sources[row["id"]] = row["kind"]
	}
	rows := readRows(t, "checks_published.csv")
	points := 0
	for i, row := range rows {
		if kind := sources[row["source_id"]]; kind != "check" && kind != "base" {
			t.Errorf("row %d: source %q is of kind %q, no check source", i+1, row["source_id"], kind)
		}
		ring, class := iso492.Ring(row["ring"]), iso492.Class(row["class"])
		over, upto := read(t, row["over_mm"], length.Millimetres), read(t, row["upto_mm"], length.Millimetres)
		for _, size := range sizes(ring, over, upto) {
			points++
			all, err := iso492.Lookup(ring, size, class)
			if err != nil {
				t.Errorf("row %d, %s: %v", i+1, row["source_id"], err)
				continue
			}
			v, found := find(all, row["characteristic"], row["series"], row["edition"])
			switch {
			case !found:
				t.Errorf("row %d: no %s [%s] for %s ring %s class %s; %s prints one", i+1, row["characteristic"], row["series"], ring, size, class, row["source_id"])
			case row["value_um"] != "" && (v.Deviation || v.Max != read(t, row["value_um"], length.Micrometres)):
				t.Errorf("row %d: %s [%s] of %s ring %s class %s is %s; %s prints %s µm", i+1, v.Symbol, v.Series, ring, size, class, v.Max, row["source_id"], row["value_um"])
			case row["value_um"] == "" && (!v.Deviation || v.Upper != read(t, row["upper_um"], length.Micrometres) || v.Lower != read(t, row["lower_um"], length.Micrometres)):
				t.Errorf("row %d: %s [%s] of %s ring %s class %s is %s / %s; %s prints %s / %s µm", i+1, v.Symbol, v.Series, ring, size, class, v.Upper, v.Lower, row["source_id"], row["upper_um"], row["lower_um"])
			}
		}
	}
	if len(rows) < 778 || points < 3*778 {
		t.Errorf("only %d rows and %d points were compared; the file holds more", len(rows), points)
	}
	t.Logf("%d rows at %d points agree", len(rows), points)
}

// Printed values that differ do so for the reason recorded with them, and the table keeps its own.
func TestPublishedValuesThatDisagreeDoSoAsRecorded(t *testing.T) {
	rows := readRows(t, "disagreeing.csv")
	compared := 0
	for i, row := range rows {
		if row["over_mm"] == "all sizes" { // SD of class 2: one source follows the 2014 edition, another the older one
			halves := 0
			for _, c := range iso492.AllCells() {
				if c.Ring != iso492.Outer || string(c.Class) != row["class"] || c.Symbol != "SD" || c.Edition != "2002" {
					continue
				}
				all, err := iso492.Lookup(c.Ring, c.Step.Upto, c.Class)
				if err != nil {
					t.Fatal(err)
				}
				if v, found := find(all, "SD", c.Series, "2014"); !found || 2*v.Max != c.Max {
					t.Errorf("row %d: %s is %s, 2014 edition %s; want half", i+1, c.Name(), c.Max, v.Max)
				}
				halves++
			}
			if halves == 0 {
				t.Errorf("row %d: no SD of class %s found", i+1, row["class"])
			}
			continue
		}
		classes := strings.Split(row["class"], " and ")
		for _, class := range classes {
			ring := iso492.Ring(row["ring"])
			upto := read(t, row["upto_mm"], length.Millimetres)
			all, err := iso492.Lookup(ring, upto, iso492.Class(class))
			if err != nil {
				t.Errorf("row %d: %v", i+1, err)
				continue
			}
			series := row["series"]
			v, found := find(all, row["characteristic"], series, "")
			if !found {
				t.Errorf("row %d: no %s [%s] for %s ring class %s at %s", i+1, row["characteristic"], series, ring, class, upto)
				continue
			}
			ours := v.Max
			if v.Deviation {
				ours = v.Lower
			}
			if strings.HasSuffix(row["table_um"], "(upper)") {
				if v.Upper != 0 {
					t.Errorf("row %d: %s has upper limit %s, want 0", i+1, v.Symbol, v.Upper)
				}
				compared++
				continue
			}
			table := read(t, row["table_um"], length.Micrometres)
			if ours != table {
				t.Errorf("row %d: %s [%s] of %s ring class %s at %s is %s; recorded as %s µm", i+1, v.Symbol, v.Series, ring, class, upto, ours, row["table_um"])
			}
			printed, err := strconv.ParseFloat(row["printed_um"], 64)
			if err != nil {
				continue // printed in words or in inches; the reason says what is wrong with it
			}
			compared++
			difference := printed - table.Micrometres()
			if difference == 0 {
				t.Errorf("row %d: %s prints %v µm, as the table has it; it is recorded as disagreeing", i+1, row["source_id"], printed)
			}
			if strings.Contains(row["why"], "one micrometre too large") && difference != -1 {
				t.Errorf("row %d: %s prints %v µm for %s µm; the reason recorded asks for one micrometre more", i+1, row["source_id"], printed, row["table_um"])
			}
			if strings.Contains(row["why"], "tighter running accuracy") && difference >= 0 {
				t.Errorf("row %d: %s prints %v µm for %s µm; the reason recorded asks for a tighter value", i+1, row["source_id"], printed, row["table_um"])
			}
			if strings.Contains(row["why"], "rounded from inches") && (difference > 0.5 || difference < -0.5) {
				t.Errorf("row %d: %s prints %v µm for %s µm; more than rounding", i+1, row["source_id"], printed, row["table_um"])
			}
		}
	}
	if len(rows) < 24 || compared < 20 {
		t.Errorf("only %d of %d disagreeing rows were compared", compared, len(rows))
	}
}
