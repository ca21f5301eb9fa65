package seat

import (
	"errors"
	"fmt"

	"runtrue/internal/length"
)

// What can be wrong with a question. Compare with errors.Is; the error itself is a *RequestError.
var (
	ErrMalformed  = errors.New("not a request for a seat")  // a word of the request is none of those that it may be
	ErrOutOfRange = errors.New("size out of range")         // not above 0, or above 3150 mm
	ErrNotDefined = errors.New("no maker's figure is held") // nothing is proposed; the reason says why
	ErrMixed      = errors.New("makers would be mixed")     // proposals of more than one maker cannot make one specification
	ErrAmbiguous  = errors.New("more than one proposal")    // two proposals set one characteristic differently
)

// RequestError carries what was asked and the reason it has no answer.
type RequestError struct {
	Err     error         // one of the sentinels
	Asked   string        // the word, or the part, at fault
	Nominal length.Length // pm; 0 where the fault is not in the size
	Reason  string        // the fact and what to do; a sentence without its full stop
}

// Error reads, for example: housing at 70 mm: no maker's figure is held: Timken: its page on housings was not found.
func (e *RequestError) Error() string {
	question := e.Asked
	if e.Nominal != 0 {
		question += " at " + e.Nominal.String()
	}
	return fmt.Sprintf("%s: %v: %s", question, e.Err, e.Reason)
}

// Unwrap returns the sentinel.
func (e *RequestError) Unwrap() error { return e.Err }
