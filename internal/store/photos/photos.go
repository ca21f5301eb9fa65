// Package photos keeps photos as files named by the SHA-256 of their bytes.
//
//	<folder>/3f/a9/3fa9…(64 digits)   a whole photo, read-only
//	<folder>/coming/3fa9…(64 digits)  one that is still being sent in pieces
//	<folder>/coming/3fa9….<number>    one that is being sent in one go
//
// A photo appears under its name only when it is whole, its bytes hash to the name, and both file and folders are on disk: write, sync,
// rename, sync the folder. So a file that is there is complete, and a kill or a power cut leaves at most something in coming, which is
// gone on over (pieces) or removed by the next Open (one go). Names are made from the 32 bytes of the hash alone: no path can be asked for.
//
// The folder belongs to one process, the one that has the store open. All calls may be made from many goroutines.
//
// Photos give way to readings: they keep a larger reserve on the volume than the store does, so that a disk filling up refuses photos first.
//
// # Errors
//
// ErrAbsent: no such photo, or not all of it. ErrHash: the bytes do not hash to the name; nothing of them is kept. ErrTooLarge: beyond
// the limit, or beyond the announced length. ErrOffset: a piece that does not begin where the last one ended; the answer says where that is.
// ErrBusy: the same photo is being appended to by another call; ask again. ErrFull: no room; what is complete is intact. An error of the
// reader that the bytes come from is passed on wrapped.
package photos

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"runtrue/internal/store"
	"runtrue/internal/store/diskspace"
)

// Sentinels of this package. ErrHash, ErrTooLarge, ErrFull and ErrCorrupt are those of package store.
var (
	ErrAbsent = errors.New("the photo is not here")
	ErrOffset = errors.New("the piece does not begin where the last one ended")
	ErrBusy   = errors.New("the photo is being received already")
)

// DefaultReserve in bytes is twice what the store keeps free.
const DefaultReserve = 512 << 20

// DefaultLimit in bytes is the length of the longest photo.
const DefaultLimit = 32 << 20

// Options of Open; the zero value is right for a server.
type Options struct {
	Limit     int64                            // longest photo in bytes; 0: DefaultLimit
	Reserve   uint64                           // bytes to leave free on the volume; 0: DefaultReserve
	FreeSpace func(dir string) (uint64, error) // nil: asks the operating system
}

// Folder is a folder of photos.
type Folder struct {
	dir string
	o   Options

	mu        sync.Mutex
	receiving map[store.ID]bool // being appended to

	disk    sync.Mutex       // held while a photo appears, until its folders are synced
	settled map[[2]byte]bool // folders known to be synced; those that an earlier process filled are not until asked for
}

const comingName = "coming"

// Open makes the folder if there is none, and removes what a stopped process left of photos sent in one go.
func Open(dir string, o Options) (*Folder, error) {
	if o.Limit == 0 {
		o.Limit = DefaultLimit
	}
	if o.Reserve == 0 {
		o.Reserve = DefaultReserve
	}
	if o.FreeSpace == nil {
		o.FreeSpace = diskspace.Free
	}
	f := &Folder{dir: dir, o: o, receiving: map[store.ID]bool{}, settled: map[[2]byte]bool{}}
	if err := makeFolder(filepath.Join(dir, comingName)); err != nil {
		return nil, err
	}
	left, err := os.ReadDir(filepath.Join(dir, comingName))
	if err != nil {
		return nil, err
	}
	for _, e := range left {
		if strings.Contains(e.Name(), ".") {
			if err := os.Remove(filepath.Join(dir, comingName, e.Name())); err != nil {
				return nil, err
			}
		}
	}
	return f, nil
}

func (f *Folder) path(id store.ID) string {
	name := id.String()
	return filepath.Join(f.dir, name[:2], name[2:4], name)
}

func (f *Folder) coming(id store.ID) string { return filepath.Join(f.dir, comingName, id.String()) }

// Have returns the length in bytes of what is here of a photo and whether that is all; 0 and false if nothing is.
func (f *Folder) Have(id store.ID) (size int64, complete bool, err error) {
	info, err := os.Stat(f.path(id))
	if err == nil {
		return info.Size(), true, f.settle(id)
	}
	if !errors.Is(err, os.ErrNotExist) {
		return 0, false, err
	}
	info, err = os.Stat(f.coming(id))
	if errors.Is(err, os.ErrNotExist) {
		return 0, false, nil
	}
	if err != nil {
		return 0, false, err
	}
	return info.Size(), false, nil
}

// Get opens a complete photo for reading and returns its length in bytes; the caller closes it. It is not hashed on the way: Check does
// that, and so does whoever receives it.
func (f *Folder) Get(id store.ID) (*os.File, int64, error) {
	file, err := os.Open(f.path(id))
	if errors.Is(err, os.ErrNotExist) {
		return nil, 0, fmt.Errorf("%w: %s", ErrAbsent, id)
	}
	if err != nil {
		return nil, 0, err
	}
	info, err := file.Stat()
	if err != nil {
		return nil, 0, errors.Join(err, file.Close())
	}
	return file, info.Size(), nil
}

// Put receives a photo in one go. It returns without error when the photo is on disk; if it was here already, r is not read. Two calls for
// one photo at the same time are both right.
func (f *Folder) Put(id store.ID, r io.Reader) error {
	if _, complete, err := f.Have(id); err != nil || complete {
		return err
	}
	if err := f.room(); err != nil {
		return err
	}
	var random [8]byte
	if _, err := io.ReadFull(rand.Reader, random[:]); err != nil {
		return err
	}
	path := f.coming(id) + "." + hex.EncodeToString(random[:])
	file, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o400)
	if err != nil {
		return explain(err)
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(file, sum), io.LimitReader(r, f.o.Limit+1))
	switch {
	case err != nil:
		err = fmt.Errorf("receiving photo %s after %d bytes: %w", id, n, explain(err))
	case n > f.o.Limit:
		err = fmt.Errorf("%w: photo %s has more than %d bytes", store.ErrTooLarge, id, f.o.Limit)
	default:
		err = matches(id, sum, n)
	}
	if err == nil {
		err = explain(file.Sync())
	}
	if err = errors.Join(err, file.Close()); err == nil {
		err = f.appear(path, id)
	}
	if err != nil {
		return errors.Join(err, removeIfThere(path))
	}
	if !f.take(id) {
		return nil // the other call makes the same photo of its pieces
	}
	defer f.release(id)
	return removeIfThere(f.coming(id))
}

// Append receives the piece of a photo that begins at offset; total is the length of the whole, in bytes. It returns how many bytes are
// here now, on disk, and whether the photo is complete. If r breaks off, what came before is kept and counted beside the error, so that the
// sender goes on from there. When total is reached and the bytes do not hash to id, all pieces are thrown away (have = 0, ErrHash).
func (f *Folder) Append(id store.ID, offset, total int64, r io.Reader) (have int64, complete bool, err error) {
	if total < 0 || total > f.o.Limit {
		return 0, false, fmt.Errorf("%w: photo %s of %d bytes, at most %d", store.ErrTooLarge, id, total, f.o.Limit)
	}
	if !f.take(id) {
		return 0, false, fmt.Errorf("%w: %s", ErrBusy, id)
	}
	defer f.release(id)
	have, complete, err = f.Have(id)
	if complete && err == nil {
		err = removeIfThere(f.coming(id)) // pieces that a Put overtook
	}
	if err != nil || complete {
		return have, complete, err
	}
	if offset != have {
		return have, false, fmt.Errorf("%w: photo %s has %d bytes here, the piece begins at %d; go on from %d", ErrOffset, id, have, offset, have)
	}
	if have > total {
		return 0, false, errors.Join(fmt.Errorf("%w: photo %s has %d bytes here already, %d were announced; begin again", store.ErrTooLarge, id, have, total), removeIfThere(f.coming(id)))
	}
	if err := f.room(); err != nil {
		return have, false, err
	}
	n, tooLong, err := f.appendPiece(id, r, total-have)
	have += n
	switch {
	case tooLong:
		return 0, false, errors.Join(fmt.Errorf("%w: photo %s goes on after its %d bytes; begin again", store.ErrTooLarge, id, total), removeIfThere(f.coming(id)))
	case err != nil || have < total:
		return have, false, err
	}
	if err := f.finish(id); err != nil {
		if errors.Is(err, store.ErrHash) {
			return 0, false, errors.Join(err, removeIfThere(f.coming(id)))
		}
		return have, false, err
	}
	return have, true, nil
}

// appendPiece adds at most most bytes of r to the file in coming and syncs it. tooLong: r has more.
func (f *Folder) appendPiece(id store.ID, r io.Reader, most int64) (n int64, tooLong bool, err error) {
	file, err := os.OpenFile(f.coming(id), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return 0, false, explain(err)
	}
	n, err = io.Copy(file, io.LimitReader(r, most))
	if err != nil {
		err = fmt.Errorf("receiving photo %s: %w", id, explain(err))
	} else if n == most {
		var one [1]byte
		switch k, more := io.ReadFull(r, one[:]); {
		case k == 1:
			tooLong = true
		case more != io.EOF:
			err = fmt.Errorf("receiving the end of photo %s: %w", id, more)
		}
	}
	return n, tooLong, errors.Join(err, explain(file.Sync()), file.Close(), syncFile(filepath.Join(f.dir, comingName)))
}

// finish hashes what came in pieces and lets it appear.
func (f *Folder) finish(id store.ID) error {
	path := f.coming(id)
	sum, n, err := hashFile(path)
	if err != nil {
		return err
	}
	if err := matches(id, sum, n); err != nil {
		return err
	}
	if err := os.Chmod(path, 0o400); err != nil {
		return err
	}
	return f.appear(path, id)
}

// appear moves a whole and synced file to its place and makes that durable.
func (f *Folder) appear(path string, id store.ID) error {
	f.disk.Lock()
	defer f.disk.Unlock()
	to := f.path(id)
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return explain(err)
	}
	delete(f.settled, leaf(id))
	if err := os.Rename(path, to); err != nil {
		return explain(err)
	}
	return f.syncFolders(id)
}

// settle waits until a photo that is in its place is durable there. A process that was killed may have moved it and not synced the folders;
// "it is here" must not be said before that is done.
func (f *Folder) settle(id store.ID) error {
	f.disk.Lock()
	defer f.disk.Unlock()
	if f.settled[leaf(id)] {
		return nil
	}
	return f.syncFolders(id)
}

// syncFolders syncs the folder of a photo and those above it, all of which may be new.
func (f *Folder) syncFolders(id store.ID) error {
	in := filepath.Dir(f.path(id))
	for _, folder := range [...]string{in, filepath.Dir(in), f.dir} {
		if err := syncFile(folder); err != nil {
			return err
		}
	}
	f.settled[leaf(id)] = true
	return nil
}

func leaf(id store.ID) [2]byte { return [2]byte(id[:2]) }

// Each calls visit for every complete photo, in order of ids, until it returns an error, which Each returns.
func (f *Folder) Each(visit func(id store.ID, size int64) error) error {
	return filepath.WalkDir(f.dir, func(path string, e os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() {
			if e.Name() == comingName && filepath.Dir(path) == filepath.Clean(f.dir) {
				return filepath.SkipDir
			}
			return nil
		}
		id, err := store.ParseID(e.Name())
		if err != nil {
			return fmt.Errorf("a file that is no photo, %s: %w; move it away", path, err)
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		return visit(id, info.Size())
	})
}

// Check hashes a complete photo; ErrCorrupt if its bytes are not those of its name.
func (f *Folder) Check(id store.ID) error {
	sum, n, err := hashFile(f.path(id))
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%w: %s", ErrAbsent, id)
	}
	if err != nil {
		return err
	}
	if err := matches(id, sum, n); err != nil {
		return fmt.Errorf("%w: %v; remove it and fetch it again from a device or the backup", store.ErrCorrupt, err)
	}
	return nil
}

// Remove takes away a complete photo, or what has come of one; nothing to remove is no error. It is for Check's findings.
func (f *Folder) Remove(id store.ID) error {
	if !f.take(id) {
		return fmt.Errorf("%w: %s", ErrBusy, id)
	}
	defer f.release(id)
	return errors.Join(removeIfThere(f.path(id)), removeIfThere(f.coming(id)))
}

func (f *Folder) take(id store.ID) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.receiving[id] {
		return false
	}
	f.receiving[id] = true
	return true
}

func (f *Folder) release(id store.ID) {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.receiving, id)
}

func (f *Folder) room() error {
	free, err := f.o.FreeSpace(f.dir)
	if err == nil && free < f.o.Reserve {
		err = fmt.Errorf("%w (photos: %d MiB free, %d MiB are kept in reserve)", store.ErrFull, free>>20, f.o.Reserve>>20)
	}
	return err
}

func matches(id store.ID, sum hash.Hash, n int64) error {
	var got store.ID
	sum.Sum(got[:0])
	if got != id {
		return fmt.Errorf("%w: photo %s: its %d bytes hash to %s; send it again", store.ErrHash, id, n, got)
	}
	return nil
}

func hashFile(path string) (hash.Hash, int64, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	sum := sha256.New()
	n, err := io.Copy(sum, file)
	return sum, n, errors.Join(err, file.Close())
}

func explain(err error) error {
	if diskspace.IsFull(err) {
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	}
	return err
}

func removeIfThere(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// makeFolder makes dir with its parents and syncs each new one into its parent.
func makeFolder(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	parent := filepath.Dir(dir)
	if parent != dir {
		if err := makeFolder(parent); err != nil {
			return err
		}
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
		return err
	}
	return syncFile(parent)
}

func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
