package sheet_test

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
	"runtrue/internal/store/memstore"
)

// shelf is a server's store with what a device needs of it.
type shelf struct {
	*testing.T
	store.Store
}

func (s shelf) put(entries ...*record.Entry) (grew, repeats int) {
	s.Helper()
	var batch []store.Incoming
	for _, e := range entries {
		batch = append(batch, store.Incoming{Entry: store.Entry{ID: store.ID(e.ID), Job: e.Job, Bytes: e.Bytes}})
	}
	arrivals, err := s.Put(context.Background(), batch)
	if err != nil {
		s.Fatal(err)
	}
	for _, a := range arrivals {
		if a.Repeat {
			repeats++
		} else {
			grew++
		}
	}
	return grew, repeats
}

func (s shelf) size() int {
	s.Helper()
	all, err := s.Since(context.Background(), "job-1", 0, 4096)
	if err != nil {
		s.Fatal(err)
	}
	return len(all)
}

// job folds what the server holds, from its bytes.
func (s shelf) job() *record.Job {
	s.Helper()
	all, err := s.Since(context.Background(), "job-1", 0, 4096)
	if err != nil {
		s.Fatal(err)
	}
	j := record.NewJob("job-1")
	for _, a := range all {
		e, err := record.Decode(a.Bytes)
		if err != nil {
			s.Fatal(err)
		}
		join(s.T, j, []*record.Entry{e})
	}
	return j
}

// device is a tablet with its outbox and its place in the server's history.
type device struct {
	holds []*record.Entry
	n     uint64
	hash  [32]byte
}

// offer lists what the server lacks, if it cannot continue the device's place in its history; nothing if it can.
func (s shelf) offer(d *device) []*record.Entry {
	s.Helper()
	at, ok, err := s.At(context.Background(), "job-1", d.n)
	if err != nil {
		s.Fatal(err)
	}
	if ok && at.Hash == d.hash {
		return nil
	}
	var ids []store.ID
	for _, e := range d.holds {
		ids = append(ids, store.ID(e.ID))
	}
	have, err := s.Have(context.Background(), ids)
	if err != nil {
		s.Fatal(err)
	}
	var out []*record.Entry
	for i, e := range d.holds {
		if !have[i] {
			out = append(out, e)
		}
	}
	return out
}

func (s shelf) placeOf(n uint64) (uint64, [32]byte) {
	s.Helper()
	at, ok, err := s.At(context.Background(), "job-1", n)
	if err != nil || !ok {
		s.Fatal(n, ok, err)
	}
	return n, at.Hash
}

// TestRestoreCloneAndCrash: a server put back to last week's backup gets everything again from the tablets, twice; a clone's entries are its own; a push that was cut off is repeated; altered bytes are not taken.
func TestRestoreCloneAndCrash(t *testing.T) {
	for _, k := range []struct{ all, backup, a, lacks int }{{120, 100, 115, 101}, {90, 70, 82, 73}} {
		bench := NewBench(t, "job-1")
		a, b := bench.Tablet("a"), bench.Tablet("b")
		a.Part(P1, "shaft", spindle.Shaft)
		a.Specify(P3, Seat("J1", "shaft", spindle.Outside, 70, "k4"))
		setup := a.SetUp(P1, Comparator("g1", 0.5, 70))
		for len(bench.Entries) < k.lacks-1 {
			a.Read(P1, setup, "J1", "1", 0, 4.5)
		}
		Meet(a, b)
		a.Read(P1, setup, "J1", "1", 60_000, 5) // the two that tablet B never gets
		a.Read(P1, setup, "J1", "1", 120_000, 5)
		for len(bench.Entries) < k.all {
			b.Read(P2, setup, "J1", "2", 0, 5)
		}
		all := bench.Entries
		lacks := func(list []*record.Entry) (out []*record.Entry) {
			for i, e := range list {
				if i+1 != k.lacks && i+1 != k.lacks+1 {
					out = append(out, e)
				}
			}
			return out
		}
		serve := func(n int) shelf {
			s := shelf{t, memstore.New("server-1")}
			s.put(all[:n]...)
			return s
		}
		before := serve(k.all)
		want := sheetOf(before.job())
		devA, devB := &device{holds: all[:k.a]}, &device{holds: lacks(all)}
		devA.n, devA.hash = before.placeOf(uint64(k.a))
		devB.n, devB.hash = before.placeOf(uint64(k.all))
		if got := before.offer(devA); got != nil {
			t.Errorf("a server that continues the history is offered %d entries", len(got))
		}
		for again := range 2 {
			s := serve(k.backup)
			offerA, offerB := s.offer(devA), s.offer(devB)
			if grew, repeats := s.put(offerA...); grew != k.a-k.backup || repeats != 0 || s.size() != k.a {
				t.Errorf("restore %d: A brought %d, %d repeats, then %d; want %d, 0, %d", again+1, grew, repeats, s.size(), k.a-k.backup, k.a)
			}
			missing := 0
			for _, e := range all[k.backup:k.a] {
				if e == all[k.lacks-1] || e == all[k.lacks] {
					missing++
				}
			}
			if grew, repeats := s.put(offerB...); grew != k.all-k.a || repeats != k.a-k.backup-missing || s.size() != k.all {
				t.Errorf("restore %d: B brought %d, %d repeats, then %d; want %d, %d, %d", again+1, grew, repeats, s.size(), k.all-k.a, k.a-k.backup-missing, k.all)
			}
			if !bytes.Equal(sheetOf(s.job()), want) {
				t.Errorf("restore %d: the server shows other bytes than before", again+1)
			}
		}

		// A clone types the same value in the same millisecond: two entries.
		s := serve(k.all)
		Meet(a, b)
		clone := b.Clone()
		one := b.Read(P2, setup, "J1", "2", 60_000, 4.0)
		two := clone.Read(P2, setup, "J1", "2", 60_000, 4.0)
		first, second := b.Job.Get(one), clone.Job.Get(two)
		if first.WallMS != second.WallMS || one == two {
			t.Errorf("clones at %d and %d ms made %s and %s; want one time and two ids", first.WallMS, second.WallMS, one.Short(), two.Short())
		}
		s.put(first, second)
		s.put(first)
		if s.size() != k.all+2 {
			t.Errorf("%d entries after the clones' readings, want %d", s.size(), k.all+2)
		}

		// The answer to a push of ten never came; it is pushed again.
		for range 10 {
			b.Read(P2, setup, "J1", "2", 120_000, 5)
		}
		push := bench.Entries[len(bench.Entries)-10:]
		s.put(push[:6]...) // the server died after six
		if grew, repeats := s.put(push...); grew != 4 || repeats != 6 || s.size() != k.all+12 {
			t.Errorf("pushed again: %d new, %d repeats, %d entries; want 4, 6, %d", grew, repeats, s.size(), k.all+12)
		}

		// One byte altered on the way.
		altered := bytes.Replace(push[0].Bytes, []byte(`"typed":"5"`), []byte(`"typed":"6"`), 1)
		if bytes.Equal(altered, push[0].Bytes) || record.Sum(altered) == push[0].ID {
			t.Fatal("nothing was altered")
		}
		size := s.size()
		_, err := s.Put(context.Background(), []store.Incoming{{Entry: store.Entry{ID: store.ID(push[0].ID), Job: "job-1", Bytes: altered}}})
		var fault *store.EntryError
		if !errors.Is(err, store.ErrHash) || !errors.As(err, &fault) || fault.ID != store.ID(push[0].ID) || s.size() != size {
			t.Errorf("altered bytes: %v, %d entries; want them refused by their id", err, s.size())
		}
	}
}
