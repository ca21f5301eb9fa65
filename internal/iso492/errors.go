package iso492

import (
	"errors"
	"fmt"
	"strings"

	"runtrue/internal/length"
)

// What can be wrong with a question. Compare with errors.Is; the error itself is a *QuestionError.
var (
	ErrMalformed  = errors.New("not a bearing ring or class")       // the text is neither ring nor shaped like a class
	ErrOutOfRange = errors.New("size out of range")                 // outside what the tables cover for any class
	ErrNotDefined = errors.New("no value in the tables of ISO 492") // no such class, or the class has no value at this size
)

// QuestionError carries the question and the reason it has no answer.
type QuestionError struct {
	Err    error         // ErrMalformed, ErrOutOfRange or ErrNotDefined
	Ring   string        // as asked for; empty where the fault is in the class alone
	Class  string        // as asked for; empty where the fault is in the ring alone
	Size   length.Length // pm; 0 where the fault is not in the size
	Reason string        // the fact and, where there is one, the remedy; a sentence without its full stop
}

// Error reads, for example: inner ring, 300 mm, class 4: no value in the tables of ISO 492: class 4 inner rings are given from 0.6 mm up to 250 mm.
func (e *QuestionError) Error() string {
	var question []string
	if e.Ring != "" {
		question = append(question, e.Ring+" ring")
	}
	if e.Size != 0 {
		question = append(question, e.Size.String())
	}
	if e.Class != "" {
		question = append(question, "class "+e.Class)
	}
	if len(question) == 0 {
		question = []string{`""`}
	}
	return fmt.Sprintf("%s: %v: %s", strings.Join(question, ", "), e.Err, e.Reason)
}

// Unwrap returns the sentinel.
func (e *QuestionError) Unwrap() error { return e.Err }

// quoted is the text in quotation marks, cut to what fits a message.
func quoted(s string) string {
	const limit = 30 // bytes, far above any class name
	if len(s) > limit {
		s = s[:limit] + "…"
	}
	return fmt.Sprintf("%q", s)
}
