package record_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

var noOverlay = hold.Overlay{}

// seats is a shaft with two journals, J2's run-out referred to J1.
func seats(t *testing.T) *Tablet {
	t.Helper()
	a := NewBench(t, "job-1").Tablet("a")
	a.Part(P1, "shaft", spindle.Shaft)
	a.Part(P1, "sleeve", spindle.Sleeve)
	j2 := Seat("J2", "shaft", spindle.Outside, 70, "k4")
	j2.Characteristics = append(j2.Characteristics, spindle.Characteristic{Name: spindle.CircularRunOut, Max: Ptr(Um(5)), Datum: []string{"J1", "S1"}})
	a.Specify(P3, Seat("J1", "shaft", spindle.Outside, 70, "k4"))
	a.Specify(P3, j2)
	a.Specify(P3, Seat("S1", "sleeve", spindle.Outside, 50, "k4"))
	return a
}

func TestPartIsAwayUntilEveryFeatureIsBack(t *testing.T) {
	a := seats(t)
	away := func(when string, want bool) {
		t.Helper()
		if got := a.Look().Part("shaft").Away != nil; got != want {
			t.Errorf("%s: away %v, want %v", when, got, want)
		}
	}
	a.Rework(P1, "shaft", "sent", "J1")
	away("J1 sent", true)
	a.Rework(P1, "shaft", record.ReworkDone, "J2")
	away("J2 done, which says nothing of J1", true)
	a.Rework(P1, "shaft", record.ReworkDone, "J1")
	away("J1 done", false)
	both := a.Rework(P1, "shaft", "asked", "J1", "J2")
	a.Rework(P1, "shaft", record.ReworkDone, "J1")
	away("one of two done", true)
	a.Strike(P1, both, "slip")
	away("struck", false)
}

// TestPlacementSpeaksOfTheReworkItNames: after the first grind and before the second, said in either order.
func TestPlacementSpeaksOfTheReworkItNames(t *testing.T) {
	for _, firstSaid := range []string{record.HowPlaceAfter, record.HowPlaceBefore} {
		a := seats(t)
		c := a.Clone()
		c.Name = "c"
		first := a.Rework(P1, "shaft", record.ReworkDone, "J1")
		second := a.Rework(P1, "shaft", record.ReworkDone, "J1")
		r := c.Read(P1, c.SetUp(P1, Comparator("g1", 0.5, 70)), "J1", "1", 0, 5)
		Meet(a, c)
		say := map[string]record.ID{record.HowPlaceAfter: first, record.HowPlaceBefore: second}
		a.Settle(P1, firstSaid, r, say[firstSaid])
		if got := a.Look().Reading(r); got.Status == record.ReadingCounts {
			t.Errorf("%q of one of two reworks: the reading counts", firstSaid)
		}
		for how, rework := range say {
			if how != firstSaid {
				a.Settle(P1, how, r, rework)
			}
		}
		if got := a.Look().Reading(r); got.Status != record.ReadingEarlierRound {
			t.Errorf("%q first: the reading %s (%s), want an earlier round", firstSaid, got.Status, got.Why)
		}
	}
}

func TestSettlementOfNothingIsRefused(t *testing.T) {
	for _, how := range []string{record.HowOneRework, record.HowBothInOrder} {
		b := &record.Settle{Names: []string{"shaft"}, How: how, Text: "looked into it"}
		if err := b.Check(); !errors.Is(err, record.ErrMalformed) {
			t.Errorf("%q about no rework: %v, want it refused", how, err)
		}
	}
}

func TestDamageOnAnUnknownPartSaysSo(t *testing.T) {
	a := seats(t)
	id := a.Damage(P1, "J9")
	if why := a.Look().State.Item(id).Without; !strings.Contains(why, "J9") {
		t.Errorf("damage on a feature that nobody specified is without effect because of %q, want words that name it", why)
	}
	a.Specify(P3, Seat("J9", "shaft", spindle.Outside, 70, "k4"))
	if n := len(a.Look().Part("shaft").Findings); n != 1 {
		t.Errorf("once J9 is specified the shaft has %d findings, want 1", n)
	}
}

func TestOnlyTheServerWritesAsTheServer(t *testing.T) {
	a := seats(t)
	id := a.Write(Person{ID: "p1", Role: spindle.Machine}, &record.Objection{Names: []string{"shaft"}, Reason: "none", From: "server"})
	if v := a.Look(); v.State.Item(id).Without == "" || len(v.Part("shaft").Objections) > 0 {
		t.Error("a person objects as the server, with effect")
	}
}

func TestWithdrawingOneConcessionLeavesTheOther(t *testing.T) {
	a := seats(t)
	c := a.Clone()
	c.Name = "c"
	one := a.Concede(Quality, "shaft", "J1", Ptr(Um(0)), nil)
	c.Concede(Quality, "shaft", "J1", Ptr(Um(1)), nil)
	Meet(a, c)
	a.Write(Quality, &record.Concession{Component: "shaft", Feature: "J1", Characteristic: spindle.Size, Authority: record.AuthorityShop, Person: "q1", Reference: "note 3", Withdraws: one})
	var apply []bool
	for _, k := range a.Look().State.Feature("J1").Concessions {
		if k.Body.(*record.Concession).Withdraws.IsZero() {
			apply = append(apply, k.Applies == (k.ID != one))
		}
	}
	if !slices.Equal(apply, []bool{true, true}) {
		t.Errorf("applies as it should: %v; want the withdrawn one gone and the other standing", apply)
	}
	// One that names another part changes nothing.
	a.Concede(Quality, "sleeve", "J1", Ptr(Um(2)), nil)
	if k := a.Look().State.Feature("J1").Concessions; !slices.ContainsFunc(k, func(k *record.ConcessionState) bool { return k.Applies }) {
		t.Error("a concession for another part took the place of the one that stands")
	}
}

// TestReworkOfADatumBearsOnWhatRefersToIt, on another component too.
func TestReworkOfADatumBearsOnWhatRefersToIt(t *testing.T) {
	bears := func(a *Tablet, id record.ID) bool {
		return slices.ContainsFunc(a.Look().Part("shaft").Evidence, func(e record.Evidence) bool { return e.ID == id })
	}
	a := seats(t)
	w := a.Rework(P1, "sleeve", record.ReworkDone, "S1")
	if !bears(a, w) {
		t.Error("the grind of S1, datum of J2, does not bear on the shaft")
	}
	strike := a.Strike(P1, w, "slip")
	if !bears(a, strike) {
		t.Error("the strike of that grind does not bear on the shaft")
	}
}

func TestRemovalTakesOutOnlyWhatItSaw(t *testing.T) {
	for remover := range 2 {
		a := seats(t)
		c := a.Clone()
		c.Name = "c"
		a.Fit(P5, "shaft")
		c.Fit(P5, "shaft")
		[]*Tablet{a, c}[remover].Write(P5, &record.Step{What: record.StepRemoved, Component: "shaft"})
		Meet(a, c)
		if a.Look().Part("shaft").Fitted == nil {
			t.Errorf("a removal on tablet %d took out what the other tablet fitted", remover)
		}
		a.Write(P5, &record.Step{What: record.StepRemoved, Component: "shaft"})
		if a.Look().Part("shaft").Fitted != nil {
			t.Error("a removal that saw every fitting leaves it fitted")
		}
	}
}

// TestFeatureMovedAwayStillBears: taking a feature off a part changes what its decision rested on.
func TestFeatureMovedAwayStillBears(t *testing.T) {
	a := seats(t)
	moved := a.Specify(P3, Seat("J1", "sleeve", spindle.Outside, 70, "k4"))
	if !slices.ContainsFunc(a.Look().Part("shaft").Evidence, func(e record.Evidence) bool { return e.ID == moved }) {
		t.Error("the specification that took J1 off the shaft does not bear on the shaft")
	}
}

func TestKeysThatDifferInCaseAreNotANewerVersion(t *testing.T) {
	b := NewBench(t, "job-1")
	b.Tablet("a").Write(P1, &record.Gather{})
	good := string(b.Entries[0].Bytes)
	newer := strings.Replace(good, `"v":1`, `"v":2,"x":0`, 1)
	for _, text := range []string{
		strings.Replace(good, `"v":1`, `"v":1,"V":9`, 1),
		strings.Replace(good, `"v":1`, `"V":9`, 1),
		strings.Replace(newer, `"parents":[]`, `"parents":[""]`, 1),
	} {
		if _, err := record.Decode([]byte(text)); !errors.Is(err, record.ErrMalformed) {
			t.Errorf("%s: %v, want malformed", text, err)
		}
	}
	if e, err := record.Decode([]byte(newer)); err != nil || e.Unread == "" || e.V != 2 {
		t.Errorf("a newer version: %v", err)
	}
}

func TestTextIsWrittenInNFC(t *testing.T) {
	a := NewBench(t, "job-1").Tablet("a")
	a.Write(P1, &record.Fact{Subject: "job", Field: "customer", Value: "Mu\u0308hle"})
	if got := a.Look().State.Fact("job", "customer"); !slices.Equal(got, []string{"Mühle"}) {
		t.Errorf("customer %q", got)
	}
}

func TestReadBodyRefusesWhatFollows(t *testing.T) {
	for _, text := range []string{`{"subject":"job","field":"x","value":""}{}`, `{"subject":"job","field":"x","value":""}x`} {
		if _, err := record.ReadBody("fact", []byte(text)); !errors.Is(err, record.ErrMalformed) {
			t.Errorf("%s: %v, want malformed", text, err)
		}
	}
	if _, err := record.ReadBody("fact", []byte(`{"subject":"job","field":"x"}`+"\n")); err != nil {
		t.Error(err)
	}
}
