package photos

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"runtrue/internal/store"
)

func photo(seed, size int) (store.ID, []byte) {
	b := make([]byte, size)
	x := uint32(seed)*2654435761 + 1
	for i := range b {
		x = x*1664525 + 1013904223
		b[i] = byte(x >> 24)
	}
	return sha256.Sum256(b), b
}

func folder(t *testing.T, dir string, o Options) *Folder {
	t.Helper()
	if o.Reserve == 0 {
		o.Reserve = 1
	}
	f, err := Open(dir, o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func expect(t *testing.T, f *Folder, id store.ID, want []byte) {
	t.Helper()
	file, size, err := f.Get(id)
	if err != nil {
		t.Fatalf("Get: %v", err)
	}
	got, err := io.ReadAll(file)
	if err := errors.Join(err, file.Close()); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) || size != int64(len(want)) {
		t.Fatalf("Get %s: %d bytes, size %d; want %d equal ones", id, len(got), size, len(want))
	}
	if have, complete, err := f.Have(id); have != size || !complete || err != nil {
		t.Fatalf("Have %s: %d, %v, %v; want %d, complete", id, have, complete, err, size)
	}
	if err := f.Check(id); err != nil {
		t.Fatal(err)
	}
}

func absent(t *testing.T, f *Folder, id store.ID, wantBytes int64) {
	t.Helper()
	if have, complete, err := f.Have(id); have != wantBytes || complete || err != nil {
		t.Fatalf("Have: %d, %v, %v; want %d, not complete", have, complete, err, wantBytes)
	}
	if _, _, err := f.Get(id); !errors.Is(err, ErrAbsent) {
		t.Fatalf("Get of what is not complete: %v, want ErrAbsent", err)
	}
}

// files lists every file below dir, relative, so that tests see what a crash would leave.
func files(t *testing.T, dir string) string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			rel, _ := filepath.Rel(dir, path)
			names = append(names, rel)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(names, " ")
}

func TestPut(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{Limit: 100_000})
	for _, size := range []int{0, 1, 4096, 99_999, 100_000} {
		id, b := photo(size, size)
		absent(t, f, id, 0)
		for range 2 {
			if err := f.Put(id, bytes.NewReader(b)); err != nil {
				t.Fatalf("Put of %d bytes: %v", size, err)
			}
			expect(t, f, id, b)
		}
		name := id.String()
		if _, err := os.Stat(filepath.Join(dir, name[:2], name[2:4], name)); err != nil {
			t.Fatal(err)
		}
		expect(t, folder(t, dir, Options{}), id, b)
	}
}

func TestRefusedPutLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{Limit: 1000})
	id, b := photo(1, 1000)
	_, other := photo(2, 1000)
	_, long := photo(1, 1001)
	broken := errors.New("connection lost")
	for _, c := range []struct {
		name string
		r    io.Reader
		kind error
	}{
		{"other bytes", bytes.NewReader(other), store.ErrHash},
		{"cut off", bytes.NewReader(b[:999]), store.ErrHash},
		{"too long", bytes.NewReader(long), store.ErrTooLarge},
		{"lost connection", io.MultiReader(bytes.NewReader(b[:500]), iotest.ErrReader(broken)), broken},
	} {
		if err := f.Put(id, c.r); !errors.Is(err, c.kind) {
			t.Fatalf("%s: %v, want %v", c.name, err, c.kind)
		}
		absent(t, f, id, 0)
		if left := files(t, dir); left != "" {
			t.Fatalf("%s left %s", c.name, left)
		}
	}
}

func TestPieces(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{Limit: 10_000})
	id, b := photo(3, 10_000)
	broken := errors.New("connection lost")
	step := func(offset, total int64, r io.Reader, wantHave int64, wantComplete bool, kind error) {
		t.Helper()
		have, complete, err := f.Append(id, offset, total, r)
		if have != wantHave || complete != wantComplete || !errors.Is(err, kind) {
			t.Fatalf("Append at %d of %d: %d, %v, %v; want %d, %v, %v", offset, total, have, complete, err, wantHave, wantComplete, kind)
		}
	}
	step(5, 10_000, bytes.NewReader(b[5:]), 0, false, ErrOffset)
	step(0, 10_001, bytes.NewReader(b), 0, false, store.ErrTooLarge)
	step(0, -1, bytes.NewReader(b), 0, false, store.ErrTooLarge)
	step(0, 10_000, bytes.NewReader(b[:4000]), 4000, false, nil)
	step(0, 10_000, bytes.NewReader(b), 4000, false, ErrOffset)
	step(4000, 10_000, io.MultiReader(bytes.NewReader(b[4000:6000]), iotest.ErrReader(broken)), 6000, false, broken)
	absent(t, f, id, 6000)
	f = folder(t, dir, Options{Limit: 10_000}) // another process goes on
	absent(t, f, id, 6000)
	step(6000, 10_000, bytes.NewReader(nil), 6000, false, nil)
	step(6000, 10_000, bytes.NewReader(b[6000:]), 10_000, true, nil)
	expect(t, f, id, b)
	step(6000, 10_000, iotest.ErrReader(errors.New("must not be read")), 10_000, true, nil)

	id, b = photo(4, 100)
	step(0, 100, bytes.NewReader(make([]byte, 100)), 0, false, store.ErrHash)
	absent(t, f, id, 0)
	step(0, 99, bytes.NewReader(b), 0, false, store.ErrTooLarge)
	step(0, 100, bytes.NewReader(b[:60]), 60, false, nil)
	step(60, 50, bytes.NewReader(b[60:]), 0, false, store.ErrTooLarge)
	step(0, 100, iotest.OneByteReader(bytes.NewReader(b)), 100, true, nil)
	expect(t, f, id, b)

	id, b = photo(5, 100)
	step(0, 100, bytes.NewReader(b[:60]), 60, false, nil)
	if err := f.Put(id, bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	expect(t, f, id, b)
	if left := files(t, filepath.Join(dir, comingName)); left != "" {
		t.Fatalf("left in coming: %s", left)
	}
	id, _ = photo(6, 0)
	step(0, 0, bytes.NewReader(nil), 0, true, nil)
	expect(t, f, id, []byte{})
}

// However a photo is cut, repeated and interrupted, it ends up whole or not at all.
func TestPiecesInAnyCut(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{})
	seed := 100
	rapid.Check(t, func(r *rapid.T) {
		seed++
		size := rapid.IntRange(0, 5000).Draw(r, "size")
		id, b := photo(seed, size+1)
		total := int64(len(b))
		var have int64
		for complete := false; !complete; {
			if rapid.IntRange(0, 9).Draw(r, "restart") == 0 {
				var err error
				if f, err = Open(dir, Options{Reserve: 1}); err != nil {
					r.Fatal(err)
				}
			}
			n := rapid.Int64Range(1, total-have).Draw(r, "piece")
			var err error
			have, complete, err = f.Append(id, have, total, bytes.NewReader(b[have:have+n]))
			if err != nil {
				r.Fatalf("Append: %v", err)
			}
		}
		if err := f.Check(id); err != nil {
			r.Fatal(err)
		}
	})
}

// A process that died while receiving leaves nothing that looks whole; what was sent in one go is swept, pieces stay to be gone on over.
func TestAfterAKill(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{})
	id, b := photo(7, 5000)
	if _, _, err := f.Append(id, 0, 5000, bytes.NewReader(b[:3000])); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(f.coming(id)+".00112233", b[:2000], 0o400); err != nil {
		t.Fatal(err)
	}
	f = folder(t, dir, Options{})
	if got, want := files(t, dir), filepath.Join(comingName, id.String()); got != want {
		t.Fatalf("files after opening again: %s, want %s", got, want)
	}
	// A power cut may leave the right length with other bytes: found at the end, thrown away, sent anew.
	if err := os.WriteFile(f.coming(id), make([]byte, 3000), 0o600); err != nil {
		t.Fatal(err)
	}
	if have, _, err := f.Append(id, 3000, 5000, bytes.NewReader(b[3000:])); !errors.Is(err, store.ErrHash) || have != 0 {
		t.Fatalf("pieces that were altered: %d, %v; want 0, ErrHash", have, err)
	}
	if have, complete, err := f.Append(id, 0, 5000, bytes.NewReader(b)); have != 5000 || !complete || err != nil {
		t.Fatalf("sent anew: %d, %v, %v", have, complete, err)
	}
	expect(t, f, id, b)
}

func TestDamagedPhoto(t *testing.T) {
	f := folder(t, t.TempDir(), Options{})
	id, b := photo(8, 500)
	if err := f.Check(id); !errors.Is(err, ErrAbsent) {
		t.Fatalf("Check of none: %v", err)
	}
	if err := f.Put(id, bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	altered := bytes.Clone(b)
	altered[77] ^= 1
	if err := os.Chmod(f.path(id), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(f.path(id), altered, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := f.Check(id); !errors.Is(err, store.ErrCorrupt) {
		t.Fatalf("Check of altered bytes: %v, want ErrCorrupt", err)
	}
	for range 2 {
		if err := f.Remove(id); err != nil {
			t.Fatal(err)
		}
	}
	absent(t, f, id, 0)
	if err := f.Put(id, bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	expect(t, f, id, b)
}

func TestNoRoom(t *testing.T) {
	free := uint64(999)
	f := folder(t, t.TempDir(), Options{Reserve: 1000, FreeSpace: func(string) (uint64, error) { return free, nil }})
	id, b := photo(9, 50)
	if err := f.Put(id, bytes.NewReader(b)); !errors.Is(err, store.ErrFull) {
		t.Fatalf("Put without room: %v, want ErrFull", err)
	}
	if _, _, err := f.Append(id, 0, 50, bytes.NewReader(b)); !errors.Is(err, store.ErrFull) {
		t.Fatalf("Append without room: %v, want ErrFull", err)
	}
	absent(t, f, id, 0)
	free = 1000
	if err := f.Put(id, bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	free = 0
	expect(t, f, id, b)
	if err := f.Put(id, iotest.ErrReader(errors.New("must not be read"))); err != nil {
		t.Fatalf("Put of what is here, without room: %v", err)
	}
}

func TestEach(t *testing.T) {
	dir := t.TempDir()
	f := folder(t, dir, Options{})
	want := map[store.ID]int64{}
	for i := range 20 {
		id, b := photo(1000+i, i)
		want[id] = int64(i)
		if err := f.Put(id, bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
	}
	id, b := photo(1, 100)
	if _, _, err := f.Append(id, 0, 100, bytes.NewReader(b[:9])); err != nil {
		t.Fatal(err)
	}
	last := ""
	if err := f.Each(func(id store.ID, size int64) error {
		if n, ok := want[id]; !ok || n != size || id.String() <= last {
			return fmt.Errorf("photo %s of %d bytes after %s", id, size, last)
		}
		last = id.String()
		delete(want, id)
		return nil
	}); err != nil || len(want) != 0 {
		t.Fatalf("Each: %v, %d not visited", err, len(want))
	}
	stop := errors.New("stop")
	if err := f.Each(func(store.ID, int64) error { return stop }); !errors.Is(err, stop) {
		t.Fatalf("Each: %v, want its visitor's error", err)
	}
	if err := os.WriteFile(filepath.Join(dir, "stray.txt"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := f.Each(func(store.ID, int64) error { return nil }); !errors.Is(err, store.ErrName) {
		t.Fatalf("Each over a stray file: %v, want ErrName", err)
	}
}

func TestManySenders(t *testing.T) {
	f := folder(t, t.TempDir(), Options{})
	var running sync.WaitGroup
	for w := range 16 {
		running.Go(func() {
			for i := range 10 {
				id, b := photo(2000+i, 3000)
				if w%2 == 0 {
					if err := f.Put(id, bytes.NewReader(b)); err != nil {
						t.Errorf("Put: %v", err)
					}
					continue
				}
				for complete, have := false, int64(0); !complete; {
					var err error
					have, complete, err = f.Append(id, have, 3000, io.LimitReader(bytes.NewReader(b[have:]), 1000))
					switch {
					case errors.Is(err, ErrBusy):
						if have, complete, err = f.Have(id); err != nil {
							t.Errorf("Have: %v", err)
							return
						}
					case err != nil && !errors.Is(err, ErrOffset):
						t.Errorf("Append: %v", err)
						return
					}
				}
			}
		})
	}
	running.Wait()
	for i := range 10 {
		id, b := photo(2000+i, 3000)
		expect(t, f, id, b)
	}
}
