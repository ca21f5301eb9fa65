package jobfile

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// MaxErrors is how many errors are reported together; the rest is counted.
const MaxErrors = 20

// What can be wrong with a job file. Compare with errors.Is; the errors themselves are *[Error], gathered in [Errors].
var (
	ErrSyntax     = errors.New("not readable as JSON or CSV")
	ErrUnknownKey = errors.New("unknown key")
	ErrNoUnit     = errors.New("no unit")
	ErrType       = errors.New("wrong type")
	ErrMissing    = errors.New("missing")
	ErrUnknown    = errors.New("not in this file") // a feature, component or set-up that nothing here bears the name of
	ErrDuplicate  = errors.New("given twice")
	ErrNotFinite  = errors.New("not a finite number")
	ErrTooFine    = errors.New("too fine") // more decimals than are kept
	ErrOutOfRange = errors.New("out of range")
	ErrInvalid    = errors.New("not valid") // readable, but it contradicts itself or is none of the words allowed
	ErrDiffers    = errors.New("the file would say something else than the record")
)

// Error is one fault and where it stands.
type Error struct {
	File   string
	Line   int    // counted from 1; 0: of the whole file
	Column int    // of a CSV or of broken syntax, in bytes from 1; 0: not known
	Path   string // "components[0].features[1].nominal_mm"; in a CSV the name of the column
	Err    error  // one of the sentinels
	Fact   string // what was found and what to do
}

// Error reads, for example: job.json:12: setups[0].gauge.u_cal_um: wrong type: a number is expected, this is text.
func (e *Error) Error() string {
	words := e.File
	if e.Line > 0 {
		words += ":" + strconv.Itoa(e.Line)
		if e.Column > 0 {
			words += ":" + strconv.Itoa(e.Column)
		}
	}
	words += ": "
	if e.Path != "" {
		words += e.Path + ": "
	}
	return words + e.Err.Error() + ": " + e.Fact
}

// Unwrap returns the sentinel.
func (e *Error) Unwrap() error { return e.Err }

// Errors are all faults of a file, by line.
type Errors struct {
	List []*Error // at most MaxErrors
	More int      // how many were found beyond those
}

// Error puts one fault on a line.
func (e *Errors) Error() string {
	var b strings.Builder
	for i, one := range e.List {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(one.Error())
	}
	if e.More > 0 {
		fmt.Fprintf(&b, "\nand %d more", e.More)
	}
	return b.String()
}

// Unwrap returns the faults, so that errors.Is finds a sentinel in any of them.
func (e *Errors) Unwrap() []error {
	list := make([]error, len(e.List))
	for i, one := range e.List {
		list[i] = one
	}
	return list
}

// report gathers faults.
type report struct {
	Errors
}

func (r *report) add(e Error) {
	if len(r.List) >= MaxErrors {
		r.More++
		return
	}
	r.List = append(r.List, &e)
}

func (r *report) count() int { return len(r.List) + r.More }

// err returns the faults, or nil where there is none.
func (r *report) err() error {
	if len(r.List) == 0 {
		return nil
	}
	slices.SortStableFunc(r.List, func(a, b *Error) int { return cmp.Compare(a.Line, b.Line) })
	return &r.Errors
}

// spot is a place in a file.
type spot struct {
	file         string
	line, column int
	path         string
}

func (r *report) addf(at spot, sentinel error, format string, args ...any) {
	r.add(Error{File: at.file, Line: at.line, Column: at.column, Path: at.path, Err: sentinel, Fact: fmt.Sprintf(format, args...)})
}

// shown is a text of the file as a message quotes it.
func shown(s string) string {
	const limit = 60
	if runes := []rune(s); len(runes) > limit {
		s = string(runes[:limit]) + "…"
	}
	return strconv.Quote(s)
}
