package jobfile

import (
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
)

// numberColumns and flagColumns are columns whose cells are not text.
var (
	numberColumns = []string{"angle_deg", "repeat", "value_um", "size_mm", "value"}
	flagColumns   = []string{"closing", "yes"}
)

// ReadCSV is [File.ReadCSV] with progress.
//
// The first line names the columns, which are the keys of a reading in the job file, in any order. An empty cell counts as left out. Numbers have a decimal point and may have
// a plus sign; yes and closing are true or false, also written yes or no.
func (r Reader) ReadCSV(f *File, name string, data []byte) (*File, error) {
	copied := *f
	copied.Readings = slices.Clone(f.Readings)
	l := &loading{reader: r, file: &copied, report: &report{}}
	l.csv(name, data)
	l.resolve(newIndex(&copied))
	if err := l.report.err(); err != nil {
		return nil, err
	}
	return l.file, nil
}

func (l *loading) csv(name string, data []byte) {
	text := strings.TrimPrefix(string(data), "\ufeff")
	in := csv.NewReader(strings.NewReader(text))
	in.ReuseRecord = true
	header, ok := l.header(name, in)
	if !ok {
		return
	}
	for {
		record, err := in.Read()
		if err == io.EOF {
			return
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			fact := broken.Err.Error()
			if errors.Is(err, csv.ErrFieldCount) {
				fact = "the line has not as many cells as the first line has columns"
			}
			l.report.add(Error{File: name, Line: broken.Line, Column: broken.Column, Err: ErrSyntax, Fact: fact})
			if errors.Is(err, csv.ErrFieldCount) {
				continue
			}
			return
		}
		if err != nil {
			l.report.add(Error{File: name, Err: ErrSyntax, Fact: err.Error()})
			return
		}
		l.reading(&object{report: l.report, file: name, node: row(in, header, record), index: -1, csv: true})
	}
}

// header reads the first line and holds it against the columns that there are.
func (l *loading) header(name string, in *csv.Reader) ([]string, bool) {
	first, err := in.Read()
	if err != nil {
		fact := "the first line names the columns; " + err.Error()
		if err == io.EOF {
			fact = "it is empty; the first line names the columns, such as feature,characteristic,plane,angle_deg,value_um"
		}
		l.report.add(Error{File: name, Line: 1, Column: 1, Err: ErrSyntax, Fact: fact})
		return nil, false
	}
	header := slices.Clone(first)
	if len(header) == 1 && strings.ContainsAny(header[0], ";\t") {
		l.report.add(Error{File: name, Line: 1, Column: 1, Err: ErrSyntax, Fact: "columns are separated by commas, and numbers have a decimal point"})
		return nil, false
	}
	// The columns are those of an empty reading: describing one tells which there are.
	o := &object{report: &report{}, file: name, node: &node{kind: kindObject, line: 1}, index: -1, csv: true}
	var r found
	readingFields(o, &r)
	o.report = l.report
	for i, key := range header {
		header[i] = strings.TrimSpace(key)
		_, column := in.FieldPos(i)
		o.node.keys = append(o.node.keys, header[i])
		o.node.items = append(o.node.items, node{kind: kindText, line: 1, column: column})
	}
	before := l.report.count()
	o.close()
	if !slices.Contains(header, "feature") {
		l.report.add(Error{File: name, Line: 1, Path: "feature", Err: ErrMissing, Fact: "no column says which feature was read"})
	}
	return header, l.report.count() == before
}

// row makes the object of one line: the cells that are not empty.
func row(in *csv.Reader, header, record []string) *node {
	line, _ := in.FieldPos(0)
	n := &node{kind: kindObject, line: line}
	for i, cell := range record {
		text := strings.TrimSpace(cell)
		if text == "" {
			continue
		}
		at, column := in.FieldPos(i)
		item := node{kind: kindText, line: at, column: column, text: text}
		switch {
		case slices.Contains(numberColumns, header[i]):
			item.number()
		case slices.Contains(flagColumns, header[i]):
			item.flag()
		}
		n.keys, n.items = append(n.keys, header[i]), append(n.items, item)
	}
	return n
}

// number takes the cell for a number if it is one; otherwise it stays text, and the column's reader refuses it.
func (n *node) number() {
	plain := strings.Replace(strings.TrimPrefix(n.text, "+"), "\u2212", "-", 1)
	switch strings.ToLower(strings.TrimLeft(n.text, "+-")) {
	case "nan", "inf", "infinity":
		n.kind = kindNotFinite
		return
	}
	if size := numberLength(plain); size > 0 && size == len(plain) {
		n.kind, n.text = kindNumber, plain
	}
}

func (n *node) flag() {
	switch strings.ToLower(n.text) {
	case "true", "yes":
		n.kind, n.text = kindBool, "true"
	case "false", "no":
		n.kind, n.text = kindBool, "false"
	}
}
