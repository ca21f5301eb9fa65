package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"testing"

	"runtrue/internal/store"
)

type opener func(t *testing.T, serverID string) store.Store

// filled makes a store with two jobs, a withheld entry, empty names and side-table rows.
func filled(t *testing.T, open opener) store.Store {
	s := open(t, "server-a")
	put(t, s, Some("J1", 0, 700, 40)...)
	stub := Make("J1", 700, 40)
	stub.Bytes, stub.Withheld = nil, true
	bare := Make("shop", 1, 40)
	bare.Person, bare.Device, bare.Session, bare.ReceivedMS = "", "", "", -5
	put(t, s, stub, bare, Make("shop", 2, store.MaxEntryBytes))
	if err := s.PutMeta(background, []store.Meta{{Key: "person/1", Value: []byte("x")}, {Key: "person/2", Value: nil}}); err != nil {
		t.Fatal(err)
	}
	return s
}

func backup(t *testing.T, s store.Store) ([]byte, []store.Head) {
	t.Helper()
	var b bytes.Buffer
	heads, err := store.Backup(background, s, &b)
	if err != nil {
		t.Fatalf("Backup: %v", err)
	}
	return b.Bytes(), heads
}

func restore(t *testing.T, open opener, b []byte) store.Store {
	t.Helper()
	var made store.Store
	if _, err := store.Restore(background, bytes.NewReader(b), func(id string) (store.Store, error) {
		made = open(t, id)
		return made, nil
	}); err != nil {
		t.Fatalf("Restore: %v", err)
	}
	return made
}

func closing(t *testing.T, stores ...store.Store) {
	t.Helper()
	for _, s := range stores {
		if err := s.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	}
}

func backupAndRestore(t *testing.T, open opener) {
	s := filled(t, open)
	b, heads := backup(t, s)
	now, err := s.Jobs(background)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "heads of the backup", heads, now)
	again, _ := backup(t, s)
	if !bytes.Equal(b, again) {
		t.Fatal("two backups of one state differ")
	}
	r := restore(t, open, b)
	if r.ServerID() != s.ServerID() {
		t.Fatalf("restored server id %q, want %q", r.ServerID(), s.ServerID())
	}
	for _, job := range []string{"J1", "shop"} {
		same(t, "job "+job+" restored", all(t, r, job), all(t, s, job))
	}
	wantRows, err := s.ListMeta(background, "")
	if err != nil {
		t.Fatal(err)
	}
	gotRows, err := r.ListMeta(background, "")
	if err != nil {
		t.Fatal(err)
	}
	same(t, "side tables restored", gotRows, wantRows)
	third, _ := backup(t, r)
	if !bytes.Equal(b, third) {
		t.Fatal("a backup of the restored store differs from the one it came from")
	}
	// Both go on alike.
	next := Some("J1", 5000, 3, 20)
	same(t, "the next arrivals", put(t, r, next...), put(t, s, next...))
	_, err = store.Restore(background, bytes.NewReader(b), func(string) (store.Store, error) { return r, nil })
	wantError(t, "restoring into a store that holds something", err, store.ErrBackup)
	closing(t, s, r)
}

// oldBackup is the bench server put back to last week: a device that knows more must be able to tell, and to give back what is missing.
func oldBackup(t *testing.T, open opener) {
	s := filled(t, open)
	b, heads := backup(t, s)
	later := put(t, s, Some("J1", 2000, 4, 20)...)
	cursor := later[3]
	r := restore(t, open, b)
	if _, ok, err := r.At(background, "J1", cursor.N); ok || err != nil {
		t.Fatalf("the restored store has arrival %d of J1: %v, %v", cursor.N, ok, err)
	}
	at, ok, err := r.At(background, heads[0].Job, heads[0].N)
	if err != nil || !ok || at.Hash != heads[0].Hash {
		t.Fatalf("a cursor from before the backup does not continue: %v, %v", ok, err)
	}
	// Other entries take the numbers; the hash tells.
	put(t, r, Some("J1", 3000, 6, 20)...)
	at, ok, err = r.At(background, "J1", cursor.N)
	if err != nil || !ok || at.Hash == cursor.Hash {
		t.Fatalf("arrival %d after other work: there %v, error %v, same hash %v; want there with another hash", cursor.N, ok, err, at.Hash == cursor.Hash)
	}
	// The device offers all it has, and again after a second restore from the same backup.
	for round := range 2 {
		lost := Some("J1", 2000, 4, 20)
		for _, a := range put(t, r, lost...) {
			if a.Repeat {
				t.Fatalf("round %d: lost entry %s is answered as held", round, a.ID)
			}
		}
		Expect(t, r, "J1", IDs(lost))
		closing(t, r)
		r = restore(t, open, b)
	}
	closing(t, s, r)
}

func damagedBackups(t *testing.T, open opener) {
	s := filled(t, open)
	b, _ := backup(t, s)
	closing(t, s)
	attempt := func(what string, b []byte) {
		t.Helper()
		var made store.Store
		heads, err := store.Restore(background, bytes.NewReader(b), func(id string) (store.Store, error) {
			made = open(t, id)
			return made, nil
		})
		if err == nil {
			t.Fatalf("%s: restored %v without complaint", what, heads)
		}
		known := false
		for _, kind := range []error{store.ErrBackup, store.ErrHash, store.ErrName, store.ErrTooLarge, store.ErrOtherJob} {
			known = known || errors.Is(err, kind)
		}
		if !known {
			t.Fatalf("%s: error of no known kind: %v", what, err)
		}
		if made != nil {
			closing(t, made)
		}
	}
	for _, n := range []int{0, 5, 17, 18, 40, len(b) / 2, len(b) - 33, len(b) - 32, len(b) - 1} {
		attempt(fmt.Sprintf("cut to %d of %d bytes", n, len(b)), b[:n])
	}
	attempt("a byte more", append(bytes.Clone(b), 0))
	for _, at := range []int{3, 60, 200, len(b) / 3, len(b) - 70_000, len(b) - 20} {
		flipped := bytes.Clone(b)
		flipped[at] ^= 0x10
		attempt(fmt.Sprintf("bit flipped at %d of %d", at, len(b)), flipped)
	}
}

func openAgain(t *testing.T, open func(t *testing.T, dir string) store.Store) {
	dir := t.TempDir()
	var id string
	var want []store.Stored
	for round := range 4 {
		s := open(t, dir)
		if round == 0 {
			id = s.ServerID()
		}
		if s.ServerID() != id || id == "" {
			t.Fatalf("opened %d times: server id %q, at first %q", round+1, s.ServerID(), id)
		}
		if got := all(t, s, "J1"); len(got) != len(want) {
			t.Fatalf("opened %d times: %d arrivals, want %d", round+1, len(got), len(want))
		}
		same(t, "arrivals after opening again", all(t, s, "J1"), want)
		rows, err := s.ListMeta(background, "")
		if err != nil || len(rows) != round {
			t.Fatalf("opened %d times: rows %v, %v", round+1, rows, err)
		}
		batch := Some("J1", round*100, 20, 500)
		for i, a := range put(t, s, batch...) {
			if a.Repeat {
				t.Fatalf("entry %d of round %d is answered as held", i, round)
			}
		}
		if round > 0 {
			old := put(t, s, Some("J1", (round-1)*100, 5, 500)...)
			for _, a := range old {
				if !a.Repeat {
					t.Fatalf("round %d: an entry from before is numbered again as %d", round, a.N)
				}
			}
		}
		if err := s.PutMeta(background, []store.Meta{{Key: fmt.Sprintf("row/%d", round), Value: []byte("v")}}); err != nil {
			t.Fatal(err)
		}
		want = all(t, s, "J1")
		closing(t, s)
	}
}
