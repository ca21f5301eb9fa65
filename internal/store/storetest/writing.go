package storetest

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/store"
)

func numbering(t *testing.T, s store.Store) {
	if s.ServerID() == "" {
		t.Fatal("ServerID is empty")
	}
	if got := put(t, s); len(got) != 0 {
		t.Fatalf("an empty Put answered %v", got)
	}
	chains := map[string][32]byte{}
	counts := map[string]uint64{}
	for round := range 5 {
		var batch []store.Incoming
		for i := range 4 {
			batch = append(batch, Make("J1", round*10+i, 30), Make("shop", round*10+i, 30))
		}
		for i, a := range put(t, s, batch...) {
			in := batch[i]
			before := chains[in.Job]
			want := store.Arrival{
				Job: in.Job, N: counts[in.Job] + 1, Hash: sha256.Sum256(append(before[:], in.ID[:]...)), ID: in.ID,
				ReceivedMS: in.ReceivedMS, Person: in.Person, Device: in.Device, Session: in.Session,
			}
			same(t, fmt.Sprintf("arrival %d of round %d", i, round), a, want)
			chains[in.Job], counts[in.Job] = a.Hash, a.N
		}
	}
	heads, err := s.Jobs(background)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "Jobs", heads, []store.Head{{Job: "J1", N: 20, Hash: chains["J1"]}, {Job: "shop", N: 20, Hash: chains["shop"]}})
}

func putAgain(t *testing.T, s store.Store) {
	first := put(t, s, Some("J1", 0, 5, 50)...)
	later := Some("J1", 0, 5, 50)
	for i := range later {
		later[i].ReceivedMS, later[i].Person, later[i].Device, later[i].Session = 5, "other", "other", "other"
	}
	mixed := append(later, Make("J1", 9, 50), later[2], Make("J1", 9, 50))
	got := put(t, s, mixed...)
	for i := range 5 {
		want := first[i]
		want.Repeat = true
		same(t, fmt.Sprintf("repeat %d keeps its first arrival", i), got[i], want)
	}
	if got[5].N != 6 || got[5].Repeat {
		t.Fatalf("the new one among repeats: %+v, want N 6, no repeat", got[5])
	}
	if got[6].N != 3 || !got[6].Repeat || got[7].N != 6 || !got[7].Repeat {
		t.Fatalf("twice in one batch: N %d repeat %v, N %d repeat %v; want 3 and 6, both repeats", got[6].N, got[6].Repeat, got[7].N, got[7].Repeat)
	}
	if n := len(all(t, s, "J1")); n != 6 {
		t.Fatalf("%d arrivals after repeats, want 6", n)
	}
}

func orderKept(t *testing.T, s store.Store) {
	batch := Some("J1", 0, 40, 20)
	for i := range batch { // an order that no sorting gives
		j := (i*17 + 5) % len(batch)
		batch[i], batch[j] = batch[j], batch[i]
	}
	put(t, s, batch...)
	for i, one := range all(t, s, "J1") {
		if one.ID != batch[i].ID {
			t.Fatalf("arrival %d is %s, the batch had %s there", i+1, one.ID, batch[i].ID)
		}
	}
}

func refusals(t *testing.T, s store.Store) {
	put(t, s, Make("J1", 0, 20))
	good := Make("J1", 1, 20)
	altered := Make("J1", 2, 20)
	altered.Bytes = append([]byte{}, altered.Bytes...)
	altered.Bytes[3] ^= 1
	noJob := Make("", 2, 20)
	longJob := Make(strings.Repeat("j", store.MaxNameBytes+1), 2, 20)
	long := Make("J1", 2, store.MaxEntryBytes+1)
	longName := Make("J1", 2, 20)
	longName.Person = strings.Repeat("p", store.MaxNameBytes+1)
	withheldAltered := altered
	withheldAltered.Withheld = true
	for _, c := range []struct {
		name string
		in   store.Incoming
		kind error
	}{
		{"altered bytes", altered, store.ErrHash},
		{"altered bytes, withheld", withheldAltered, store.ErrHash},
		{"no job", noJob, store.ErrName},
		{"job name too long", longJob, store.ErrName},
		{"entry too long", long, store.ErrTooLarge},
		{"person too long", longName, store.ErrTooLarge},
	} {
		arrivals, err := s.Put(background, []store.Incoming{good, c.in})
		wantError(t, c.name, err, c.kind)
		if arrivals != nil {
			t.Fatalf("%s: arrivals %v beside an error", c.name, arrivals)
		}
		if errors.Is(c.kind, store.ErrHash) {
			var e *store.EntryError
			if !errors.As(err, &e) || e.ID != c.in.ID {
				t.Fatalf("%s: %v does not name the entry %s", c.name, err, c.in.ID)
			}
		}
	}
	_, err := s.Put(background, make([]store.Incoming, store.MaxBatchEntries+1))
	wantError(t, "too many entries", err, store.ErrTooLarge)
	if run := all(t, s, "J1"); len(run) != 1 {
		t.Fatalf("%d arrivals after refusals, want the 1 from before", len(run))
	}
	if a := put(t, s, good)[0]; a.N != 2 || a.Repeat {
		t.Fatalf("after refusals the next arrival is %+v, want N 2", a)
	}
}

func otherJob(t *testing.T, s store.Store) {
	put(t, s, Make("J1", 0, 20))
	moved := Make("J1", 0, 20)
	moved.Job = "J2"
	_, err := s.Put(background, []store.Incoming{Make("J2", 1, 20), moved})
	wantError(t, "an id that another job holds", err, store.ErrOtherJob)
	a, b := Make("J3", 5, 20), Make("J3", 5, 20)
	b.Job = "J4"
	_, err = s.Put(background, []store.Incoming{a, b})
	wantError(t, "one id in two jobs within a batch", err, store.ErrOtherJob)
	for _, job := range []string{"J2", "J3", "J4"} {
		if run := all(t, s, job); len(run) != 0 {
			t.Fatalf("job %s has %d arrivals after a refused Put", job, len(run))
		}
	}
}

func withheld(t *testing.T, s store.Store) {
	stub, full, other := Make("J1", 0, 30), Make("J1", 0, 30), Make("J1", 1, 30)
	stub.Bytes, stub.Withheld = nil, true
	other.Withheld = true // bytes given: checked, and not kept
	got := put(t, s, stub, other, Make("J1", 2, 30))
	if !got[0].Withheld || got[0].N != 1 || !got[1].Withheld || got[1].N != 2 || got[2].Withheld {
		t.Fatalf("withheld arrivals: %+v", got)
	}
	run := all(t, s, "J1")
	if len(run) != 3 || !run[0].Withheld || run[0].Bytes != nil || !run[1].Withheld || run[1].Bytes != nil || run[2].Withheld {
		t.Fatalf("withheld entries read back: %+v", run)
	}
	have, err := s.Have(background, []store.ID{stub.ID})
	if err != nil || !have[0] {
		t.Fatalf("Have of a withheld entry: %v, %v", have, err)
	}
	again := put(t, s, stub)[0]
	if !again.Repeat || !again.Withheld || again.N != 1 {
		t.Fatalf("the stub again: %+v", again)
	}
	filled := put(t, s, full)[0]
	want := got[0]
	want.Repeat, want.Withheld = true, false
	same(t, "bytes that come later keep the place", filled, want)
	if a := put(t, s, stub)[0]; a.Withheld {
		t.Fatal("a stub that comes after the bytes withholds them again")
	}
	run = all(t, s, "J1")
	same(t, "the bytes", string(run[0].Bytes), string(full.Bytes))
	// A stub and its bytes within one batch.
	stub2, full2 := Make("J1", 7, 30), Make("J1", 7, 30)
	stub2.Bytes, stub2.Withheld = nil, true
	both := put(t, s, stub2, full2)
	if both[0].N != 4 || both[1].N != 4 || both[1].Withheld {
		t.Fatalf("stub and bytes in one batch: %+v", both)
	}
	same(t, "its bytes", string(all(t, s, "J1")[3].Bytes), string(full2.Bytes))
}

func bigBatches(t *testing.T, s store.Store) {
	// More bytes than one transaction of any engine is likely to hold, in two jobs and with what is here already in between.
	put(t, s, Make("J2", 100_003, 30))
	var big []store.Incoming
	for i := range 150 {
		big = append(big, Make("J1", i, store.MaxEntryBytes-i))
		if i%10 == 3 {
			big = append(big, Make("J2", 100_000+i, 30))
		}
	}
	for i, a := range put(t, s, big...) {
		if repeat := big[i].ID == Make("J2", 100_003, 30).ID; a.Repeat != repeat || a.ID != big[i].ID {
			t.Fatalf("entry %d of the big batch: %+v, repeat should be %v", i, a, repeat)
		}
	}
	// As many entries as a Put may have, with names as long as they may be.
	job := strings.Repeat("K", store.MaxNameBytes)
	many := Some(job, 0, store.MaxBatchEntries, 20)
	for i := range many {
		many[i].Person, many[i].Device, many[i].Session = job, job, job
	}
	if a := put(t, s, many...); a[len(a)-1].N != store.MaxBatchEntries {
		t.Fatalf("the last of %d entries is arrival %d", len(many), a[len(a)-1].N)
	}
	Expect(t, s, "J1", IDs(big))
	Expect(t, s, job, IDs(many))

	over := Some("J5", 0, store.MaxBatchBytes/store.MaxEntryBytes+1, store.MaxEntryBytes)
	_, err := s.Put(background, over)
	wantError(t, "too many bytes in one Put", err, store.ErrTooLarge)
}
