package storetest

import (
	"fmt"
	"math"
	"testing"

	"runtrue/internal/store"
)

func reading(t *testing.T, s store.Store) {
	batch := Some("J1", 0, 10, 60)
	arrivals := put(t, s, batch...)
	put(t, s, Some("J10", 50, 3, 60)...) // a name that begins like the other
	for n := range uint64(13) {
		for _, limit := range []int{1, 3, 10, 1000, math.MaxInt} {
			run, err := s.Since(background, "J1", n, limit)
			if err != nil {
				t.Fatalf("Since(J1, %d, %d): %v", n, limit, err)
			}
			if want := max(0, min(10-int(n), limit)); len(run) != want {
				t.Fatalf("Since(J1, %d, %d): %d arrivals, want %d", n, limit, len(run), want)
			}
			for i, one := range run {
				same(t, fmt.Sprintf("Since(J1, %d, %d)[%d]", n, limit, i), one, store.Stored{Arrival: arrivals[int(n)+i], Bytes: batch[int(n)+i].Bytes})
			}
		}
		a, ok, err := s.At(background, "J1", n)
		if err != nil || ok != (n <= 10) {
			t.Fatalf("At(J1, %d): %v, %v", n, ok, err)
		}
		switch {
		case n == 0:
			same(t, "At(J1, 0)", a, store.Arrival{Job: "J1"})
		case n <= 10:
			same(t, fmt.Sprintf("At(J1, %d)", n), a, arrivals[n-1])
		}
	}
	if run, err := s.Since(background, "J1", math.MaxUint64, 5); err != nil || len(run) != 0 {
		t.Fatalf("Since the largest number: %d arrivals, %v", len(run), err)
	}
	for _, limit := range []int{0, -1} {
		_, err := s.Since(background, "J1", 0, limit)
		wantError(t, fmt.Sprintf("limit %d", limit), err, store.ErrTooLarge)
	}
	if run := all(t, s, "nobody's"); len(run) != 0 {
		t.Fatalf("a job nobody wrote to has %d arrivals", len(run))
	}
	if _, ok, err := s.At(background, "nobody's", 1); ok || err != nil {
		t.Fatalf("At(nobody's, 1): %v, %v", ok, err)
	}

	absent := Make("J1", 77, 20).ID
	ids := []store.ID{batch[4].ID, absent, batch[0].ID, batch[4].ID, Make("J10", 50, 60).ID}
	got, err := s.Get(background, ids)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 5 {
		t.Fatalf("Get of 5 ids answered %d", len(got))
	}
	for i, want := range []store.Stored{{Arrival: arrivals[4], Bytes: batch[4].Bytes}, {}, {Arrival: arrivals[0], Bytes: batch[0].Bytes}, {Arrival: arrivals[4], Bytes: batch[4].Bytes}} {
		same(t, fmt.Sprintf("Get[%d]", i), got[i], want)
	}
	if got[4].Job != "J10" || got[4].N != 1 {
		t.Fatalf("Get[4]: %+v", got[4].Arrival)
	}
	have, err := s.Have(background, ids)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "Have", have, []bool{true, false, true, true, true})
}

func copies(t *testing.T, s store.Store) {
	in := Make("J1", 0, 40)
	handed := append([]byte{}, in.Bytes...)
	lent := in
	lent.Bytes = handed
	put(t, s, lent)
	clear(handed)
	for range 2 {
		run := all(t, s, "J1")
		same(t, "bytes after the caller reused his", string(run[0].Bytes), string(in.Bytes))
		clear(run[0].Bytes)
		got, err := s.Get(background, []store.ID{in.ID})
		if err != nil {
			t.Fatal(err)
		}
		same(t, "bytes after a reader wrote on his", string(got[0].Bytes), string(in.Bytes))
		clear(got[0].Bytes)
	}
	value := []byte("value")
	if err := s.PutMeta(background, []store.Meta{{Key: "k", Value: value}}); err != nil {
		t.Fatal(err)
	}
	clear(value)
	for range 2 {
		got, ok, err := s.GetMeta(background, "k")
		if err != nil || !ok || string(got) != "value" {
			t.Fatalf("GetMeta: %q, %v, %v", got, ok, err)
		}
		clear(got)
		rows, err := s.ListMeta(background, "k")
		if err != nil || len(rows) != 1 || string(rows[0].Value) != "value" {
			t.Fatalf("ListMeta: %v, %v", rows, err)
		}
		clear(rows[0].Value)
	}
}

func sideTables(t *testing.T, s store.Store) {
	if _, ok, err := s.GetMeta(background, "device/1"); ok || err != nil {
		t.Fatalf("a row nobody wrote: %v, %v", ok, err)
	}
	write := func(rows ...store.Meta) {
		t.Helper()
		if err := s.PutMeta(background, rows); err != nil {
			t.Fatal(err)
		}
	}
	list := func(prefix string) string {
		t.Helper()
		rows, err := s.ListMeta(background, prefix)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, r := range rows {
			text += fmt.Sprintf("%s=%s;", r.Key, r.Value)
		}
		return text
	}
	write(store.Meta{Key: "device/2", Value: []byte("b")}, store.Meta{Key: "device/1", Value: []byte("a")}, store.Meta{Key: "code/1", Value: nil})
	write()
	same(t, "all rows", list(""), "code/1=;device/1=a;device/2=b;")
	same(t, "one table", list("device/"), "device/1=a;device/2=b;")
	if v, ok, err := s.GetMeta(background, "code/1"); !ok || err != nil || v == nil {
		t.Fatalf("an empty value: %v, %v, %v; want there, not nil", v, ok, err)
	}
	write(store.Meta{Key: "device/1", Delete: true}, store.Meta{Key: "device/3", Value: []byte("c")}, store.Meta{Key: "device/9", Delete: true})
	same(t, "after a change", list("device/"), "device/2=b;device/3=c;")
	write(store.Meta{Key: "x", Value: []byte("1")}, store.Meta{Key: "x", Delete: true}, store.Meta{Key: "x", Value: []byte("2")}, store.Meta{Key: "y", Value: []byte("1")}, store.Meta{Key: "y", Delete: true})
	same(t, "the later row of a key counts", list("x")+list("y"), "x=2;")

	for _, c := range []struct {
		name string
		row  store.Meta
		kind error
	}{
		{"no key", store.Meta{}, store.ErrName},
		{"long key", store.Meta{Key: string(make([]byte, store.MaxMetaKeyBytes+1))}, store.ErrName},
		{"long value", store.Meta{Key: "v", Value: make([]byte, store.MaxMetaBytes+1)}, store.ErrTooLarge},
	} {
		err := s.PutMeta(background, []store.Meta{{Key: "z", Value: []byte("1")}, c.row})
		wantError(t, c.name, err, c.kind)
		same(t, c.name+" leaves nothing", list("z"), "")
	}
	rows := make([]store.Meta, store.MaxMetaRows)
	for i := range rows {
		rows[i] = store.Meta{Key: fmt.Sprintf("many/%04d", i), Value: make([]byte, 200)}
	}
	write(rows...)
	if got, err := s.ListMeta(background, "many/"); err != nil || len(got) != len(rows) {
		t.Fatalf("%d of %d rows: %v", len(got), len(rows), err)
	}
	err := s.PutMeta(background, make([]store.Meta, store.MaxMetaRows+1))
	wantError(t, "too many rows", err, store.ErrTooLarge)
	if run := all(t, s, "device/2"); len(run) != 0 {
		t.Fatal("a side-table row is seen as a job")
	}
}

func soundStore(t *testing.T, s store.Store) {
	put(t, s, Some("J1", 0, 600, 30)...)
	put(t, s, Some("J2", 0, 2, 30)...)
	sound, faults, err := store.Check(background, s)
	if sound != 602 || len(faults) != 0 || err != nil {
		t.Fatalf("Check: %d sound, faults %v, error %v; want 602 and none", sound, faults, err)
	}
}
