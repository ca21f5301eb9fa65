package memstore

import (
	"context"
	"errors"
	"testing"

	"runtrue/internal/store"
	"runtrue/internal/store/storetest"
)

func TestContract(t *testing.T) {
	storetest.Run(t, func(t *testing.T, serverID string) store.Store { return New(serverID) })
}

// Altered bytes are found by Since, Get and Check, the rest stays readable, and putting the entry again mends it in its place.
func TestAlteredBytes(t *testing.T) {
	ctx := context.Background()
	s := New("a")
	batch := storetest.Some("J1", 0, 5, 40)
	if _, err := s.Put(ctx, batch); err != nil {
		t.Fatal(err)
	}
	s.jobs["J1"][2].Bytes[7] ^= 4
	run, err := s.Since(ctx, "J1", 0, 10)
	var fault *store.EntryError
	if !errors.As(err, &fault) || !errors.Is(err, store.ErrCorrupt) || fault.ID != batch[2].ID || fault.N != 3 || len(run) != 2 {
		t.Fatalf("Since: %d arrivals and %v; want 2 and the fault at 3", len(run), err)
	}
	if _, faults, err := store.Check(ctx, s); len(faults) != 1 || err != nil {
		t.Fatalf("Check: %v, %v; want one fault", faults, err)
	}
	a, err := s.Put(ctx, batch[2:3])
	if err != nil || a[0].N != 3 || !a[0].Repeat {
		t.Fatalf("put again: %+v, %v", a, err)
	}
	storetest.Expect(t, s, "J1", storetest.IDs(batch))
}
