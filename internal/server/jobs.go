package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"runtrue/internal/record"
	"runtrue/internal/store"
)

// maxIndexed is how many ids of entries are kept in memory over all jobs, about 100 bytes each. A big job has some thousands.
const maxIndexed = 400_000

// jobs keeps, for the jobs in use, which entries are here and which of them are heads. It is built from the store when a job is first asked for, and given up for the jobs longest unused when there are too many ids.
type jobs struct {
	store store.Store

	mu     sync.Mutex
	byName map[string]*job
	clock  uint64 // counts uses, for the choice of what to give up
}

// job is the index of one job. A push holds the gate shared, so that many go on at once; whoever must see the job stand still (to write an objection on
// its heads, to build the index, to give it up) holds it alone.
type job struct {
	name string
	gate sync.RWMutex

	used uint64 // guarded by jobs.mu

	mu     sync.Mutex
	loaded bool
	ids    map[record.ID]struct{}
	heads  map[record.ID]struct{}
}

func newJobs(s store.Store) *jobs { return &jobs{store: s, byName: map[string]*job{}} }

func (js *jobs) get(name string) *job {
	js.mu.Lock()
	defer js.mu.Unlock()
	j := js.byName[name]
	if j == nil {
		j = &job{name: name}
		js.byName[name] = j
	}
	js.clock++
	j.used = js.clock
	return j
}

// enter takes the gates of the named jobs, alone or shared, with their indexes built, and returns the jobs and what lets the gates go. names must be in rising order: all who take several take them so.
func (js *jobs) enter(ctx context.Context, names []string, alone bool) ([]*job, func(), error) {
	var in []*job
	leave := func() {
		for _, j := range slices.Backward(in) {
			if alone {
				j.gate.Unlock()
			} else {
				j.gate.RUnlock()
			}
		}
	}
	for _, name := range names {
		j, err := js.enterOne(ctx, name, alone)
		if err != nil {
			leave()
			return nil, nil, err
		}
		in = append(in, j)
	}
	return in, leave, nil
}

func (js *jobs) enterOne(ctx context.Context, name string, alone bool) (*job, error) {
	j := js.get(name)
	for {
		if !alone {
			j.gate.RLock()
			if j.isLoaded() {
				return j, nil
			}
			j.gate.RUnlock()
		}
		j.gate.Lock()
		if !j.isLoaded() {
			if err := js.load(ctx, j); err != nil {
				j.gate.Unlock()
				return nil, err
			}
		}
		if alone {
			return j, nil
		}
		j.gate.Unlock() // and again from the top: it may have been given up in between
	}
}

func (j *job) isLoaded() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.loaded
}

// load builds the index. The gate is held alone. A damaged entry counts as here, since its number is taken and its children were accepted.
func (js *jobs) load(ctx context.Context, j *job) error {
	fresh := &job{ids: map[record.ID]struct{}{}, heads: map[record.ID]struct{}{}}
	err := everyArrival(ctx, js.store, j.name, func(st store.Stored) error {
		if st.Bytes == nil {
			fresh.ids[record.ID(st.ID)] = struct{}{}
			return nil
		}
		e, err := record.Decode(st.Bytes)
		if err != nil {
			return fmt.Errorf("arrival %d of job %q cannot be read by this program: %w", st.N, j.name, err)
		}
		fresh.add(e.ID, e.Parents)
		return nil
	})
	if err != nil {
		return err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	j.loaded, j.ids, j.heads = true, fresh.ids, fresh.heads
	return nil
}

// everyArrival visits all arrivals of a job in order. Damaged ones come without bytes.
func everyArrival(ctx context.Context, s store.Store, job string, visit func(store.Stored) error) error {
	const page = 1000
	for n := uint64(0); ; {
		run, err := s.Since(ctx, job, n, page)
		for _, st := range run {
			if err := visit(st); err != nil {
				return err
			}
			n = st.N
		}
		if damaged, ok := damagedAt(err, n); ok {
			if err := visit(store.Stored{Arrival: store.Arrival{Job: job, N: damaged.N, ID: damaged.ID}}); err != nil {
				return err
			}
			n = damaged.N
			continue
		}
		if err != nil {
			return err
		}
		if len(run) < page {
			return nil
		}
	}
}

// damagedAt recognises the store's report of one damaged entry after number n, in a place where reading can go on behind it.
func damagedAt(err error, n uint64) (*store.EntryError, bool) {
	var e *store.EntryError
	return e, errors.Is(err, store.ErrCorrupt) && errors.As(err, &e) && e.N > n
}

// add notes an entry that was taken. Its parents are here already.
func (j *job) add(id record.ID, parents []record.ID) {
	if _, ok := j.ids[id]; ok {
		return
	}
	j.ids[id] = struct{}{}
	for _, p := range parents {
		delete(j.heads, p)
	}
	j.heads[id] = struct{}{}
}

// took notes what a push wrote.
func (j *job) took(written []planned) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, w := range written {
		if w.withheld {
			j.ids[w.id] = struct{}{} // never a head: devices do not have it, so nothing may be built on it that they are to read
			continue
		}
		j.add(w.id, w.entry.Parents)
	}
}

func (j *job) has(id record.ID) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	_, ok := j.ids[id]
	return ok
}

// currentHeads in rising order.
func (j *job) currentHeads() []record.ID {
	j.mu.Lock()
	defer j.mu.Unlock()
	out := make([]record.ID, 0, len(j.heads))
	for id := range j.heads {
		out = append(out, id)
	}
	slices.SortFunc(out, record.ID.Compare)
	return out
}

// trim gives up indexes, longest unused first, until few enough ids are kept. Jobs in use are passed over.
func (js *jobs) trim(most int) {
	js.mu.Lock()
	defer js.mu.Unlock()
	var all []*job
	total := 0
	sizes := map[*job]int{}
	for _, j := range js.byName {
		j.mu.Lock()
		n := len(j.ids)
		j.mu.Unlock()
		if n > 0 {
			all, sizes[j] = append(all, j), n
			total += n
		}
	}
	if total <= most {
		return
	}
	slices.SortFunc(all, func(a, b *job) int { return int(int64(a.used) - int64(b.used)) })
	for _, j := range all {
		if total <= most {
			return
		}
		if !j.gate.TryLock() {
			continue
		}
		j.mu.Lock()
		j.loaded, j.ids, j.heads = false, nil, nil
		j.mu.Unlock()
		j.gate.Unlock()
		total -= sizes[j]
	}
}
