package syncsim

import (
	"errors"
	"maps"
	"slices"

	"runtrue/internal/record"
)

// errFull: the device's storage took nothing more; the transaction left no trace.
var errFull = errors.New("the device's storage is full")

// crashed unwinds a page whose device has just died.
type crashed struct{}

// disk is a device's database. Whatever belongs together is one transaction, which is there whole or not at all after a crash: browsers promise that for a transaction that completes under strict durability.
type disk struct {
	rows rows
	full bool
	// crash is asked before and after each transaction whether the device dies there; nil: it does not.
	crash func() bool
	// book is what the device was told to be saved, kept apart from the database, to hold it against.
	book map[record.ID]bool
}

// rows is all that a database holds.
type rows struct {
	entries map[record.ID]*record.Entry
	order   []record.ID // of storing
	outbox  []waiting   // in order of queueing
	refused map[record.ID]string
	cursors map[string]cursor
	saved   int64 // entries made here
	session *session
	offMS   *int64 // what to add to this clock to get the server's
	tidied  map[string]bool
	drops   int // how often a job was tidied away
}

// waiting is an entry that the server has not confirmed for good.
type waiting struct {
	id     record.ID
	job    string
	sent   bool // the server says it has it; a pull has not vouched for that yet
	repeat bool
	below  bool // its number was at or below the cursor when the server said so
}

type cursor struct {
	Job      string `json:"job"`
	N        uint64 `json:"n"`
	Hash     string `json:"hash"`
	backedUp uint64
}

type session struct {
	device, person  string
	access, refresh string
	expiresMS       int64
	roles           []held
	ended           bool
}

func newDisk() *disk {
	return &disk{book: map[record.ID]bool{}, rows: rows{entries: map[record.ID]*record.Entry{}, refused: map[record.ID]string{}, cursors: map[string]cursor{}, tidied: map[string]bool{}}}
}

func (r rows) copied() rows {
	r.entries, r.refused, r.cursors, r.tidied = maps.Clone(r.entries), maps.Clone(r.refused), maps.Clone(r.cursors), maps.Clone(r.tidied)
	r.order, r.outbox = slices.Clone(r.order), slices.Clone(r.outbox)
	if r.session != nil {
		s := *r.session
		r.session = &s
	}
	return r
}

// write is one transaction.
func (d *disk) write(change func(r *rows)) error {
	if d.crash != nil && d.crash() {
		panic(crashed{})
	}
	if d.full {
		return errFull
	}
	change(&d.rows)
	if d.crash != nil && d.crash() {
		panic(crashed{})
	}
	return nil
}

// replace puts another state in the place of the database: what was in it alone is lost.
func (d *disk) replace(r rows) {
	d.rows = r
	d.book = map[record.ID]bool{}
	for id := range r.entries {
		d.book[id] = true
	}
}

func (r *rows) add(e *record.Entry) bool {
	if r.entries[e.ID] != nil {
		return false
	}
	r.entries[e.ID] = e
	r.order = append(r.order, e.ID)
	return true
}

func (r *rows) queued(id record.ID) int {
	return slices.IndexFunc(r.outbox, func(w waiting) bool { return w.id == id })
}

// enqueue makes a stored entry wait for the server; false if it is not stored here.
func (r *rows) enqueue(id record.ID) bool {
	e := r.entries[id]
	if e == nil {
		return false
	}
	delete(r.refused, id)
	if i := r.queued(id); i >= 0 {
		r.outbox[i] = waiting{id: id, job: e.Job}
	} else {
		r.outbox = append(r.outbox, waiting{id: id, job: e.Job})
	}
	return true
}

func (r *rows) leaveQueue(id record.ID) {
	if i := r.queued(id); i >= 0 {
		r.outbox = slices.Delete(r.outbox, i, i+1)
	}
	delete(r.refused, id)
}

// ids of a job, in the order of storing.
func (r *rows) ids(job string) []record.ID {
	var out []record.ID
	for _, id := range r.order {
		if r.entries[id].Job == job {
			out = append(out, id)
		}
	}
	return out
}

func (r *rows) jobs() []string {
	seen := map[string]bool{}
	for _, e := range r.entries {
		seen[e.Job] = true
	}
	return slices.Sorted(maps.Keys(seen))
}

// drop lets a job's entries go, and keeps the cursor.
func (r *rows) drop(job string) (gone []record.ID) {
	gone = r.ids(job)
	for _, id := range gone {
		delete(r.entries, id)
	}
	r.order = slices.DeleteFunc(r.order, func(id record.ID) bool { return r.entries[id] == nil })
	r.tidied[job] = true
	r.drops++
	return gone
}

// forgetCursor makes the next pull fetch a job from its beginning. What an older cursor covered it covers no more.
func (r *rows) forgetCursor(job string) {
	delete(r.cursors, job)
	delete(r.tidied, job)
	for i := range r.outbox {
		if r.outbox[i].job == job {
			r.outbox[i].below = false
		}
	}
}
