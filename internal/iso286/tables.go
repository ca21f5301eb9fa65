package iso286

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"runtrue/internal/length"
)

// Each file is one printed table, with its own head comment on source, edition and units. An empty cell means that the standard gives no
// value there.
//
//go:embed tables/*.csv
var tableFiles embed.FS

// The tables' names as results cite them.
const (
	tolerancesTable = "ISO 286-1:2010, Table 1"
	holesAToMTable  = "ISO 286-1:2010, Table 2"
	holesNToZCTable = "ISO 286-1:2010, Table 3"
	shaftsAToJTable = "ISO 286-1:2010, Table 4"
	shaftsKToZC     = "ISO 286-1:2010, Table 5"
)

// Step is a step of nominal size: above Over, up to and including Upto, both in pm.
type Step struct{ Over, Upto length.Length }

func (s Step) contains(nominal length.Length) bool { return s.Over < nominal && nominal <= s.Upto }

// String reads, for example, "above 50 mm up to 80 mm", or "up to 3 mm" for what begins at nothing.
func (s Step) String() string {
	if s.Over == 0 {
		return "up to " + s.Upto.String()
	}
	return "above " + s.Over.String() + " up to " + s.Upto.String()
}

// cell is one printed number with what is known about it.
type cell struct {
	value      length.Length // pm, signed
	given      bool          // false where the standard leaves the cell empty
	mark       string        // the status column: two_or_more, one, memory …
	sources    []string      // ids of sources.csv; ~ before one means its table of the mirrored letter
	publishers int           // how many independent publishers print it; 0 where the table does not count them
	note       string        // what else the table says of it
}

// gradeCells is a table row with a column for each grade.
type gradeCells struct {
	step  Step
	cells map[Grade]cell
}

// deviationRow is one printed fundamental deviation.
type deviationRow struct {
	step     Step
	grades   []gradeSpan
	which    string // es, ei, ES or EI
	half     bool   // js and JS: the deviation is half the standard tolerance and the cell holds no number
	addDelta bool
	table    string
	cell     cell
}

// gradeSpan is a run of grades, both ends included.
type gradeSpan struct{ from, to Grade }

func (r *deviationRow) covers(g Grade) bool {
	for _, span := range r.grades {
		if span.from <= g && g <= span.to {
			return true
		}
	}
	return false
}

// ruleOnly marks classes that no published limit confirms.
type ruleOnly struct {
	class  string // a class, or letters alone for every grade of them
	step   Step
	remark string
}

type tableSet struct {
	tolerances []gradeCells
	deltas     []gradeCells
	deviations map[string][]deviationRow // by letters, in the order of the file
	ruleOnly   []ruleOnly
	sources    map[string]string // id to title
}

// tables reads the embedded files once. A fault in them is a fault in the program, found by any test that looks anything up; hence the panic.
var tables = sync.OnceValue(func() *tableSet {
	t, err := readTables()
	if err != nil {
		panic("iso286: " + err.Error())
	}
	return t
})

func readTables() (*tableSet, error) {
	t := &tableSet{deviations: map[string][]deviationRow{}, sources: map[string]string{}}
	var err error
	if t.tolerances, err = readGradeCells("iso286-1_2010_table1_standard_tolerances.csv"); err != nil {
		return nil, err
	}
	if t.deltas, err = readGradeCells("iso286-1_2010_table3_delta.csv"); err != nil {
		return nil, err
	}
	for _, file := range []struct{ name, table string }{
		{"iso286-1_2010_table2_holes_A_to_M.csv", holesAToMTable},
		{"iso286-1_2010_table3_holes_N_to_ZC.csv", holesNToZCTable},
		{"iso286-1_2010_table4_shafts_a_to_j.csv", shaftsAToJTable},
		{"iso286-1_2010_table5_shafts_k_to_zc.csv", shaftsKToZC},
	} {
		err := eachRow(file.name, func(row rowOf) error {
			letters := row["letter"]
			d, err := readDeviation(row, file.table)
			t.deviations[letters] = append(t.deviations[letters], d)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	err = eachRow("rule_only_classes.csv", func(row rowOf) error {
		step, err := readStep(row)
		t.ruleOnly = append(t.ruleOnly, ruleOnly{row["class"], step, row["remark"]})
		return err
	})
	if err != nil {
		return nil, err
	}
	err = eachRow("sources.csv", func(row rowOf) error {
		t.sources[row["id"]] = row["title"]
		return nil
	})
	return t, err
}

func readGradeCells(name string) ([]gradeCells, error) {
	var all []gradeCells
	err := eachRow(name, func(row rowOf) error {
		step, err := readStep(row)
		if err != nil {
			return err
		}
		r := gradeCells{step: step, cells: map[Grade]cell{}}
		for _, g := range Grades() {
			text := row[g.String()]
			if text == "" {
				continue
			}
			value, err := length.ParseIn(text, length.Micrometres)
			if err != nil {
				return err
			}
			mark := row["status"] // one mark for the row, or a column for each mark that lists its grades
			for _, column := range []string{"two_or_more", "one", "memory", "disputed"} {
				for _, listed := range strings.Fields(row[column]) {
					if listed == g.String() {
						mark = column
					}
				}
			}
			r.cells[g] = cell{value: value, given: true, mark: mark, sources: strings.Fields(row["sources"]), note: row["note"]}
		}
		all = append(all, r)
		return nil
	})
	return all, err
}

func readDeviation(row rowOf, table string) (deviationRow, error) {
	step, err := readStep(row)
	if err != nil {
		return deviationRow{}, err
	}
	d := deviationRow{step: step, which: row["which"], half: row["value_um"] == "±IT/2", addDelta: row["add"] == "delta", table: table}
	d.cell = cell{given: true, mark: row["status"], sources: strings.Fields(row["sources"]), note: row["note"]}
	if d.cell.publishers, err = strconv.Atoi(row["independent"]); err != nil {
		return d, err
	}
	for _, span := range strings.Fields(row["grades"]) {
		from, to, isRange := strings.Cut(span, "-")
		if !isRange {
			to = from
		}
		first, err := readGrade(from)
		if err != nil {
			return d, err
		}
		last, err := readGrade(to)
		if err != nil {
			return d, err
		}
		d.grades = append(d.grades, gradeSpan{first, last})
	}
	if !d.half {
		d.cell.value, err = length.ParseIn(row["value_um"], length.Micrometres)
	}
	return d, err
}

func readGrade(digits string) (Grade, error) {
	for _, g := range Grades() {
		if g.digits() == digits {
			return g, nil
		}
	}
	return 0, fmt.Errorf("%q is no grade", digits)
}

func readStep(row rowOf) (Step, error) {
	over, err := length.ParseIn(row["over_mm"], length.Millimetres)
	if err != nil {
		return Step{}, err
	}
	upto, err := length.ParseIn(row["upto_mm"], length.Millimetres)
	return Step{over, upto}, err
}

// rowOf is a row by column names.
type rowOf map[string]string

// eachRow calls read for every row of an embedded file; the first row names the columns and lines beginning with # are comment.
func eachRow(name string, read func(rowOf) error) error {
	text, err := tableFiles.ReadFile("tables/" + name)
	if err != nil {
		return err
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	for i, record := range records[1:] {
		row := rowOf{}
		for j, column := range records[0] {
			row[column] = record[j]
		}
		if err := read(row); err != nil {
			return fmt.Errorf("%s, row %d: %w", name, i+1, err)
		}
	}
	return nil
}
