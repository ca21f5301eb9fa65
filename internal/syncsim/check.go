package syncsim

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// expect counts the holders as the links heal: by the books, which were kept apart from the databases.
func (w *world) expect(report *Report) {
	w.holders = maps.Clone(w.committed)
	for _, d := range w.devices {
		for id := range d.disk.book {
			w.holders[id] = true
			if d.disk.rows.entries[id] == nil {
				w.must(fmt.Errorf("%s was told that entry %s is saved, and its database has it no more", d.name, id.Short()))
			}
		}
		for id := range d.disk.rows.entries { // saved in the moment of a death: there, and nobody was told
			w.holders[id] = true
		}
	}
	for _, id := range sortedIDs(w.saved) {
		if !w.holders[id] {
			report.Lost++
			if w.tidied[id] {
				report.Problems = append(report.Problems, fmt.Sprintf("entry %s was tidied away as safe, and nobody has it", id.Short()))
			}
			if w.told[id] {
				report.Shown++
				if !w.forgotten[id] {
					report.Problems = append(report.Problems, fmt.Sprintf("entry %s was shown as on the server, nobody has it, and no backup was to blame", id.Short()))
				}
			}
		}
	}
}

// pass lets every device send and fetch once. quiet: nothing moved.
func (w *world) pass() (quiet bool) {
	quiet = true
	round := func(d *device) error {
		p := d.page(func(int64) {}, true)
		still, err := p.round()
		if errors.Is(err, errNotEntered) {
			// A session that was ended, since a clone had used the same tokens: somebody enters a code.
			if err = p.enter(); err == nil {
				still, err = p.round()
			}
		}
		w.mu.Lock()
		defer w.mu.Unlock()
		quiet = quiet && still
		return err
	}
	if w.plan.Together {
		for i, err := range w.atSameTime(w.devices, round) {
			if err != nil {
				w.must(fmt.Errorf("%s, with all links healed, among others: %w", w.devices[i].name, err))
			}
		}
		return quiet
	}
	for _, d := range w.devices {
		if err := round(d); err != nil {
			w.must(fmt.Errorf("%s, with all links healed: %w", d.name, err))
		}
	}
	return quiet
}

// errDied: the device died in one of its transactions.
var errDied = errors.New("the device died")

// atSameTime lets devices do something in goroutines of their own, and returns the error of each.
func (w *world) atSameTime(devices []*device, do func(d *device) error) []error {
	w.atOnce(true)
	defer w.atOnce(false)
	faults, ends := make([]error, len(devices)), make([]*broken, len(devices))
	var running sync.WaitGroup
	for i, d := range devices {
		running.Go(func() {
			defer func() {
				switch p := recover().(type) {
				case nil:
				case broken:
					ends[i] = &p
				case crashed:
					faults[i] = errDied
				default:
					panic(p)
				}
			}()
			faults[i] = do(d)
		})
	}
	running.Wait()
	for _, end := range ends {
		if end != nil {
			panic(*end)
		}
	}
	return faults
}

// check compares everything.
func (w *world) check(report *Report) {
	bad := func(format string, args ...any) {
		report.Problems = append(report.Problems, fmt.Sprintf(format, args...))
	}
	_, faults, err := store.Check(w.ctx, w.house.store)
	w.must(err)
	for _, f := range faults {
		bad("the store: %v", f)
	}
	byJob, all, err := contents(w.ctx, w.house.store)
	w.must(err)
	report.Entries, report.Jobs = len(all), len(byJob)
	for _, id := range sortedIDs(w.holders) {
		if !all[id] {
			bad("entry %s had a holder when the links healed, and the server does not have it (shown as on the server: %v)", id.Short(), w.told[id])
		}
	}
	for _, id := range sortedIDs(all) {
		if !w.written[id] && !w.machine[id] {
			bad("entry %s is on the server, and nobody wrote it: %s", id.Short(), w.entries[id].Bytes)
		}
	}
	if len(w.holders) < 10 || len(w.saved) < 10 {
		bad("only %d entries were held and %d saved: the run shows nothing", len(w.holders), len(w.saved))
	}
	sheets := map[string][]byte{}
	for _, job := range sortedKeys(byJob) {
		sheets[job] = w.view(job, byJob[job], bad)
		w.trace("%s: %d entries, sheet %x", job, len(byJob[job]), sha256.Sum256(sheets[job]))
	}
	for _, d := range w.devices {
		w.checkDevice(d, byJob, sheets, bad)
	}
	w.checkObjections(all, bad)
}

func sortedIDs(set map[record.ID]bool) []record.ID {
	return slices.SortedFunc(maps.Keys(set), record.ID.Compare)
}

// view folds a job from the bytes of its entries, in the order given.
func (w *world) view(job string, ids []record.ID, bad func(string, ...any)) []byte {
	j := record.NewJob(job)
	for _, id := range ids {
		if _, err := j.Add(w.entries[id]); err != nil {
			bad("job %s: %v", job, err)
		}
	}
	if waits, missing := j.Waiting(); len(waits) > 0 {
		bad("job %s is not closed: %d entries wait for %d that are not there", job, len(waits), len(missing))
	}
	if job == record.ShopJob {
		b, err := json.Marshal(record.FoldShop(j))
		w.must(err)
		return b
	}
	return sheet.Build(j, hold.Overlay{}).JSON()
}

func (w *world) checkDevice(d *device, byJob map[string][]record.ID, sheets map[string][]byte, bad func(string, ...any)) {
	r := d.disk.rows
	for id, words := range r.refused {
		bad("%s: entry %s was refused: %s", d.name, id.Short(), words)
	}
	if n := len(r.outbox); n > 0 {
		bad("%s: %d entries still wait for the server", d.name, n)
	}
	if got, want := r.jobs(), sortedKeys(byJob); !slices.Equal(got, want) {
		bad("%s holds the jobs %v, the server %v", d.name, got, want)
		return
	}
	for _, job := range sortedKeys(byJob) {
		ids := r.ids(job)
		if slices.Equal(sortedIDs(setOf(ids)), sortedIDs(setOf(byJob[job]))) {
			if got := w.view(job, ids, bad); !bytes.Equal(got, sheets[job]) {
				bad("%s shows other bytes of %s than the server's set gives", d.name, job)
			}
		} else {
			bad("%s holds %d entries of %s, the server %d, or others", d.name, len(ids), job, len(byJob[job]))
		}
		at, ok, err := w.house.store.At(w.ctx, job, r.cursors[job].N)
		w.must(err)
		if c := r.cursors[job]; !ok || c.N != uint64(len(byJob[job])) || len(c.Hash) < 64 || c.Hash[:64] != fmt.Sprintf("%x", at.Hash) {
			bad("%s: its cursor of %s is at %d, which does not continue at the server's head %d", d.name, job, c.N, len(byJob[job]))
		}
	}
}

func setOf(ids []record.ID) map[record.ID]bool {
	set := map[record.ID]bool{}
	for _, id := range ids {
		set[id] = true
	}
	return set
}

// checkObjections looks for those that the server owes, and for any that it made twice though its memory was never put back.
func (w *world) checkObjections(all map[record.ID]bool, bad func(string, ...any)) {
	against := map[record.ID]int{}
	times := map[string]int{}
	for _, id := range sortedIDs(all) {
		e := w.entries[id]
		o, ok := e.Body.(*record.Objection)
		if !ok || e.As != spindle.Machine {
			continue
		}
		for _, target := range o.Targets {
			against[target]++
			if key := target.String() + o.Reason; true {
				if times[key]++; times[key] == 2 {
					w.count("objections made again after the server was put back", 1)
					if !w.restored {
						bad("the server objects twice to entry %s: %s", target.Short(), o.Reason)
					}
				}
			}
		}
	}
	for _, id := range sortedIDs(setOf(slices.Collect(maps.Keys(w.owed)))) {
		if all[id] && against[id] == 0 {
			bad("entry %s stands without the server's objection, though %s", id.Short(), w.owed[id])
		}
	}
	w.count("entries under an objection by the server", len(against))
}
