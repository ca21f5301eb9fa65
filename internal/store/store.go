package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
)

// Limits, checked by Admit. An entry is at most 64 KiB by the rules of the record; the rest is slack for what wraps it. They keep every
// value far below 1 MiB, where engines begin to treat values differently.
const (
	MaxEntryBytes   = 72 << 10 // bytes of one entry
	MaxBatchEntries = 4096     // entries of one Put
	MaxBatchBytes   = 32 << 20 // bytes of all entries of one Put
	MaxNameBytes    = 128      // a job's name, and person, device and session of an arrival
	MaxMetaKeyBytes = 512      // a side-table row's key
	MaxMetaBytes    = 64 << 10 // a side-table row's value
	MaxMetaRows     = 1024     // rows of one PutMeta
)

// ID is the SHA-256 of an entry's bytes (or of a photo's).
type ID [32]byte

// String returns 64 lower-case hexadecimal digits.
func (id ID) String() string { return hex.EncodeToString(id[:]) }

// ParseID reads what String writes and nothing else: 64 digits, lower case. The error wraps ErrName.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 2*len(id) {
		return ID{}, fmt.Errorf("%w: id %.80q has %d characters; write 64 hexadecimal digits", ErrName, s, len(s))
	}
	if _, err := hex.Decode(id[:], []byte(s)); err != nil || id.String() != s {
		return ID{}, fmt.Errorf("%w: id %q; write 64 hexadecimal digits, a to f in lower case", ErrName, s)
	}
	return id, nil
}

// Entry is one entry as its author's engine wrote it. ID is SHA-256(Bytes); Job is a name of 1 to MaxNameBytes bytes.
type Entry struct {
	ID    ID
	Job   string
	Bytes []byte
}

// Incoming is an entry on its way in, with what the server knows of its coming.
type Incoming struct {
	Entry
	ReceivedMS int64  // milliseconds since 1970-01-01 UTC by the server's clock; kept, never used for order
	Person     string // whose session sent it; may be empty
	Device     string // may be empty
	Session    string // may be empty
	Withheld   bool   // keep the id only; Bytes may be nil, and are checked against ID if they are there
}

// Arrival is an entry's place in its job's stream. N counts from 1; N = 0 is no arrival. ReceivedMS, Person, Device and Session are those of
// the first coming, also when Repeat is set.
type Arrival struct {
	Job        string
	N          uint64
	Hash       [32]byte // running hash of the job up to and including this arrival
	ID         ID
	ReceivedMS int64
	Person     string
	Device     string
	Session    string
	Withheld   bool // the bytes are not here
	Repeat     bool // set by Put only: it was here already, and N is the earlier number
}

// Stored is an arrival together with the entry's bytes; Bytes is nil if the entry is withheld.
type Stored struct {
	Arrival
	Bytes []byte
}

// Head is the end of one job's stream: its last arrival's number and running hash.
type Head struct {
	Job  string
	N    uint64
	Hash [32]byte
}

// Meta is a row of a side table. Keys are ordered by bytes; a table is a prefix. Delete makes PutMeta remove the row, which need not exist.
type Meta struct {
	Key    string
	Value  []byte
	Delete bool
}

// Store is durable storage of entries and small side tables; the package comment says what each call promises.
type Store interface {
	// ServerID is made once for a store and never changes. A copy of the store that goes on elsewhere needs another.
	ServerID() string

	// Put returns one arrival for each entry of batch, in its order. An empty batch does nothing.
	Put(ctx context.Context, batch []Incoming) ([]Arrival, error)

	// Since returns the arrivals of job after number n, in order, at most limit (limit ≥ 1, else ErrTooLarge). Fewer than limit mean that the
	// end was reached. A job that nobody has written to is empty, and so is what lies beyond its end.
	Since(ctx context.Context, job string, n uint64, limit int) ([]Stored, error)

	// At returns arrival n of job and whether there is one. n = 0 is the beginning, which every history has: zero hash, true.
	At(ctx context.Context, job string, n uint64) (Arrival, bool, error)

	// Get returns one Stored for each id, in order; N = 0 where the id is not here.
	Get(ctx context.Context, ids []ID) ([]Stored, error)

	// Have tells for each id whether it has an arrival, withheld ones included.
	Have(ctx context.Context, ids []ID) ([]bool, error)

	// Jobs returns the head of every job that has an arrival, by name.
	Jobs(ctx context.Context) ([]Head, error)

	// PutMeta writes and deletes rows, all or nothing. If a key occurs twice the later row counts.
	PutMeta(ctx context.Context, rows []Meta) error

	// GetMeta returns a row's value and whether there is one. An empty value comes back empty, not nil.
	GetMeta(ctx context.Context, key string) ([]byte, bool, error)

	// ListMeta returns the rows whose keys begin with prefix, by key.
	ListMeta(ctx context.Context, prefix string) ([]Meta, error)

	Close() error
}

// NextHash is the running hash after one more arrival.
func NextHash(before [32]byte, id ID) [32]byte {
	var both [64]byte
	copy(both[:32], before[:])
	copy(both[32:], id[:])
	return sha256.Sum256(both[:])
}

// NewServerID draws 16 bytes from random and writes them as 32 hexadecimal digits.
func NewServerID(random io.Reader) (string, error) {
	var b [16]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", fmt.Errorf("server id: no random bytes: %w", err)
	}
	return hex.EncodeToString(b[:]), nil
}

// Admit checks a batch against the limits and every entry against its id, in the caller's goroutine and before anything is written. Every
// engine calls it first in Put.
func Admit(batch []Incoming) error {
	if len(batch) > MaxBatchEntries {
		return fmt.Errorf("%w: %d entries in one Put, at most %d; send them in several", ErrTooLarge, len(batch), MaxBatchEntries)
	}
	total := 0
	for i := range batch {
		in := &batch[i]
		if err := AdmitJob(in.Job); err != nil {
			return fmt.Errorf("entry %s: %w", in.ID, err)
		}
		for _, s := range [...]struct{ what, value string }{{"person", in.Person}, {"device", in.Device}, {"session", in.Session}} {
			if len(s.value) > MaxNameBytes {
				return &EntryError{Kind: ErrTooLarge, ID: in.ID, Job: in.Job, Detail: fmt.Sprintf("%s has %d bytes, at most %d", s.what, len(s.value), MaxNameBytes)}
			}
		}
		if len(in.Bytes) > MaxEntryBytes {
			return &EntryError{Kind: ErrTooLarge, ID: in.ID, Job: in.Job, Detail: fmt.Sprintf("%d bytes, at most %d", len(in.Bytes), MaxEntryBytes)}
		}
		if total += len(in.Bytes); total > MaxBatchBytes {
			return fmt.Errorf("%w: more than %d bytes in one Put; send the entries in several", ErrTooLarge, MaxBatchBytes)
		}
		if in.Withheld && in.Bytes == nil {
			continue
		}
		if got := ID(sha256.Sum256(in.Bytes)); got != in.ID {
			return &EntryError{Kind: ErrHash, ID: in.ID, Job: in.Job, Detail: fmt.Sprintf("its %d bytes hash to %s; send it again as its author wrote it", len(in.Bytes), got)}
		}
	}
	return nil
}

// AdmitJob checks a job's name: 1 to MaxNameBytes bytes, whatever they are.
func AdmitJob(job string) error {
	if job == "" || len(job) > MaxNameBytes {
		return fmt.Errorf("%w: job name of %d bytes; write 1 to %d", ErrName, len(job), MaxNameBytes)
	}
	return nil
}

// AdmitMeta checks side-table rows against the limits. Every engine calls it first in PutMeta.
func AdmitMeta(rows []Meta) error {
	if len(rows) > MaxMetaRows {
		return fmt.Errorf("%w: %d rows in one PutMeta, at most %d", ErrTooLarge, len(rows), MaxMetaRows)
	}
	total := 0
	for _, r := range rows {
		if r.Key == "" || len(r.Key) > MaxMetaKeyBytes {
			return fmt.Errorf("%w: row key of %d bytes; write 1 to %d", ErrName, len(r.Key), MaxMetaKeyBytes)
		}
		if len(r.Value) > MaxMetaBytes {
			return fmt.Errorf("%w: row %q has %d bytes, at most %d", ErrTooLarge, r.Key, len(r.Value), MaxMetaBytes)
		}
		if total += len(r.Key) + len(r.Value); total > maxMetaBatchBytes {
			return fmt.Errorf("%w: more than %d bytes in one PutMeta; write the rows in several", ErrTooLarge, maxMetaBatchBytes)
		}
	}
	return nil
}

// maxMetaBatchBytes keeps one PutMeta within one transaction of any engine: unlike entries, rows cannot be staged.
const maxMetaBatchBytes = 256 << 10
