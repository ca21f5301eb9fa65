package syncsim

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
)

// pageSize is the least that a disk writes at once.
const pageSize = 4096

// copyFolder copies the files of a store's folder as the system's cache has them. The store may be open; nothing may be written meanwhile. Badger's files are mostly holes, which are left out.
func copyFolder(from, to string) error {
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	files, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := copySparse(filepath.Join(from, f.Name()), filepath.Join(to, f.Name())); err != nil {
			return fmt.Errorf("copying %s of the store: %w", f.Name(), err)
		}
	}
	return nil
}

func copySparse(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close() // only read from
	info, err := in.Stat()
	if err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	if err := out.Truncate(info.Size()); err != nil {
		return err
	}
	return eachPart(in, info.Size(), func(at, size int64) error {
		_, err := io.Copy(io.NewOffsetWriter(out, at), io.NewSectionReader(in, at, size))
		return err
	})
}

// Whence values by which Linux tells where a file has data (lseek(2), SEEK_DATA and SEEK_HOLE). On other systems, where they mean something else, and on file systems that do not know them, a file counts as all data.
const (
	seekData = 3
	seekHole = 4
)

func eachPart(f *os.File, size int64, visit func(at, size int64) error) error {
	if runtime.GOOS != "linux" {
		return visit(0, size)
	}
	for end := int64(0); end < size; {
		at, err := f.Seek(end, seekData)
		if err != nil && end == 0 {
			if _, known := f.Seek(0, seekHole); known != nil {
				return visit(0, size)
			}
		}
		if errors.Is(err, syscall.ENXIO) {
			return nil // no more data
		}
		if err != nil {
			return err
		}
		if end, err = f.Seek(at, seekHole); err != nil {
			return err
		}
		if err := visit(at, end-at); err != nil {
			return err
		}
	}
	return nil
}

// tear puts pages of the earlier image back into the later one: of what the last write changed in the logs, only a part got to the disk. It does nothing where a file was begun, ended or resized in between, and
// reports how many pages it put back.
func tear(before, after string, random *rand.Rand) (pages int, err error) {
	logs, err := filepath.Glob(filepath.Join(after, "*.mem"))
	if err != nil {
		return 0, err
	}
	for _, log := range logs {
		old, err := os.Open(filepath.Join(before, filepath.Base(log)))
		if errors.Is(err, os.ErrNotExist) {
			return pages, nil
		}
		if err != nil {
			return pages, err
		}
		n, err := tearFile(old, log, random)
		pages += n
		if err = errors.Join(err, old.Close()); err != nil {
			return pages, err
		}
	}
	return pages, nil
}

func tearFile(old *os.File, log string, random *rand.Rand) (pages int, err error) {
	now, err := os.OpenFile(log, os.O_RDWR, 0)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, now.Close()) }()
	info, err := now.Stat()
	if err != nil {
		return 0, err
	}
	was, err := old.Stat()
	if err != nil || was.Size() != info.Size() {
		return 0, err
	}
	a, b := make([]byte, pageSize), make([]byte, pageSize)
	err = eachPart(now, info.Size(), func(at, size int64) error {
		for ; size > 0; at, size = at+pageSize, size-pageSize {
			n, err := now.ReadAt(b[:min(size, pageSize)], at)
			if err != nil {
				return err
			}
			if _, err := old.ReadAt(a[:n], at); err != nil {
				return err
			}
			if string(a[:n]) != string(b[:n]) && random.IntN(2) == 0 {
				if _, err := now.WriteAt(a[:n], at); err != nil {
					return err
				}
				pages++
			}
		}
		return nil
	})
	return pages, err
}
