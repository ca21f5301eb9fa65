package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"runtrue/internal/record"
	"runtrue/internal/server"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/photos"
)

// keepCommand is what backup, restore and verify have in common: a data folder and, for the first two, a file. The server must not be running on the folder.
type keepCommand struct {
	name, usage string
	needsFile   bool
	run         func(ctx context.Context, data, file string, stdout io.Writer) error
}

var (
	backupCommand = keepCommand{"backup", `usage: runtrue backup [--data FOLDER] FILE

Writes everything in the store, without the photos, to FILE, which must not exist. Every
entry is checked on the way. Stop the server first. Photos are plain files
named by what is in them: copy the folder photos beside the store as it is.

  --data   folder of the store and the photos; runtrue-data if not given
`, true, backup}
	restoreCommand = keepCommand{"restore", `usage: runtrue restore [--data FOLDER] FILE

Makes the store anew from a backup. The folder must hold no store. Tablets notice
that the server's history is shorter than what they have seen, and give back
what it lost.

  --data   folder in which the store is made; runtrue-data if not given
`, true, restore}
	verifyCommand = keepCommand{"verify", `usage: runtrue verify [--data FOLDER]

Reads the whole store and proves every entry's hash, its parents, its arrival
number and the running hash, and every photo. Says exactly what is wrong. Stop
the server first. Exit status 1 if anything is wrong.

  --data   folder of the store and the photos; runtrue-data if not given
`, false, verify}
)

func (k keepCommand) answer(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet(k.name, flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	data := flags.String("data", "runtrue-data", "")
	err := flags.Parse(args)
	want := 0
	if k.needsFile {
		want = 1
	}
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, k.usage)
		return exitDone
	case err == nil && flags.NArg() != want:
		err = fmt.Errorf("%d arguments, want %d", flags.NArg(), want)
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue %s: %v\n\n%s", k.name, err, k.usage)
		return exitUsage
	}
	if err := k.run(context.Background(), *data, flags.Arg(0), stdout); err != nil {
		fmt.Fprintf(stderr, "runtrue %s: %v\n", k.name, err)
		return exitFault
	}
	return exitDone
}

// openData opens the store of a data folder that must be there already.
func openData(data string) (*badgerstore.Store, error) {
	dir := filepath.Join(data, "store")
	if _, err := os.Stat(dir); err != nil {
		return nil, fmt.Errorf("no store in %s: %w", data, err)
	}
	st, err := badgerstore.Open(dir, badgerstore.Options{})
	if errors.Is(err, store.ErrInUse) {
		return nil, fmt.Errorf("%w; stop the server that runs on %s first", err, data)
	}
	return st, err
}

// backup writes the file beside its place, syncs it, and moves it there when it is whole; only then are the entries noted as backed up.
func backup(ctx context.Context, data, file string, stdout io.Writer) (err error) {
	if _, err := os.Lstat(file); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s is there already; nothing was written: give another name", file)
	}
	st, err := openData(data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	part := file + ".part"
	out, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	heads, err := store.Backup(ctx, st, out)
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return errors.Join(fmt.Errorf("the backup is not whole and was removed: %w", err), os.Remove(part))
	}
	if err := os.Rename(part, file); err != nil {
		return err
	}
	if err := syncFolder(filepath.Dir(file)); err != nil {
		return err
	}
	if err := server.MarkBackedUp(ctx, st, heads); err != nil {
		return fmt.Errorf("the backup is whole, but the store could not note it: %w", err)
	}
	total := uint64(0)
	for _, h := range heads {
		total += h.N
	}
	fmt.Fprintf(stdout, "%d entries of %d records written to %s\n", total, len(heads), file)
	return nil
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

func restore(ctx context.Context, data, file string, stdout io.Writer) error {
	in, err := os.Open(file)
	if err != nil {
		return err
	}
	defer in.Close() // only read from
	if err := os.MkdirAll(data, 0o700); err != nil {
		return err
	}
	heads, err := badgerstore.Restore(ctx, filepath.Join(data, "store"), in, badgerstore.Options{})
	if err != nil {
		return err
	}
	total := uint64(0)
	for _, h := range heads {
		total += h.N
	}
	fmt.Fprintf(stdout, "%d entries of %d records restored; copy the photos back into %s\n", total, len(heads), filepath.Join(data, "photos"))
	return nil
}

// errFaults says that verify found something; what, is on standard output.
var errFaults = errors.New("the store is not sound; restore a backup, or let the tablets send again what they hold")

func verify(ctx context.Context, data, _ string, stdout io.Writer) (err error) {
	st, err := openData(data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	sound, damaged, err := store.Check(ctx, st)
	if err != nil {
		return err
	}
	faults := len(damaged)
	for _, f := range damaged {
		fmt.Fprintln(stdout, "entry:", f)
	}
	orphans, err := checkParents(ctx, st, stdout)
	if err != nil {
		return err
	}
	pictures, bad, err := checkPhotos(filepath.Join(data, "photos"), stdout)
	if err != nil {
		return err
	}
	faults += orphans + bad
	fmt.Fprintf(stdout, "%d entries and %d photos checked, %d faults\n", sound+uint64(len(damaged)), pictures, faults)
	if faults > 0 {
		return errFaults
	}
	return nil
}

// checkParents proves that every entry can be read and that its parents arrived before it.
func checkParents(ctx context.Context, st store.Store, stdout io.Writer) (faults int, err error) {
	heads, err := st.Jobs(ctx)
	if err != nil {
		return 0, err
	}
	for _, h := range heads {
		arrived := map[record.ID]bool{}
		for n := uint64(0); n < h.N; {
			run, err := st.Since(ctx, h.Job, n, store.MaxBatchEntries)
			if err != nil && !errors.Is(err, store.ErrCorrupt) {
				return faults, err
			}
			if len(run) == 0 {
				// Told of by the check of hashes; what follows the damage cannot be read in order.
				break
			}
			for _, s := range run {
				n = s.N
				arrived[record.ID(s.ID)] = true
				if s.Withheld {
					continue
				}
				e, err := record.Decode(s.Bytes)
				if err != nil {
					faults++
					fmt.Fprintf(stdout, "entry: job %s, arrival %d, %s: %v\n", h.Job, s.N, s.ID, err)
					continue
				}
				for _, p := range e.Parents {
					if !arrived[p] {
						faults++
						fmt.Fprintf(stdout, "entry: job %s, arrival %d, %s: parent %s did not arrive before it\n", h.Job, s.N, s.ID, p)
					}
				}
			}
		}
	}
	return faults, nil
}

func checkPhotos(dir string, stdout io.Writer) (seen, faults int, err error) {
	if _, err := os.Stat(dir); errors.Is(err, os.ErrNotExist) {
		return 0, 0, nil
	}
	folder, err := photos.Open(dir, photos.Options{})
	if err != nil {
		return 0, 0, err
	}
	err = folder.Each(func(id store.ID, _ int64) error {
		seen++
		if err := folder.Check(id); err != nil {
			faults++
			fmt.Fprintln(stdout, "photo:", err)
		}
		return nil
	})
	return seen, faults, err
}
