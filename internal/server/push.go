package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/store"
)

// item is one entry of a push.
type item struct {
	index int
	id    record.ID
	entry *record.Entry
	twin  bool // the same entry stood earlier in the push
}

// planned is one entry on its way into the store: of the push, of the server's own, or the stub of one that cannot be read.
type planned struct {
	id       record.ID
	entry    *record.Entry // nil if withheld
	own      bool          // the server's
	withheld bool
}

// push takes entries in. See the package comment for what is taken.
func (s *Server) push(r *request) (answer, error) {
	var b pushBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	out := pushAnswer{Server: s.store.ServerID(), Taken: []taken{}, Refused: []refused{}, Waiting: []waiting{}}
	unreadable := map[record.ID]bool{}
	byJob := map[string][]item{}
	seen := map[record.ID]bool{}
	for i, text := range b.Entries {
		bytes := []byte(text)
		id := record.Sum(bytes)
		e, err := record.Decode(bytes)
		if err != nil {
			f := faultOf(err)
			out.Refused = append(out.Refused, refused{Index: i, ID: id.String(), Code: f.code, Message: f.message})
			unreadable[id] = errors.Is(err, record.ErrMalformed)
			continue
		}
		byJob[e.Job] = append(byJob[e.Job], item{index: i, id: id, entry: e, twin: seen[id]})
		seen[id] = true
	}
	// The shop's record first: what it says of roles counts for the entries that come with it.
	for _, group := range groups(byJob) {
		if err := s.take(r.ctx, r, group, byJob, unreadable, &out); err != nil {
			return answer{}, err
		}
		if group[0] == record.ShopJob {
			if err := s.learnShop(r.ctx); err != nil {
				return answer{}, err
			}
		}
	}
	s.jobs.trim(maxIndexed)
	s.noteSaved(r, *b.DeviceSaved)
	slices.SortFunc(out.Waiting, func(a, b waiting) int { return cmp.Compare(a.Index, b.Index) })
	out.TimeMS = s.nowMS()
	return answer{value: out}, nil
}

// groups of jobs that are taken together: the shop's record by itself and first, then all others, by name.
func groups(byJob map[string][]item) [][]string {
	var out [][]string
	var rest []string
	for name := range byJob {
		if name == record.ShopJob {
			out = append(out, []string{name})
		} else {
			rest = append(rest, name)
		}
	}
	if len(rest) > 0 {
		slices.Sort(rest)
		out = append(out, rest)
	}
	return out
}

// noteSaved compares the device's count with what it said before. That it shrank is a warning for the log only: nothing that is here is touched.
func (s *Server) noteSaved(r *request, saved int64) {
	lost, err := s.desk.Saved(r.ctx, r.who.Device, saved)
	if err != nil {
		s.log.Error("the device's count could not be kept", slog.String("device", r.who.Device), slog.String("cause", err.Error()))
	}
	if lost > 0 {
		s.log.Warn("the device says that it has saved fewer entries than it said before: its storage was put back or emptied, and unsent work may be gone",
			slog.String("device", r.who.Device), slog.Int64("now", saved), slog.Int64("fewer_by", lost))
	}
}

// take writes the items of several jobs in one Put. First it looks with the gates shared; if there is something to object to, again with the jobs at a stand, since an objection is written on
// the heads and must be made once only.
func (s *Server) take(ctx context.Context, r *request, names []string, byJob map[string][]item, unreadable map[record.ID]bool, out *pushAnswer) error {
	for _, alone := range []bool{false, true} {
		again, err := s.tryTake(ctx, r, names, byJob, unreadable, alone, out)
		if err != nil || !again {
			return err
		}
	}
	return errors.New("a push held its jobs alone and was told to take them again")
}

func (s *Server) tryTake(ctx context.Context, r *request, names []string, byJob map[string][]item, unreadable map[record.ID]bool, alone bool, out *pushAnswer) (again bool, err error) {
	jobs, leave, err := s.jobs.enter(ctx, names, alone)
	if err != nil {
		return false, err
	}
	defer leave()
	plans := make([]plan, len(jobs))
	var batch []store.Incoming
	for i, j := range jobs {
		p := order(j, byJob[j.name], unreadable)
		bodies, err := s.objections(ctx, r, j, p.fresh)
		if err != nil {
			return false, err
		}
		if len(bodies) > 0 {
			if !alone {
				return true, nil
			}
			own, err := s.onHeads(j.name, headsAfter(j, p.write), bodies)
			if err != nil {
				return false, err
			}
			for _, e := range own {
				p.write = append(p.write, planned{id: e.ID, entry: e, own: true})
			}
		}
		plans[i] = p
		for _, w := range p.write {
			switch {
			case w.own:
				batch = append(batch, s.incoming(w.entry))
			case w.withheld:
				batch = append(batch, s.from(r, w.id, j.name, nil))
			default:
				batch = append(batch, s.from(r, w.id, j.name, w.entry.Bytes))
			}
		}
	}
	arrivals, err := s.store.Put(ctx, batch)
	if err != nil {
		return false, err
	}
	if len(arrivals) != len(batch) {
		return false, fmt.Errorf("the store answered %d arrivals to %d entries", len(arrivals), len(batch))
	}
	at := map[record.ID]store.Arrival{}
	for _, a := range arrivals {
		at[record.ID(a.ID)] = a
		s.damage.mended(a.ID)
	}
	for i, j := range jobs {
		j.took(plans[i].write)
		s.report(j.name, plans[i], at, out)
	}
	return false, nil
}

func (s *Server) from(r *request, id record.ID, job string, bytes []byte) store.Incoming {
	return store.Incoming{Entry: store.Entry{ID: store.ID(id), Job: job, Bytes: bytes}, Withheld: bytes == nil,
		ReceivedMS: s.nowMS(), Person: r.who.Person, Device: r.who.Device, Session: r.who.ID}
}

// report adds one job's part to the answer, and tells the live channel of what is new.
func (s *Server) report(job string, p plan, at map[record.ID]store.Arrival, out *pushAnswer) {
	for _, it := range p.taken {
		a := at[it.id]
		out.Taken = append(out.Taken, taken{ID: it.id.String(), Job: job, N: a.N, Hash: s.cursorHash(job, a.N, a.Hash), Repeat: a.Repeat || it.twin})
	}
	out.Waiting = append(out.Waiting, p.wait...)
	newest := uint64(0)
	for _, w := range p.write {
		if a := at[w.id]; !a.Repeat {
			newest = max(newest, a.N)
		}
	}
	if newest > 0 {
		s.news.tell(job, newest)
	}
}

// plan is what becomes of one job's part of a push.
type plan struct {
	write []planned // parents before children
	taken []item    // answered as taken, in the order of write, twins after their first
	fresh []item    // those of taken that were not here before
	wait  []waiting
}

// order puts parents before children and finds out which entries must wait. An entry that could not be read and that a good one of the same push names as its parent is kept as a stub, so that the good one can
// be taken; the stub holds the job for everybody until a person has settled it.
func order(j *job, items []item, unreadable map[record.ID]bool) plan {
	var p plan
	first := map[record.ID]item{}
	for _, it := range items {
		if !it.twin {
			first[it.id] = it
		}
	}
	here := map[record.ID]bool{} // taken by this plan
	missing := map[record.ID]int{}
	children := map[record.ID][]item{}
	var ready []item
	accept := func(id record.ID) {
		here[id] = true
		for _, c := range children[id] {
			if missing[c.id]--; missing[c.id] == 0 {
				ready = append(ready, c)
			}
		}
	}
	for _, it := range items {
		if it.twin {
			continue
		}
		n := 0
		for _, parent := range it.entry.Parents {
			if !j.has(parent) {
				n++
				children[parent] = append(children[parent], it)
			}
		}
		if missing[it.id] = n; n == 0 {
			ready = append(ready, it)
		}
	}
	drain := func() {
		for len(ready) > 0 {
			it := ready[0]
			ready = ready[1:]
			p.write = append(p.write, planned{id: it.id, entry: it.entry})
			p.taken = append(p.taken, it)
			if !j.has(it.id) {
				p.fresh = append(p.fresh, it)
			}
			accept(it.id)
		}
	}
	drain()
	for _, it := range items {
		if here[it.id] {
			continue
		}
		for _, parent := range it.entry.Parents {
			if unreadable[parent] && !here[parent] && !j.has(parent) {
				p.write = append(p.write, planned{id: parent, withheld: true})
				accept(parent)
			}
		}
		drain()
	}
	for _, it := range items {
		switch {
		case it.twin && here[it.id]:
			p.taken = append(p.taken, it)
		case !here[it.id]:
			w := waiting{Index: it.index, ID: it.id.String(), Missing: []string{}}
			for _, parent := range it.entry.Parents {
				if !j.has(parent) && !here[parent] {
					w.Missing = append(w.Missing, parent.String())
				}
			}
			p.wait = append(p.wait, w)
		}
	}
	return p
}

// headsAfter returns the job's heads as they will be once the entries planned are in, in rising order.
func headsAfter(j *job, write []planned) []record.ID {
	heads := map[record.ID]bool{}
	for _, id := range j.currentHeads() {
		heads[id] = true
	}
	for _, w := range write {
		if w.withheld || j.has(w.id) {
			continue
		}
		for _, parent := range w.entry.Parents {
			delete(heads, parent)
		}
		heads[w.id] = true
	}
	out := make([]record.ID, 0, len(heads))
	for id := range heads {
		out = append(out, id)
	}
	slices.SortFunc(out, record.ID.Compare)
	return out
}
