package server

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/memstore"
)

// restoreEngines put a backup into a new store with the same server id.
var restoreEngines = map[string]func(t testing.TB, backup []byte) store.Store{
	"memory": func(t testing.TB, backup []byte) store.Store {
		var out store.Store
		_, err := store.Restore(ctx, bytes.NewReader(backup), func(id string) (store.Store, error) { out = memstore.New(id); return out, nil })
		if err != nil {
			t.Fatal(err)
		}
		return out
	},
	"badger": func(t testing.TB, backup []byte) store.Store {
		dir := t.TempDir() + "/restored"
		if _, err := badgerstore.Restore(context.Background(), dir, bytes.NewReader(backup), badgerstore.Options{Reserve: 1 << 20}); err != nil {
			t.Fatal(err)
		}
		s, err := badgerstore.Open(dir, badgerstore.Options{Reserve: 1 << 20})
		if err != nil {
			t.Fatal(err)
		}
		return s
	},
}

// Backup at 100, entries up to 120; A holds 1–115, B all but 101 and 102. Restored, twice, the server takes back what it lost: 120 entries and not one more.
func TestServerRestoredFromAnOldBackup(t *testing.T) {
	for name, restore := range restoreEngines {
		t.Run(name, func(t *testing.T) {
			c := &clock{ms: startMS}
			g := newRig(t, engines[name](t), c)
			a, b := g.device("p1"), g.device("p2")
			var chain []*record.Entry
			add := func(d, other *device) {
				e := d.entry("job-1", spindle.Technician, grantless, fact(fmt.Sprint("entry ", len(chain)+1)))
				other.held["job-1"] = append(other.held["job-1"], e)
				d.push(e)
				chain = append(chain, e)
			}
			for range 50 {
				add(a, b)
				add(b, a)
			}
			var backup bytes.Buffer
			heads, err := store.Backup(ctx, g.store, &backup)
			if err != nil {
				t.Fatal(err)
			}
			if err := MarkBackedUp(ctx, g.store, heads); err != nil {
				t.Fatal(err)
			}
			for range 10 {
				add(a, b)
				add(b, a)
			}
			a.pull()
			b.pull()
			var told pullAnswer
			g.post(a.token, "/api/v1/pull", map[string]any{"cursors": []cursor{}, "limit": 1}, 200, &told)
			if told.Jobs[0].BackedUp != 100 || told.Jobs[0].HeadN != 120 {
				t.Errorf("backed up through %d of %d, want 100 of 120", told.Jobs[0].BackedUp, told.Jobs[0].HeadN)
			}
			g.stop()
			// Entries 101 and 102 have children, so B cannot lack them and hold those: B holds a branch of its own instead. A lacks 116–120.
			a.held["job-1"] = slices.Clone(chain[:115])
			wantSet := idSet(chain)

			for round := range 2 {
				r := newRig(t, restore(t, backup.Bytes()), c)
				a.g, b.g = r, r
				if restart := a.pull(); !slices.Equal(restart, []string{"job-1"}) {
					t.Fatalf("restore %d: restarted %v, want job-1", round+1, restart)
				}
				if got := a.offer("job-1"); len(got.Taken) != 15 {
					t.Errorf("restore %d: A gave back %d, want 15", round+1, len(got.Taken))
				}
				if restart := b.pull(); !slices.Equal(restart, []string{"job-1"}) {
					t.Errorf("restore %d: B restarted %v, want job-1", round+1, restart)
				}
				if got := b.offer("job-1"); len(got.Taken) != 5 {
					t.Errorf("restore %d: B gave back %d, want 5", round+1, len(got.Taken))
				}
				if got := idSet(r.all("job-1")); !slices.Equal(got, wantSet) {
					t.Errorf("restore %d: %d entries, want the %d that there were: %v", round+1, len(got), len(wantSet), r.objections("job-1"))
				}
				// A comes back to where B is, and nothing more is asked of anybody.
				a.pull()
				if restart := append(a.pull(), b.pull()...); len(restart) != 0 || !slices.Equal(idSet(a.held["job-1"]), wantSet) {
					t.Errorf("restore %d: afterwards restarted %v; A holds %d entries", round+1, restart, len(a.held["job-1"]))
				}
				r.stop()
				a.held["job-1"] = slices.Clone(chain[:115])
				a.cursor["job-1"], b.cursor["job-1"] = sealedAt(g, chain, 115), sealedAt(g, chain, 120)
			}
		})
	}
}

// sealedAt is the cursor that the first server handed out at n.
func sealedAt(g *rig, chain []*record.Entry, n int) cursor {
	var h [32]byte
	for _, e := range chain[:n] {
		h = store.NextHash(h, store.ID(e.ID))
	}
	return cursor{Job: "job-1", N: uint64(n), Hash: g.srv.cursorHash("job-1", uint64(n), h)}
}

func idSet(entries []*record.Entry) []string {
	var out []string
	for _, e := range entries {
		out = append(out, e.ID.String())
	}
	slices.Sort(out)
	return out
}

// A cursor that this server never made is not continued either, but proves nothing: entries in other people's names are objected to as ever.
func TestMadeUpHistoryIsNoExcuse(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	p1 := g.device("p1")
	p1.push(p1.entry("job-1", spindle.Technician, grantless, fact("x")))
	for _, hash := range []string{strings.Repeat("ab", 32), strings.Repeat("ab", 48)} {
		p1.cursor["job-1"] = cursor{Job: "job-1", N: 40, Hash: hash}
		if restart := p1.pull(); len(restart) != 1 {
			t.Errorf("restarted %v, want job-1", restart)
		}
	}
	p1.push(p1.entryBy("p2", "tablet-of-p2", "job-1", spindle.Technician, grantless, fact("forged")))
	wantReasons(t, g.objections("job-1"), map[string]int{"sent under another name: written as p2, sent by p1": 1})
}

// The server's own entries are handed back too, and are known again.
func TestOwnObjectionsComeBack(t *testing.T) {
	c := &clock{ms: startMS}
	g := newRig(t, engines["memory"](t), c)
	p1 := g.device("p1")
	var backup bytes.Buffer
	if _, err := store.Backup(ctx, g.store, &backup); err != nil {
		t.Fatal(err)
	}
	p1.push(p1.entryBy("p2", p1.id, "job-1", spindle.Technician, grantless, fact("under another name")))
	p1.pull()
	if n := len(p1.held["job-1"]); n != 2 {
		t.Fatalf("the device holds %d entries, want the one and the objection to it", n)
	}
	before := idSet(g.all("job-1"))
	g.stop()
	r := newRig(t, restoreEngines["memory"](t, backup.Bytes()), c)
	p1.g = r
	p1.pull()
	p1.offer("job-1")
	if after := idSet(r.all("job-1")); !slices.Equal(after, before) {
		t.Errorf("%d entries after the restore, want the same %d as before", len(after), len(before))
	}
}

// A decision under a withdrawn role comes back with the objection to it, and is not objected to a second time.
func TestObjectionThatComesBackIsNotMadeAgain(t *testing.T) {
	c := &clock{ms: startMS}
	g := newRig(t, engines["memory"](t), c)
	shop := g.shop()
	g3, g4 := shop.give("p3", spindle.Inspector), shop.give("p4", spindle.Inspector)
	p3, p4 := g.device("p3"), g.device("p4")
	shop.withdraw("p4", spindle.Inspector, g4, false)
	p3.push(p3.entry("job-1", spindle.Inspector, g3, decision("hold")))
	var backup bytes.Buffer
	if _, err := store.Backup(ctx, g.store, &backup); err != nil {
		t.Fatal(err)
	}
	p4.push(p4.entry("job-1", spindle.Inspector, g4, decision("reuse")))
	p3.pull()
	want := map[string]int{"decided by p4, whose role was withdrawn": 1}
	wantReasons(t, g.objections("job-1"), want)
	before := idSet(g.all("job-1"))
	g.stop()
	r := newRig(t, restoreEngines["memory"](t, backup.Bytes()), c)
	p3.g = r
	p3.pull()
	p3.offer("job-1")
	wantReasons(t, r.objections("job-1"), want)
	if after := idSet(r.all("job-1")); !slices.Equal(after, before) {
		t.Errorf("%d entries after the restore, want the same %d as before", len(after), len(before))
	}
}

// The server knew a role to be withdrawn, was put back to before that, and takes a decision in before the withdrawal comes back. The decision is objected to then, once; what came before the withdrawal was made, and after it came
// back, is not touched by that.
func TestWithdrawalThatComesBackAfterTheDecision(t *testing.T) {
	c := &clock{ms: startMS}
	g := newRig(t, engines["memory"](t), c)
	shop := g.shop()
	g3, g4 := shop.give("p3", spindle.Inspector), shop.give("p4", spindle.Inspector)
	p3, p4, p5 := g.device("p3"), g.device("p4"), g.device("p5")
	p4.push(p4.entry("job-1", spindle.Inspector, g4, decision("hold")))
	var backup bytes.Buffer
	if _, err := store.Backup(ctx, g.store, &backup); err != nil {
		t.Fatal(err)
	}
	c.pass(time.Minute)
	shop.withdraw("p4", spindle.Inspector, g4, false)
	shop.admin.pull()
	g.stop()
	c.pass(time.Minute)
	r := newRig(t, restoreEngines["memory"](t, backup.Bytes()), c)
	for _, d := range []*device{shop.admin, p3, p4, p5} {
		d.g = r
		d.renew()
	}
	p4.push(p4.entry("job-1", spindle.Inspector, g4, decision("reuse")))
	p3.push(p3.entry("job-2", spindle.Inspector, g3, decision("reuse")))
	wantReasons(t, r.objections("job-1"), nil)
	c.pass(time.Minute)
	shop.admin.pull()
	shop.admin.offer(record.ShopJob)
	want := map[string]int{"decided by p4, whose role was withdrawn": 1}
	for range 2 { // and not again when the shop's record changes next
		wantReasons(t, r.objections("job-1"), want)
		wantReasons(t, r.objections("job-2"), nil)
		shop.admin.push(shop.admin.entry(record.ShopJob, spindle.Admin, shop.grant, fact("another")))
	}
	c.pass(time.Minute)
	p4.push(p4.entry("job-1", spindle.Inspector, g4, decision("reuse")))
	want["decided by p4, whose role was withdrawn"]++
	wantReasons(t, r.objections("job-1"), want)
}

// decaying hands out one entry as damaged until it is put again.
type decaying struct {
	store.Store
	bad    store.ID
	mended bool
}

func (d *decaying) Since(ctx context.Context, job string, n uint64, limit int) ([]store.Stored, error) {
	run, err := d.Store.Since(ctx, job, n, limit)
	for i, st := range run {
		if st.ID == d.bad && !d.mended {
			return run[:i], &store.EntryError{Kind: store.ErrCorrupt, ID: st.ID, Job: job, N: st.N, Detail: "a bit is off"}
		}
	}
	return run, err
}

func (d *decaying) Put(ctx context.Context, batch []store.Incoming) ([]store.Arrival, error) {
	for _, in := range batch {
		d.mended = d.mended || in.ID == d.bad
	}
	return d.Store.Put(ctx, batch)
}

// A damaged entry stops a pull before it, and is fetched again from a device that has it; one that has not is asked once and then left in peace.
func TestDamagedEntryIsFetchedAgain(t *testing.T) {
	d := &decaying{Store: memstore.New("server-one")}
	g := newRig(t, d, &clock{ms: startMS})
	author, reader := g.device("p1"), g.device("p2")
	var all []*record.Entry
	for i := range 6 {
		all = append(all, author.entry("job-1", spindle.Technician, grantless, fact(fmt.Sprint(i))))
	}
	author.push(all...)
	author.pull()
	d.mended, d.bad = false, store.ID(all[3].ID)
	g.srv.jobs.trim(0)

	if restart := reader.pull(); len(restart) != 1 {
		t.Fatalf("restarted %v, want job-1 once: the reader is asked what it has", restart)
	}
	if n := len(reader.held["job-1"]); n != 3 {
		t.Errorf("the reader got %d entries, want the 3 before the damage", n)
	}
	reader.offer("job-1")
	if n := len(reader.held["job-1"]); n != 3 {
		t.Errorf("the reader got %d entries, want still 3", n)
	}
	g.get(reader.token, "/api/v1/jobs/job-1/list.csv", 500)
	// The author's cursor is at the end, so it would not be asked; somebody who sees the damage in the log has it offer what it holds.
	author.cursor = map[string]cursor{}
	if restart := author.pull(); len(restart) != 1 {
		t.Errorf("restarted %v, want job-1", restart)
	}
	if a := author.offer("job-1"); len(a.Taken) != 1 || a.Taken[0].N != 4 || !a.Taken[0].Repeat {
		t.Errorf("given back %+v, want entry 4 in its old place", a.Taken)
	}
	reader.pull()
	if got := idSet(reader.held["job-1"]); !slices.Equal(got, idSet(all)) {
		t.Errorf("the reader holds %d entries, want all 6", len(got))
	}
	g.get(reader.token, "/api/v1/jobs/job-1/list.csv", 200)
}
