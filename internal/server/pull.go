package server

import (
	"cmp"
	"context"
	"log/slog"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/store"
)

// Bounds of one pull. A device that wants more asks again.
const (
	defaultPull  = 500
	maxPull      = 2000
	maxPullBytes = 4 << 20
)

// pull hands out what is new since the device's cursors, the shop's record first, since roles in it bear on the rest.
func (s *Server) pull(r *request) (answer, error) {
	var b pullBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	left := b.Limit
	if left == 0 {
		left = defaultPull
	}
	left = min(left, maxPull)
	cursors := map[string]cursor{}
	for _, c := range b.Cursors {
		if _, twice := cursors[c.Job]; twice {
			return answer{}, faultf(codeMalformed, "job %q has two cursors; send one", c.Job)
		}
		cursors[c.Job] = c
	}
	heads, err := s.store.Jobs(r.ctx)
	if err != nil {
		return answer{}, err
	}
	known := map[string]bool{}
	for _, h := range heads {
		known[h.Job] = true
	}
	for name := range cursors {
		if !known[name] {
			heads = append(heads, store.Head{Job: name}) // a job that this server never had, or lost
		}
	}
	slices.SortFunc(heads, func(a, b store.Head) int {
		if shop := (b.Job == record.ShopJob); shop != (a.Job == record.ShopJob) {
			if shop {
				return 1
			}
			return -1
		}
		return cmp.Compare(a.Job, b.Job)
	})
	out := pullAnswer{Server: s.store.ServerID(), Jobs: []pulledJob{}}
	room := maxPullBytes
	for _, h := range heads {
		c, ok := cursors[h.Job]
		if !ok {
			c = cursor{Job: h.Job}
		}
		p, tell, more, err := s.pullJob(r, h, c, &left, &room)
		if err != nil {
			return answer{}, err
		}
		if tell {
			out.Jobs = append(out.Jobs, p)
		}
		out.More = out.More || more
	}
	out.TimeMS = s.nowMS()
	return answer{value: out}, nil
}

// pullJob answers one cursor; tell is false where there is nothing to say.
func (s *Server) pullJob(r *request, h store.Head, c cursor, left, room *int) (p pulledJob, tell, more bool, err error) {
	hash, sealed, err := s.readCursor(c)
	if err != nil {
		return p, false, false, err
	}
	at, ok, err := s.store.At(r.ctx, h.Job, c.N)
	if err != nil {
		return p, false, false, err
	}
	p = pulledJob{Job: h.Job, Continues: true, N: c.N, Hash: c.Hash, HeadN: h.N, HeadHash: s.cursorHash(h.Job, h.N, h.Hash), Entries: []string{}}
	if p.BackedUp, err = backedUp(r.ctx, s.store, h.Job); err != nil {
		return p, false, false, err
	}
	beginAgain := func() {
		p.Continues, p.N, p.Hash, p.Entries = false, 0, s.cursorHash(h.Job, 0, [32]byte{}), []string{}
	}
	if !ok || at.Hash != hash {
		if sealed {
			first := !s.restores.any(s.nowMS())
			if err := s.restores.note(r.ctx, s.store, h.Job, s.nowMS()); err != nil {
				return p, false, false, err
			}
			if first { // withdrawals may have come back before it was known that they were lost
				if err := s.learnShop(r.ctx); err != nil {
					return p, false, false, err
				}
			}
		}
		s.log.Warn("a device knows a history that this server does not continue", slog.String("job", h.Job), slog.Uint64("its_n", c.N), slog.Uint64("our_n", h.N), slog.Bool("made_here", sealed), slog.String("device", r.who.Device))
		beginAgain()
		return p, true, false, nil
	}
	for p.N < h.N && *left > 0 && *room > 0 {
		// No more than were there when the heads were read: head_n must not be behind n.
		run, err := s.store.Since(r.ctx, h.Job, p.N, int(min(uint64(*left), h.N-p.N)))
		for _, st := range run {
			if *room < len(st.Bytes) && len(p.Entries) > 0 {
				*room = 0
				break
			}
			p.N, p.Hash = st.N, s.cursorHash(h.Job, st.N, st.Hash)
			*left--
			*room -= len(st.Bytes)
			if st.Bytes != nil {
				p.Entries = append(p.Entries, string(st.Bytes))
			}
		}
		if damaged, ok := damagedAt(err, p.N); ok {
			s.log.Error("a stored entry is damaged", slog.String("job", h.Job), slog.Uint64("n", damaged.N), slog.String("id", damaged.ID.String()), slog.String("cause", err.Error()))
			if len(p.Entries) > 0 {
				return p, true, true, nil // first what can be read; asked again, the damage is the next thing
			}
			// A device that holds nothing of the job has nothing to offer.
			if c.N > 0 && s.damage.ask(damaged.ID, r.who.Device) {
				beginAgain()
				return p, true, true, nil
			}
			return p, p.N != c.N, false, nil
		}
		if err != nil {
			return p, false, false, err
		}
	}
	return p, p.N != c.N, p.N < h.N, nil
}

// have tells which of a job's entries are not here, damaged ones among them.
func (s *Server) have(r *request) (answer, error) {
	var b haveBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	if err := access.CheckName("job", b.Job); err != nil {
		return answer{}, err
	}
	jobs, leave, err := s.jobs.enter(r.ctx, []string{b.Job}, false)
	if err != nil {
		return answer{}, err
	}
	defer leave()
	missing := []string{}
	for _, text := range b.IDs {
		id, err := record.ParseID(text)
		if err != nil {
			return answer{}, err
		}
		if !jobs[0].has(id) || s.damage.known(store.ID(id)) {
			missing = append(missing, text)
		}
	}
	return answer{value: map[string]any{"missing": missing}}, nil
}

func (s *Server) listJobs(r *request) (answer, error) {
	heads, err := s.store.Jobs(r.ctx)
	if err != nil {
		return answer{}, err
	}
	out := []jobHead{}
	for _, h := range heads {
		out = append(out, jobHead{Job: h.Job, N: h.N, Hash: s.cursorHash(h.Job, h.N, h.Hash)})
	}
	return answer{value: map[string]any{"jobs": out}}, nil
}

// backedUpRow holds, for each job, the number of the last arrival that is in a backup.
const backedUpRow = "backup/through/"

// MarkBackedUp notes that everything up to these heads is in a backup, safe elsewhere; devices may from then on tidy it away. Call it after the backup has been synced, never before.
func MarkBackedUp(ctx context.Context, s store.Store, heads []store.Head) error {
	for chunk := range slices.Chunk(heads, store.MaxMetaRows) {
		var rows []store.Meta
		for _, h := range chunk {
			rows = append(rows, store.Meta{Key: backedUpRow + h.Job, Value: strconv.AppendUint(nil, h.N, 10)})
		}
		if err := s.PutMeta(ctx, rows); err != nil {
			return err
		}
	}
	return nil
}

func backedUp(ctx context.Context, s store.Store, job string) (uint64, error) {
	v, ok, err := s.GetMeta(ctx, backedUpRow+job)
	if err != nil || !ok {
		return 0, err
	}
	return strconv.ParseUint(strings.TrimSpace(string(v)), 10, 64)
}
