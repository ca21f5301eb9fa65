package syncsim

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"sync"

	"runtrue/internal/record"
	"runtrue/internal/store"
)

// death is the point of a write at which the server is killed.
type death string

const (
	beforeWrite death = "before the write"
	afterWrite  death = "after the write, before its answer"
	tornWrite   death = "with the write half on the disk"
)

var deaths = []death{beforeWrite, afterWrite, tornWrite}

// mortal is the server's store until it is killed. It sees every write, notes what was confirmed, and takes the image that is left when its time comes.
type mortal struct {
	store.Store
	house *house
	dir   string

	gate   sync.RWMutex // held shared by writes, alone while the image is taken
	mu     sync.Mutex
	fuse   int // writes until the kill; 0: none is meant
	how    death
	random *rand.Rand // of the torn pages
	killed bool
	image  string // what is left
	early  string // an image taken too early, where the disk breaks its rule
	torn   int    // pages put back
	fault  error  // of taking the image
}

// arm lets the server be killed in the write that comes after so many others.
func (m *mortal) arm(how death, after int, random *rand.Rand) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.how, m.fuse, m.random = how, after+1, random
	if !m.house.w.keeps(disksKeepWhatIsSynced) && m.early == "" {
		m.early = m.house.newFolder()
		m.house.w.must(copyFolder(m.dir, m.early))
	}
}

// disarm calls a kill off that has not come yet.
func (m *mortal) disarm() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fuse = 0
}

func (m *mortal) isKilled() bool {
	if m == nil {
		return false // a server in another process
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.killed
}

// fatal counts the fuse down.
func (m *mortal) fatal() (now, killed bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.killed {
		return false, true
	}
	if m.fuse == 0 {
		return false, false
	}
	m.fuse--
	return m.fuse == 0, false
}

// Put implements store.Store.
func (m *mortal) Put(ctx context.Context, batch []store.Incoming) (arrivals []store.Arrival, err error) {
	m.house.w.coming(batch)
	err = m.write(func() error {
		arrivals, err = m.Store.Put(ctx, batch)
		return err
	})
	if err != nil {
		return nil, err
	}
	m.house.w.arrived(batch, arrivals)
	return arrivals, nil
}

// PutMeta implements store.Store.
func (m *mortal) PutMeta(ctx context.Context, rows []store.Meta) error {
	return m.write(func() error { return m.Store.PutMeta(ctx, rows) })
}

func (m *mortal) write(do func() error) error {
	now, killed := m.fatal()
	switch {
	case killed:
		return store.ErrFailed
	case now:
		m.gate.Lock()
		defer m.gate.Unlock()
		image, torn, err := m.perish(do)
		m.mu.Lock()
		defer m.mu.Unlock()
		m.killed, m.image, m.torn, m.fault = true, image, torn, err
		return store.ErrFailed
	}
	m.gate.RLock()
	defer m.gate.RUnlock()
	if m.isKilled() {
		return store.ErrFailed // it waited while the image was taken
	}
	return do()
}

// perish takes the image that the kill leaves.
func (m *mortal) perish(write func() error) (image string, torn int, err error) {
	image = m.house.newFolder()
	before := image + ".before"
	if m.how == tornWrite {
		if err := copyFolder(m.dir, before); err != nil {
			return image, 0, err
		}
	}
	if m.how != beforeWrite {
		if err := write(); err != nil {
			return image, 0, fmt.Errorf("the last write of a server that is to be killed: %w", err)
		}
	}
	if err := copyFolder(m.dir, image); err != nil {
		return image, 0, err
	}
	if m.early != "" {
		return m.early, 0, nil
	}
	if m.how == tornWrite {
		torn, err = tear(before, image, m.random)
	}
	return image, torn, err
}

// contents lists what a store holds: the ids in order of arrival by job, and whether parents always came first.
func contents(ctx context.Context, s store.Store) (byJob map[string][]record.ID, all map[record.ID]bool, err error) {
	heads, err := s.Jobs(ctx)
	if err != nil {
		return nil, nil, err
	}
	byJob, all = map[string][]record.ID{}, map[record.ID]bool{}
	const page = 500
	for _, h := range heads {
		for n := uint64(0); n < h.N; {
			run, err := s.Since(ctx, h.Job, n, page)
			if err != nil {
				return nil, nil, err
			}
			for _, st := range run {
				id := record.ID(st.ID)
				e, err := record.Decode(st.Bytes)
				if err != nil {
					return nil, nil, fmt.Errorf("arrival %d of job %q: %w", st.N, h.Job, err)
				}
				for _, p := range e.Parents {
					if !all[p] {
						return nil, nil, fmt.Errorf("arrival %d of job %q, entry %s, stands before its parent %s", st.N, h.Job, id.Short(), p.Short())
					}
				}
				if all[id] {
					return nil, nil, fmt.Errorf("entry %s has two arrivals, one of them %d of job %q", id.Short(), st.N, h.Job)
				}
				byJob[h.Job], all[id] = append(byJob[h.Job], id), true
				n = st.N
			}
		}
	}
	return byJob, all, nil
}

func (h *house) newFolder() string {
	h.folders++
	return filepath.Join(h.root, fmt.Sprintf("store-%d", h.folders))
}
