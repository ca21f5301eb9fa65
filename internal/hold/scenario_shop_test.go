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

// TestRoleWithdrawn: a decision under a role that was withdrawn meanwhile is kept, visible and held; a wrong clock changes nothing.
func TestRoleWithdrawn(t *testing.T) {
	shop := NewBench(t, record.ShopJob)
	desk := shop.Tablet("server")
	given := desk.Write(Server, &record.Grant{Person: P4.ID, Role: P4.Role, From: Start})
	admin := Person{ID: "adm", Role: spindle.Admin}
	own := desk.Write(Server, &record.Grant{Person: admin.ID, Role: admin.Role, From: Start})

	st := clearedShaft(t)
	st.sync()
	early := st.b.Decide(P4, "shaft", record.OutcomeReuse) // 09:00
	st.sync()
	next := st.c.WallMS + 37*24*3_600_000
	st.c.WallMS, st.c.OffMS = next, nil
	late := st.c.Decide(P4, "shaft", record.OutcomeReuse) // 11:00 by the sun, next year by its own clock
	// 10:00 at the server: the grant is taken back, by an admin whose own grant stands.
	withdrawal := record.Draft{Job: record.ShopJob, Parents: desk.Job.Heads(), By: admin.ID, As: admin.Role, Grant: own, Device: "office", WallMS: Start,
		Body: &record.Grant{Person: P4.ID, Role: P4.Role, From: Start, Withdraws: given}}
	e, err := record.Make(withdrawal)
	if err != nil {
		t.Fatal(err)
	}
	desk.Take(e)
	if gone, _ := record.FoldShop(desk.Job).Withdrawn(given); !gone {
		t.Fatal("the withdrawal has no effect")
	}
	known := hold.Overlay{Revoked: []hold.Revocation{{Person: P4.ID, Role: P4.Role}}}
	st.held("a tablet that has heard of it", st.c.LookUnder(known), "shaft", "role withdrawn")
	// 12:00: the tablet syncs, and the server objects to what came under the withdrawn role.
	st.sync()
	st.held("before the objection", st.s.Look(), "shaft", "")
	st.s.Object(Server, "decided by P4, whose role was withdrawn", late)
	st.sync()
	v := st.s.Look()
	if !strings.Contains(v.Held("shaft"), "objection") {
		t.Errorf("held by %q, want the objection", v.Held("shaft"))
	}
	st.words("objected", v, "shaft", "decided by P4, whose role was withdrawn")
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.sync()
	v = st.s.Look()
	st.held("another inspector confirms", v, "shaft", "")
	if v.State.Item(early).Without != "" || v.State.Item(late).Without != "" {
		t.Error("a decision of P4 lost its effect")
	}
	for _, i := range v.State.Items {
		if ms, _ := i.TimeMS(); ms >= next && i.ID != late {
			t.Errorf("%s %s carries the time %d of the wrong clock", i.Kind, i.ID.Short(), ms)
		}
	}
	st.same()
}

// TestConcession: the customer accepts more; exactly that, for that round.
func TestConcession(t *testing.T) {
	for _, k := range []struct{ worst, pc, lower, conceded, later, mean, laterPC float64 }{{1.4, 0.115, 0.5, 0.964, 0.2, 0.8, 0.726}, {1.5, 0.159, 0.6, 0.964, 0.4, 0.95, 0.758}} {
		st := tell(t, j1)
		st.a.MeasureSeat(P1, ring("g1"), "J1", k.worst, 5, 4, 5, 6, 5)
		st.says("as specified", st.a.Look(), "J1", verdict.CannotBeTold, k.pc)
		st.a.Concede(Quality, "shaft", "J1", Ptr(Um(k.lower)), nil)
		c := st.says("conceded", st.a.Look(), "J1", verdict.Conforms, k.conceded)
		if !strings.Contains(c.Conceded, "customer") {
			t.Errorf("conceded by %q, want the customer", c.Conceded)
		}
		st.held("not decided", st.a.Look(), "shaft", "no decision")
		st.a.Decide(P3, "shaft", record.OutcomeReuse)
		v := st.a.Look()
		st.held("decided", v, "shaft", "")
		if by := v.Part("shaft").ClearedBy; !strings.Contains(by, "by concession (customer") || !strings.Contains(by, "letter 12") {
			t.Errorf("cleared by %q, want the concession with its reference", by)
		}
		st.sync()
		// At assembly, on the same gauge and master.
		setup := st.b.SetUp(P5, ring("g1"))
		st.b.Read(P5, setup, "J1", "1", 0, k.later)
		st.b.Zero(P5, setup, spindle.ZeroAfter, 0)
		st.sync()
		c = st.says("at assembly", st.s.Look(), "J1", verdict.CannotBeTold, k.laterPC)
		st.um("mean of both", c.Value, k.mean)
		st.um("U", c.U, 1.0)
		st.held("no longer covered", st.s.Look(), "shaft", "does not conform")
		// A new round ends the concession.
		st.s.Rework(P2, "shaft", record.ReworkDone, "J1")
		st.s.MeasureSeat(P1, ring("g1"), "J1", k.worst, 5, 4, 5, 6, 5)
		st.says("round 1", st.s.Look(), "J1", verdict.CannotBeTold, k.pc)
		if k := st.s.Look().State.Feature("J1").Concessions[0]; k.Applies {
			t.Error("the concession outlived its round")
		}
	}
	// What was not measured cannot be conceded.
	st := tell(t, j1)
	setup := st.a.SetUp(P1, ring("g1"))
	st.a.ReadPlane(P1, setup, "J1", "1", 1.4, 5, 5)
	st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
	st.a.Concede(Quality, "shaft", "J1", Ptr(Um(0.5)), nil)
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.says("half measured", st.a.Look(), "J1", verdict.Incomplete, -1)
	st.held("half measured", st.a.Look(), "shaft", "does not conform")
}

// TestMatchedSet: two rings with an attribute each; a serial number that is in another job too; a cover without limits.
func TestMatchedSet(t *testing.T) {
	st := tell(t)
	for _, id := range []string{"front", "rear"} {
		st.s.Part(P1, id, spindle.Bearing, func(c *spindle.Component) { c.Origin, c.SetID, c.Serial = spindle.New, "BX-7", "BX-7-"+id })
		st.s.Specify(P3, spindle.Specification{Feature: "N-" + id, Component: id, Geometry: spindle.Attribute, Source: spindle.FromShop, Characteristics: []spindle.Characteristic{{Name: spindle.AttributeChar, Required: true, Ask: "Box unopened?"}}})
		st.s.Answer(P1, "N-"+id, true)
	}
	st.s.Part(P1, "cover", spindle.Cover)
	st.held("no decision", st.s.Look(), "front", "no decision; set held")
	st.s.Decide(P3, "front", record.OutcomeFitNew)
	st.held("one ring decided", st.s.Look(), "front", "set held")
	st.s.Decide(P3, "BX-7", record.OutcomeFitNew)
	st.held("the set decided", st.s.Look(), "front", "")
	st.held("the set decided", st.s.Look(), "rear", "")
	st.s.Write(Server, &record.Objection{Names: []string{"rear"}, Reason: "serial BX-7-rear is in job-2 too", From: "server"})
	st.held("the serial is in two jobs", st.s.Look(), "rear", "decision overtaken; objection")
	st.held("the other ring", st.s.Look(), "front", "set held")
	st.proposes("without limits", st.s.Look(), "cover", verdict.Measure)
	st.s.Decide(P3, "cover", record.OutcomeReuse)
	st.held("without limits", st.s.Look(), "cover", "not specified")
}

// TestFittedThenWithdrawn: a part that is inside when its clearance falls raises an alarm, until somebody who knows decides.
func TestFittedThenWithdrawn(t *testing.T) {
	st := clearedShaft(t)
	st.b.Fit(P5, "shaft", st.b.Job.Heads()...)
	st.sync()
	alarms := func(when string, want int) {
		t.Helper()
		if got := st.s.Look().Judged.Alarms; len(got) != want {
			t.Errorf("%s: alarms %v, want %d", when, got, want)
		}
	}
	alarms("fitted", 0)
	old := int64(5 * 3_600_000)
	if v := st.s.LookUnder(hold.Overlay{KnowledgeMS: &old, FreshMS: 4 * 3_600_000}); len(v.Judged.Alarms) > 0 || v.Held("shaft") != "old knowledge" {
		t.Errorf("out of touch: alarms %v, held by %q; being out of touch withdraws nothing", v.Judged.Alarms, v.Held("shaft"))
	}
	v := st.a.Look()
	first := v.State.Feature("J1").Readings[0]
	st.a.Strike(P1, first.ID, "slip")
	setup := st.a.SetUp(P1, ring("g1"))
	st.a.Read(P1, setup, "J1", "1", 0, 0.5)
	st.a.Zero(P1, setup, spindle.ZeroAfter, 0)
	st.sync()
	st.says("struck and read again", st.s.Look(), "J1", verdict.Fails, 0.0013)
	alarms("struck and read again", 1)
	st.a.Decide(P3, "shaft", record.OutcomeReplace)
	st.sync()
	alarms("decided for replacement, knowing that it is fitted", 0)
	st.a.Decide(P3, "shaft", record.OutcomeReuse)
	st.sync()
	alarms("decided for reuse although it fails", 1)
	st.a.Write(P5, &record.Step{What: record.StepRemoved, Component: "shaft"})
	st.sync()
	alarms("taken out", 0)
}
