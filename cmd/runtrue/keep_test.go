package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runtrue/internal/demo"
	"runtrue/internal/record"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
)

const demoTimeMS = 1_795_000_000_000

// demoStore makes a data folder with the invented shop in it and returns how many entries it holds.
func demoStore(t *testing.T, data string) int {
	t.Helper()
	entries, err := demo.Shop(demoTimeMS)
	if err != nil {
		t.Fatal(err)
	}
	st, err := badgerstore.Open(filepath.Join(data, "store"), badgerstore.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := preload(context.Background(), st, entries, demoTimeMS); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	return len(entries)
}

func keep(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if got := run(args, strings.NewReader(""), &out, &errs); got != want {
		t.Fatalf("runtrue %v: exit %d, want %d\n%s%s", args, got, want, out.String(), errs.String())
	}
	return out.String() + errs.String()
}

func TestBackupRestoreVerify(t *testing.T) {
	dir := t.TempDir()
	data, again, file := filepath.Join(dir, "data"), filepath.Join(dir, "again"), filepath.Join(dir, "shop.backup")
	n := demoStore(t, data)
	keep(t, exitDone, "verify", "--data", data)
	keep(t, exitDone, "backup", "--data", data, file)
	if out := keep(t, exitFault, "backup", "--data", data, file); !strings.Contains(out, "there already") {
		t.Errorf("a second backup to the same file: %s", out)
	}
	keep(t, exitDone, "restore", "--data", again, file)
	if out := keep(t, exitDone, "verify", "--data", again); !strings.Contains(out, "0 faults") {
		t.Errorf("verify: %s", out)
	}
	if out := keep(t, exitFault, "restore", "--data", again, file); !strings.Contains(out, "not empty") {
		t.Errorf("restoring over a store: %s", out)
	}
	st, err := badgerstore.Open(filepath.Join(again, "store"), badgerstore.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	heads, err := st.Jobs(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, h := range heads {
		total += int(h.N)
	}
	if total != n {
		t.Errorf("%d entries restored of %d", total, n)
	}
	if out := keep(t, exitFault, "verify", "--data", again); !strings.Contains(out, "stop the server") {
		t.Errorf("verify beside a server: %s", out)
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	bad := filepath.Join(dir, "bad.backup")
	if err := os.WriteFile(bad, b, 0o600); err != nil {
		t.Fatal(err)
	}
	keep(t, exitFault, "restore", "--data", filepath.Join(dir, "third"), bad)
	if _, err := os.Stat(filepath.Join(dir, "third", "store")); err == nil {
		t.Error("a damaged backup left a store behind")
	}
}

// TestVerifyFindsAnOrphan puts an entry whose parent never arrived, which the server would not take but a fault could leave.
func TestVerifyFindsAnOrphan(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	demoStore(t, data)
	entries, err := demo.Shop(demoTimeMS + 1)
	if err != nil {
		t.Fatal(err)
	}
	last := entries[len(entries)-1]
	st, err := badgerstore.Open(filepath.Join(data, "store"), badgerstore.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := preload(context.Background(), st, []*record.Entry{last}, demoTimeMS); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	out := keep(t, exitFault, "verify", "--data", data)
	if !strings.Contains(out, "did not arrive before it") || !strings.Contains(out, store.ID(last.ID).String()) {
		t.Errorf("verify: %s", out)
	}
}
