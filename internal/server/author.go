package server

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// serverName is the author and the device of the server's own entries. No person can be enrolled under it (see newCode).
const serverName = "server"

// author makes an entry of the server's own. Its salt is not random but a seal over everything else in it: so the server recognises its own entries when they are handed back after a restore, and
// anybody else's in its name. Two entries that agree in everything, parents and millisecond included, would be one; nothing would be lost by that.
func (s *Server) author(job string, parents []record.ID, wallMS int64, body record.Body) (*record.Entry, error) {
	onTime := int64(0)
	d := record.Draft{Job: job, Parents: parents, By: serverName, As: spindle.Machine, Device: serverName, WallMS: wallMS, OffMS: &onTime, Body: body}
	salt, err := s.salt(d)
	if err != nil {
		return nil, err
	}
	d.Salt = salt
	e, err := record.Make(d)
	if err != nil {
		return nil, fmt.Errorf("the server's own entry in job %q: %w", job, err)
	}
	return e, nil
}

func (s *Server) salt(d record.Draft) (salt [16]byte, err error) {
	body, err := json.Marshal(d.Body)
	if err != nil {
		return salt, fmt.Errorf("sealing an entry: %w", err)
	}
	words := []string{"entry", d.Job, d.Body.Kind(), string(body), strconv.FormatInt(d.WallMS, 10)}
	for _, p := range d.Parents {
		words = append(words, p.String())
	}
	b, err := hex.DecodeString(s.desk.Seal(words...))
	if err != nil {
		return salt, fmt.Errorf("sealing an entry: %w", err)
	}
	return [16]byte(b), nil
}

// wrote reports whether the server wrote an entry that bears its name.
func (s *Server) wrote(e *record.Entry) (bool, error) {
	if e.By != serverName || e.As != spindle.Machine || e.Body == nil {
		return false, nil
	}
	again, err := s.author(e.Job, e.Parents, e.WallMS, e.Body)
	if err != nil {
		return false, err
	}
	return again.ID == e.ID, nil
}

// inTheServersName reports whether an entry claims to be the server's, in one way or another.
func inTheServersName(e *record.Entry) bool { return e.By == serverName || e.As == spindle.Machine }

// incoming is an entry of the server's own on its way into the store. It has no session, by which it is told from what devices sent.
func (s *Server) incoming(e *record.Entry) store.Incoming {
	return store.Incoming{Entry: store.Entry{ID: store.ID(e.ID), Job: e.Job, Bytes: e.Bytes}, ReceivedMS: s.nowMS(), Person: serverName, Device: serverName}
}

func (s *Server) nowMS() int64 { return s.cfg.Now().UnixMilli() }

// onHeads authors a row of entries in one job, each on the heads that the one before left: first, as many gather entries as are needed to bring the heads below the greatest number of parents, then one
// entry for each body.
func (s *Server) onHeads(job string, heads []record.ID, bodies []record.Body) ([]*record.Entry, error) {
	var out []*record.Entry
	now := s.nowMS()
	for len(heads) > record.MaxParents {
		g, err := s.author(job, heads[:record.MaxParents], now, &record.Gather{})
		if err != nil {
			return nil, err
		}
		out = append(out, g)
		heads = append(append([]record.ID{}, heads[record.MaxParents:]...), g.ID)
	}
	for _, b := range bodies {
		e, err := s.author(job, heads, now, b)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
		heads = []record.ID{e.ID}
	}
	return out, nil
}
