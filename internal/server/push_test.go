package server

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

var grantless record.ID

func jsonDecode(r io.Reader, v any) error { return json.NewDecoder(r).Decode(v) }

func takenIDs(a pushAnswer) []string {
	out := []string{}
	for _, t := range a.Taken {
		out = append(out, t.ID)
	}
	return out
}

func TestPushIsIdempotentAndPullBringsItToOthers(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		a, b := g.device("p1"), g.device("p2")
		var all []*record.Entry
		for i := range 20 {
			all = append(all, a.entry("job-1", spindle.Technician, grantless, fact(fmt.Sprint("firm ", i))))
		}
		first := a.push(all...)
		again := a.push(all...)
		if len(first.Taken) != 20 || len(again.Taken) != 20 || len(first.Refused)+len(first.Waiting) != 0 {
			t.Fatalf("taken %d then %d, want 20 and 20; refused %v waiting %v", len(first.Taken), len(again.Taken), first.Refused, first.Waiting)
		}
		for i := range first.Taken {
			f, r := first.Taken[i], again.Taken[i]
			if f.Repeat || !r.Repeat || f.ID != r.ID || f.N != r.N || f.Hash != r.Hash || f.N != uint64(i+1) {
				t.Errorf("entry %d: first %+v, again %+v", i, f, r)
			}
		}
		if restart := b.pull(); len(restart) != 0 {
			t.Errorf("restarted %v", restart)
		}
		if got, want := texts(b.held["job-1"]), texts(all); !slices.Equal(got, want) {
			t.Errorf("device b holds %d entries, want the same %d bytes for bytes in order", len(got), len(want))
		}
		if c := b.cursor["job-1"]; c.N != 20 || c.Hash != first.Taken[19].Hash {
			t.Errorf("cursor %+v, want n 20 and the hash of the last arrival %s", c, first.Taken[19].Hash)
		}
		var quiet pullAnswer
		g.post(b.token, "/api/v1/pull", map[string]any{"cursors": []cursor{b.cursor["job-1"]}, "limit": 10}, 200, &quiet)
		if len(quiet.Jobs) != 0 || quiet.More {
			t.Errorf("nothing is new, yet: %+v", quiet)
		}
	})
}

// Whatever order a push has, however it is split and repeated: each entry is in the store once, after its parents, and those whose parents are not there wait.
func TestPushOrderProperty(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	run := 0
	rapid.Check(t, func(rt *rapid.T) {
		run++
		job := fmt.Sprint("job-", run)
		var all []*record.Entry
		for i := range rapid.IntRange(1, 25).Draw(rt, "entries") {
			parents := map[record.ID]bool{}
			for range rapid.IntRange(0, min(3, i)).Draw(rt, "parents") {
				parents[all[rapid.IntRange(0, i-1).Draw(rt, "parent")].ID] = true
			}
			var list []record.ID
			for p := range parents {
				list = append(list, p)
			}
			e, err := record.Make(record.Draft{Job: job, Salt: [16]byte{byte(i), byte(run), byte(run >> 8)}, Parents: list, By: "p1", As: spindle.Technician, Device: d.id, Body: fact(fmt.Sprint(i))})
			if err != nil {
				rt.Fatal(err)
			}
			all = append(all, e)
		}
		left := rapid.Permutation(all).Draw(rt, "order")
		here := map[record.ID]bool{}
		for pushes := 0; len(here) < len(all); pushes++ {
			part := left[:rapid.IntRange(1, len(left)).Draw(rt, "part")]
			if pushes > 4 {
				part = all // in the end everything
			}
			twice := append(slices.Clone(part), part[0])
			answer := d.push(twice...)
			if len(answer.Taken)+len(answer.Waiting) != len(twice) || len(answer.Refused) != 0 {
				rt.Fatalf("%d entries: %d taken, %d waiting, %d refused", len(twice), len(answer.Taken), len(answer.Waiting), len(answer.Refused))
			}
			for _, tk := range answer.Taken {
				id, err := record.ParseID(tk.ID)
				if err != nil {
					rt.Fatal(err)
				}
				here[id] = true
			}
			for _, w := range answer.Waiting {
				if twice[w.Index].ID.String() != w.ID || len(w.Missing) == 0 {
					rt.Fatalf("waiting %+v", w)
				}
			}
			left = append(left[1:], left[0])
		}
		stored := g.all(job)
		seen := map[record.ID]bool{}
		for _, e := range stored {
			for _, p := range e.Parents {
				if !seen[p] {
					rt.Fatalf("entry %s stands before its parent %s", e.ID.Short(), p.Short())
				}
			}
			if seen[e.ID] {
				rt.Fatalf("entry %s is there twice", e.ID.Short())
			}
			seen[e.ID] = true
		}
		if len(stored) != len(all) {
			rt.Fatalf("%d entries stored, want %d", len(stored), len(all))
		}
	})
}

func TestOneBadEntryDoesNotStopTheOthers(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		d := g.device("p1")
		good1 := d.entry("job-1", spindle.Technician, grantless, fact("one"))
		good2 := d.entry("job-2", spindle.Technician, grantless, fact("two"))
		child := d.entry("job-1", spindle.Technician, grantless, fact("child of one"))
		orphan := &record.Entry{}
		{
			e, err := record.Make(record.Draft{Job: "job-1", Parents: []record.ID{{7}}, By: "p1", As: spindle.Technician, Device: d.id, Body: fact("orphan")})
			if err != nil {
				t.Fatal(err)
			}
			orphan = e
		}
		otherJobs, err := record.Make(record.Draft{Job: "job-2", Salt: [16]byte{9}, Parents: []record.ID{good1.ID}, By: "p1", As: spindle.Technician, Device: d.id, Body: fact("parent in another job")})
		if err != nil {
			t.Fatal(err)
		}
		altered := strings.Replace(string(good1.Bytes), `"one"`, `"One" `, 1)
		body := map[string]any{"device_saved": 3, "entries": []string{
			string(child.Bytes), "", altered, string(good1.Bytes), string(orphan.Bytes), strings.Repeat("x", record.MaxEntry+1), string(otherJobs.Bytes),
			strings.Replace(string(good2.Bytes), `"job":"job-2"`, `"job":"../../etc"`, 1), string(good2.Bytes), strings.Replace(string(good1.Bytes), `"kind"`, `"Kind"`, 1),
		}}
		var a pushAnswer
		g.post(d.token, "/api/v1/push", body, 200, &a)
		refusedAt := map[int]string{}
		for _, r := range a.Refused {
			refusedAt[r.Index] = r.Code
			if r.Message == "" {
				t.Errorf("refused %d without a reason", r.Index)
			}
		}
		want := map[int]string{1: codeMalformed, 2: codeMalformed, 5: codeTooLarge, 7: codeMalformed, 9: codeMalformed}
		if fmt.Sprint(refusedAt) != fmt.Sprint(want) {
			t.Errorf("refused %v, want %v", refusedAt, want)
		}
		got := takenIDs(a)
		slices.Sort(got)
		wantIDs := []string{good1.ID.String(), good2.ID.String(), child.ID.String()}
		slices.Sort(wantIDs)
		if !slices.Equal(got, wantIDs) {
			t.Errorf("taken %v, want %v", got, wantIDs)
		}
		if len(a.Waiting) != 2 || a.Waiting[0].Index != 4 || a.Waiting[0].Missing[0] != (record.ID{7}).String() || a.Waiting[1].Index != 6 || a.Waiting[1].Missing[0] != good1.ID.String() {
			t.Errorf("waiting %+v, want index 4 for %s and 6 for %s", a.Waiting, record.ID{7}, good1.ID)
		}
		if n := len(g.all("job-1")); n != 2 {
			t.Errorf("job-1 has %d entries, want 2", n)
		}
	})
}

// An entry whose bytes were altered on the way is another entry: what was really written can still come, and then stands beside it.
func TestAlteredByteIsAnotherEntry(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	e := d.entry("job-1", spindle.Technician, grantless, fact("4711"))
	child := d.entry("job-1", spindle.Technician, grantless, fact("child"))
	var a pushAnswer
	g.post(d.token, "/api/v1/push", map[string]any{"device_saved": 2, "entries": []string{strings.Replace(string(e.Bytes), "4711", "4712", 1), string(child.Bytes)}}, 200, &a)
	if len(a.Taken) != 1 || a.Taken[0].ID == e.ID.String() || len(a.Waiting) != 1 || a.Waiting[0].Missing[0] != e.ID.String() {
		t.Fatalf("answer %+v; want the altered one under its own id and the child waiting for the true parent", a)
	}
	if a := d.push(e, child); len(a.Taken) != 2 {
		t.Errorf("the true ones: %+v", a)
	}
}

// What cannot be read but has readable children is kept as a stub, so that the children are not lost.
func TestUnreadableParentIsWithheld(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		d := g.device("p1")
		broken := `{"v":1,"job":"job-1","nonsense":true}`
		e, err := record.Make(record.Draft{Job: "job-1", Parents: []record.ID{record.Sum([]byte(broken))}, By: "p1", As: spindle.Technician, Device: d.id, Body: fact("built on it")})
		if err != nil {
			t.Fatal(err)
		}
		var a pushAnswer
		g.post(d.token, "/api/v1/push", map[string]any{"device_saved": 2, "entries": []string{string(e.Bytes), broken}}, 200, &a)
		if len(a.Refused) != 1 || a.Refused[0].Index != 1 || len(a.Taken) != 1 || a.Taken[0].N != 2 {
			t.Fatalf("answer %+v; want the broken one refused and its child taken as arrival 2", a)
		}
		got, err := g.store.Get(ctx, []store.ID{store.ID(record.Sum([]byte(broken)))})
		if err != nil || got[0].N != 1 || !got[0].Withheld || got[0].Bytes != nil {
			t.Errorf("stub %+v, error %v", got[0], err)
		}
		other := g.device("p2")
		other.pull()
		if len(other.held["job-1"]) != 1 || other.cursor["job-1"].N != 2 {
			t.Errorf("another device got %d entries and stands at %d; want the child at 2", len(other.held["job-1"]), other.cursor["job-1"].N)
		}
	})
}

func TestArrivalsKeepWhoSentThem(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		d := g.device("p1")
		d.push(d.entry("job-1", spindle.Technician, grantless, fact("x")))
		run, err := g.store.Since(ctx, "job-1", 0, 10)
		if err != nil || len(run) != 1 {
			t.Fatal(run, err)
		}
		if a := run[0]; a.Person != "p1" || a.Device != d.id || a.Session == "" || a.ReceivedMS != startMS {
			t.Errorf("arrival %+v; want person p1 on %s under a session at %d", a.Arrival, d.id, startMS)
		}
	})
}

// Many devices that hold the same entries push them at once.
func TestSamePushFromManyAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		author := g.device("p1")
		var all []*record.Entry
		for i := range 30 {
			all = append(all, author.entry(fmt.Sprint("job-", i%3), spindle.Technician, grantless, fact(fmt.Sprint(i))))
		}
		var wg sync.WaitGroup
		for range 8 {
			d := g.device("p1")
			wg.Add(1)
			go func() {
				defer wg.Done()
				if a := d.push(all...); len(a.Taken) != 30 {
					t.Errorf("taken %d, want 30", len(a.Taken))
				}
			}()
		}
		wg.Wait()
		for i := range 3 {
			if n := len(g.all(fmt.Sprint("job-", i))); n != 10 {
				t.Errorf("job-%d has %d entries, want 10", i, n)
			}
		}
	})
}

func TestIndexIsGivenUpAndBuiltAgain(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	for i := range 5 {
		d.push(d.entry(fmt.Sprint("job-", i), spindle.Technician, grantless, fact("x")))
	}
	g.srv.jobs.trim(2)
	loaded := 0
	for i := range 5 {
		if g.srv.jobs.get(fmt.Sprint("job-", i)).isLoaded() {
			loaded++
		}
	}
	if loaded != 2 || g.srv.jobs.get("job-0").isLoaded() {
		t.Errorf("%d jobs kept, want the 2 used last", loaded)
	}
	child := d.entry("job-0", spindle.Technician, grantless, fact("later"))
	if a := d.push(child); len(a.Taken) != 1 || a.Taken[0].N != 2 {
		t.Errorf("after that: %+v", a)
	}
}
