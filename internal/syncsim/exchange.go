package syncsim

import (
	"fmt"
	"slices"

	"runtrue/internal/record"
)

type pushAnswer struct {
	Server string
	TimeMS int64 `json:"time_ms"`
	Taken  []struct {
		ID     record.ID
		Job    string
		N      uint64
		Repeat bool
	}
	Refused []struct {
		Index   int
		Message string
	}
	Waiting []struct {
		Index   int
		Missing []record.ID
	}
}

type pullAnswer struct {
	Server string
	TimeMS int64 `json:"time_ms"`
	Jobs   []struct {
		Job       string
		Continues bool
		N         uint64
		Hash      string
		BackedUp  uint64 `json:"backed_up_through"`
		Entries   []string
	}
	More bool
}

// pushAll sends everything that waits, whatever is in doubt again.
func (p *page) pushAll() (taken int, err error) {
	stuck := map[record.ID]bool{}
	for {
		later := map[record.ID]bool{}
		for id := range stuck {
			later[id] = true
		}
		before := taken
		for limit := p.w.mostPushed; ; {
			sent, took, split := 0, 0, false
			err := p.alone("push", 15*second, func() (err error) {
				sent, took, split, err = p.pushSome(limit, later, stuck)
				return err
			})
			if err != nil {
				return taken, err
			}
			if split {
				limit = max(1, limit/2)
				continue
			}
			limit = p.w.mostPushed
			if sent == 0 {
				break
			}
			taken += took
		}
		if len(later) == len(stuck) || taken == before {
			return taken, nil
		}
	}
}

// room of one push, bytes.
const room = 3_500_000

func (p *page) pushSome(limit int, later, stuck map[record.ID]bool) (sent, took int, split bool, err error) {
	d := p.dev.disk
	var batch []*record.Entry
	var texts []string
	left := room
	for _, w := range d.rows.outbox {
		if w.sent || later[w.id] {
			continue
		}
		e := d.rows.entries[w.id]
		if e == nil {
			p.w.must(fmt.Errorf("%s: entry %s waits for the server and is not stored", p.dev.name, w.id.Short()))
		}
		if left -= 2 * len(e.Bytes); len(batch) == limit || len(batch) > 0 && left < 0 {
			break
		}
		batch, texts = append(batch, e), append(texts, string(e.Bytes))
	}
	if len(batch) == 0 {
		return 0, 0, false, nil
	}
	var a pushAnswer
	err = p.with(func(token string) error {
		a = pushAnswer{}
		t, err := p.ask("POST", "/api/v1/push", token, map[string]any{"device_saved": d.rows.saved, "entries": texts}, &a)
		if err != nil {
			return err
		}
		return p.heard(a.Server, a.TimeMS, t)
	})
	if says(err, 413) && len(batch) > 1 {
		return 0, 0, true, nil
	}
	if err != nil {
		return 0, 0, false, err
	}
	open := map[record.ID]bool{}
	for _, e := range batch {
		open[e.ID] = true
	}
	if err := d.write(func(r *rows) {
		for _, t := range a.Taken {
			if i := r.queued(t.ID); open[t.ID] && i >= 0 {
				r.outbox[i].sent, r.outbox[i].repeat = true, t.Repeat
				r.outbox[i].below = t.N <= r.cursors[t.Job].N
			}
			delete(r.refused, t.ID)
		}
		for _, f := range a.Refused {
			if e := batch[f.Index]; r.queued(e.ID) >= 0 {
				r.leaveQueue(e.ID)
				r.refused[e.ID] = f.Message
			}
		}
	}); err != nil {
		return 0, 0, false, err
	}
	for _, t := range a.Taken {
		if open[t.ID] {
			took++
			delete(open, t.ID)
			p.w.onServer(t.ID)
		}
	}
	for _, f := range a.Refused {
		delete(open, batch[f.Index].ID)
	}
	for _, w := range a.Waiting {
		e := batch[w.Index]
		later[e.ID] = true
		absent := false
		if err := d.write(func(r *rows) {
			for _, id := range w.Missing {
				absent = !r.enqueue(id) || absent
			}
		}); err != nil {
			return 0, 0, false, err
		}
		if absent {
			stuck[e.ID] = true
			p.w.count("pushes of entries whose parents were nowhere", 1)
		}
	}
	for id := range open {
		later[id] = true
	}
	return len(batch), took, false, nil
}

// pullAll fetches until there is no more, and queues what the server turns out to have lost.
func (p *page) pullAll() (lost int, err error) {
	d := p.dev.disk
	for {
		cursors := []cursor{}
		for _, job := range sortedKeys(d.rows.cursors) {
			cursors = append(cursors, d.rows.cursors[job])
		}
		var a pullAnswer
		err := p.with(func(token string) error {
			a = pullAnswer{}
			t, err := p.ask("POST", "/api/v1/pull", token, map[string]any{"cursors": cursors, "limit": p.w.mostPulled}, &a)
			if err != nil {
				return err
			}
			return p.heard(a.Server, a.TimeMS, t)
		})
		if err != nil {
			return lost, err
		}
		again := a.More
		for _, j := range a.Jobs {
			from := cursor{}
			if i := slices.IndexFunc(cursors, func(c cursor) bool { return c.Job == j.Job }); i >= 0 {
				from = cursors[i]
			}
			if !j.Continues {
				if from.N == 0 {
					p.w.must(fmt.Errorf("job %q is not continued from its beginning", j.Job))
				}
				n, err := p.offerWhatIsLost(j.Job)
				if err != nil {
					return lost, err
				}
				lost, again = lost+n, true
				continue
			}
			if err := p.keep(j.Job, j.Entries, cursor{Job: j.Job, N: j.N, Hash: j.Hash, backedUp: j.BackedUp}, from); err != nil {
				return lost, err
			}
		}
		if !again {
			return lost, nil
		}
	}
}

// keep stores pulled entries and the cursor in one transaction.
func (p *page) keep(job string, texts []string, c, from cursor) error {
	var entries []*record.Entry
	for _, text := range texts {
		e, err := p.w.read(text)
		if err != nil {
			p.w.must(fmt.Errorf("pulled entry of job %q: %w", job, err))
		}
		entries = append(entries, e)
	}
	if !p.w.keeps(storesBeforeCursors) {
		if err := p.dev.disk.write(func(r *rows) { r.cursors[job] = c }); err != nil {
			return err
		}
	}
	if err := p.dev.disk.write(func(r *rows) {
		for _, e := range entries {
			if !r.add(e) {
				r.leaveQueue(e.ID)
			}
		}
		// Another page may have let the job go meanwhile; then this answer does not begin where the next pull will.
		if was := r.cursors[job]; !p.dev.tidies || was.N == from.N && was.Hash == from.Hash {
			r.cursors[job] = c
		}
	}); err != nil {
		return err
	}
	for _, e := range entries {
		p.dev.disk.book[e.ID] = true
	}
	return nil
}

// offerWhatIsLost: the server cannot go on from where this device stood. It is offered every id that is here, and the job is pulled from its beginning.
func (p *page) offerWhatIsLost(job string) (int, error) {
	d := p.dev.disk
	p.w.count("histories not continued", 1)
	ids := d.rows.ids(job)
	var a struct{ Missing []record.ID }
	if len(ids) > 0 && p.w.keeps(offersWhatItHolds) {
		err := p.with(func(token string) error {
			_, err := p.ask("POST", "/api/v1/have", token, map[string]any{"job": job, "ids": ids}, &a)
			return err
		})
		if err != nil {
			return 0, err
		}
	}
	p.w.count("entries given back", len(a.Missing))
	return len(a.Missing), d.write(func(r *rows) {
		for _, id := range a.Missing {
			r.enqueue(id) // what is not here any more was tidied by another page meanwhile
		}
		r.forgetCursor(job)
	})
}

// recall looks at what the server said to have and did not send back since. It vouches for an entry if it had it before at a number that the cursor covered already then, and the pull since has continued the cursor. Anything else
// waits again: the server may have been put back in between. A cursor that came later than the answer vouches for nothing, see TestOnlyAnOlderCursorVouches.
func (p *page) recall() (again int, err error) {
	err = p.dev.disk.write(func(r *rows) {
		var left []waiting
		for _, w := range r.outbox {
			if _, has := r.cursors[w.job]; w.sent && (w.repeat && has && (w.below || !p.w.keeps(olderCursorsVouch)) || !p.w.keeps(recallsDoubtful)) {
				continue
			}
			if w.sent {
				again++
				w = waiting{id: w.id, job: w.job}
			}
			left = append(left, w)
		}
		r.outbox = left
	})
	return again, err
}
