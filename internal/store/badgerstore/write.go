package badgerstore

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store"
)

// syncer is writing and syncing as the writer sees them. Tests put themselves in between.
type syncer interface {
	Commit(txn *badger.Txn) error // returns when the transaction is on disk
	SyncFolder() error            // makes the folder entry of a new log file durable, if there is one
}

// badgerDisk is the real syncer. Badger numbers its log files one up, so one look for the next name tells whether it has begun a new one.
type badgerDisk struct {
	dir     string
	nextLog int
}

func newBadgerDisk(dir string) *badgerDisk { return &badgerDisk{dir: dir} }

func (d *badgerDisk) Commit(txn *badger.Txn) error { return txn.Commit() }

func (d *badgerDisk) SyncFolder() error {
	if d.nextLog == 0 {
		files, err := os.ReadDir(d.dir)
		if err != nil {
			return err
		}
		for _, f := range files {
			if digits, ok := strings.CutSuffix(f.Name(), ".mem"); ok {
				n, err := strconv.Atoi(digits)
				if err != nil {
					return fmt.Errorf("log file %s: %w", f.Name(), err)
				}
				d.nextLog = max(d.nextLog, n+1)
			}
		}
		return syncFile(d.dir)
	}
	begun := false
	for {
		_, err := os.Lstat(filepath.Join(d.dir, fmt.Sprintf("%05d.mem", d.nextLog)))
		if errors.Is(err, os.ErrNotExist) {
			break
		}
		if err != nil {
			return err
		}
		d.nextLog++
		begun = true
	}
	if !begun {
		return nil
	}
	return syncFile(d.dir)
}

// request is one Put or PutMeta on its way to the writer.
type request struct {
	ctx    context.Context
	batch  []store.Incoming
	rows   []store.Meta
	answer chan answer // room for one, so that the writer never waits
}

type answer struct {
	arrivals []store.Arrival
	err      error
}

// Put implements store.Store.
func (s *Store) Put(ctx context.Context, batch []store.Incoming) ([]store.Arrival, error) {
	if err := store.Admit(batch); err != nil {
		return nil, err
	}
	return s.hand(&request{ctx: ctx, batch: batch})
}

// PutMeta implements store.Store.
func (s *Store) PutMeta(ctx context.Context, rows []store.Meta) error {
	if err := store.AdmitMeta(rows); err != nil {
		return err
	}
	_, err := s.hand(&request{ctx: ctx, rows: rows})
	return err
}

// hand gives the request to the writer and waits for its answer.
func (s *Store) hand(r *request) ([]store.Arrival, error) {
	select {
	case <-s.closing:
		return nil, store.ErrClosed
	default:
	}
	if err := r.ctx.Err(); err != nil {
		return nil, err
	}
	r.answer = make(chan answer, 1)
	select {
	case s.queue <- r:
	case <-r.ctx.Done():
		return nil, r.ctx.Err()
	case <-s.closing:
		return nil, store.ErrClosed
	}
	a := <-r.answer
	return a.arrivals, a.err
}

// txnBudget is what one transaction may hold.
type txnBudget struct{ rows, bytes int64 }

// cost is an upper bound of what a request adds to a transaction: two rows and a share of a head for each entry. rowOverhead covers the
// version and marks that Badger adds to a row.
func (r *request) cost() txnBudget {
	c := txnBudget{rows: int64(3*len(r.batch) + len(r.rows)), bytes: 64}
	for i := range r.batch {
		in := &r.batch[i]
		c.bytes += int64(len(in.Bytes) + 5*(len(in.Job)+16) + 192 + len(in.Person) + len(in.Device) + len(in.Session) + 3*rowOverhead)
	}
	for _, row := range r.rows {
		c.bytes += int64(len(row.Key) + len(row.Value) + 1 + rowOverhead)
	}
	return c
}

const rowOverhead = 16

// indexOfLargest bounds the bytes of the last transaction of a Put that is written in several: an index row and a head for each of
// MaxBatchEntries, with job names of full length.
const indexOfLargest = store.MaxBatchEntries * (1 + 32 + 2*(1+store.MaxNameBytes) + 2 + 8 + 40 + 2*rowOverhead)

// write is the writer: it runs until Close.
func (s *Store) write() {
	defer close(s.stopped)
	var carried *request // taken up, but too large for the last group
	for {
		var group []*request
		if carried != nil {
			group, carried = append(group, carried), nil
		} else {
			select {
			case r := <-s.queue:
				group = append(group, r)
			case <-s.closing:
				return
			}
		}
		// Those just answered get a chance to come back with their next Put and share this sync.
		runtime.Gosched()
		total := group[0].cost()
	gather:
		for {
			select {
			case r := <-s.queue:
				c := r.cost()
				// One row and its bytes are left for the counts.
				if total.rows+c.rows >= s.budget.rows-1 || total.bytes+c.bytes >= s.budget.bytes-64 {
					carried = r
					break gather
				}
				total.rows, total.bytes = total.rows+c.rows, total.bytes+c.bytes
				group = append(group, r)
			default:
				break gather
			}
		}
		s.commit(group)
	}
}

// commit writes a group, and answers each of its requests exactly once.
func (s *Store) commit(group []*request) {
	refuse := func(rs []*request, err error) {
		for _, r := range rs {
			r.answer <- answer{err: err}
		}
	}
	if failed := s.failed.Load(); failed != nil {
		refuse(group, *failed)
		return
	}
	p := s.newPlan()
	var taken []*request
	var arrivals [][]store.Arrival
	for _, r := range group {
		if err := r.ctx.Err(); err != nil {
			r.answer <- answer{err: err}
			continue
		}
		a, err := p.add(r)
		if err != nil {
			r.answer <- answer{err: err}
			continue
		}
		taken, arrivals = append(taken, r), append(arrivals, a)
	}
	if !p.empty() {
		free, err := s.set.freeSpace(s.dir)
		if err == nil && free < s.set.Reserve {
			err = fmt.Errorf("%w (%d MiB free, %d MiB are kept in reserve)", store.ErrFull, free>>20, s.set.Reserve>>20)
		}
		if err != nil {
			refuse(taken, err)
			return
		}
		if err := s.writePlan(p); err != nil {
			refuse(taken, s.fail(err))
			return
		}
		s.publish(p)
	}
	for i, r := range taken {
		r.answer <- answer{arrivals: arrivals[i]}
	}
}

// fail ends all use of Badger: after a write that broke off, its log holds half a transaction that would hide whatever followed.
func (s *Store) fail(cause error) error {
	err := fmt.Errorf("%w: %w", store.ErrFailed, explain(cause))
	s.failed.Store(&err)
	return err
}

// writePlan puts the plan on disk: in one transaction if it fits, else the arrivals in as many as needed and the index and heads in a last one.
func (s *Store) writePlan(p *plan) error {
	last := append(p.index, p.headRows()...)
	if s.fits(p.arrivals, last) {
		return s.writeRows(p.arrivals, last)
	}
	for rest := p.arrivals; len(rest) > 0; {
		n := 1
		for n < len(rest) && s.fits(rest[:n+1]) {
			n++
		}
		if err := s.writeRows(rest[:n]); err != nil {
			return err
		}
		rest = rest[n:]
	}
	return s.writeRows(last)
}

func (s *Store) fits(parts ...[]row) bool {
	rows, bytes := int64(1), int64(64) // Badger's own closing row
	for _, part := range parts {
		for i := range part {
			rows++
			bytes += int64(len(part[i].key) + len(part[i].value) + rowOverhead)
		}
	}
	return rows < s.budget.rows && bytes < s.budget.bytes
}

func (s *Store) writeRows(parts ...[]row) error {
	txn := s.db.NewTransaction(true)
	defer txn.Discard()
	for _, part := range parts {
		for i := range part {
			var err error
			if part[i].remove {
				err = txn.Delete(part[i].key)
			} else {
				err = txn.Set(part[i].key, part[i].value)
			}
			if err != nil {
				return err
			}
		}
	}
	if err := s.disk.Commit(txn); err != nil {
		return err
	}
	return s.disk.SyncFolder()
}
