package sheet_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/sheet"
)

const firstSeed = 4_100_000

// fewer is how many histories to look at: less with -short, and in the browser's engine, which is some ten times slower.
func fewer(n int) int {
	if testing.Short() || runtime.GOOS == "js" {
		return max(8, n/10)
	}
	return n
}

func sheetOf(j *record.Job) []byte { return sheet.Build(j, hold.Overlay{}).JSON() }

func shuffled(rng *rand.Rand, list []*record.Entry) []*record.Entry {
	out := slices.Clone(list)
	rng.Shuffle(len(out), func(i, k int) { out[i], out[k] = out[k], out[i] })
	return out
}

func join(t *testing.T, j *record.Job, entries []*record.Entry) {
	t.Helper()
	if _, err := j.AddAll(entries); err != nil {
		t.Fatal(err)
	}
}

// TestSameSetSameBytes: any order, any repetition and any grouping of the same entries gives the same sheet, and nothing that was taken in is ever lost on the way.
func TestSameSetSameBytes(t *testing.T) {
	histories, entries := fewer(300), 0
	for n := range histories {
		seed := uint64(firstSeed + n)
		rng := rand.New(rand.NewPCG(seed, 3))
		h := Generate(t, seed, 90, Options{})
		entries += len(h.Entries)
		want := sheetOf(h.Union())

		backwards := slices.Clone(h.Entries)
		slices.Reverse(backwards)
		twice := append(shuffled(rng, h.Entries), shuffled(rng, h.Entries)...)
		for name, order := range map[string][]*record.Entry{"backwards": backwards, "shuffled, twice": twice} {
			j := record.NewJob("job-1")
			held := map[record.ID]bool{}
			for _, e := range order {
				before := j.Len()
				join(t, j, []*record.Entry{e})
				held[e.ID] = true
				waiting, _ := j.Waiting()
				if j.Len() < before || j.Len()+len(waiting) != len(held) {
					t.Fatalf("seed %d, %s: %d joined and %d waiting of %d taken in", seed, name, j.Len(), len(waiting), len(held))
				}
			}
			if got := sheetOf(j); !bytes.Equal(got, want) {
				t.Fatalf("seed %d, %s: other bytes", seed, name)
			}
		}

		// Three replicas with a part each, overlapping, merged in both groupings and both directions.
		var parts [3][]*record.Entry
		for _, e := range shuffled(rng, h.Entries) {
			for first := rng.IntN(3); ; {
				parts[first] = append(parts[first], e)
				if rng.IntN(3) > 0 {
					break
				}
				first = (first + 1) % 3
			}
		}
		a, b, c := parts[0], parts[1], parts[2]
		for name, order := range map[string][][]*record.Entry{"(a b) c": {a, b, c}, "a (b c)": {b, c, a}, "(c b) a": {c, b, a}, "a a b c b": {a, a, b, c, b}} {
			j := record.NewJob("job-1")
			for _, part := range order {
				join(t, j, part)
			}
			if got := sheetOf(j); !bytes.Equal(got, want) {
				t.Fatalf("seed %d, %s: other bytes", seed, name)
			}
			if added, err := j.AddAll(h.Entries); added != 0 || err != nil {
				t.Fatalf("seed %d, %s: the same entries again added %d, %v", seed, name, added, err)
			}
		}
	}
	t.Logf("seeds %d…%d: %d histories, %d entries, 7 orders each", firstSeed, firstSeed+histories-1, histories, entries)
}

// TestPartitionsHeal: tablets that write, lose links and exchange sets at random show the same bytes once all links are back and drained.
func TestPartitionsHeal(t *testing.T) {
	histories, entries := fewer(150), 0
	for n := range histories {
		seed := uint64(firstSeed + n)
		rng := rand.New(rand.NewPCG(seed, 20))
		h := Generate(t, seed, 60, Options{})
		// Each tablet's own store: everything that ever reached it, quarantined or not.
		stores := make([]map[record.ID]*record.Entry, len(h.Tablets))
		for i, tab := range h.Tablets {
			stores[i] = map[record.ID]*record.Entry{}
			waiting, _ := tab.Job.Waiting()
			for _, e := range h.Entries {
				if tab.Job.Has(e.ID) || slices.Contains(waiting, e.ID) {
					stores[i][e.ID] = e
				}
			}
		}
		send := func(from, to, most int) (moved int) {
			for _, e := range shuffled(rng, h.Entries) {
				if stores[from][e.ID] != nil && stores[to][e.ID] == nil && moved < most {
					stores[to][e.ID] = e
					h.Tablets[to].Take(e)
					moved++
				}
			}
			return moved
		}
		for range 20 { // links come and go, and break in the middle
			send(rng.IntN(len(stores)), rng.IntN(len(stores)), rng.IntN(10))
		}
		for moved := 1; moved > 0; {
			moved = 0
			for from := range stores {
				for to := range stores {
					moved += send(from, to, len(h.Entries))
				}
			}
		}
		want := sheetOf(h.Union())
		for i, tab := range h.Tablets {
			if got := sheetOf(tab.Job); !bytes.Equal(got, want) {
				t.Fatalf("seed %d: tablet %d shows other bytes than the union", seed, i)
			}
		}
		entries += len(h.Entries)
	}
	t.Logf("seeds %d…%d: %d histories, %d entries", firstSeed, firstSeed+histories-1, histories, entries)
}

var update = flag.Bool("update", false, "write the digests of the generated histories anew; right only when the sheet was meant to change")

// TestBytesAreTheSameEverywhere compares the sheets of fixed histories with digests on file. Run natively and under WebAssembly, both passing proves that both give the same bytes:
//
//	go test ./internal/sheet
//	GOOS=js GOARCH=wasm go test -exec "$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./internal/sheet
func TestBytesAreTheSameEverywhere(t *testing.T) {
	var lines strings.Builder
	for seed := range uint64(40) {
		h := Generate(t, seed, 60+int(seed), Options{})
		hash := sha256.New()
		hash.Write(sheetOf(h.Union()))
		for _, tab := range h.Tablets {
			hash.Write(sheetOf(tab.Job))
		}
		fmt.Fprintf(&lines, "%d %d %s\n", seed, len(h.Entries), hex.EncodeToString(hash.Sum(nil)))
	}
	path := filepath.Join("testdata", "histories.sha256")
	if *update {
		if err := os.WriteFile(path, []byte(lines.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, on := strings.Split(lines.String(), "\n"), strings.Split(string(want), "\n")
	if len(got) != len(on) {
		t.Fatalf("%d lines, on file %d", len(got), len(on))
	}
	for i := range got {
		if got[i] != on[i] {
			t.Errorf("seed, entries, digest: %s; on file %s. If the sheet was meant to change: go test ./internal/sheet -run Everywhere -update", got[i], on[i])
		}
	}
}
