package syncsim

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// A log with holes is copied byte for byte; torn, each page that the last write changed is either as before or as after, and both happen.
func TestImages(t *testing.T) {
	const pages = 64
	log := bytes.Repeat([]byte{0}, pages*pageSize)
	for _, page := range []int{0, 1, 2, 3, 10, 11, 40} {
		copy(log[page*pageSize:], bytes.Repeat([]byte{byte(page + 1)}, pageSize))
	}
	dir := t.TempDir()
	live, before, after := filepath.Join(dir, "live"), filepath.Join(dir, "before"), filepath.Join(dir, "after")
	put := func(name string, b []byte) {
		t.Helper()
		fatal(t, os.MkdirAll(live, 0o700))
		f, err := os.Create(filepath.Join(live, name))
		fatal(t, err)
		fatal(t, f.Truncate(int64(len(b))))
		for at := 0; at < len(b); at += pageSize {
			if part := b[at : at+pageSize]; !bytes.Equal(part, make([]byte, pageSize)) {
				_, err := f.WriteAt(part, int64(at))
				fatal(t, err)
			}
		}
		fatal(t, f.Close())
	}
	read := func(dir, name string) []byte {
		t.Helper()
		b, err := os.ReadFile(filepath.Join(dir, name))
		fatal(t, err)
		return b
	}
	put("00001.mem", log)
	put("MANIFEST", log[:pageSize])
	fatal(t, copyFolder(live, before))
	changed := bytes.Clone(log)
	for page := 20; page < 40; page++ {
		copy(changed[page*pageSize:], bytes.Repeat([]byte{200}, pageSize))
	}
	put("00001.mem", changed)
	fatal(t, copyFolder(live, after))
	for _, c := range []struct {
		dir, name string
		want      []byte
	}{{before, "00001.mem", log}, {after, "00001.mem", changed}, {after, "MANIFEST", log[:pageSize]}} {
		if got := read(c.dir, c.name); !bytes.Equal(got, c.want) {
			t.Errorf("%s of %s: %d bytes, want the same %d", c.name, c.dir, len(got), len(c.want))
		}
	}
	const seed = 3
	back, err := tear(before, after, rand.New(rand.NewPCG(seed, 0)))
	fatal(t, err)
	if back == 0 || back == 20 {
		t.Errorf("seed %d: %d of 20 changed pages were put back, want some", seed, back)
	}
	torn := read(after, "00001.mem")
	for page := range pages {
		part := func(b []byte) []byte { return b[page*pageSize : (page+1)*pageSize] }
		switch {
		case bytes.Equal(part(torn), part(log)) && !bytes.Equal(part(log), part(changed)):
			back--
		case !bytes.Equal(part(torn), part(changed)):
			t.Errorf("page %d is neither as before nor as after", page)
		}
	}
	if back != 0 {
		t.Errorf("the pages put back that were counted and that are there differ by %d", back)
	}
}
