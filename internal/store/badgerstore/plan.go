package badgerstore

import (
	"errors"
	"fmt"
	"slices"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store"
)

// row is a row to write, or to remove.
type row struct {
	key, value []byte
	remove     bool
}

// plan is what one group will write. It looks like the store as it will be: requests added later see those added before.
type plan struct {
	s        *Store
	arrivals []row                 // may be written ahead of the rest
	index    []row                 // makes them known
	heads    map[string]head       // new heads
	jobs     []string              // keys of heads, in order of first use
	news     map[store.ID]newcomer // arrivals of this plan
	meta     map[string][]byte     // new values; nil: the row goes
	keys     []string              // keys of meta, in order of first use
	counts   struct{ heads, rows int }
}

type newcomer struct {
	store.Arrival
	at int // index in plan.arrivals
}

func (s *Store) newPlan() *plan {
	p := &plan{s: s, heads: map[string]head{}, news: map[store.ID]newcomer{}, meta: map[string][]byte{}}
	// No lock: the writer, which runs this, is the only one that changes them.
	p.counts.heads, p.counts.rows = len(s.heads), len(s.meta)
	return p
}

func (p *plan) empty() bool { return len(p.arrivals) == 0 && len(p.keys) == 0 }

// add takes a request into the plan, or leaves the plan as it was and says why not.
func (p *plan) add(r *request) ([]store.Arrival, error) {
	if r.rows != nil {
		p.addMeta(r.rows)
		return nil, nil
	}
	earlier := map[store.ID]*store.Stored{} // what is on disk already
	jobs := map[store.ID]string{}           // within this batch
	for i := range r.batch {
		in := &r.batch[i]
		job, known := jobs[in.ID]
		if n, ok := p.news[in.ID]; ok {
			job, known = n.Job, true
		} else if !known {
			found, err := p.s.lookUp(in.ID)
			if err != nil {
				return nil, err
			}
			if found != nil {
				earlier[in.ID] = found
				job, known = found.Job, true
			}
		}
		if known && job != in.Job {
			return nil, &store.EntryError{Kind: store.ErrOtherJob, ID: in.ID, Job: in.Job, Detail: fmt.Sprintf("it is in job %q", job)}
		}
		jobs[in.ID] = in.Job
	}
	out := make([]store.Arrival, len(r.batch))
	for i := range r.batch {
		out[i] = p.place(&r.batch[i], earlier[r.batch[i].ID])
	}
	return out, nil
}

// place gives one entry its arrival. earlier is its row on disk, or nil.
func (p *plan) place(in *store.Incoming, earlier *store.Stored) store.Arrival {
	if n, ok := p.news[in.ID]; ok {
		if n.Withheld && !in.Withheld {
			n.Withheld = false
			p.arrivals[n.at].value = encodeArrival(&n.Arrival, in.Bytes)
			p.news[in.ID] = n
		}
		n.Repeat = true
		return n.Arrival
	}
	if earlier != nil {
		a := earlier.Arrival
		if !in.Withheld && (a.Withheld || !sound(earlier)) {
			a.Withheld = false
			p.write(a, in.Bytes) // the bytes that were missing or damaged
		}
		a.Repeat = true
		return a
	}
	h, begun := p.heads[in.Job]
	if !begun {
		p.jobs = append(p.jobs, in.Job)
		var stored bool
		if h, stored = p.s.heads[in.Job]; !stored {
			p.counts.heads++
		}
	}
	h = head{n: h.n + 1, hash: store.NextHash(h.hash, in.ID)}
	p.heads[in.Job] = h
	a := store.Arrival{
		Job: in.Job, N: h.n, Hash: h.hash, ID: in.ID, ReceivedMS: in.ReceivedMS,
		Person: in.Person, Device: in.Device, Session: in.Session, Withheld: in.Withheld,
	}
	bytes := in.Bytes
	if in.Withheld {
		bytes = nil
	}
	p.write(a, bytes)
	p.index = append(p.index, row{key: placeKey(in.ID), value: place{in.Job, h.n}.encode()})
	return a
}

func (p *plan) write(a store.Arrival, bytes []byte) {
	p.news[a.ID] = newcomer{a, len(p.arrivals)}
	p.arrivals = append(p.arrivals, row{key: arrivalKey(a.Job, a.N), value: encodeArrival(&a, bytes)})
}

func (p *plan) addMeta(rows []store.Meta) {
	for _, r := range rows {
		before, changed := p.meta[r.Key]
		had := before != nil
		if !changed {
			_, had = p.s.meta[r.Key]
			p.keys = append(p.keys, r.Key)
		}
		switch {
		case r.Delete && had:
			p.counts.rows--
		case !r.Delete && !had:
			p.counts.rows++
		}
		if r.Delete {
			p.meta[r.Key] = nil
		} else {
			p.meta[r.Key] = append([]byte{}, r.Value...)
		}
	}
}

// headRows are the rows that make the plan's arrivals visible, with its side-table rows and the counts.
func (p *plan) headRows() []row {
	var rows []row
	for _, job := range p.jobs {
		rows = append(rows, row{key: jobKey(rowHead, job), value: p.heads[job].encode()})
	}
	for _, key := range p.keys {
		rows = append(rows, row{key: metaKey(key), value: p.meta[key], remove: p.meta[key] == nil})
	}
	if p.counts.heads != len(p.s.heads) || p.counts.rows != len(p.s.meta) {
		rows = append(rows, row{key: []byte{rowCounts}, value: encodeCounts(p.counts.heads, p.counts.rows)})
	}
	return rows
}

// publish shows readers what is now on disk.
func (s *Store) publish(p *plan) {
	s.state.Lock()
	defer s.state.Unlock()
	for _, job := range p.jobs {
		s.heads[job] = p.heads[job]
	}
	for _, key := range p.keys {
		if p.meta[key] == nil {
			delete(s.meta, key)
		} else {
			s.meta[key] = p.meta[key]
		}
	}
}

// lookUp finds the stored entry with this id, nil if there is none.
func (s *Store) lookUp(id store.ID) (*store.Stored, error) {
	var found *store.Stored
	err := s.db.View(func(txn *badger.Txn) error {
		at, ok, err := findPlace(txn, id)
		if err != nil || !ok || at.n > s.heads[at.job].n {
			return err
		}
		one, err := readArrival(txn, at.job, at.n)
		if err != nil {
			return &store.EntryError{Kind: store.ErrCorrupt, ID: id, Job: at.job, N: at.n, Detail: err.Error()}
		}
		if one.ID != id {
			return &store.EntryError{Kind: store.ErrCorrupt, ID: id, Job: at.job, N: at.n, Detail: fmt.Sprintf("entry %s is in its place; restore the store from its backup", one.ID)}
		}
		found = &one
		return nil
	})
	return found, err
}

func findPlace(txn *badger.Txn, id store.ID) (place, bool, error) {
	item, err := txn.Get(placeKey(id))
	if errors.Is(err, badger.ErrKeyNotFound) {
		return place{}, false, nil
	}
	var at place
	if err == nil {
		err = item.Value(func(v []byte) (err error) {
			at, err = decodePlace(v)
			return err
		})
	}
	if err != nil {
		return place{}, false, &store.EntryError{Kind: store.ErrCorrupt, ID: id, Detail: "its index row cannot be read: " + err.Error()}
	}
	return at, true, nil
}

func readArrival(txn *badger.Txn, job string, n uint64) (store.Stored, error) {
	item, err := txn.Get(arrivalKey(job, n))
	if err != nil {
		return store.Stored{}, err
	}
	var one store.Stored
	err = item.Value(func(v []byte) (err error) {
		one, err = decodeArrival(job, n, v)
		return err
	})
	return one, err
}

func sound(s *store.Stored) bool {
	_, err := store.VerifyRun([]store.Stored{*s}, s.Job, s.N-1, nil)
	return err == nil
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
