package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
)

// page is how many arrivals Backup and Check take at a time; at MaxEntryBytes each it is 18 MiB of memory at worst.
const page = 256

// VerifyRun checks consecutive arrivals of one job against each other and against their bytes: numbers n+1, n+2 …, running hashes from
// before, every entry's hash. It returns how many are in order, and for the first that is not an EntryError of kind ErrCorrupt. If before is
// nil the first running hash is taken as it is. Engines call it on what Since read.
func VerifyRun(run []Stored, job string, n uint64, before *[32]byte) (int, error) {
	for i := range run {
		s := &run[i]
		want := n + uint64(i) + 1
		if s.N != want {
			return i, &EntryError{Kind: ErrCorrupt, Job: job, N: want, Detail: fmt.Sprintf("the next arrival that can be read is %d; restore the store from its backup", s.N)}
		}
		if before != nil && s.Hash != NextHash(*before, s.ID) {
			return i, &EntryError{Kind: ErrCorrupt, ID: s.ID, Job: job, N: want, Detail: "its running hash does not follow from the one before; restore the store from its backup"}
		}
		if !s.Withheld {
			if got := ID(sha256.Sum256(s.Bytes)); got != s.ID {
				return i, &EntryError{Kind: ErrCorrupt, ID: s.ID, Job: job, N: want, Detail: fmt.Sprintf("its %d bytes hash to %s; put it again from a device that has it", len(s.Bytes), got)}
			}
		}
		before = &s.Hash
	}
	return len(run), nil
}

// Check reads everything and returns how many entries are in order and the faults found (kind ErrCorrupt), those of one job in order.
// The error is about the checking itself: the context, a closed store.
func Check(ctx context.Context, s Store) (sound uint64, faults []*EntryError, err error) {
	heads, err := s.Jobs(ctx)
	if err != nil {
		return 0, nil, err
	}
	for _, h := range heads {
		for n := uint64(0); n < h.N; {
			run, err := s.Since(ctx, h.Job, n, page)
			sound += uint64(len(run))
			n += uint64(len(run))
			var fault *EntryError
			switch {
			case errors.As(err, &fault) && errors.Is(err, ErrCorrupt):
				faults = append(faults, fault)
				n++ // past the damaged one
			case err != nil:
				return sound, faults, err
			case len(run) == 0:
				faults = append(faults, &EntryError{Kind: ErrCorrupt, Job: h.Job, N: n + 1, Detail: fmt.Sprintf("the job ends here, its head says %d; restore the store from its backup", h.N)})
				n = h.N
			}
		}
		at, ok, err := s.At(ctx, h.Job, h.N)
		switch {
		case errors.Is(err, ErrCorrupt): // found above already
		case err != nil:
			return sound, faults, err
		case ok && at.Hash != h.Hash:
			faults = append(faults, &EntryError{Kind: ErrCorrupt, ID: at.ID, Job: h.Job, N: h.N, Detail: "the job's head has another running hash than its last arrival; restore the store from its backup"})
		}
	}
	return sound, faults, nil
}
