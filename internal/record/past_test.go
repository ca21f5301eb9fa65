package record_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
)

// TestSawFollowsTheParents holds Saw against a plain walk over the parents, for graphs with forks, joins, clones, gathers, and for two orders of arrival.
func TestSawFollowsTheParents(t *testing.T) {
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 1))
		b := NewBench(t, "job-1")
		tablets := []*Tablet{b.Tablet("a"), b.Tablet("b"), b.Tablet("c")}
		for range 60 {
			x := tablets[rng.IntN(len(tablets))]
			switch rng.IntN(6) {
			case 0:
				Meet(x, tablets[rng.IntN(len(tablets))])
			case 1:
				if len(tablets) < 8 {
					tablets = append(tablets, x.Clone())
				}
			default:
				x.Write(P1, &record.Gather{})
			}
		}
		past := map[record.ID]map[record.ID]bool{}
		for _, e := range b.Entries {
			past[e.ID] = map[record.ID]bool{e.ID: true}
			for _, p := range e.Parents {
				for id := range past[p] {
					past[e.ID][id] = true
				}
			}
		}
		forward, mixed := record.NewJob("job-1"), record.NewJob("job-1")
		if _, err := forward.AddAll(b.Entries); err != nil {
			t.Fatal(err)
		}
		other := slices.Clone(b.Entries)
		rng.Shuffle(len(other), func(i, k int) { other[i], other[k] = other[k], other[i] })
		if _, err := mixed.AddAll(other); err != nil {
			t.Fatal(err)
		}
		for _, e := range b.Entries {
			for _, x := range b.Entries {
				if want := past[e.ID][x.ID]; forward.Saw(e.ID, x.ID) != want || mixed.Saw(e.ID, x.ID) != want {
					t.Fatalf("seed %d: %s saw %s: %v and %v, want %v", seed, e.ID.Short(), x.ID.Short(), forward.Saw(e.ID, x.ID), mixed.Saw(e.ID, x.ID), want)
				}
			}
		}
	}
}

// TestWithheldEntryArrives: a stub lets the children join and holds; the entry itself takes its place, whatever it rests on.
func TestWithheldEntryArrives(t *testing.T) {
	b := NewBench(t, "job-1")
	a := b.Tablet("a")
	for range 5 {
		a.Write(P1, &record.Fact{Subject: "job", Field: "customer", Value: "Nordhollow Gears"})
	}
	want := a.Look().Sheet.JSON()
	j := record.NewJob("job-1")
	withheld := b.Entries[2]
	add := func(e *record.Entry) {
		if _, err := j.Add(e); err != nil {
			t.Fatal(err)
		}
	}
	add(b.Entries[0])
	add(b.Entries[3])
	j.Withhold(withheld.ID)
	add(b.Entries[4])
	if j.Len() != 4 || len(ViewOf(j, noOverlay).State.Unread) != 1 {
		t.Fatalf("%d entries joined, want 4 with the stub", j.Len())
	}
	before := record.Fold(j)
	add(withheld) // its parent is not here yet
	if ids, missing := j.Waiting(); !slices.Contains(ids, withheld.ID) || !slices.Equal(missing, []record.ID{b.Entries[1].ID}) {
		t.Errorf("waiting %v for %v, want it to wait for its parent", ids, missing)
	}
	if !before.Saw(before.Item(b.Entries[4].ID), before.Item(b.Entries[3].ID)) {
		t.Error("a state folded earlier forgot its ancestry")
	}
	add(b.Entries[1])
	if got := ViewOf(j, noOverlay).Sheet.JSON(); string(got) != string(want) {
		t.Errorf("after all arrived the sheet is\n%s\nwant\n%s", got, want)
	}
	grew, err := j.Add(withheld)
	if grew || err != nil {
		t.Errorf("the same entry again: grew %v, %v", grew, err)
	}
	// An entry in quarantine is not given up for a stub.
	j = record.NewJob("job-1")
	add(b.Entries[3])
	j.Withhold(b.Entries[3].ID)
	for _, e := range b.Entries[:3] {
		add(e)
	}
	if j.Get(b.Entries[3].ID).Body == nil {
		t.Error("a quarantined entry was replaced by a stub")
	}
}
