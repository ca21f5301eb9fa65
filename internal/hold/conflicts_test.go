package hold_test

import (
	"strings"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// TestPlacementsContradict: two people who do not know of each other place one reading differently; it stays unplaced until somebody who saw both speaks.
func TestPlacementsContradict(t *testing.T) {
	for _, last := range []struct {
		how  string
		want record.ReadingStatus
	}{{record.HowPlaceAfter, record.ReadingCounts}, {record.HowPlaceBefore, record.ReadingEarlierRound}} {
		st := tell(t, j1)
		st.s.Rework(P2, "shaft", record.ReworkDone, "J1")
		r := st.c.Read(P1, st.c.SetUp(P1, ring("g1")), "J1", "1", 0, 5)
		st.sync()
		st.a.Settle(P1, record.HowPlaceAfter, r)
		st.b.Settle(P2, record.HowPlaceBefore, r)
		if got := st.a.Look().Reading(r).Status; got != record.ReadingCounts {
			t.Errorf("tablet a alone: %s", got)
		}
		st.sync()
		if got := st.s.Look().Reading(r).Status; got != record.ReadingUnplaced {
			t.Errorf("both words: %s, want unplaced", got)
		}
		st.s.Settle(Quality, last.how, r)
		if got := st.s.Look().Reading(r).Status; got != last.want {
			t.Errorf("%q, having seen both: %s, want %s", last.how, got, last.want)
		}
	}
}

// TestReworksReportedApart: contested until somebody says that it was one job, or both in order.
func TestReworksReportedApart(t *testing.T) {
	for _, how := range []string{record.HowOneRework, record.HowBothInOrder} {
		st := tell(t, j1)
		one := st.a.Rework(P1, "shaft", record.ReworkDone, "J1")
		st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
		two := st.b.Rework(P2, "shaft", record.ReworkDone, "J1")
		st.sync()
		st.held("reported apart", st.s.Look(), "shaft", "does not conform; no decision; reading not placed; reworks differ")
		st.s.Settle(Quality, how, one, two)
		v := st.s.Look()
		if how == record.HowOneRework {
			st.says("one job", v, "J1", verdict.Conforms, -1)
			st.held("one job", v, "shaft", "no decision")
			continue
		}
		st.held("both, in order: the readings saw only the first", v, "shaft", "does not conform; no decision; reading not placed")
	}
	// Read again by somebody who saw both, everything conforms; the question alone still holds.
	st := tell(t, j1)
	one, two := st.a.Rework(P1, "shaft", record.ReworkDone, "J1"), st.b.Rework(P2, "shaft", record.ReworkDone, "J1")
	st.sync()
	st.s.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("measured and decided since", st.s.Look(), "shaft", "reworks differ")
	st.s.Settle(Quality, record.HowBothInOrder, one, two)
	st.held("the settlement is news to the decision", st.s.Look(), "shaft", "decision overtaken")
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("decided again", st.s.Look(), "shaft", "")
}

// TestReworkStruck: readings and concessions of a round that never was are void, the earlier round returns; the inspector who struck a grind after which the seat failed does not decide alone.
func TestReworkStruck(t *testing.T) {
	st := tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.sync()
	grind := st.a.Rework(P1, "shaft", record.ReworkDone, "J1")
	ids := st.a.MeasureSeat(P1, ring("g1"), "J1", -3, -3, -3, -3, -3, -3)
	st.a.Concede(Quality, "shaft", "J1", Ptr(Um(-5)), nil)
	st.says("round 1, conceded", st.a.Look(), "J1", verdict.Conforms, -1)
	st.a.Strike(P3, grind, "wrong part")
	v := st.a.Look()
	for _, id := range ids {
		if r := v.Reading(id); r.Status != record.ReadingEarlierRound || !strings.Contains(r.Why, "struck") {
			t.Errorf("a reading of the struck round: %s, %s", r.Status, r.Why)
		}
	}
	if v.State.Feature("J1").Concessions[0].Applies {
		t.Error("the concession for the struck round applies to the round that returned")
	}
	c := st.says("round 0 returned", v, "J1", verdict.Conforms, -1)
	st.um("worst of round 0", c.Value, 4)
	st.a.Decide(P4, "shaft", record.OutcomeReuse)
	st.held("decided", st.a.Look(), "shaft", "")

	st = tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	grind = st.a.Rework(P1, "shaft", record.ReworkDone, "J1")
	st.a.MeasureSeat(P1, ring("g1"), "J1", -3, -3, -3, -3, -3, -3)
	st.says("round 1", st.a.Look(), "J1", verdict.Fails, -1)
	st.a.Strike(P3, grind, "wrong part")
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("who struck the grind decides", st.a.Look(), "shaft", "own strike")
	st.a.Decide(P4, "shaft", record.OutcomeReuse)
	st.held("another decides", st.a.Look(), "shaft", "")
}

// TestSetupInDoubtBesideASoundOne: a set-up that was corrected twice apart, or whose gauge was overdue, holds even where another set-up has read every station.
func TestSetupInDoubtBesideASoundOne(t *testing.T) {
	st := tell(t, j1)
	setup := st.a.SetUp(P1, ring("g1"))
	st.a.Read(P1, setup, "J1", "1", 0, 0.5)
	st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
	st.a.MeasureSeat(P1, ring("g2"), "J1", good...)
	st.sync()
	correct := func(tab *Tablet, by Person, um float64) {
		s := ring("g1")
		s.Corrects, s.Master.Certified = setup.String(), Mm(70)+Um(um)
		tab.Write(by, &record.Setup{Setup: s})
	}
	correct(st.a, P1, 3)
	correct(st.b, Quality, 4)
	st.sync()
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	st.says("corrected twice", st.s.Look(), "J1", verdict.Conforms, -1)
	st.held("corrected twice", st.s.Look(), "shaft", string(hold.DoubtfulSetup))
	correct(st.s, Quality, 4)
	st.held("corrected once more", st.s.Look(), "shaft", "decision overtaken")
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("decided again", st.s.Look(), "shaft", "")

	st = tell(t, j1)
	late := ring("g1")
	late.Gauge.Due = Start - 1
	setup = st.a.SetUp(P1, late)
	st.a.Read(P1, setup, "J1", "1", 0, 0.5)
	st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
	st.a.MeasureSeat(P1, ring("g2"), "J1", good...)
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("overdue", st.a.Look(), "shaft", string(hold.Overdue))
	st.a.Strike(P1, setup, "gauge")
	st.held("struck by the one who set it up", st.a.Look(), "shaft", "decision overtaken")
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("decided again", st.a.Look(), "shaft", "")
}

// TestConcessionsGivenApart: only what both accept counts.
func TestConcessionsGivenApart(t *testing.T) {
	low := func(v float64) *record.Concession {
		return &record.Concession{Component: "shaft", Feature: "J1", Characteristic: spindle.Size, Lower: Ptr(Um(v)), Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: "letter"}
	}
	for _, k := range []struct {
		a, b         *record.Concession
		lower, upper float64
	}{
		{low(-5), low(-1), -1, 10},
		{low(-1), low(-5), -1, 10},
		{low(-5), &record.Concession{Component: "shaft", Feature: "J1", Characteristic: spindle.Size, Upper: Ptr(Um(14)), Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: "letter"}, 2, 10},
	} {
		st := tell(t, j1)
		st.a.MeasureSeat(P1, ring("g1"), "J1", -3, 5, 5, 5, 5, 5)
		st.sync()
		st.a.Write(Quality, k.a)
		st.says("one alone", st.a.Look(), "J1", map[bool]verdict.Outcome{true: verdict.Conforms, false: verdict.Fails}[*k.a.Lower == Um(-5)], -1)
		st.b.Write(Quality, k.b)
		st.sync()
		c := st.says("both", st.s.Look(), "J1", verdict.Fails, -1)
		st.um("lower", c.Lower, k.lower)
		st.um("upper", c.Upper, k.upper)
	}
}

// TestSpecificationsWrittenApart: two that differ hold, both are shown, and the one that is written next ends it; two that say the same are one.
func TestSpecificationsWrittenApart(t *testing.T) {
	st := tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.sync()
	st.a.Specify(P3, Seat("J1", "shaft", spindle.Outside, 70, "k5"))
	st.b.Specify(P4, Seat("J1", "shaft", spindle.Outside, 70, "k6"))
	st.sync()
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	v := st.s.Look()
	st.held("they differ", v, "shaft", "specifications differ")
	if f := v.Sheet.Components[0].Features[0]; len(f.Others) != 1 || f.Others[0].Characteristics[0].Class == f.Spec.Characteristics[0].Class {
		t.Errorf("the sheet shows %v and %v, want both", f.Spec.Characteristics, f.Others)
	}
	st.s.Specify(P4, Seat("J1", "shaft", spindle.Outside, 70, "k5"))
	st.held("one word", st.s.Look(), "shaft", "decision overtaken")

	st = tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.sync()
	st.a.Specify(P3, Seat("J1", "shaft", spindle.Outside, 70, "k5"))
	st.b.Specify(P4, Seat("J1", "shaft", spindle.Outside, 70, "k5"))
	st.sync()
	st.s.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("they say the same", st.s.Look(), "shaft", "")
}

// TestProposedLimitsHold: a proposal clears nothing until an inspector accepts it in the inspector's own name.
func TestProposedLimitsHold(t *testing.T) {
	proposal := j1
	proposal.Source = spindle.FromProposal
	st := tell(t, proposal)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("proposed", st.a.Look(), "shaft", "not specified; specification not accepted")
	accepted := proposal
	for _, k := range []struct {
		by   Person
		name string
	}{{P1, P1.ID}, {P3, P4.ID}, {Quality, Quality.ID}} {
		accepted.AcceptedBy = k.name
		st.a.Specify(k.by, accepted)
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		st.held("accepted by "+k.by.ID+" as "+k.name, st.a.Look(), "shaft", "not specified; specification not accepted")
	}
	accepted.AcceptedBy = P3.ID
	st.a.Specify(P3, accepted)
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.held("accepted by an inspector", st.a.Look(), "shaft", "")
}

// TestWholeJobOnHold: a decision on the job as a whole holds every part, until it is taken back.
func TestWholeJobOnHold(t *testing.T) {
	st := clearedShaft(t)
	st.a.Decide(P4, record.SubjectJob, record.OutcomeHold)
	st.b.Decide(P3, record.SubjectJob, record.OutcomeReuse)
	st.sync()
	st.held("hold beside reuse", st.s.Look(), "shaft", "decided against")
	st.s.Decide(P4, record.SubjectJob, record.OutcomeReuse)
	st.held("taken back", st.s.Look(), "shaft", "")
}

// TestUnreadableEntriesHold: what this program cannot read, has not got or was told is withheld holds the whole job; capture goes on.
func TestUnreadableEntriesHold(t *testing.T) {
	st := clearedShaft(t)
	last := st.Entries[len(st.Entries)-1]
	newer, err := record.Decode([]byte(strings.Replace(strings.Replace(string(last.Bytes), `"v":1`, `"v":7,"mood":1`, 1), `"parents":[`, `"parents":["`+last.ID.String()+`",`, 1)))
	if err != nil {
		t.Fatal(err)
	}
	st.a.Take(newer)
	st.held("an entry of a newer program", st.a.Look(), "shaft", string(hold.TooOld))
	id := st.a.Read(P1, st.a.SetUp(P1, ring("g1")), "J1", "1", 0, 4)
	if st.a.Look().Reading(id).Status != record.ReadingCounts {
		t.Error("capture does not go on")
	}
	st.b.Take(st.Entries[len(st.Entries)-1]) // its parents are not here
	st.held("an entry without its parents", st.b.Look(), "shaft", string(hold.NotClosed))
	st.c.Job.Withhold(record.ID{7})
	st.held("a withheld entry", st.c.Look(), "shaft", string(hold.Withheld))
}
