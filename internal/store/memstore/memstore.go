// Package memstore keeps a store in memory: for tests, and as the shortest statement of what package store asks for. Durable here means
// that the mutex was let go. It is meant to be read beside the contract; where another engine disagrees with it, one of the two is wrong.
package memstore

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"sync"

	"runtrue/internal/store"
)

type place struct {
	job string
	n   uint64
}

// Store implements store.Store. Make one with New.
type Store struct {
	serverID string

	mu     sync.RWMutex
	closed bool
	jobs   map[string][]store.Stored // arrival n at index n-1
	places map[store.ID]place
	meta   map[string][]byte
}

var _ store.Store = (*Store)(nil)

// New returns an empty store with the given server id.
func New(serverID string) *Store {
	return &Store{serverID: serverID, jobs: map[string][]store.Stored{}, places: map[store.ID]place{}, meta: map[string][]byte{}}
}

// ServerID returns what New was given.
func (s *Store) ServerID() string { return s.serverID }

// Put implements store.Store.
func (s *Store) Put(ctx context.Context, batch []store.Incoming) ([]store.Arrival, error) {
	if err := store.Admit(batch); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	seen := map[store.ID]string{}
	for i := range batch {
		in := &batch[i]
		job, ok := seen[in.ID]
		if !ok {
			if p, stored := s.places[in.ID]; stored {
				job, ok = p.job, true
			}
		}
		if ok && job != in.Job {
			return nil, &store.EntryError{Kind: store.ErrOtherJob, ID: in.ID, Job: in.Job, Detail: fmt.Sprintf("it is in job %q", job)}
		}
		seen[in.ID] = in.Job
	}
	answer := make([]store.Arrival, len(batch))
	for i := range batch {
		in := &batch[i]
		if p, ok := s.places[in.ID]; ok {
			here := &s.jobs[p.job][p.n-1]
			damaged := here.Withheld || sha256.Sum256(here.Bytes) != here.ID
			if damaged && !in.Withheld {
				here.Withheld, here.Bytes = false, bytes.Clone(in.Bytes)
			}
			answer[i] = here.Arrival
			answer[i].Repeat = true
			continue
		}
		stream := s.jobs[in.Job]
		var before [32]byte
		if len(stream) > 0 {
			before = stream[len(stream)-1].Hash
		}
		a := store.Arrival{
			Job: in.Job, N: uint64(len(stream)) + 1, Hash: store.NextHash(before, in.ID), ID: in.ID, ReceivedMS: in.ReceivedMS,
			Person: in.Person, Device: in.Device, Session: in.Session, Withheld: in.Withheld,
		}
		stored := store.Stored{Arrival: a}
		if !in.Withheld {
			stored.Bytes = bytes.Clone(in.Bytes)
		}
		s.jobs[in.Job] = append(stream, stored)
		s.places[in.ID] = place{in.Job, a.N}
		answer[i] = a
	}
	return answer, nil
}

// Since implements store.Store.
func (s *Store) Since(ctx context.Context, job string, n uint64, limit int) ([]store.Stored, error) {
	if limit < 1 {
		return nil, fmt.Errorf("%w: limit %d; ask for at least 1", store.ErrTooLarge, limit)
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	stream := s.jobs[job]
	if n >= uint64(len(stream)) {
		return nil, nil
	}
	var before [32]byte
	if n > 0 {
		before = stream[n-1].Hash
	}
	stream = stream[n:]
	run := slices.Clone(stream[:min(limit, len(stream))])
	for i := range run {
		run[i].Bytes = bytes.Clone(run[i].Bytes)
	}
	sound, err := store.VerifyRun(run, job, n, &before)
	return run[:sound], err
}

// At implements store.Store.
func (s *Store) At(ctx context.Context, job string, n uint64) (store.Arrival, bool, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return store.Arrival{}, false, err
	}
	if n == 0 {
		return store.Arrival{Job: job}, true, nil
	}
	if stream := s.jobs[job]; n <= uint64(len(stream)) {
		return stream[n-1].Arrival, true, nil
	}
	return store.Arrival{}, false, nil
}

// Get implements store.Store.
func (s *Store) Get(ctx context.Context, ids []store.ID) ([]store.Stored, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	var first error
	out := make([]store.Stored, len(ids))
	for i, id := range ids {
		p, ok := s.places[id]
		if !ok {
			continue
		}
		one := s.jobs[p.job][p.n-1]
		one.Bytes = bytes.Clone(one.Bytes)
		if _, err := store.VerifyRun([]store.Stored{one}, p.job, p.n-1, nil); err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		out[i] = one
	}
	return out, first
}

// Have implements store.Store.
func (s *Store) Have(ctx context.Context, ids []store.ID) ([]bool, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	out := make([]bool, len(ids))
	for i, id := range ids {
		_, out[i] = s.places[id]
	}
	return out, nil
}

// Jobs implements store.Store.
func (s *Store) Jobs(ctx context.Context) ([]store.Head, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	var heads []store.Head
	for job, stream := range s.jobs {
		heads = append(heads, store.Head{Job: job, N: uint64(len(stream)), Hash: stream[len(stream)-1].Hash})
	}
	slices.SortFunc(heads, func(a, b store.Head) int { return strings.Compare(a.Job, b.Job) })
	return heads, nil
}

// PutMeta implements store.Store.
func (s *Store) PutMeta(ctx context.Context, rows []store.Meta) error {
	if err := store.AdmitMeta(rows); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.usable(ctx); err != nil {
		return err
	}
	for _, r := range rows {
		if r.Delete {
			delete(s.meta, r.Key)
		} else {
			s.meta[r.Key] = append([]byte{}, r.Value...)
		}
	}
	return nil
}

// GetMeta implements store.Store.
func (s *Store) GetMeta(ctx context.Context, key string) ([]byte, bool, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, false, err
	}
	value, ok := s.meta[key]
	return bytes.Clone(value), ok, nil
}

// ListMeta implements store.Store.
func (s *Store) ListMeta(ctx context.Context, prefix string) ([]store.Meta, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.usable(ctx); err != nil {
		return nil, err
	}
	var rows []store.Meta
	for key, value := range s.meta {
		if strings.HasPrefix(key, prefix) {
			rows = append(rows, store.Meta{Key: key, Value: bytes.Clone(value)})
		}
	}
	slices.SortFunc(rows, func(a, b store.Meta) int { return strings.Compare(a.Key, b.Key) })
	return rows, nil
}

// Close implements store.Store. What was stored is gone.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return store.ErrClosed
	}
	s.closed = true
	return nil
}

func (s *Store) usable(ctx context.Context) error {
	if s.closed {
		return store.ErrClosed
	}
	return ctx.Err()
}
