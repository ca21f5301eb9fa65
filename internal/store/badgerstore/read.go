package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"
	"strings"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store"
)

// loadServerID reads the row that every store has from its first transaction on.
func (s *Store) loadServerID() (id string, found bool, err error) {
	err = s.db.View(func(txn *badger.Txn) error {
		item, err := txn.Get([]byte{rowServer})
		if errors.Is(err, badger.ErrKeyNotFound) {
			return nil
		}
		if err != nil {
			return err
		}
		found = true
		return item.Value(func(v []byte) error {
			id = string(v)
			return nil
		})
	})
	if err != nil {
		return "", false, fmt.Errorf("%w: the store's own id cannot be read: %v; restore the store from its backup", store.ErrCorrupt, err)
	}
	return id, found, nil
}

// load reads heads and side tables into memory and compares them with the counts.
func (s *Store) load() error {
	err := s.db.View(func(txn *badger.Txn) error {
		item, err := txn.Get([]byte{rowCounts})
		if err != nil {
			return err
		}
		counts, err := item.ValueCopy(nil)
		if err != nil {
			return err
		}
		if err := scan(txn, rowHead, func(key, value []byte) error {
			job, h, err := decodeHead(key, value)
			s.heads[job] = h
			return err
		}); err != nil {
			return err
		}
		if err := scan(txn, rowMeta, func(key, value []byte) error {
			s.meta[string(key[1:])] = append([]byte{}, value...)
			return nil
		}); err != nil {
			return err
		}
		if here := encodeCounts(len(s.heads), len(s.meta)); !bytes.Equal(counts, here) {
			return fmt.Errorf("%w: %d heads and %d side-table rows can be read, the counts row says %x", errRow, len(s.heads), len(s.meta), counts)
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("%w: %v; restore the store from its backup", store.ErrCorrupt, err)
	}
	return nil
}

func scan(txn *badger.Txn, kind byte, visit func(key, value []byte) error) error {
	o := badger.DefaultIteratorOptions
	o.Prefix = []byte{kind}
	it := txn.NewIterator(o)
	defer it.Close()
	for it.Rewind(); it.Valid(); it.Next() {
		item := it.Item()
		if err := item.Value(func(v []byte) error { return visit(item.Key(), v) }); err != nil {
			return err
		}
	}
	return nil
}

// use runs a read while the store is open. A write that fails can leave Badger without its table in memory, and a read that comes
// before the writer has noticed then runs into nothing; this is answered as the failure it is.
func (s *Store) use(ctx context.Context, read func() error) (err error) {
	s.life.RLock()
	defer s.life.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	if failed := s.failed.Load(); failed != nil {
		return *failed
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	defer func() {
		switch cause := recover().(type) {
		case nil:
		case runtime.Error:
			err = fmt.Errorf("%w: reading: %v", store.ErrFailed, cause)
		default:
			panic(cause)
		}
	}()
	return explain(read())
}

func (s *Store) head(job string) head {
	s.state.RLock()
	defer s.state.RUnlock()
	return s.heads[job]
}

// Since implements store.Store.
func (s *Store) Since(ctx context.Context, job string, n uint64, limit int) (run []store.Stored, err error) {
	if limit < 1 {
		return nil, fmt.Errorf("%w: limit %d; ask for at least 1", store.ErrTooLarge, limit)
	}
	err = s.use(ctx, func() error {
		end := s.head(job).n
		if n >= end {
			return nil
		}
		if most := end - n; uint64(limit) > most {
			limit = int(most)
		}
		return s.db.View(func(txn *badger.Txn) error {
			before := new([32]byte)
			if n > 0 {
				// If the one before cannot be read, it has been or will be reported by whoever asks for it.
				if one, err := readArrival(txn, job, n); err == nil {
					before = &one.Hash
				} else {
					before = nil
				}
			}
			var err error
			if run, err = readRun(txn, job, n, limit); err != nil {
				return err
			}
			fine, err := store.VerifyRun(run, job, n, before)
			if err == nil && fine < limit {
				// Badger passes over what it cannot read.
				err = &store.EntryError{Kind: store.ErrCorrupt, Job: job, N: n + uint64(fine) + 1, Detail: "it cannot be read; restore the store from its backup"}
			}
			run = run[:fine]
			return err
		})
	})
	return run, err
}

// readRun reads arrivals of job after n in key order, at most limit, as far as they decode.
func readRun(txn *badger.Txn, job string, n uint64, limit int) ([]store.Stored, error) {
	o := badger.DefaultIteratorOptions
	o.Prefix = jobKey(rowArrival, job)
	o.PrefetchSize = min(limit, 64)
	it := txn.NewIterator(o)
	defer it.Close()
	var run []store.Stored
	for it.Seek(arrivalKey(job, n+1)); it.Valid() && len(run) < limit; it.Next() {
		at := n + uint64(len(run)) + 1
		if want := arrivalKey(job, at); !bytes.Equal(it.Item().Key(), want) {
			return run, nil // a gap, which the caller reports
		}
		var one store.Stored
		err := it.Item().Value(func(v []byte) (err error) {
			one, err = decodeArrival(job, at, v)
			return err
		})
		if err != nil {
			return run, &store.EntryError{Kind: store.ErrCorrupt, Job: job, N: at, Detail: err.Error()}
		}
		run = append(run, one)
	}
	return run, nil
}

// At implements store.Store.
func (s *Store) At(ctx context.Context, job string, n uint64) (a store.Arrival, ok bool, err error) {
	err = s.use(ctx, func() error {
		if n == 0 {
			a, ok = store.Arrival{Job: job}, true
			return nil
		}
		if n > s.head(job).n {
			return nil
		}
		return s.db.View(func(txn *badger.Txn) error {
			one, err := readArrival(txn, job, n)
			if err != nil {
				return &store.EntryError{Kind: store.ErrCorrupt, Job: job, N: n, Detail: err.Error()}
			}
			a, ok = one.Arrival, true
			return nil
		})
	})
	return a, ok, err
}

// Get implements store.Store.
func (s *Store) Get(ctx context.Context, ids []store.ID) ([]store.Stored, error) {
	out := make([]store.Stored, len(ids))
	var first error
	err := s.use(ctx, func() error {
		return s.db.View(func(txn *badger.Txn) error {
			for i, id := range ids {
				one, err := s.getOne(txn, id)
				switch {
				case err == nil:
					out[i] = one
				case !errors.Is(err, store.ErrCorrupt):
					return err
				case first == nil:
					first = err
				}
			}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	return out, first
}

func (s *Store) getOne(txn *badger.Txn, id store.ID) (store.Stored, error) {
	at, ok, err := findPlace(txn, id)
	if err != nil || !ok || at.n > s.head(at.job).n {
		return store.Stored{}, err
	}
	one, err := readArrival(txn, at.job, at.n)
	if err == nil && one.ID != id {
		err = fmt.Errorf("entry %s is in its place", one.ID)
	}
	if err != nil {
		return store.Stored{}, &store.EntryError{Kind: store.ErrCorrupt, ID: id, Job: at.job, N: at.n, Detail: err.Error()}
	}
	if _, err := store.VerifyRun([]store.Stored{one}, at.job, at.n-1, nil); err != nil {
		return store.Stored{}, err
	}
	return one, nil
}

// Have implements store.Store.
func (s *Store) Have(ctx context.Context, ids []store.ID) ([]bool, error) {
	out := make([]bool, len(ids))
	err := s.use(ctx, func() error {
		return s.db.View(func(txn *badger.Txn) error {
			for i, id := range ids {
				at, ok, err := findPlace(txn, id)
				if err != nil {
					return err
				}
				out[i] = ok && at.n <= s.head(at.job).n
			}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Jobs implements store.Store.
func (s *Store) Jobs(ctx context.Context) (heads []store.Head, err error) {
	err = s.use(ctx, func() error {
		s.state.RLock()
		defer s.state.RUnlock()
		for _, job := range sortedKeys(s.heads) {
			heads = append(heads, store.Head{Job: job, N: s.heads[job].n, Hash: s.heads[job].hash})
		}
		return nil
	})
	return heads, err
}

// GetMeta implements store.Store.
func (s *Store) GetMeta(ctx context.Context, key string) (value []byte, ok bool, err error) {
	err = s.use(ctx, func() error {
		s.state.RLock()
		defer s.state.RUnlock()
		value, ok = s.meta[key]
		value = bytes.Clone(value)
		return nil
	})
	return value, ok, err
}

// ListMeta implements store.Store.
func (s *Store) ListMeta(ctx context.Context, prefix string) (rows []store.Meta, err error) {
	err = s.use(ctx, func() error {
		s.state.RLock()
		defer s.state.RUnlock()
		for _, key := range sortedKeys(s.meta) {
			if strings.HasPrefix(key, prefix) {
				rows = append(rows, store.Meta{Key: key, Value: bytes.Clone(s.meta[key])})
			}
		}
		return nil
	})
	return rows, err
}
