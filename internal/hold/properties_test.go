package hold_test

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

const firstSeed = 8_600_000

// over runs a check on generated histories and says how much that was.
func over(t *testing.T, histories, size int, o Options, check func(t *testing.T, h *History) int) {
	t.Helper()
	if testing.Short() {
		histories = max(10, histories/8)
	}
	entries, met := 0, 0
	for n := range histories {
		seed := uint64(firstSeed + n)
		h := Generate(t, seed, size, o)
		met += check(t, h)
		entries += len(h.Entries)
		if t.Failed() {
			t.Fatalf("seed %d, %d entries", seed, len(h.Entries))
		}
	}
	t.Logf("seeds %d…%d: %d histories, %d entries, %d cases met", firstSeed, firstSeed+histories-1, histories, entries, met)
	if met == 0 {
		t.Error("no history met the case: the check proved nothing")
	}
}

func clearedParts(v *View) []string {
	var out []string
	for _, c := range v.Judged.Components {
		if c.Cleared() {
			out = append(out, c.ID)
		}
	}
	return out
}

// TestClearedRestsOnADecisionThatSawAll: of every cleared part some decision saw each piece of evidence, or the evidence is a reading, set-up or check by somebody who had seen the decision.
func TestClearedRestsOnADecisionThatSawAll(t *testing.T) {
	over(t, 300, 90, Options{}, func(t *testing.T, h *History) int {
		v := ViewOf(h.Union(), hold.Overlay{})
		for _, id := range clearedParts(v) {
			c := v.Part(id)
			covers := func(d *record.Item) bool {
				return d.Body.(*record.Decision).Clears() && !slices.ContainsFunc(c.Evidence, func(e record.Evidence) bool {
					after := v.State.Saw(e.Item, d) && (e.Kind == "reading" || e.Kind == "setup" && e.Body.(*record.Setup).Corrects == "")
					return !v.State.Saw(d, e.Item) && !after
				})
			}
			if !slices.ContainsFunc(c.ComponentState.Decisions, covers) {
				t.Errorf("%s is cleared and no decision covers its evidence", id)
			}
		}
		return len(clearedParts(v))
	})
}

// TestWithoutGrantNothingIsCleared: whatever people without a grant go on to write, no held part becomes cleared.
func TestWithoutGrantNothingIsCleared(t *testing.T) {
	over(t, 200, 70, Options{}, func(t *testing.T, h *History) int {
		tab := h.Alone()
		before := clearedParts(tab.Look())
		h.Mute = func(string) bool { return true }
		n := len(h.Entries)
		for len(h.Entries) < n+15 {
			h.Step()
		}
		for _, id := range clearedParts(tab.Look()) {
			if !slices.Contains(before, id) {
				t.Errorf("%s was held and is cleared after %d entries by people without a grant", id, len(h.Entries)-n)
			}
		}
		return 1
	})
}

// TestReadingThatKnowsNoDecisionHolds: a reading concurrent with every standing decision holds the part, whatever it says.
func TestReadingThatKnowsNoDecisionHolds(t *testing.T) {
	over(t, 400, 80, Options{}, func(t *testing.T, h *History) int {
		tab := h.Alone()
		v := tab.Look()
		met := 0
		for _, id := range clearedParts(v) {
			for _, f := range v.Part(id).Features {
				met++
				far := tab.Clone()
				var reading record.ID
				if spec := f.Spec(); spec.Geometry == spindle.Attribute {
					reading = far.WriteOn(nil, P2, &record.Reading{Reading: spindle.Reading{Feature: f.Name, Characteristic: spindle.AttributeChar, Means: spindle.MeansYesNo, Yes: Ptr(true), Purpose: spindle.ForInspection}})
				} else {
					setup := far.WriteOn(nil, P2, &record.Setup{Setup: Comparator("g9", 0.5, 70)})
					reading = far.WriteOn([]record.ID{setup}, P2, &record.Reading{Reading: spindle.Reading{Setup: setup.String(), Feature: f.Name, Characteristic: spindle.Size, Plane: "1", Means: spindle.MeansFromMaster,
						Value: Ptr(Um(5.5)), Purpose: spindle.ForInspection}})
				}
				after := far.Look()
				if after.State.Item(reading).Without != "" {
					t.Fatalf("the reading has no effect: %s", after.State.Item(reading).Without)
				}
				if after.Part(id).Cleared() {
					t.Errorf("%s is still cleared after a reading of %s that knows of no decision", id, f.Name)
				}
			}
		}
		return met
	})
}

// TestOverlayOnlyHolds: what a device knows beside the record adds reasons and takes none away.
func TestOverlayOnlyHolds(t *testing.T) {
	over(t, 150, 80, Options{}, func(t *testing.T, h *History) int {
		rng := rand.New(rand.NewPCG(h.Seed, 7))
		job := h.Union()
		plain := ViewOf(job, hold.Overlay{})
		for range 4 {
			age := rng.Int64N(20_000_000) - 2_000_000
			o := hold.Overlay{KnowledgeMS: &age, FreshMS: rng.Int64N(3) * 7_200_000}
			if rng.IntN(2) == 0 {
				o.Revoked = []hold.Revocation{{Person: P3.ID, Role: P3.Role}}
			}
			under := ViewOf(job, o)
			for i, c := range under.Judged.Components {
				for _, r := range plain.Judged.Components[i].Held {
					if !slices.ContainsFunc(c.Held, func(x hold.Reason) bool { return x.Code == r.Code && (x.Words == r.Words || x.Code == hold.SetHeld) }) {
						t.Errorf("%s: the overlay took away: %s", c.ID, r.Words)
					}
				}
			}
		}
		return len(clearedParts(plain))
	})
}

// TestNothingClearsByItself: without specifications, or without decisions, or without readings with effect, the same histories clear nothing.
func TestNothingClearsByItself(t *testing.T) {
	for _, kind := range []string{"specification", "decision", "reading"} {
		t.Run("without "+kind, func(t *testing.T) {
			over(t, 80, 80, Options{Mute: func(k string) bool { return k == kind }}, func(t *testing.T, h *History) int {
				if got := clearedParts(ViewOf(h.Union(), hold.Overlay{})); len(got) > 0 {
					t.Errorf("cleared: %v", got)
				}
				return 1
			})
		})
	}
}

// TestEveryHoldCanBeLifted: every reason has words, an act and somebody who may do it; doing the acts reaches cleared.
func TestEveryHoldCanBeLifted(t *testing.T) {
	most := 0
	over(t, 300, 80, Options{}, func(t *testing.T, h *History) int {
		tab := h.Alone()
		for _, c := range tab.Look().Judged.Components {
			for _, r := range c.Held {
				if r.Code == "" || r.Words == "" || r.Act == "" || len(r.Who) == 0 {
					t.Errorf("%s: a reason without code, words, act or person: %+v", c.ID, r)
				}
			}
		}
		acts, fault := Robot(tab, 60)
		if fault != "" {
			t.Errorf("after %d acts: %s", acts, fault)
		}
		most = max(most, acts)
		return acts
	})
	t.Logf("at most %d acts to clear all parts", most)
}

// TestStruckReadingChangesNoNumber, and a reading of one feature none of another's.
func TestStruckReadingChangesNoNumber(t *testing.T) {
	over(t, 200, 70, Options{}, func(t *testing.T, h *History) int {
		rng := rand.New(rand.NewPCG(h.Seed, 11))
		tab := h.Alone()
		v := tab.Look()
		if len(v.State.Setups) == 0 {
			return 0
		}
		before := verdicts(t, v)
		f := Features[rng.IntN(3)]
		setup := v.State.Setups[rng.IntN(len(v.State.Setups))]
		id := tab.Read(P1, setup.First.ID, f, "1", int64(rng.IntN(2))*90_000, float64(rng.IntN(40)-20))
		for name, now := range verdicts(t, tab.Look()) {
			if name != f && before[name] != now {
				t.Errorf("a reading of %s changed the verdict of %s from\n%s\nto\n%s", f, name, before[name], now)
			}
		}
		tab.Strike(P1, id, "slip")
		for name, now := range verdicts(t, tab.Look()) {
			if before[name] != now {
				t.Errorf("a struck reading of %s changed the verdict of %s from\n%s\nto\n%s", f, name, before[name], now)
			}
		}
		return 1
	})
}

// verdicts writes the verdict of every feature.
func verdicts(t *testing.T, v *View) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, c := range v.Judged.Components {
		for _, f := range c.Verdicts {
			b, err := json.Marshal(f)
			if err != nil {
				t.Fatal(err)
			}
			out[f.Feature] = string(b)
		}
	}
	return out
}

// TestConcessionEndsWithItsRound: one that applies was given by somebody who had seen every rework, and the specification.
func TestConcessionEndsWithItsRound(t *testing.T) {
	over(t, 300, 90, Options{}, func(t *testing.T, h *History) int {
		v := ViewOf(h.Union(), hold.Overlay{})
		met := 0
		for _, c := range v.State.Components {
			for _, f := range c.Features {
				for _, k := range f.Concessions {
					if !k.Applies {
						continue
					}
					met++
					for _, x := range append(v.State.ReworksOf(f, spindle.Size), f.Specs...) {
						if !v.State.Saw(k.Item, x) {
							t.Errorf("a concession on %s applies and has not seen the %s %s", f.Name, x.Kind, x.ID.Short())
						}
					}
				}
			}
		}
		return met
	})
}

// TestCorrectionIsRetyping: correcting the master of a set-up gives the numbers that typing all its readings anew would give.
func TestCorrectionIsRetyping(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, firstSeed))
	for range 40 {
		var values []float64
		for range 6 {
			values = append(values, float64(rng.IntN(200))/10-5)
		}
		shift := float64(rng.IntN(80))/10 - 4
		corrected, retyped := tell(t, j1), tell(t, j1)
		setup := corrected.a.SetUp(P1, ring("g1"))
		corrected.a.ReadPlane(P1, setup, "J1", "1", values[:3]...)
		corrected.a.ReadPlane(P1, setup, "J1", "2", values[3:]...)
		corrected.a.Zero(P1, setup, spindle.ZeroAfter, 0.2)
		right := ring("g1")
		right.Master.Certified += Um(shift)
		again := right
		again.Corrects = setup.String()
		corrected.a.SetUp(P1, again)
		setup = retyped.a.SetUp(P1, right)
		retyped.a.ReadPlane(P1, setup, "J1", "1", values[:3]...)
		retyped.a.ReadPlane(P1, setup, "J1", "2", values[3:]...)
		retyped.a.Zero(P1, setup, spindle.ZeroAfter, 0.2)
		one, two := corrected.a.Look().Size("J1"), retyped.a.Look().Size("J1")
		if one.Outcome != two.Outcome || *one.Value != *two.Value || *one.U != *two.U || *one.PC != *two.PC || one.Sentence != two.Sentence {
			t.Errorf("%v µm, master %+.1f µm: corrected %s | retyped %s", values, shift, one.Sentence, two.Sentence)
		}
	}
}

// TestWrongClocksChangeNothing: clocks up to a year off give the same clearances, except that a gauge may look overdue, which holds.
func TestWrongClocksChangeNothing(t *testing.T) {
	met := 0
	for n := range 150 {
		seed := uint64(firstSeed + n)
		rng := rand.New(rand.NewPCG(seed, 21))
		right := ViewOf(Generate(t, seed, 80, Options{}).Union(), hold.Overlay{})
		wrong := ViewOf(Generate(t, seed, 80, Options{Clock: func() int64 { return rng.Int64N(2*366*24*3_600_000) - 366*24*3_600_000 }}).Union(), hold.Overlay{})
		for _, id := range Parts {
			a, b := right.Part(id), wrong.Part(id)
			overdue := slices.ContainsFunc(b.Held, func(r hold.Reason) bool {
				return r.Code == hold.Overdue || strings.Contains(r.Words, "calibration") || r.Code == hold.SetHeld
			})
			if a.Cleared() {
				met++
			}
			if b.Cleared() && !a.Cleared() || a.Cleared() && !b.Cleared() && !overdue {
				t.Errorf("seed %d: %s cleared %v; with wrong clocks %v\nright:\n%swrong:\n%s", seed, id, a.Cleared(), b.Cleared(), right.Words(id), wrong.Words(id))
			}
		}
	}
	if met == 0 {
		t.Error("nothing was cleared")
	}
	t.Logf("%d cleared parts", met)
}
