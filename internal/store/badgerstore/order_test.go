package badgerstore

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store"
	"runtrue/internal/store/storetest"
)

// recorder stands between the writer and the disk. It stamps the beginning and the end of each write-and-sync with one rising clock, and
// can make a step fail.
type recorder struct {
	real       syncer
	clock      atomic.Int64
	failCommit atomic.Pointer[error] // answered instead of committing
	failAfter  atomic.Pointer[error] // answered after committing: the write is there, its sync is not
	failFolder atomic.Pointer[error]

	mu      sync.Mutex
	commits []span
}

type span struct{ begun, synced int64 }

func (r *recorder) Commit(txn *badger.Txn) error {
	begun := r.clock.Add(1)
	if err := r.failCommit.Load(); err != nil {
		return *err
	}
	if err := r.real.Commit(txn); err != nil {
		return err
	}
	if err := r.failAfter.Load(); err != nil {
		return *err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.commits = append(r.commits, span{begun, 0})
	return nil
}

func (r *recorder) SyncFolder() error {
	if err := r.failFolder.Load(); err != nil {
		return *err
	}
	if err := r.real.SyncFolder(); err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if n := len(r.commits); n > 0 {
		r.commits[n-1].synced = r.clock.Add(1)
	}
	return nil
}

func recorded(t *testing.T, dir string) (*Store, *recorder) {
	rec := &recorder{}
	set := small("")
	set.wrap = func(real syncer) syncer { rec.real = real; return rec }
	return openSmall(t, dir, set), rec
}

// Every answer comes after the end of a write-and-sync that began after the call: with one writer one for each, with many shared. That
// Commit itself syncs is shown by TestPowerCut.
func TestAnswerAfterSync(t *testing.T) {
	s, rec := recorded(t, t.TempDir())
	defer s.Close()
	var running sync.WaitGroup
	var puts atomic.Int64
	push := func(writer, n int) {
		for i := range n {
			called := rec.clock.Add(1)
			var err error
			if i%4 == 3 {
				err = s.PutMeta(context.Background(), []store.Meta{{Key: "k", Value: []byte{byte(i)}}})
			} else {
				_, err = s.Put(context.Background(), storetest.Some("J1", writer*1000+i*2, 2, 300))
			}
			answered := rec.clock.Add(1)
			if err != nil {
				t.Errorf("writer %d: %v", writer, err)
				return
			}
			puts.Add(1)
			rec.mu.Lock()
			covered := false
			for _, c := range rec.commits {
				covered = covered || called < c.begun && c.synced != 0 && c.synced < answered
			}
			rec.mu.Unlock()
			if !covered {
				t.Errorf("writer %d: call at %d was answered at %d, and no write was begun and synced in between", writer, called, answered)
				return
			}
		}
	}
	push(0, 40)
	alone := len(rec.commits) - 1 // one made the store
	if alone != 40 {
		t.Fatalf("one writer: %d commits for 40 calls", alone)
	}
	for w := range 32 {
		running.Go(func() { push(w+1, 20) })
	}
	running.Wait()
	shared := len(rec.commits) - 1 - alone
	t.Logf("32 writers: %d calls in %d commits", puts.Load()-40, shared)
	if shared >= 32*20/2 {
		t.Fatalf("32 writers shared little: %d commits for %d calls", shared, 32*20)
	}
	// What is here already needs no write to be answered.
	before := len(rec.commits)
	if _, err := s.Put(context.Background(), storetest.Some("J1", 0, 2, 300)); err != nil {
		t.Fatal(err)
	}
	if len(rec.commits) != before {
		t.Fatal("a repeat was written")
	}
}

// After a write that failed, nobody is told that he is safe, nothing is written or read any more, and all that was acknowledged is there when
// the folder is opened again. What failed may be there or not, whole.
func TestFailedWrite(t *testing.T) {
	for _, c := range []struct {
		name  string
		point func(r *recorder) *atomic.Pointer[error]
		cause error
		kind  error // besides ErrFailed
	}{
		{"input/output error before the write", func(r *recorder) *atomic.Pointer[error] { return &r.failCommit }, syscall.EIO, syscall.EIO},
		{"input/output error of the sync", func(r *recorder) *atomic.Pointer[error] { return &r.failAfter }, syscall.EIO, syscall.EIO},
		{"input/output error of the folder's sync", func(r *recorder) *atomic.Pointer[error] { return &r.failFolder }, syscall.EIO, syscall.EIO},
		{"disk full in the middle", func(r *recorder) *atomic.Pointer[error] { return &r.failCommit }, syscall.ENOSPC, store.ErrFull},
		{"disk full, told as text", func(r *recorder) *atomic.Pointer[error] { return &r.failCommit }, errors.New("while writing: no space left on device"), store.ErrFull},
	} {
		t.Run(c.name, func(t *testing.T) {
			ctx := context.Background()
			dir := t.TempDir()
			s, rec := recorded(t, dir)
			kept := storetest.Some("J1", 0, 7, 100)
			if _, err := s.Put(ctx, kept); err != nil {
				t.Fatal(err)
			}
			c.point(rec).Store(&c.cause)
			broken := storetest.Some("J1", 100, 5, 100)
			arrivals, err := s.Put(ctx, broken)
			if !errors.Is(err, store.ErrFailed) || !errors.Is(err, c.kind) || arrivals != nil {
				t.Fatalf("Put: %v, %v; want no arrivals, ErrFailed and %v", arrivals, err, c.kind)
			}
			c.point(rec).Store(nil) // the disk is well again; the store must not go on all the same
			if _, err := s.Put(ctx, kept); !errors.Is(err, store.ErrFailed) {
				t.Fatalf("Put after the failure: %v, want ErrFailed", err)
			}
			if err := s.PutMeta(ctx, []store.Meta{{Key: "k"}}); !errors.Is(err, store.ErrFailed) {
				t.Fatalf("PutMeta after the failure: %v, want ErrFailed", err)
			}
			if _, err := s.Since(ctx, "J1", 0, 100); !errors.Is(err, store.ErrFailed) {
				t.Fatalf("Since after the failure: %v, want ErrFailed", err)
			}
			if err := s.Close(); err != nil {
				t.Fatalf("Close: %v", err)
			}
			s = openSmall(t, dir, small(""))
			defer s.Close()
			storetest.Expect(t, s, "J1", storetest.IDs(kept))
			if heads, err := s.Jobs(ctx); err != nil || heads[0].N != 7 && heads[0].N != 12 {
				t.Fatalf("heads %v, %v; want 7 arrivals, or 12", heads, err)
			}
			if _, err := s.Put(ctx, broken); err != nil {
				t.Fatalf("repeated: %v", err)
			}
			storetest.Expect(t, s, "J1", storetest.IDs(append(kept, broken...)))
		})
	}
}

// A Put of several transactions that dies before the last one is not there at all, and its numbers are given to others.
func TestLargePutCutOff(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	s, rec := recorded(t, dir)
	kept := storetest.Some("J1", 0, 3, 100)
	if _, err := s.Put(ctx, kept); err != nil {
		t.Fatal(err)
	}
	large := storetest.Some("J1", 100, 100, 60_000)
	before := len(rec.commits)
	cut := &cutter{syncer: rec, after: 2}
	s.disk = cut
	if _, err := s.Put(ctx, large); !errors.Is(err, store.ErrFailed) || cut.after != 0 {
		t.Fatalf("Put: %v after %d commits, want ErrFailed after 2", err, len(rec.commits)-before)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = openSmall(t, dir, small(""))
	defer s.Close()
	storetest.Expect(t, s, "J1", storetest.IDs(kept))
	have, err := s.Have(ctx, storetest.IDs(large))
	if err != nil {
		t.Fatal(err)
	}
	for i := range have {
		if have[i] {
			t.Fatalf("entry %d of the Put that was cut off is here", i)
		}
	}
	one := storetest.Some("J1", 500, 1, 100)
	a, err := s.Put(ctx, one)
	if err != nil || a[0].N != 4 {
		t.Fatalf("the next arrival: %+v, %v; want number 4", a, err)
	}
	if a, err = s.Put(ctx, large); err != nil || a[0].N != 5 || a[99].N != 104 || a[0].Repeat {
		t.Fatalf("the large Put again: %v", err)
	}
	storetest.Expect(t, s, "J1", storetest.IDs(append(append(kept, one...), large...)))
}

// cutter fails every commit after some.
type cutter struct {
	syncer
	after int
}

func (c *cutter) Commit(txn *badger.Txn) error {
	if c.after == 0 {
		return errors.New("cut off here")
	}
	c.after--
	return c.syncer.Commit(txn)
}
