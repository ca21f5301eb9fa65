package engine

import (
	"encoding/hex"
	"encoding/json"
	"fmt"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

type loadArgs struct {
	Job     string   `json:"job"`
	Entries []string `json:"entries"`
}

// Refusal says why one of the entries handed in was not taken.
type Refusal struct {
	Index   int    `json:"index"`
	ID      string `json:"id"`
	Code    string `json:"code"`
	Message string `json:"message"`
}

// Wait says for which parents an entry waits.
type Wait struct {
	ID      record.ID   `json:"id"`
	Missing []record.ID `json:"missing"`
}

type loadAnswer struct {
	Job     string      `json:"job"`
	Count   int         `json:"count"`
	Added   int         `json:"added"`
	IDs     []record.ID `json:"ids"` // of the entries handed in, in their order; the refused ones by the hash of their bytes
	Heads   []record.ID `json:"heads"`
	Refused []Refusal   `json:"refused"`
	Waiting []record.ID `json:"waiting"`
	Missing []record.ID `json:"missing"` // parents that the waiting ones wait for
}

// load takes entries into a job's record; entries that are there already change nothing, and one that cannot be read does not stop the others.
func (e *Engine) load(a loadArgs) (loadAnswer, error) {
	if err := record.CheckName(a.Job); err != nil {
		return loadAnswer{}, err
	}
	l := e.jobs[a.Job]
	if l == nil {
		l = &loaded{job: record.NewJob(a.Job)}
		e.jobs[a.Job] = l
	}
	answer := loadAnswer{Job: a.Job, Refused: []Refusal{}, IDs: make([]record.ID, 0, len(a.Entries))}
	for i, text := range a.Entries {
		id := record.Sum([]byte(text))
		answer.IDs = append(answer.IDs, id)
		entry, err := record.Decode([]byte(text))
		if err == nil {
			var grew bool
			if grew, err = l.job.Add(entry); grew {
				answer.Added++
			}
		}
		if err != nil {
			answer.Refused = append(answer.Refused, Refusal{Index: i, ID: id.String(), Code: code(err), Message: err.Error()})
		}
	}
	if answer.Added > 0 {
		l.state = nil
	}
	answer.Count = l.job.Len()
	answer.Heads = orEmpty(l.job.Heads())
	waiting, missing := l.job.Waiting()
	answer.Waiting, answer.Missing = orEmpty(waiting), orEmpty(missing)
	return answer, nil
}

func orEmpty[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}

func (e *Engine) drop(a jobArgs) (bool, error) {
	delete(e.jobs, a.Job)
	return true, nil
}

func (e *Engine) heads(a jobArgs) (map[string][]record.ID, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return nil, err
	}
	return map[string][]record.ID{"heads": orEmpty(l.job.Heads())}, nil
}

func (e *Engine) ids(a jobArgs) (map[string][]record.ID, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return nil, err
	}
	return map[string][]record.ID{"ids": orEmpty(l.job.IDs())}, nil
}

type makeArgs struct {
	Job     string          `json:"job"`
	Kind    string          `json:"kind"`
	Body    json.RawMessage `json:"body"`
	Parents []record.ID     `json:"parents"`
	By      string          `json:"by"`
	As      spindle.Role    `json:"as"`
	Grant   record.ID       `json:"grant"`
	Device  string          `json:"device"`
	WallMS  int64           `json:"wall_ms"`
	OffMS   *int64          `json:"off_ms"`
	Salt    string          `json:"salt"`
}

type made struct {
	ID    record.ID `json:"id"`
	Bytes string    `json:"bytes"`
}

// make writes an entry and reads it back. It does not take it into the record: the page saves it to disk first, and loads it then.
func (e *Engine) make(a makeArgs) (made, error) {
	body, err := record.ReadBody(a.Kind, a.Body)
	if err != nil {
		return made{}, err
	}
	if d, ok := body.(*record.Decision); ok {
		d.Engine = record.Engine
	}
	draft := record.Draft{Job: a.Job, Parents: a.Parents, By: a.By, As: a.As, Grant: a.Grant, Device: a.Device, WallMS: a.WallMS, OffMS: a.OffMS, Body: body}
	salt, err := hex.DecodeString(a.Salt)
	if err != nil || len(salt) != len(draft.Salt) {
		return made{}, fmt.Errorf("%w: the salt is 32 hex digits", errInput)
	}
	copy(draft.Salt[:], salt)
	entry, err := record.Make(draft)
	if err != nil {
		return made{}, err
	}
	return made{ID: entry.ID, Bytes: string(entry.Bytes)}, nil
}
