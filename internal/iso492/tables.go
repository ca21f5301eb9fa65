package iso492

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

// Each file is one printed table, with its own head comment on source, edition and units. An empty cell, or no row, means that no value is
// given there.
//
//go:embed tables/*.csv
var tableFiles embed.FS

// classNames is one class with what every standard calls it.
type classNames struct {
	class Class
	abec  string
	all   []string
}

type tableSet struct {
	rings   map[Ring][]row // in the order of the file
	names   []classNames
	sources map[string]string // id to title
}

// row is one printed value.
type row struct {
	class Class
	value Value
}

// tables reads the embedded files once. A fault in them is a fault in the program, found by any test that looks anything up; hence the panic.
var tables = sync.OnceValue(func() *tableSet {
	t, err := readTables()
	if err != nil {
		panic("iso492: " + err.Error())
	}
	return t
})

func readTables() (*tableSet, error) {
	t := &tableSet{rings: map[Ring][]row{}, sources: map[string]string{}}
	err := eachRow("sources.csv", func(cells map[string]string) error {
		t.sources[cells["id"]] = cells["title"]
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = eachRow("class_names.csv", func(cells map[string]string) error {
		n := classNames{class: Class(cells["iso_492"]), abec: cells["abma_20_ball"]}
		for _, column := range []string{"iso_492", "abma_20_ball", "abma_20_roller", "din_620", "jis_b_1514", "gb_t_307_1", "gost_520"} {
			if name := cells[column]; name != "" {
				n.all = append(n.all, name)
			}
		}
		if n.class.rank() < 0 {
			return fmt.Errorf("%q is no class", n.class)
		}
		t.names = append(t.names, n)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, file := range []struct {
		ring Ring
		name string
	}{{Inner, "iso492_inner_rings.csv"}, {Outer, "iso492_outer_rings.csv"}} {
		err := eachRow(file.name, func(cells map[string]string) error {
			r, err := t.readRing(file.ring, cells)
			t.rings[file.ring] = append(t.rings[file.ring], r)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return t, nil
}

func (t *tableSet) readRing(ring Ring, cells map[string]string) (row, error) {
	r := row{class: Class(cells["class"])}
	v := &r.value
	v.Symbol, v.Series, v.Edition, v.Note, v.Status = cells["characteristic"], cells["series"], cells["edition"], cells["note"], Status(cells["status"])
	switch {
	case r.class.rank() < 0:
		return r, fmt.Errorf("%q is no class", r.class)
	case Meaning(v.Symbol) == "":
		return r, fmt.Errorf("%q is no symbol", v.Symbol)
	case v.Status.rank() < 0:
		return r, fmt.Errorf("%q is no status", v.Status)
	case (cells["value_um"] == "") == (cells["lower_um"] == "") || (cells["lower_um"] == "") != (cells["upper_um"] == ""):
		return r, fmt.Errorf("%s holds neither two limits nor one greatest value", v.Symbol)
	}
	var err error
	read := func(column string, unit length.Unit) length.Length {
		l, readErr := length.ParseIn(cells[column], unit)
		if err == nil {
			err = readErr
		}
		return l
	}
	v.Step.Over, v.Step.Upto = read("over_mm", length.Millimetres), read("upto_mm", length.Millimetres)
	v.Step.First = v.Step.Over == smallest(ring)
	if v.Deviation = cells["value_um"] == ""; v.Deviation {
		v.Upper, v.Lower = read("upper_um", length.Micrometres), read("lower_um", length.Micrometres)
	} else {
		v.Max = read("value_um", length.Micrometres)
	}
	if err != nil {
		return r, err
	}
	if v.Publishers, err = strconv.Atoi(cells["n_independent"]); err != nil {
		return r, err
	}
	for _, id := range strings.Fields(cells["sources"]) {
		plain, halved := strings.CutPrefix(id, "~")
		title := t.sources[plain]
		if title == "" {
			return r, fmt.Errorf("source %q has no title", id)
		}
		if halved {
			title += " (its value of the other edition, halved or doubled)"
		}
		v.Sources = append(v.Sources, title)
	}
	return r, nil
}

// eachRow calls read for every row of an embedded file, by column names; the first row names the columns and lines beginning with # are
// comment.
func eachRow(name string, read func(map[string]string) error) error {
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
		cells := map[string]string{}
		for j, column := range records[0] {
			cells[column] = record[j]
		}
		if err := read(cells); err != nil {
			return fmt.Errorf("%s, row %d: %w", name, i+1, err)
		}
	}
	return nil
}
