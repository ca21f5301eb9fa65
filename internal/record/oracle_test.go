package record_test

import (
	"fmt"
	"slices"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
)

// firstSeed is where the generated histories begin; every failure names its own.
const firstSeed = 2_026_11_25

// TestFastFoldAgreesWithSlowFold compares effect, strikes, rounds, specifications, parts, standing decisions and clearances over generated histories.
func TestFastFoldAgreesWithSlowFold(t *testing.T) {
	histories, size := 300, 90
	if testing.Short() {
		histories = 40
	}
	entries, cleared, struck, unplaced := 0, 0, 0, 0
	for n := range histories {
		seed := uint64(firstSeed + n)
		h := Generate(t, seed, size, Options{})
		entries += len(h.Entries)
		job := h.Union()
		slow := Slow(h.Entries)
		if diff := compare(ViewOf(job, hold.Overlay{}), slow); diff != "" {
			t.Fatalf("seed %d, %d entries: %s", seed, len(h.Entries), diff)
		}
		// Each tablet knows only a part, perhaps with holes.
		for n, tab := range h.Tablets {
			waiting, _ := tab.Job.Waiting()
			var part []*record.Entry
			for _, e := range h.Entries {
				if tab.Job.Has(e.ID) || slices.Contains(waiting, e.ID) {
					part = append(part, e)
				}
			}
			if diff := compare(tab.Look(), Slow(part)); diff != "" {
				t.Fatalf("seed %d, tablet %d: %s", seed, n, diff)
			}
		}
		for _, c := range slow.Cleared {
			if c {
				cleared++
			}
		}
		for _, s := range slow.Struck {
			if s {
				struck++
			}
		}
		for _, s := range slow.Status {
			if s == record.ReadingUnplaced {
				unplaced++
			}
		}
	}
	t.Logf("seeds %d…%d: %d histories, %d entries, %d parts cleared at the end, %d entries struck, %d readings unplaced", firstSeed, firstSeed+histories-1, histories, entries, cleared, struck, unplaced)
	if cleared == 0 || struck == 0 || unplaced == 0 {
		t.Error("the histories are too tame to prove anything")
	}
}

// compare says where the two folds differ, "" where they do not.
func compare(v *View, slow *Answer) string {
	s := v.State
	if len(s.Items) != len(slow.Effect) {
		return fmt.Sprintf("%d entries, slow %d", len(s.Items), len(slow.Effect))
	}
	for _, i := range s.Items {
		if got, want := i.Without == "", slow.Effect[i.ID]; got != want {
			return fmt.Sprintf("effect of %s %s by %s (%s): %v (%s), slow %v", i.Kind, i.ID.Short(), i.By, i.As, got, i.Without, want)
		}
		if got, want := i.Struck(), slow.Struck[i.ID]; got != want {
			return fmt.Sprintf("struck %s %s: %v, slow %v", i.Kind, i.ID.Short(), got, want)
		}
	}
	readings := 0
	for name, want := range slow.Component {
		c := s.Component(name)
		if c == nil || c.ID != want {
			return fmt.Sprintf("part %s goes as %v, slow %s", name, c, want)
		}
	}
	for _, c := range v.Judged.Components {
		for _, f := range c.Features {
			var specs []record.ID
			for _, i := range f.Specs {
				specs = append(specs, i.ID)
			}
			slices.SortFunc(specs, record.ID.Compare)
			if !slices.Equal(specs, slow.Specs[f.Name]) {
				return fmt.Sprintf("specifications of %s: %v, slow %v", f.Name, specs, slow.Specs[f.Name])
			}
			for _, r := range f.Readings {
				readings++
				if r.Status != slow.Status[r.ID] {
					return fmt.Sprintf("reading %s of %s %s: %s (%s), slow %s", r.ID.Short(), r.Feature, r.Characteristic, r.Status, r.Why, slow.Status[r.ID])
				}
			}
		}
		var stands []record.ID
		for _, d := range c.Decisions {
			if d.Stands && d.Body.(*record.Decision).Clears() {
				stands = append(stands, d.ID)
			}
		}
		slices.SortFunc(stands, record.ID.Compare)
		if !slices.Equal(stands, slow.Stands[c.ID]) {
			return fmt.Sprintf("standing decisions on %s: %v, slow %v\n%s", c.ID, stands, slow.Stands[c.ID], v.Words(c.ID))
		}
		if c.Cleared() != slow.Cleared[c.ID] {
			return fmt.Sprintf("%s cleared: %v, slow %v\n%s", c.ID, c.Cleared(), slow.Cleared[c.ID], v.Words(c.ID))
		}
	}
	if len(v.Judged.Components) != len(slow.Cleared) || readings != len(slow.Status) {
		return fmt.Sprintf("%d parts and %d readings, slow %d and %d", len(v.Judged.Components), readings, len(slow.Cleared), len(slow.Status))
	}
	return ""
}
