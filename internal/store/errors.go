package store

import (
	"errors"
	"fmt"
)

// Sentinels; the package comment says which call answers which, and what to do. Test with errors.Is.
var (
	ErrClosed   = errors.New("the store is closed")
	ErrFull     = errors.New("no room on the disk of the store; what was acknowledged is intact; free some and repeat")
	ErrFailed   = errors.New("the store failed while writing and must be opened again; repeat the last call afterwards")
	ErrHash     = errors.New("bytes do not hash to the id")
	ErrOtherJob = errors.New("the id belongs to another job")
	ErrCorrupt  = errors.New("stored bytes are not what was written")
	ErrTooLarge = errors.New("beyond the limits of the store")
	ErrName     = errors.New("not a name")
	ErrBackup   = errors.New("not a whole backup")
	ErrInUse    = errors.New("another program has the store open; stop it first")
	ErrFormat   = errors.New("the store was written by another version of the program")
)

// EntryError is a fault of one entry. Kind is one of the sentinels and what errors.Is finds; N is 0 where no arrival is meant, ID zero
// where the entry at N could not be read at all.
type EntryError struct {
	Kind   error
	ID     ID
	Job    string
	N      uint64
	Detail string
}

func (e *EntryError) Error() string {
	return fmt.Sprintf("entry %s of job %q, arrival %d: %v: %s", e.ID, e.Job, e.N, e.Kind, e.Detail)
}

func (e *EntryError) Unwrap() error { return e.Kind }
