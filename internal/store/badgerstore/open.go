package badgerstore

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"

	"runtrue/internal/store"
	"runtrue/internal/store/diskspace"
)

// DefaultReserve is the room in bytes that must be left on the volume for a Put to be taken: Badger's merging writes new files before it
// removes the old ones, some 100 MiB at this memory size, and twice that is kept.
const DefaultReserve = 256 << 20

// Options of Open. The zero value is right for a server.
type Options struct {
	ServerID string       // for a new store; empty: one is drawn from Random. An existing store must have this id if it is given.
	Random   io.Reader    // source of the server id; nil: the operating system's
	Reserve  uint64       // bytes to leave free on the volume; 0: DefaultReserve
	Log      *slog.Logger // Badger's warnings and errors; nil: none
}

// settings are Options and what only tests change.
type settings struct {
	Options
	memTable  int64                            // bytes; Badger's transactions hold 15 % of it
	vlogFile  int64                            // bytes
	unsynced  bool                             // do not sync: for the test that shows what a power cut then takes
	freeSpace func(dir string) (uint64, error) // room left on the volume
	wrap      func(syncer) syncer              // puts a seam around writing and syncing; nil: none
}

func defaults(o Options) settings {
	if o.Reserve == 0 {
		o.Reserve = DefaultReserve
	}
	if o.Random == nil {
		o.Random = rand.Reader
	}
	return settings{Options: o, memTable: 16 << 20, vlogFile: 64 << 20, freeSpace: diskspace.Free}
}

// valueThreshold in bytes: anything smaller stays out of Badger's value log. The largest row is an entry with its arrival, below 74 KiB.
const valueThreshold = 96 << 10

// Store implements store.Store. Make one with Open.
type Store struct {
	set      settings
	dir      string
	serverID string
	db       *badger.DB
	disk     syncer
	budget   txnBudget

	queue     chan *request // without a buffer: see the package comment
	closing   chan struct{} // closed by Close: no request is taken up any more
	stopped   chan struct{} // closed by the writer when it has answered its last group
	closeOnce sync.Once

	life   sync.RWMutex // held for reading by every read, for writing while Badger is being closed
	closed bool
	failed atomic.Pointer[error] // set once by the writer: see fail

	state sync.RWMutex // guards what follows; changed by the writer alone, after the sync
	heads map[string]head
	meta  map[string][]byte
}

var _ store.Store = (*Store)(nil)

// Open opens the store in dir and makes folder and store if there is none. Errors: ErrInUse, ErrFormat, ErrCorrupt (wrapped, with what to
// do), or the system's.
func Open(dir string, o Options) (*Store, error) { return open(dir, defaults(o)) }

func open(dir string, set settings) (*Store, error) {
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	known, err := readIdentity(dir)
	if err != nil {
		return nil, err
	}
	// Badger begins by making files and writing out what its log holds, and a full disk would kill the process. An existing store
	// may use half of the reserve for that, so that a store which has answered ErrFull can still be opened and read.
	need := set.Reserve / 2
	if known == "" {
		need = set.Reserve
	}
	if free, err := set.freeSpace(dir); err != nil {
		return nil, err
	} else if free < need {
		return nil, fmt.Errorf("%w (opening %s: %d MiB free, %d MiB needed)", store.ErrFull, dir, free>>20, need>>20)
	}
	if err := settle(dir); err != nil {
		return nil, err
	}
	db, err := badger.Open(badgerOptions(dir, set))
	if err != nil {
		if strings.Contains(err.Error(), "Cannot acquire directory lock") {
			return nil, fmt.Errorf("%w: %s", store.ErrInUse, dir)
		}
		return nil, fmt.Errorf("opening the store in %s: %w", dir, explain(err))
	}
	s := &Store{
		set: set, dir: dir, db: db,
		budget: txnBudget{rows: db.MaxBatchCount(), bytes: db.MaxBatchSize()},
		queue:  make(chan *request), closing: make(chan struct{}), stopped: make(chan struct{}),
		heads: map[string]head{}, meta: map[string][]byte{},
	}
	s.disk = newBadgerDisk(dir)
	if set.wrap != nil {
		s.disk = set.wrap(s.disk)
	}
	if s.budget.bytes < indexOfLargest || s.budget.rows < 2*store.MaxBatchEntries+2 {
		return nil, errors.Join(fmt.Errorf("memory tables of %d bytes allow transactions of %d rows and %d bytes; the index of one Put may need %d", set.memTable, s.budget.rows, s.budget.bytes, indexOfLargest), db.Close())
	}
	if err := s.begin(known); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	go s.write()
	return s, nil
}

func badgerOptions(dir string, set settings) badger.Options {
	return badger.DefaultOptions(dir).
		WithSyncWrites(!set.unsynced).
		WithMemTableSize(set.memTable).
		WithNumMemtables(2).
		WithBlockCacheSize(16 << 20).
		WithValueLogFileSize(set.vlogFile).
		WithValueThreshold(valueThreshold).
		WithNumCompactors(2).
		WithDetectConflicts(false). // there is one writer
		WithChecksumVerificationMode(options.OnBlockRead).
		WithMetricsEnabled(false).
		WithLogger(badgerLog{set.Log})
}

// begin loads heads and side tables, or makes the first rows of a new store. known is the server id of the file IDENTITY, or empty.
func (s *Store) begin(known string) error {
	held, found, err := s.loadServerID()
	if err != nil {
		return err
	}
	switch {
	case !found && known != "":
		return fmt.Errorf("%w: %s should hold store %s, but Badger's files there are empty; restore the store from its backup", store.ErrCorrupt, s.dir, known)
	case found && known != "" && held != known:
		return fmt.Errorf("%w: %s says it is store %s, Badger's files there are of store %s; do not mix folders", store.ErrCorrupt, s.dir, known, held)
	case found && s.set.ServerID != "" && held != s.set.ServerID:
		return fmt.Errorf("%w: %s holds store %s, not %s", store.ErrFormat, s.dir, held, s.set.ServerID)
	case !found:
		if held = s.set.ServerID; held == "" {
			if held, err = store.NewServerID(s.set.Random); err != nil {
				return err
			}
		}
		if len(held) > store.MaxNameBytes || strings.ContainsAny(held, " \n") {
			return fmt.Errorf("%w: server id %q; write up to %d bytes without spaces", store.ErrName, held, store.MaxNameBytes)
		}
		txn := s.db.NewTransaction(true)
		defer txn.Discard()
		if err := txn.Set([]byte{rowServer}, []byte(held)); err != nil {
			return err
		}
		if err := txn.Set([]byte{rowCounts}, encodeCounts(0, 0)); err != nil {
			return err
		}
		if err := s.disk.Commit(txn); err != nil {
			return explain(err)
		}
	}
	s.serverID = held
	if err := s.disk.SyncFolder(); err != nil {
		return err
	}
	if known == "" {
		if err := writeIdentity(s.dir, held); err != nil {
			return err
		}
	}
	return s.load()
}

// ServerID implements store.Store.
func (s *Store) ServerID() string { return s.serverID }

// Close implements store.Store. A failed store cannot always let go of its files, because Badger tries for ever to write out what it
// holds; Close then gives up after five seconds and says so, and only the end of the process frees the folder.
func (s *Store) Close() error {
	err := store.ErrClosed
	s.closeOnce.Do(func() {
		close(s.closing)
		<-s.stopped
		s.life.Lock()
		defer s.life.Unlock()
		s.closed = true
		if s.failed.Load() == nil {
			err = explain(s.db.Close())
			return
		}
		done := make(chan error, 1)
		go func() { done <- s.db.Close() }()
		select {
		case err = <-done:
		case <-time.After(5 * time.Second):
			err = fmt.Errorf("%w: its files could not be closed; end the program", store.ErrFailed)
		}
	})
	return err
}

const identityFile = "IDENTITY"

// identityFormat is the whole text of the file; the first word pair changes when the layout does.
const identityFormat = "runtrue store, layout 1\nserver %s\n"

func readIdentity(dir string) (serverID string, err error) {
	text, err := os.ReadFile(filepath.Join(dir, identityFile))
	if errors.Is(err, os.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	if _, err := fmt.Sscanf(string(text), identityFormat, &serverID); err != nil {
		return "", fmt.Errorf("%w: %s reads %.200q", store.ErrFormat, filepath.Join(dir, identityFile), text)
	}
	return serverID, nil
}

func writeIdentity(dir, serverID string) error {
	path := filepath.Join(dir, identityFile)
	f, err := os.OpenFile(path+".new", os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(f, identityFormat, serverID)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err := os.Rename(path+".new", path); err != nil {
		return err
	}
	return syncFile(dir)
}

// makeFolder makes dir with its parents and syncs what it made into their folders.
func makeFolder(dir string) error {
	if info, err := os.Stat(dir); err == nil {
		if !info.IsDir() {
			return fmt.Errorf("%s is a file; the store needs a folder", dir)
		}
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

// settle syncs the files that Badger writes without waiting for the disk, and the folder: what is read from here on is durable. Log files of no
// length are removed: a full disk or a power cut leaves them when one has just been begun, they hold nothing, and Badger does not open a
// folder that has one.
func settle(dir string) error {
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name())
		switch filepath.Ext(path) {
		case ".mem", ".vlog":
			info, err := f.Info()
			if err != nil {
				return err
			}
			if info.Size() == 0 {
				if err := os.Remove(path); err != nil {
					return err
				}
				continue
			}
		default:
			if f.Name() != badger.ManifestFilename {
				continue
			}
		}
		if err := syncFile(path); err != nil {
			return err
		}
	}
	return syncFile(dir)
}

// syncFile syncs a file or folder by name.
func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// explain marks errors of Badger that mean a full disk or a closed store.
func explain(err error) error {
	switch {
	case err == nil:
		return nil
	case diskspace.IsFull(err):
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case errors.Is(err, badger.ErrDBClosed):
		return store.ErrClosed
	}
	return err
}

// badgerLog passes Badger's warnings and errors on.
type badgerLog struct{ to *slog.Logger }

func (l badgerLog) Errorf(format string, args ...any) {
	if l.to != nil {
		l.to.Error("store engine: " + strings.TrimSpace(fmt.Sprintf(format, args...)))
	}
}

func (l badgerLog) Warningf(format string, args ...any) {
	if l.to != nil {
		l.to.Warn("store engine: " + strings.TrimSpace(fmt.Sprintf(format, args...)))
	}
}

func (badgerLog) Infof(string, ...any)  {}
func (badgerLog) Debugf(string, ...any) {}
