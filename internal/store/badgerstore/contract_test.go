package badgerstore

import (
	"testing"

	"runtrue/internal/store"
	"runtrue/internal/store/storetest"
)

// small are settings for tests: little memory, and transactions small enough (15 % of 12 MiB) that the suite's big batches need several.
func small(serverID string) settings {
	set := defaults(Options{ServerID: serverID, Reserve: 1 << 20})
	set.memTable = 12 << 20
	set.vlogFile = 1 << 20
	return set
}

func openSmall(t testing.TB, dir string, set settings) *Store {
	t.Helper()
	s, err := open(dir, set)
	if err != nil {
		t.Fatalf("opening %s: %v", dir, err)
	}
	return s
}

func TestContract(t *testing.T) {
	storetest.Run(t, func(t *testing.T, serverID string) store.Store { return openSmall(t, t.TempDir(), small(serverID)) })
	storetest.RunDurable(t, func(t *testing.T, dir string) store.Store { return openSmall(t, dir, small("")) })
}
