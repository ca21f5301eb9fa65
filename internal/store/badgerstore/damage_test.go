package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"runtrue/internal/store"
	"runtrue/internal/store/storetest"
)

// rewrite changes a row behind the store's back.
func rewrite(t *testing.T, s *Store, key []byte, change func([]byte) []byte) {
	t.Helper()
	err := s.db.Update(func(txn *badger.Txn) error {
		item, err := txn.Get(key)
		if err != nil {
			return err
		}
		v, err := item.ValueCopy(nil)
		if err != nil {
			return err
		}
		if v = change(v); v == nil {
			return txn.Delete(key)
		}
		return txn.Set(key, v)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestAlteredEntryIsFoundAndMended(t *testing.T) {
	ctx := context.Background()
	s := openSmall(t, t.TempDir(), small(""))
	defer s.Close()
	batch := storetest.Some("J1", 0, 6, 80)
	if _, err := s.Put(ctx, batch); err != nil {
		t.Fatal(err)
	}
	rewrite(t, s, arrivalKey("J1", 3), func(v []byte) []byte { v[len(v)-5] ^= 1; return v })
	wantFault := func(what string, err error) {
		t.Helper()
		var fault *store.EntryError
		if !errors.As(err, &fault) || !errors.Is(err, store.ErrCorrupt) || fault.ID != batch[2].ID || fault.N != 3 || fault.Job != "J1" {
			t.Fatalf("%s: %v, want ErrCorrupt of entry %s, arrival 3", what, err, batch[2].ID)
		}
	}
	run, err := s.Since(ctx, "J1", 0, 100)
	wantFault("Since", err)
	if len(run) != 2 {
		t.Fatalf("Since: %d arrivals before the damaged one, want 2", len(run))
	}
	if run, err = s.Since(ctx, "J1", 3, 100); err != nil || len(run) != 3 {
		t.Fatalf("Since past the damaged one: %d arrivals, %v; want 3", len(run), err)
	}
	got, err := s.Get(ctx, storetest.IDs(batch))
	wantFault("Get", err)
	if got[2].N != 0 || got[1].N != 2 || got[5].N != 6 {
		t.Fatal("Get: the others are not beside the error")
	}
	sound, faults, err := store.Check(ctx, s)
	if sound != 5 || len(faults) != 1 || err != nil {
		t.Fatalf("Check: %d sound, %v, %v; want 5 and one fault", sound, faults, err)
	}
	if _, err := store.Backup(ctx, s, &bytes.Buffer{}); err == nil {
		t.Fatal("Backup of a damaged entry succeeded")
	}
	a, err := s.Put(ctx, batch[2:3])
	if err != nil || a[0].N != 3 || !a[0].Repeat {
		t.Fatalf("put again: %+v, %v", a, err)
	}
	storetest.Expect(t, s, "J1", storetest.IDs(batch))
}

func TestAlteredRows(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name   string
		key    []byte
		change func([]byte) []byte
		opens  bool
	}{
		{"an arrival gone", arrivalKey("J1", 3), func([]byte) []byte { return nil }, true},
		{"an arrival cut short", arrivalKey("J1", 3), func(v []byte) []byte { return v[:50] }, true},
		{"another running hash", arrivalKey("J1", 3), func(v []byte) []byte { v[40] ^= 1; return v }, true},
		{"a head gone", jobKey(rowHead, "J1"), func([]byte) []byte { return nil }, false},
		{"a head cut short", jobKey(rowHead, "J1"), func(v []byte) []byte { return v[:9] }, false},
		{"a side-table row gone", metaKey("k"), func([]byte) []byte { return nil }, false},
		{"the counts gone", []byte{rowCounts}, func([]byte) []byte { return nil }, false},
		{"the server id gone", []byte{rowServer}, func([]byte) []byte { return nil }, false},
		{"another server id", []byte{rowServer}, func([]byte) []byte { return []byte("other") }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			s := openSmall(t, dir, small(""))
			if _, err := s.Put(ctx, storetest.Some("J1", 0, 6, 80)); err != nil {
				t.Fatal(err)
			}
			if err := s.PutMeta(ctx, []store.Meta{{Key: "k", Value: []byte("v")}}); err != nil {
				t.Fatal(err)
			}
			rewrite(t, s, c.key, c.change)
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			s, err := open(dir, small(""))
			if !c.opens {
				if !errors.Is(err, store.ErrCorrupt) {
					t.Fatalf("open: %v, want ErrCorrupt", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			run, err := s.Since(ctx, "J1", 0, 100)
			if !errors.Is(err, store.ErrCorrupt) || len(run) != 2 {
				t.Fatalf("Since: %d arrivals, %v; want 2 and ErrCorrupt", len(run), err)
			}
			if _, faults, err := store.Check(ctx, s); len(faults) == 0 || err != nil {
				t.Fatalf("Check: %v, %v; want faults", faults, err)
			}
		})
	}
}

// A bit that flips in a table on disk is never passed on: each flip is either found, or hits nothing that is read.
func TestFlippedBitsInTables(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	s := openSmall(t, dir, small(""))
	batch := storetest.Some("J1", 0, 60, 500)
	if _, err := s.Put(ctx, batch); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil { // writes the table
		t.Fatal(err)
	}
	tables, err := filepath.Glob(filepath.Join(dir, "*.sst"))
	if err != nil || len(tables) != 1 {
		t.Fatalf("tables %v, %v; want one", tables, err)
	}
	whole, err := os.ReadFile(tables[0])
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	const flips = 24
	for i := range flips {
		at := len(whole) * (2*i + 1) / (2 * flips) * 9 / 10 // the last tenth holds the table's own index, tried below
		altered := bytes.Clone(whole)
		altered[at] ^= 1 << (i % 8)
		if err := os.WriteFile(tables[0], altered, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := open(dir, small(""))
		if err != nil {
			found++
			continue
		}
		_, faults, err := store.Check(ctx, s)
		if len(faults) > 0 || err != nil {
			found++
		} else {
			storetest.Expect(t, s, "J1", storetest.IDs(batch))
		}
		got, err := s.Get(ctx, storetest.IDs(batch))
		for k := range got {
			if got[k].N != 0 && !bytes.Equal(got[k].Bytes, batch[k].Bytes) {
				t.Fatalf("bit %d of byte %d flipped: entry %d is handed out altered (Get: %v)", i%8, at, k, err)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		// Closing may have written more files; begin again from the whole table.
		if more, _ := filepath.Glob(filepath.Join(dir, "*.sst")); len(more) != 1 {
			t.Fatalf("tables %v after reading only", more)
		}
	}
	t.Logf("%d of %d flips were found", found, flips)
	if found < flips*3/4 {
		t.Fatalf("only %d of %d flips were found", found, flips)
	}
}

// Damage in the write-ahead log takes its end with it. The running hash shows it to a device that knew more, and what the device gives back is
// taken.
func TestFlippedBitInLog(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	s := openSmall(t, dir, small(""))
	var arrivals []store.Arrival
	batch := storetest.Some("J1", 0, 30, 200)
	for i := range batch {
		a, err := s.Put(ctx, batch[i:i+1])
		if err != nil {
			t.Fatal(err)
		}
		arrivals = append(arrivals, a...)
	}
	image := t.TempDir()
	copyFolder(t, dir, image) // as after a kill: the log is not yet a table
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	logs, err := filepath.Glob(filepath.Join(image, "*.mem"))
	if err != nil || len(logs) != 1 {
		t.Fatalf("logs %v, %v", logs, err)
	}
	text, err := os.ReadFile(logs[0])
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(text, batch[20].Bytes)
	if at < 0 {
		t.Fatal("entry 21 is not in the log")
	}
	text[at+10] ^= 2
	if err := os.WriteFile(logs[0], text, 0o600); err != nil {
		t.Fatal(err)
	}
	s = openSmall(t, image, small(""))
	defer s.Close()
	storetest.Expect(t, s, "J1", storetest.IDs(batch[:20]))
	if _, ok, err := s.At(ctx, "J1", 30); ok || err != nil {
		t.Fatalf("arrival 30 is there: %v, %v", ok, err)
	}
	again, err := s.Put(ctx, batch)
	if err != nil || again[19].Hash != arrivals[19].Hash || !again[19].Repeat || again[20].Repeat {
		t.Fatalf("given back: %v", err)
	}
	storetest.Expect(t, s, "J1", storetest.IDs(batch))
}

func TestFolders(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b", "store")
	s := openSmall(t, dir, small(""))
	if id := s.ServerID(); len(id) != 32 {
		t.Fatalf("server id %q, want 32 digits", id)
	}
	if _, err := open(dir, small("")); !errors.Is(err, store.ErrInUse) {
		t.Fatalf("open twice: %v, want ErrInUse", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := open(dir, small("another")); !errors.Is(err, store.ErrFormat) {
		t.Fatalf("open as another server: %v, want ErrFormat", err)
	}
	identity := filepath.Join(dir, identityFile)
	if err := os.Remove(identity); err != nil { // died between making Badger's files and this one
		t.Fatal(err)
	}
	s = openSmall(t, dir, small(s.ServerID()))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(identity)
	if err != nil || !strings.Contains(string(text), s.ServerID()) {
		t.Fatalf("%s: %q, %v", identityFile, text, err)
	}
	if err := os.WriteFile(identity, []byte("runtrue store, layout 2\nserver x\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := open(dir, small("")); !errors.Is(err, store.ErrFormat) {
		t.Fatalf("another layout: %v, want ErrFormat", err)
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := open(file, small("")); err == nil {
		t.Fatal("a file was opened as a store")
	}
	set := small("")
	set.memTable = 2 << 20
	if _, err := open(t.TempDir(), set); err == nil {
		t.Fatal("memory tables too small for the largest Put were taken")
	}
	if _, err := open(t.TempDir(), small("two words")); !errors.Is(err, store.ErrName) {
		t.Fatalf("a server id of two words: %v, want ErrName", err)
	}
}

// A log file that has a name and no length yet, as a full disk or a power cut may leave it, does not keep the store shut.
func TestLogFilesWithoutLength(t *testing.T) {
	dir := t.TempDir()
	s := openSmall(t, dir, small(""))
	batch := storetest.Some("J1", 0, 5, 100)
	if _, err := s.Put(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	image := t.TempDir()
	copyFolder(t, dir, image)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"00002.mem", "00003.mem", "000002.vlog"} {
		if err := os.WriteFile(filepath.Join(image, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s = openSmall(t, image, small(""))
	defer s.Close()
	storetest.Expect(t, s, "J1", storetest.IDs(batch))
}

func TestRestoreFolder(t *testing.T) {
	ctx := context.Background()
	s := openSmall(t, t.TempDir(), small(""))
	batch := storetest.Some("J1", 0, 500, 300)
	if _, err := s.Put(ctx, batch); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := store.Backup(ctx, s, &b); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	parent := t.TempDir()
	dir := filepath.Join(parent, "store")
	o := Options{Reserve: 1 << 20}
	if _, err := Restore(ctx, dir, bytes.NewReader(b.Bytes()[:b.Len()-40]), o); !errors.Is(err, store.ErrBackup) {
		t.Fatalf("a backup cut off: %v, want ErrBackup", err)
	}
	if left, err := os.ReadDir(parent); err != nil || len(left) != 0 {
		t.Fatalf("a failed restore left %v, %v", left, err)
	}
	if err := os.MkdirAll(filepath.Join(parent, "store.restoring", "of a restore that was killed"), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"", "copy"} {
		o.ServerID = id
		heads, err := Restore(ctx, dir, bytes.NewReader(b.Bytes()), o)
		if err != nil || len(heads) != 1 || heads[0].N != 500 {
			t.Fatalf("Restore: %v, %v", heads, err)
		}
		if _, err := Restore(ctx, dir, bytes.NewReader(b.Bytes()), o); !errors.Is(err, store.ErrBackup) {
			t.Fatalf("Restore over a store: %v, want ErrBackup", err)
		}
		r := openSmall(t, dir, small(""))
		if want := s.ServerID(); id == "" && r.ServerID() != want || id != "" && r.ServerID() != id {
			t.Fatalf("restored server id %q, want %q or %q", r.ServerID(), id, want)
		}
		storetest.Expect(t, r, "J1", storetest.IDs(batch))
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		dir = filepath.Join(parent, "second")
	}
}

// copyFolder copies the files of one folder as reading shows them.
func copyFolder(t *testing.T, from, to string) {
	t.Helper()
	files, err := os.ReadDir(from)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(from, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		writeSparse(t, filepath.Join(to, f.Name()), text)
	}
}

// pageSize in bytes is the unit in which a system writes a mapped file back.
const pageSize = 4096

// writeSparse writes text and leaves out pages of zeros, of which Badger's log files are mostly made.
func writeSparse(t *testing.T, path string, text []byte) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	var zeros [pageSize]byte
	for at := 0; at < len(text) && err == nil; at += pageSize {
		page := text[at:min(at+pageSize, len(text))]
		if !bytes.Equal(page, zeros[:len(page)]) {
			_, err = f.WriteAt(page, int64(at))
		}
	}
	if err = errors.Join(err, f.Truncate(int64(len(text))), f.Close()); err != nil {
		t.Fatal(err)
	}
}
