package server

import (
	"context"
	"fmt"
	"slices"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// maxTargets keeps an objection well below the greatest length of an entry: an id takes 67 bytes.
const maxTargets = 400

// deeds are the kinds for which somebody answers with a role, in the past participle. Bench work (set-ups, readings, findings, steps) is not among them: it is worth what it measured,
// whoever held the gauge, and it clears nothing by itself.
var deeds = map[string]string{"decision": "decided", "concession": "conceded", "strike": "struck", "settle": "settled", "objection": "objected", "specification": "accepted as specified", "release": "released"}

// objections is what the server has to say of entries that are new here, as bodies of entries to be written on the job's heads; one for each reason.
func (s *Server) objections(ctx context.Context, r *request, j *job, fresh []item) ([]record.Body, error) {
	var reasons []string // in the order in which they came up
	targets := map[string][]record.ID{}
	said, err := s.saidBefore(fresh)
	if err != nil {
		return nil, err
	}
	object := func(id record.ID, reason string) {
		if said[objected{id, reason}] {
			return
		}
		if len(targets[reason]) == 0 {
			reasons = append(reasons, reason)
		}
		targets[reason] = append(targets[reason], id)
	}
	for _, it := range fresh {
		reason, err := s.underAnotherName(r, it.entry)
		if err != nil {
			return nil, err
		}
		if reason != "" {
			object(it.id, reason)
		}
		answers, err := s.answersForRole(ctx, it.entry, fresh)
		if err != nil {
			return nil, err
		}
		if answers && !inTheServersName(it.entry) {
			if reason := s.roleReason(it.entry); reason != "" {
				object(it.id, reason)
			}
		}
	}
	var out []record.Body
	for _, reason := range reasons {
		out = append(out, objectTo(targets[reason], reason)...)
	}
	return out, nil
}

// objected is one target of an objection of the server's.
type objected struct {
	target record.ID
	reason string
}

// saidBefore lists what the server once had to say of entries and forgot: a device gives its objections back with the entries that they are against. Said again they would have to be lifted again.
func (s *Server) saidBefore(fresh []item) (map[objected]bool, error) {
	said := map[objected]bool{}
	for _, it := range fresh {
		o, ok := it.entry.Body.(*record.Objection)
		if !ok || !inTheServersName(it.entry) {
			continue
		}
		own, err := s.wrote(it.entry)
		if err != nil {
			return nil, err
		}
		for _, target := range o.Targets {
			said[objected{target, o.Reason}] = said[objected{target, o.Reason}] || own
		}
	}
	return said, nil
}

// objectTo makes as many objections as the targets need.
func objectTo(targets []record.ID, reason string) []record.Body {
	var out []record.Body
	for chunk := range slices.Chunk(targets, maxTargets) {
		out = append(out, &record.Objection{Targets: chunk, Reason: reason, From: "server"})
	}
	return out
}

// underAnotherName says why the name on an entry does not fit the session it came under; "" where it does. What a restored server is handed back was taken from its author once already.
func (s *Server) underAnotherName(r *request, e *record.Entry) (string, error) {
	sender := s.desk.NameOf(r.who.Person)
	switch {
	case inTheServersName(e):
		own, err := s.wrote(e)
		if err != nil || own {
			return "", err
		}
		return fmt.Sprintf("written in the server's name, and the server did not write it; sent by %s", sender), nil
	case e.By == r.who.Person || s.restores.active(e.Job, s.nowMS()):
		return "", nil
	case e.By == "":
		return fmt.Sprintf("sent without a name, by %s", sender), nil
	}
	return fmt.Sprintf("sent under another name: written as %s, sent by %s", s.desk.NameOf(e.By), sender), nil
}

// answersForRole reports whether an entry is one of the deeds. A strike is, unless it is of the author's own entry.
func (s *Server) answersForRole(ctx context.Context, e *record.Entry, fresh []item) (bool, error) {
	if _, ok := deeds[e.Kind]; !ok {
		return false, nil
	}
	switch b := e.Body.(type) {
	case *record.Specification:
		return b.AcceptedBy != "", nil
	case *record.Strike:
		target, err := s.lookUp(ctx, e.Job, b.Target, fresh)
		if err != nil {
			return false, err
		}
		return target == nil || target.By != e.By, nil
	}
	return true, nil
}

// lookUp finds an entry of a job, among those that are just coming in or in the store; nil if it is not there or cannot be read.
func (s *Server) lookUp(ctx context.Context, job string, id record.ID, fresh []item) (*record.Entry, error) {
	if i := slices.IndexFunc(fresh, func(it item) bool { return it.id == id }); i >= 0 {
		return fresh[i].entry, nil
	}
	got, err := s.store.Get(ctx, []store.ID{store.ID(id)})
	if _, damaged := damagedAt(err, 0); damaged {
		return nil, nil // then it counts as somebody else's
	}
	if err != nil {
		return nil, err
	}
	if got[0].N == 0 || got[0].Bytes == nil || got[0].Job != job {
		return nil, nil
	}
	e, err := record.Decode(got[0].Bytes)
	if err != nil {
		return nil, fmt.Errorf("entry %s was taken once and cannot be read now: %w", id, err)
	}
	return e, nil
}

// roleReason says what the shop's record has against the role that an entry was made in; "" if nothing. The words are those that the assembler will read.
func (s *Server) roleReason(e *record.Entry) string {
	now := s.nowMS()
	written, clocked := e.TimeMS()
	if !clocked {
		written = now
	}
	standing, _ := s.desk.StandingOf(access.Claim{Person: e.By, As: e.As, Grant: e.Grant, WrittenMS: written, ArrivedMS: now})
	name, deed := s.desk.NameOf(e.By), deeds[e.Kind]
	switch standing {
	case access.Good:
		return ""
	case access.Withdrawn:
		return fmt.Sprintf("%s by %s, whose role was withdrawn", deed, name)
	case access.Lapsed:
		return fmt.Sprintf("%s by %s, whose role of %s had ended", deed, name, e.As)
	case access.NotYet:
		return fmt.Sprintf("%s by %s, whose role of %s had not begun", deed, name, e.As)
	}
	return fmt.Sprintf("%s by %s as %s, a role that the shop's record does not give", deed, name, roleName(e.As))
}

func roleName(r spindle.Role) string {
	if r == "" {
		return "nobody in particular"
	}
	return string(r)
}
