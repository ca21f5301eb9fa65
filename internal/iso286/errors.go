package iso286

import (
	"errors"
	"fmt"

	"runtrue/internal/length"
)

// What can be wrong with a question. Compare with errors.Is; the error itself is a *ClassError.
var (
	ErrMalformed  = errors.New("not a tolerance class")     // the text has not the shape of a class
	ErrOutOfRange = errors.New("nominal size out of range") // not above 0, or above 3150 mm
	ErrNotDefined = errors.New("not defined by ISO 286")    // the standard has no value here
)

// ClassError carries the question and the reason it has no answer.
type ClassError struct {
	Err     error         // ErrMalformed, ErrOutOfRange or ErrNotDefined
	Class   string        // the class, or the grade, as asked for
	Nominal length.Length // pm; 0 where the fault is in the class alone
	Reason  string        // the fact and, where there is one, the remedy; a sentence without its full stop
}

// Error reads, for example: t6 at 20 mm: not defined by ISO 286: t is given above 24 mm up to 3150 mm only.
func (e *ClassError) Error() string {
	question := e.Class
	if e.Nominal != 0 {
		question += " at " + e.Nominal.String()
	}
	return fmt.Sprintf("%s: %v: %s", question, e.Err, e.Reason)
}

// Unwrap returns the sentinel.
func (e *ClassError) Unwrap() error { return e.Err }
