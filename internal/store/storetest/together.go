package storetest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/store"
)

// manyWriters pushes overlapping batches from many goroutines while others read, and compares every answer with the end state.
func manyWriters(t *testing.T, s store.Store) {
	const writers, rounds, entries = 16, 12, 120
	var mu sync.Mutex
	answers := map[store.ID][]store.Arrival{}
	var running sync.WaitGroup
	for w := range writers {
		running.Go(func() {
			random := rand.New(rand.NewPCG(uint64(w), 7))
			for range rounds {
				var batch []store.Incoming
				for range 1 + random.IntN(8) {
					number := random.IntN(entries)
					batch = append(batch, Make(fmt.Sprintf("J%d", number%3), number, 100))
				}
				got, err := s.Put(background, batch)
				if err != nil {
					t.Errorf("writer %d: %v", w, err)
					return
				}
				mu.Lock()
				for _, a := range got {
					answers[a.ID] = append(answers[a.ID], a)
				}
				mu.Unlock()
			}
		})
	}
	stop := make(chan struct{})
	var readers sync.WaitGroup
	for r := range 3 {
		readers.Go(func() {
			job := fmt.Sprintf("J%d", r)
			var n uint64
			var chain [32]byte
			for {
				run, err := s.Since(background, job, n, 5)
				if err != nil {
					t.Errorf("reader of %s after %d: %v", job, n, err)
					return
				}
				for _, one := range run {
					if one.N != n+1 || one.Hash != store.NextHash(chain, one.ID) {
						t.Errorf("reader of %s: arrival %d after %d, or a running hash that does not follow", job, one.N, n)
						return
					}
					n, chain = one.N, one.Hash
				}
				if len(run) == 0 {
					select {
					case <-stop:
						return
					default:
					}
				}
			}
		})
	}
	running.Wait()
	close(stop)
	readers.Wait()
	var ids []store.ID
	for id, list := range answers {
		ids = append(ids, id)
		fresh := 0
		for _, a := range list {
			if !a.Repeat {
				fresh++
			}
			if a.N != list[0].N || a.Hash != list[0].Hash {
				t.Fatalf("entry %s was answered as arrival %d and as %d", id, list[0].N, a.N)
			}
		}
		if fresh != 1 {
			t.Fatalf("entry %s was answered as new %d times", id, fresh)
		}
	}
	Expect(t, s, "J0", ids)
}

// againstModel runs random sequences of Puts against maps and slices. rapid prints its seed when it fails. Jobs are named by sequence, so
// that all may share one store.
func againstModel(t *testing.T, s store.Store) {
	sequence := 0
	rapid.Check(t, func(r *rapid.T) {
		sequence++
		streams := map[string][]store.Incoming{}
		places := map[store.ID]uint64{}
		for range rapid.IntRange(1, 6).Draw(r, "puts") {
			var batch []store.Incoming
			for range rapid.IntRange(0, 5).Draw(r, "entries") {
				job := fmt.Sprintf("S%d-%d", sequence, rapid.IntRange(0, 2).Draw(r, "job"))
				batch = append(batch, Make(job, rapid.IntRange(0, 9).Draw(r, "number"), 10))
			}
			got, err := s.Put(background, batch)
			if err != nil {
				r.Fatalf("Put: %v", err)
			}
			for i, in := range batch {
				n, repeat := places[in.ID]
				if !repeat {
					streams[in.Job] = append(streams[in.Job], in)
					n = uint64(len(streams[in.Job]))
					places[in.ID] = n
				}
				if got[i].N != n || got[i].Repeat != repeat || got[i].Job != in.Job {
					r.Fatalf("entry %d: arrival %d of %s, repeat %v; want %d of %s, %v", i, got[i].N, got[i].Job, got[i].Repeat, n, in.Job, repeat)
				}
			}
		}
		for job, want := range streams {
			run, err := s.Since(background, job, 0, 1000)
			if err != nil || len(run) != len(want) {
				r.Fatalf("job %s: %d arrivals, %v; want %d", job, len(run), err, len(want))
			}
			for i := range want {
				if run[i].ID != want[i].ID || string(run[i].Bytes) != string(want[i].Bytes) {
					r.Fatalf("job %s: arrival %d is %s, want %s", job, i+1, run[i].ID, want[i].ID)
				}
			}
		}
	})
}

func endedContext(t *testing.T, s store.Store) {
	put(t, s, Make("J1", 0, 20))
	ended, cancel := context.WithCancel(background)
	cancel()
	check := func(name string, err error) {
		t.Helper()
		wantError(t, name, err, context.Canceled)
	}
	_, err := s.Put(ended, Some("J1", 1, 1, 20))
	check("Put", err)
	check("PutMeta", s.PutMeta(ended, []store.Meta{{Key: "k"}}))
	_, err = s.Since(ended, "J1", 0, 1)
	check("Since", err)
	_, _, err = s.At(ended, "J1", 1)
	check("At", err)
	_, err = s.Get(ended, nil)
	check("Get", err)
	_, err = s.Have(ended, nil)
	check("Have", err)
	_, err = s.Jobs(ended)
	check("Jobs", err)
	_, _, err = s.GetMeta(ended, "k")
	check("GetMeta", err)
	_, err = s.ListMeta(ended, "")
	check("ListMeta", err)
	if a := put(t, s, Make("J1", 2, 20))[0]; a.N != 2 {
		t.Fatalf("after a Put under an ended context the next arrival is %d, want 2", a.N)
	}

	// Contexts that end while many wait: whoever got an error has nothing in the store, whoever got none has all.
	var running sync.WaitGroup
	var mu sync.Mutex
	refused, stored := map[store.ID]bool{}, map[store.ID]bool{}
	some, stop := context.WithCancel(background)
	for w := range 12 {
		running.Go(func() {
			for i := range 10 {
				in := Make("J2", w*100+i, 2000)
				_, err := s.Put(some, []store.Incoming{in})
				mu.Lock()
				switch {
				case err == nil:
					stored[in.ID] = true
					if len(stored) == 20 {
						stop()
					}
				case errors.Is(err, context.Canceled):
					refused[in.ID] = true
				default:
					t.Errorf("Put: %v", err)
				}
				mu.Unlock()
			}
		})
	}
	running.Wait()
	stop()
	run := all(t, s, "J2")
	for _, one := range run {
		if refused[one.ID] || !stored[one.ID] {
			t.Fatalf("entry %s is stored though its Put answered that it was cancelled", one.ID)
		}
	}
	if len(run) != len(stored) || len(refused) == 0 {
		t.Fatalf("%d stored, %d answered, %d refused; want the first two equal and some refused", len(run), len(stored), len(refused))
	}
}

func closedStore(t *testing.T, s store.Store) {
	put(t, s, Make("J1", 0, 20))
	if err := s.Close(); err != nil {
		t.Fatalf("Close: %v", err)
	}
	check := func(name string, err error) {
		t.Helper()
		wantError(t, name, err, store.ErrClosed)
	}
	check("Close", s.Close())
	_, err := s.Put(background, Some("J1", 1, 1, 20))
	check("Put", err)
	check("PutMeta", s.PutMeta(background, []store.Meta{{Key: "k"}}))
	_, err = s.Since(background, "J1", 0, 1)
	check("Since", err)
	_, _, err = s.At(background, "J1", 1)
	check("At", err)
	_, err = s.Get(background, []store.ID{{}})
	check("Get", err)
	_, err = s.Have(background, []store.ID{{}})
	check("Have", err)
	_, err = s.Jobs(background)
	check("Jobs", err)
	_, _, err = s.GetMeta(background, "k")
	check("GetMeta", err)
	_, err = s.ListMeta(background, "")
	check("ListMeta", err)
	if s.ServerID() == "" {
		t.Error("a closed store forgets its server id")
	}
}

// closeDuringPut closes while many write and read: every call answers, with success or ErrClosed.
func closeDuringPut(t *testing.T, s store.Store) {
	var running sync.WaitGroup
	begun := make(chan struct{}, 1000)
	for w := range 8 {
		running.Go(func() {
			for i := 0; ; i++ {
				_, err := s.Put(background, Some("J1", w*1000+i, 1, 200))
				if err == nil {
					_, err = s.Since(background, "J1", 0, 10)
				}
				if errors.Is(err, store.ErrClosed) {
					return
				}
				if err != nil {
					t.Errorf("writer %d: %v", w, err)
					return
				}
				select {
				case begun <- struct{}{}:
				default:
				}
			}
		})
	}
	for range 30 {
		<-begun
	}
	if err := s.Close(); err != nil {
		t.Errorf("Close: %v", err)
	}
	running.Wait()
}
