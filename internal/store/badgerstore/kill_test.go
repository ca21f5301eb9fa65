package badgerstore

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"runtrue/internal/store"
)

// A pusher is killed at random moments, again and again in one folder. Whatever it was answered must be there, numbers without gaps, batches
// whole. This shows that recovery is right; it says nothing about syncing, since the system's cache outlives the process (see TestPowerCut).
func TestKill(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	folder := t.TempDir()
	var all []answers
	for round := range 7 {
		said := answers{round: round}
		cmd := again("push", folder, round, 1+round*2, 1<<20, "synced")
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		after, lines := 1+random.IntN(120), 0
		if err := said.follow(out, func() {
			if lines++; lines == after {
				if err := cmd.Process.Kill(); err != nil {
					t.Errorf("kill: %v", err)
				}
			}
		}); err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err == nil || said.end != "" {
			t.Fatalf("round %d: the pusher ended by itself: %s", round, said.end)
		}
		all = append(all, said)
		missing, err := said.missing(folder, small(""))
		if err != nil || missing > 0 {
			t.Fatalf("after kill %d: %d of %d acknowledged batches and %d photos are missing; %v", round+1, missing, len(said.acks), len(said.photos), err)
		}
		t.Logf("round %d: %d writers, killed after line %d; %d batches and %d photos were acknowledged, all there", round, 1+round*2, after, len(said.acks), len(said.photos))
	}
	for _, said := range all {
		missing, err := said.missing(folder, small(""))
		if err != nil || missing > 0 {
			t.Fatalf("after all kills: %d of %d batches and %d photos of round %d are missing; %v", missing, len(said.acks), len(said.photos), said.round, err)
		}
	}
}

// A power cut leaves each page of the log that was not synced either as it was or as it was to be. Here the log is read after some answers
// and again after more, and opened in many random mixtures of the two: all that was answered before the first reading must be there.
// This shows that Badger's recovery stands torn pages after the synced part. That the synced part is synced is TestPowerCut's matter.
func TestTornPages(t *testing.T) {
	dir := t.TempDir()
	s := openSmall(t, dir, small(""))
	for i := range 40 {
		if _, err := s.Put(t.Context(), work(0, 0, i)[:1]); err != nil {
			t.Fatal(err)
		}
	}
	first := readFolder(t, dir)
	var held []store.ID
	for i := range 40 {
		held = append(held, work(0, 0, i)[0].ID)
	}
	for i := 40; i < 120; i++ {
		if _, err := s.Put(t.Context(), work(0, 0, i)[:1]); err != nil {
			t.Fatal(err)
		}
	}
	second := readFolder(t, dir)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	const seed = 7
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	most, least := uint64(0), uint64(1<<62)
	for image := range 24 {
		to := t.TempDir()
		mixed := 0
		for name, old := range first {
			now, ok := second[name]
			if !ok || len(now) != len(old) {
				t.Fatalf("%s has %d bytes and then %d: a log file was begun or ended in between, take fewer entries", name, len(old), len(now))
			}
			mix := append([]byte{}, old...)
			for at := 0; at < len(mix); at += pageSize {
				if end := min(at+pageSize, len(mix)); random.IntN(24) < image {
					if string(mix[at:end]) != string(now[at:end]) {
						mixed++
					}
					copy(mix[at:end], now[at:end])
				}
			}
			writeSparse(t, filepath.Join(to, name), mix)
		}
		s := openSmall(t, to, small(""))
		expectHeld(t, s, held)
		heads, err := s.Jobs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		most, least = max(most, heads[0].N), min(least, heads[0].N)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if image > 0 && mixed == 0 {
			t.Fatalf("image %d has none of the later pages", image)
		}
	}
	t.Logf("40 answered; the images held from %d to %d entries", least, most)
	if least < 40 || most <= 40 {
		t.Fatalf("images held from %d to %d entries; want at least 40, and sometimes more", least, most)
	}
}

func expectHeld(t *testing.T, s *Store, ids []store.ID) {
	t.Helper()
	have, err := s.Have(t.Context(), ids)
	if err != nil {
		t.Fatal(err)
	}
	for i := range have {
		if !have[i] {
			t.Fatalf("entry %d of %d answered is missing", i+1, len(ids))
		}
	}
	if _, faults, err := store.Check(t.Context(), s); err != nil || len(faults) > 0 {
		t.Fatal(fmt.Errorf("check: %v, %v", err, faults))
	}
}

func readFolder(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name()] = text
	}
	return out
}
