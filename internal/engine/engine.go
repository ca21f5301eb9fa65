// Package engine is the door through which the page calls the program's own packages: one method name and one JSON text in, one JSON text out.
//
// It holds the records of the jobs that the page loaded and answers from them. It has no clock, disk or network: times, salts and entries are handed in. Command engine
// compiles it for the browser; the server and the tests call it as it is, so that both give the same bytes.
package engine

import (
	"encoding/json"
	"errors"
	"fmt"

	"runtrue/internal/hold"
	"runtrue/internal/record"
)

// Protocol is the version of the methods and of the wire between device and server.
const Protocol = 1

// Engine holds the loaded jobs. The zero value is not usable; see [New].
type Engine struct {
	jobs map[string]*loaded
}

type loaded struct {
	job   *record.Job
	state *record.State // nil after a change
}

// New returns an engine that holds no job.
func New() *Engine { return &Engine{jobs: map[string]*loaded{}} }

// Fault is an answer that says what was wrong.
type Fault struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

// Call answers one call: {"ok":…} or {"error":{"code","message"}}. It does not panic on bad input.
func (e *Engine) Call(method, text string) string {
	answer, err := e.dispatch(method, []byte(text))
	if err != nil {
		return write(map[string]Fault{"error": {Code: code(err), Message: err.Error()}})
	}
	return write(map[string]any{"ok": answer})
}

func write(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return `{"error":{"code":"internal","message":"the answer could not be written"}}`
	}
	return string(b)
}

// errNoJob and errUnknown are faults of the caller.
var (
	errNoJob   = errors.New("the job is not loaded on this device")
	errUnknown = errors.New("unknown method")
	errInput   = errors.New("the call's arguments cannot be read")
)

func code(err error) string {
	switch {
	case errors.Is(err, record.ErrTooLarge):
		return "too large"
	case errors.Is(err, record.ErrMalformed):
		return "malformed"
	case errors.Is(err, errNoJob):
		return "no job"
	case errors.Is(err, errUnknown):
		return "unknown method"
	case errors.Is(err, errInput):
		return "input"
	}
	return "refused"
}

func (e *Engine) dispatch(method string, text []byte) (any, error) {
	switch method {
	case "hello":
		return map[string]any{"engine": record.Engine, "protocol": Protocol, "entry_version": record.Version}, nil
	case "load":
		return with(text, e.load)
	case "drop":
		return with(text, e.drop)
	case "make":
		return with(text, e.make)
	case "heads":
		return with(text, e.heads)
	case "ids":
		return with(text, e.ids)
	case "sheet":
		return with(text, e.sheet)
	case "line":
		return with(text, e.line)
	case "shop":
		return e.shop(), nil
	case "understand":
		return with(text, e.understand)
	case "capable":
		return with(text, e.capable)
	case "soak":
		return with(text, e.soak)
	case "explain":
		return with(text, e.explain)
	case "export":
		return with(text, e.export)
	}
	return nil, fmt.Errorf("%w %q", errUnknown, method)
}

// with reads the arguments and calls the method.
func with[A any, R any](text []byte, method func(A) (R, error)) (any, error) {
	var a A
	if err := json.Unmarshal(text, &a); err != nil {
		return nil, fmt.Errorf("%w: %v", errInput, err)
	}
	return method(a)
}

func (e *Engine) get(name string) (*loaded, error) {
	l := e.jobs[name]
	if l == nil {
		return nil, fmt.Errorf("%w: %q", errNoJob, name)
	}
	return l, nil
}

func (l *loaded) fold() *record.State {
	if l.state == nil {
		l.state = record.Fold(l.job)
	}
	return l.state
}

type jobArgs struct {
	Job     string       `json:"job"`
	Overlay hold.Overlay `json:"overlay"`
}
