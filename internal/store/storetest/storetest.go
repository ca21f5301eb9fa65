// Package storetest is the contract of package store as tests. A new engine runs both suites from its own test:
//
//	func TestContract(t *testing.T) {
//		storetest.Run(t, func(t *testing.T, serverID string) store.Store { return open(t, t.TempDir(), serverID) })
//		storetest.RunDurable(t, func(t *testing.T, dir string) store.Store { return open(t, dir, "") })
//	}
//
// Run needs only stores that begin empty. RunDurable opens one folder (or database) again and again, and is for engines that keep something.
//
// To extend the contract, write func(t *testing.T, s store.Store) in this package, add one line to the list in Run, and run the tests of every
// engine: a promise that only one of them can keep does not belong in the contract. What lies beneath the contract (kill, power cut,
// full disk, altered files) is for each engine's own tests; Make, Some and Expect here help with it.
package storetest

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runtrue/internal/store"
)

// Run checks the contract on empty stores that open makes; each test gets its own and closes it.
func Run(t *testing.T, open func(t *testing.T, serverID string) store.Store) {
	for _, test := range []struct {
		name string
		run  func(t *testing.T, s store.Store)
	}{
		{"numbers and running hash", numbering},
		{"put again", putAgain},
		{"order within a batch", orderKept},
		{"refusals leave nothing", refusals},
		{"another job", otherJob},
		{"withheld", withheld},
		{"since, at, get, have, jobs", reading},
		{"bytes are copied", copies},
		{"big batches", bigBatches},
		{"many writers", manyWriters},
		{"against a plain model", againstModel},
		{"ended context", endedContext},
		{"closed", closedStore},
		{"close during put", closeDuringPut},
		{"side tables", sideTables},
		{"check", soundStore},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := open(t, "server-a")
			test.run(t, s)
			if err := s.Close(); err != nil && !errors.Is(err, store.ErrClosed) {
				t.Errorf("Close: %v", err)
			}
		})
	}
	t.Run("backup and restore", func(t *testing.T) { backupAndRestore(t, open) })
	t.Run("damaged backups", func(t *testing.T) { damagedBackups(t, open) })
	t.Run("restored from an old backup", func(t *testing.T) { oldBackup(t, open) })
}

// RunDurable checks what must outlast a closed store. open is called several times with the same dir.
func RunDurable(t *testing.T, open func(t *testing.T, dir string) store.Store) {
	t.Run("open again", func(t *testing.T) { openAgain(t, open) })
}

// background is the context of every call that is not about contexts.
var background = context.Background()

// Make returns an entry whose bytes say job and number and are size bytes long at least; equal arguments give equal entries.
func Make(job string, number, size int) store.Incoming {
	text := []byte(fmt.Sprintf(`{"job":%q,"number":%d}`, job, number))
	// Letters without a pattern, so that compressing engines need the room that real entries need, and more.
	for x := uint32(number)*2654435761 + 1; len(text) < size; {
		x = x*1664525 + 1013904223
		text = append(text, 'A'+byte(x>>27))
	}
	return store.Incoming{
		Entry:      store.Entry{ID: sha256.Sum256(text), Job: job, Bytes: text},
		ReceivedMS: 1_700_000_000_000 + int64(number), Person: "person-1", Device: fmt.Sprintf("tablet-%d", number%5), Session: "session-1",
	}
}

// Some returns n entries of job, numbered from first.
func Some(job string, first, n, size int) []store.Incoming {
	batch := make([]store.Incoming, n)
	for i := range batch {
		batch[i] = Make(job, first+i, size)
	}
	return batch
}

// IDs of a batch, in its order.
func IDs(batch []store.Incoming) []store.ID {
	ids := make([]store.ID, len(batch))
	for i := range batch {
		ids[i] = batch[i].ID
	}
	return ids
}

// put is Put that must succeed.
func put(t *testing.T, s store.Store, batch ...store.Incoming) []store.Arrival {
	t.Helper()
	arrivals, err := s.Put(background, batch)
	if err != nil {
		t.Fatalf("Put of %d entries: %v", len(batch), err)
	}
	if len(arrivals) != len(batch) {
		t.Fatalf("Put of %d entries answered %d arrivals", len(batch), len(arrivals))
	}
	return arrivals
}

// all reads a job to its end in pages of three, so that page borders are crossed.
func all(t *testing.T, s store.Store, job string) []store.Stored {
	t.Helper()
	var out []store.Stored
	for {
		run, err := s.Since(background, job, uint64(len(out)), 3)
		if err != nil {
			t.Fatalf("Since(%q, %d, 3): %v", job, len(out), err)
		}
		out = append(out, run...)
		if len(run) < 3 {
			return out
		}
	}
}

// Expect checks that s holds every id of ids in job, and that the whole job is in order: numbers without gaps, running hashes, bytes.
func Expect(t testing.TB, s store.Store, job string, ids []store.ID) {
	t.Helper()
	have, err := s.Have(background, ids)
	if err != nil {
		t.Fatalf("Have of %d ids: %v", len(ids), err)
	}
	for i := range ids {
		if !have[i] {
			t.Fatalf("entry %s of job %q was acknowledged (as %d of %d) and is not here", ids[i], job, i+1, len(ids))
		}
	}
	sound, faults, err := store.Check(background, s)
	if err != nil || len(faults) > 0 {
		t.Fatalf("Check: %d sound, error %v, faults %v", sound, err, faults)
	}
	heads, err := s.Jobs(background)
	if err != nil {
		t.Fatal(err)
	}
	total := uint64(0)
	for _, h := range heads {
		total += h.N
		run, err := s.Since(background, h.Job, 0, int(h.N))
		if err != nil {
			t.Fatalf("Since(%q, 0, %d): %v", h.Job, h.N, err)
		}
		chain := [32]byte{}
		for i, one := range run {
			chain = sha256.Sum256(append(chain[:], one.ID[:]...)) // the definition, written out
			if one.N != uint64(i)+1 || one.Hash != chain || one.Job != h.Job {
				t.Fatalf("job %q: arrival %d at place %d, running hash %x, want %x", one.Job, one.N, i+1, one.Hash, chain)
			}
		}
		if chain != h.Hash {
			t.Fatalf("job %q: head has running hash %x, its %d arrivals give %x", h.Job, h.Hash, h.N, chain)
		}
	}
	if total != sound {
		t.Fatalf("heads count %d arrivals, Check found %d", total, sound)
	}
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Fatalf("%s (-want +got):\n%s", what, diff)
	}
}

func wantError(t *testing.T, what string, err, kind error) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Fatalf("%s: error %v, want %v", what, err, kind)
	}
}
