package main

import (
	"encoding/json"
	"fmt"

	"runtrue/internal/engine"
)

// sheets renders jobs with the engine that the tablets run, so that a list printed in the office is the one on the tablet.
type sheets struct{}

// Export implements server.Exporter.
func (sheets) Export(job string, entries [][]byte, format string) (name, contentType string, body []byte, err error) {
	e := engine.New()
	texts := make([]string, len(entries))
	for i, b := range entries {
		texts[i] = string(b)
	}
	if err := call(e, "load", map[string]any{"job": job, "entries": texts}, nil); err != nil {
		return "", "", nil, err
	}
	var out struct {
		Name string `json:"name"`
		Type string `json:"type"`
		Text string `json:"text"`
	}
	if err := call(e, "export", map[string]any{"job": job, "format": format}, &out); err != nil {
		return "", "", nil, err
	}
	return out.Name, out.Type, []byte(out.Text), nil
}

// call makes one call of the engine; out may be nil.
func call(e *engine.Engine, method string, in, out any) error {
	args, err := json.Marshal(in)
	if err != nil {
		return err
	}
	var answer struct {
		OK    json.RawMessage `json:"ok"`
		Error *engine.Fault   `json:"error"`
	}
	if err := json.Unmarshal([]byte(e.Call(method, string(args))), &answer); err != nil {
		return fmt.Errorf("the engine's answer to %s: %w", method, err)
	}
	if answer.Error != nil {
		return fmt.Errorf("the engine on %s: %s: %s", method, answer.Error.Code, answer.Error.Message)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(answer.OK, out)
}
