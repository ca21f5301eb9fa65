package store_test

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"os/exec"
	"strings"
	"testing"
	"testing/iotest"

	"runtrue/internal/store"
	"runtrue/internal/store/memstore"
	"runtrue/internal/store/storetest"
)

func TestParseID(t *testing.T) {
	id := storetest.Make("J1", 1, 20).ID
	if got, err := store.ParseID(id.String()); got != id || err != nil {
		t.Fatalf("ParseID(%s): %s, %v", id, got, err)
	}
	digits := strings.Repeat("0123456789abcdef", 4)
	for _, s := range []string{"", digits[1:], digits + "0", strings.ToUpper(digits), digits[:63] + "g", "../" + digits[3:], digits[:60] + "/../", digits[:62] + "é"} {
		if got, err := store.ParseID(s); !errors.Is(err, store.ErrName) || got != (store.ID{}) {
			t.Errorf("ParseID(%q): %s, %v; want ErrName", s, got, err)
		}
	}
}

// The running hash of a job with one arrival, by the system's own sha256sum: 32 zero bytes and the id.
func TestNextHashAgainstAnotherProgram(t *testing.T) {
	id := store.ID{0: 0xab, 31: 0x01}
	cmd := exec.Command("sha256sum")
	cmd.Stdin = bytes.NewReader(append(make([]byte, 32), id[:]...))
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	got := store.NextHash([32]byte{}, id)
	if want := strings.Fields(string(out))[0]; hex.EncodeToString(got[:]) != want {
		t.Fatalf("NextHash(0, %s) = %x, sha256sum says %s", id, got, want)
	}
}

func TestNewServerID(t *testing.T) {
	id, err := store.NewServerID(bytes.NewReader([]byte("0123456789abcdef")))
	if err != nil || id != "30313233343536373839616263646566" {
		t.Fatalf("NewServerID: %q, %v", id, err)
	}
	if _, err := store.NewServerID(iotest.ErrReader(errors.New("none"))); err == nil {
		t.Fatal("NewServerID without randomness succeeded")
	}
}

func TestVerifyRun(t *testing.T) {
	ctx := context.Background()
	s := memstore.New("a")
	if _, err := s.Put(ctx, storetest.Some("J1", 0, 6, 30)); err != nil {
		t.Fatal(err)
	}
	whole := func() []store.Stored {
		run, err := s.Since(ctx, "J1", 2, 10)
		if err != nil {
			t.Fatal(err)
		}
		return run
	}
	before, _, err := s.At(ctx, "J1", 2)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := store.VerifyRun(whole(), "J1", 2, &before.Hash); n != 4 || err != nil {
		t.Fatalf("a sound run: %d, %v", n, err)
	}
	for _, c := range []struct {
		name   string
		change func([]store.Stored) []store.Stored
		before *[32]byte
		sound  int
	}{
		{"bytes", func(r []store.Stored) []store.Stored { r[1].Bytes[0]++; return r }, &before.Hash, 1},
		{"hash", func(r []store.Stored) []store.Stored { r[1].Hash[0]++; return r }, &before.Hash, 1},
		{"id", func(r []store.Stored) []store.Stored { r[2].ID[0]++; return r }, &before.Hash, 2},
		{"a gap", func(r []store.Stored) []store.Stored { return append(r[:1], r[2:]...) }, &before.Hash, 1},
		{"exchanged", func(r []store.Stored) []store.Stored { r[0], r[1] = r[1], r[0]; return r }, &before.Hash, 0},
		{"another history", func(r []store.Stored) []store.Stored { return r }, new([32]byte), 0},
		{"bytes of the first, history unknown", func(r []store.Stored) []store.Stored { r[0].Bytes[0]++; return r }, nil, 0},
	} {
		n, err := store.VerifyRun(c.change(whole()), "J1", 2, c.before)
		if n != c.sound || !errors.Is(err, store.ErrCorrupt) {
			t.Errorf("%s: %d sound, %v; want %d and ErrCorrupt", c.name, n, err, c.sound)
		}
	}
}

// A backup on a stick that is full, and one that a context ends, are errors.
func TestBackupThatCannotBeWritten(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	s := memstore.New("a")
	if _, err := s.Put(ctx, storetest.Some("J1", 0, 2000, 100)); err != nil {
		t.Fatal(err)
	}
	if heads, err := store.Backup(ctx, s, &fullWriter{room: 70_000}); err == nil {
		t.Fatalf("a backup on a full stick says it reaches %v", heads)
	}
	cancel()
	if _, err := store.Backup(ctx, s, &bytes.Buffer{}); !errors.Is(err, context.Canceled) {
		t.Fatalf("a backup under an ended context: %v", err)
	}
}

type fullWriter struct{ room int }

func (w *fullWriter) Write(p []byte) (int, error) {
	if len(p) > w.room {
		return w.room, errors.New("the stick is full")
	}
	w.room -= len(p)
	return len(p), nil
}

// Whatever the bytes, Restore either makes a store that backs up to the very same bytes, or answers an error; it never panics.
func FuzzRestore(f *testing.F) {
	ctx := context.Background()
	s := memstore.New("server-a")
	if _, err := s.Put(ctx, append(storetest.Some("J1", 0, 3, 30), storetest.Make("shop", 1, 30))); err != nil {
		f.Fatal(err)
	}
	if err := s.PutMeta(ctx, []store.Meta{{Key: "k", Value: []byte("v")}}); err != nil {
		f.Fatal(err)
	}
	var whole bytes.Buffer
	if _, err := store.Backup(ctx, s, &whole); err != nil {
		f.Fatal(err)
	}
	for n := range whole.Len() + 1 {
		f.Add(whole.Bytes()[:n])
		flipped := bytes.Clone(whole.Bytes())
		flipped[n%len(flipped)] ^= 0x41
		f.Add(flipped)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var made *memstore.Store
		_, err := store.Restore(ctx, bytes.NewReader(b), func(id string) (store.Store, error) {
			made = memstore.New(id)
			return made, nil
		})
		if err != nil {
			return
		}
		var again bytes.Buffer
		if _, err := store.Backup(ctx, made, &again); err != nil {
			t.Fatalf("a restored store cannot be backed up: %v", err)
		}
		if !bytes.Equal(b, again.Bytes()) {
			t.Fatalf("restored from %d bytes, backed up to %d others", len(b), again.Len())
		}
	})
}
