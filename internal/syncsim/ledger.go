package syncsim

import (
	"fmt"
	"maps"
	"slices"
	"sync"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// ledger is what the simulation knows and nobody in it does: who wrote what, what the server had confirmed, and what it owes an objection to.
type ledger struct {
	mu      sync.Mutex
	entries map[record.ID]*record.Entry // every entry ever read or written, once in memory
	written map[record.ID]bool          // by a device
	saved   map[record.ID]bool          // of these, the ones that a device was told to be saved
	machine map[record.ID]bool          // by the server
	told    map[record.ID]bool          // shown as "on the server" by some page
	tidied  map[record.ID]bool          // dropped by some device since it is in a backup
	// committed is the server's book: what its store had confirmed, or what the backup held that it was put back to.
	committed     map[record.ID]bool
	forgotten     map[record.ID]bool   // the server had it confirmed once and was put back to a backup without it
	owed          map[record.ID]string // why the server must object
	withdrawnOnce map[record.ID]bool   // grants that some server once knew to be taken back, before or after it was put back
	arrivedOnce   map[record.ID]bool   // entries that some server once confirmed
	crowd         []record.ID          // grants taken back while many asked at once: from when on is not known
	crowded       bool
	restored      bool               // at least once
	holders       map[record.ID]bool // entries that somebody holds when the links heal
	counts        map[string]int
}

func newLedger() *ledger {
	return &ledger{entries: map[record.ID]*record.Entry{}, written: map[record.ID]bool{}, saved: map[record.ID]bool{}, machine: map[record.ID]bool{}, told: map[record.ID]bool{}, tidied: map[record.ID]bool{}, committed: map[record.ID]bool{},
		forgotten: map[record.ID]bool{}, owed: map[record.ID]string{}, withdrawnOnce: map[record.ID]bool{}, arrivedOnce: map[record.ID]bool{}, counts: map[string]int{}}
}

func (l *ledger) count(what string, n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if n > 0 {
		l.counts[what] += n
	}
}

// read decodes an entry, each only once however many devices hold it.
func (l *ledger) read(text string) (*record.Entry, error) {
	id := record.Sum([]byte(text))
	l.mu.Lock()
	defer l.mu.Unlock()
	if e := l.entries[id]; e != nil {
		return e, nil
	}
	e, err := record.Decode([]byte(text))
	if err == nil {
		l.entries[id] = e
	}
	return e, err
}

func (l *ledger) made(e *record.Entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.entries[e.ID], l.written[e.ID] = e, true
}

func (l *ledger) isSaved(id record.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.saved[id] = true
	l.counts["entries saved on a device"]++
}

func (l *ledger) onServer(id record.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.told[id] = true
}

func (l *ledger) tidiedAway(ids []record.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, id := range ids {
		l.tidied[id] = true
	}
}

// coming notes what the server is about to store of its own: killed in that write, it will not say.
func (l *ledger) coming(batch []store.Incoming) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, in := range batch {
		if in.Session == "" {
			l.machine[record.ID(in.ID)] = true
		}
	}
}

// arrived notes what the store has just confirmed, in order, and what of it calls for an objection.
func (l *ledger) arrived(batch []store.Incoming, arrivals []store.Arrival) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i, a := range arrivals {
		id := record.ID(a.ID)
		l.committed[id] = true
		e, err := record.Decode(batch[i].Bytes)
		if err != nil || a.Repeat {
			continue
		}
		if l.entries[id] == nil {
			l.entries[id] = e
		}
		if batch[i].Session == "" {
			continue
		}
		if g, ok := e.Body.(*record.Grant); ok && !g.Withdraws.IsZero() {
			if l.crowded {
				l.crowd = append(l.crowd, g.Withdraws)
			} else {
				l.withdrawnOnce[g.Withdraws] = true
			}
		}
		// What counts is what some server knew when the decision first came in: that it has forgotten the withdrawal since is no excuse, and a decision that it had accepted before may stand.
		first := !l.arrivedOnce[id]
		l.arrivedOnce[id] = true
		switch {
		case e.Kind == "decision" && first && l.withdrawnOnce[e.Grant]:
			l.owed[id] = "its author's role had been withdrawn"
			l.counts["decisions that came after the role was withdrawn"]++
		case e.By != batch[i].Person && e.As != spindle.Machine && !l.restored:
			l.counts["entries sent by another person"]++
			l.owed[id] = fmt.Sprintf("written by %s, sent by %s", e.By, batch[i].Person)
		}
	}
}

// atOnce notes that many ask at once, or that they have done.
func (l *ledger) atOnce(begins bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.crowded = begins
	for _, id := range l.crowd {
		l.withdrawnOnce[id] = true
	}
	l.crowd = nil
}

// opened compares what a store holds on opening with what it had confirmed.
func (l *ledger) opened(holds map[record.ID]bool) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	for id := range l.committed {
		if !holds[id] {
			return fmt.Errorf("entry %s was confirmed by the store, and is gone after it was opened again; it holds %d of %d", id.Short(), len(holds), len(l.committed))
		}
	}
	l.committed = maps.Clone(holds)
	return nil
}

// putBack notes that the server holds no more than a backup.
func (l *ledger) putBack(holds map[record.ID]bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for id := range l.committed {
		if !holds[id] {
			l.forgotten[id] = true
		}
	}
	l.committed, l.restored = maps.Clone(holds), true
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
