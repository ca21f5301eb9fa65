//go:build unix

package badgerstore

import (
	"os"
	"strings"
	"testing"
)

// Files that may not grow make Badger fail in the middle of a write, where it leaves itself unusable. The store must answer ErrFailed and
// ErrFull, refuse to go on, and after opening again hold all that was answered.
func TestNoNewLogFile(t *testing.T) {
	folder := t.TempDir()
	said := answers{}
	cmd := again("push", folder, 0, 4, 1<<20, "limited")
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if err := said.follow(out, func() {}); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("the pusher: %v", err)
	}
	t.Logf("%d batches answered, then: %s", len(said.acks), said.end)
	if !strings.HasPrefix(said.end, "end failed=true full=true") || len(said.acks) < 5 {
		t.Fatalf("the pusher ended with %q after %d answers; want failed and full after some", said.end, len(said.acks))
	}
	missing, err := said.missing(folder, small(""))
	if err != nil || missing > 0 {
		t.Fatalf("opened again: %d of %d answered batches are missing, %v", missing, len(said.acks), err)
	}
	s := openSmall(t, folder+"/store", small(""))
	defer s.Close()
	if a, err := s.Put(t.Context(), work(9, 0, 0)); err != nil || a[0].Repeat {
		t.Fatalf("with room again: %v", err)
	}
}
