package badgerstore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"runtrue/internal/store"
)

// Restore makes a store in dir from a backup, and returns its heads. dir must not exist or be empty. The store keeps the server id of the
// backup unless o.ServerID gives it another. Everything is made in a folder beside dir and moved there when it is whole, so that a
// restore that is cut off leaves dir as it was; what it leaves beside dir is removed by the next one.
func Restore(ctx context.Context, dir string, r io.Reader, o Options) ([]store.Head, error) {
	files, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	if len(files) > 0 {
		return nil, fmt.Errorf("%w: %s is not empty; move the store that is there away first", store.ErrBackup, dir)
	}
	part := filepath.Clean(dir) + ".restoring"
	if err := os.RemoveAll(part); err != nil {
		return nil, err
	}
	var made *Store
	heads, err := store.Restore(ctx, r, func(serverID string) (store.Store, error) {
		if o.ServerID == "" {
			o.ServerID = serverID
		}
		var err error
		if made, err = Open(part, o); err != nil {
			return nil, err // not made: a nil *Store would not be a nil store.Store
		}
		return made, nil
	})
	if made != nil {
		err = errors.Join(err, made.Close())
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(part))
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	if err := os.Rename(part, dir); err != nil {
		return nil, err
	}
	return heads, syncFile(filepath.Dir(filepath.Clean(dir)))
}
