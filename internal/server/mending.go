package server

import (
	"context"
	"strconv"
	"strings"
	"sync"

	"runtrue/internal/store"
)

// restoreLasts is how long after the last device noticed that the server went back in time entries are taken back in other people's names without an objection: long enough for the tablet that was in a drawer.
const restoreLasts = 30 * 24 * 3600 * 1000 // ms

const restoreRow = "server/restored/"

// restores knows the jobs of which this server has lost arrivals, proved by a sealed cursor that it cannot continue.
type restores struct {
	mu    sync.Mutex
	byJob map[string]int64 // when it was noticed last, ms
}

func loadRestores(ctx context.Context, s store.Store) (*restores, error) {
	rows, err := s.ListMeta(ctx, restoreRow)
	if err != nil {
		return nil, err
	}
	rs := &restores{byJob: map[string]int64{}}
	for _, r := range rows {
		ms, err := strconv.ParseInt(string(r.Value), 10, 64)
		if err != nil {
			return nil, err
		}
		rs.byJob[strings.TrimPrefix(r.Key, restoreRow)] = ms
	}
	return rs, nil
}

func (rs *restores) active(job string, nowMS int64) bool {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	at, ok := rs.byJob[job]
	return ok && nowMS-at < restoreLasts
}

// any reports whether arrivals of some job were lost.
func (rs *restores) any(nowMS int64) bool {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	for _, at := range rs.byJob {
		if nowMS-at < restoreLasts {
			return true
		}
	}
	return false
}

// note is durable on return.
func (rs *restores) note(ctx context.Context, s store.Store, job string, nowMS int64) error {
	if err := s.PutMeta(ctx, []store.Meta{{Key: restoreRow + job, Value: strconv.AppendInt(nil, nowMS, 10)}}); err != nil {
		return err
	}
	rs.mu.Lock()
	defer rs.mu.Unlock()
	rs.byJob[job] = nowMS
	return nil
}

// damage knows which stored entries were found damaged, and which devices were asked for an intact copy since. It lives in memory: a restart finds the damage again.
type damage struct {
	mu    sync.Mutex
	asked map[store.ID]map[string]bool // by device
}

func newDamage() *damage { return &damage{asked: map[store.ID]map[string]bool{}} }

// ask reports whether a device is to be asked; it is once for each damaged entry, or a device that has no copy either would go in circles.
func (d *damage) ask(id store.ID, device string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.asked[id] == nil {
		d.asked[id] = map[string]bool{}
	}
	if d.asked[id][device] {
		return false
	}
	d.asked[id][device] = true
	return true
}

func (d *damage) known(id store.ID) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.asked[id] != nil
}

func (d *damage) mended(id store.ID) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.asked, id)
}
