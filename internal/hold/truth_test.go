package hold_test

import (
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

// TestDecisionAgainstEverything is the table of what each kind of entry does to a clearance, by whether the decision had seen it, its author had seen the decision, or neither. In every row the shaft conforms throughout,
// so that only the order of knowledge tells; each cell is asserted both ways: with the entry the shaft is held or cleared as the table says, and one look of an inspector at everything clears it, or does not where
// something else is asked for first.
func TestDecisionAgainstEverything(t *testing.T) {
	reading := func(um float64) func(*Tablet, *row) {
		return func(tab *Tablet, r *row) {
			setup := tab.SetUp(P2, ring("g7"))
			tab.Read(P2, setup, "J1", "1", 0, um)
			tab.Zero(P2, setup, spindle.ZeroAfter, 0)
		}
	}
	const cleared, overtaken = "", string(hold.DecisionOvertaken)
	for _, k := range []struct {
		name                      string
		write                     func(*Tablet, *row)
		before, after, concurrent string
		again                     string // what holds once an inspector has decided again on everything
	}{
		{"reading that agrees", reading(4.2), cleared, cleared, overtaken, cleared},
		{"reading that differs within the limits", reading(5.3), cleared, cleared, overtaken, cleared},
		{"closing check", func(tab *Tablet, r *row) { tab.Zero(P1, r.setup, spindle.ZeroAfter, 0.1) }, cleared, cleared, overtaken, cleared},
		{"set-up that nothing rests on", func(tab *Tablet, r *row) { tab.SetUp(P1, ring("g8")) }, cleared, cleared, cleared, cleared},
		{"set-up corrected", func(tab *Tablet, r *row) {
			s := ring("g1")
			s.Corrects, s.Master.Certified = r.setup.String(), Mm(70.0001)
			tab.Write(P1, &record.Setup{Setup: s})
		}, cleared, overtaken, overtaken, cleared},
		{"strike of a spare reading", func(tab *Tablet, r *row) { tab.Strike(P1, r.spare, "slip") }, cleared, overtaken, overtaken, cleared},
		{"strike of a strike", func(tab *Tablet, r *row) { tab.Strike(P1, r.strike, "slip") }, cleared, overtaken, overtaken, cleared},
		{"specification", func(tab *Tablet, r *row) { tab.Specify(P4, Seat("J1", "shaft", spindle.Outside, 70, "k5")) }, cleared, overtaken, overtaken, cleared},
		{"specification of another part", func(tab *Tablet, r *row) { tab.Specify(P4, b1) }, cleared, cleared, cleared, cleared},
		{"rework asked", func(tab *Tablet, r *row) { tab.Rework(P1, "shaft", "asked", "J1") }, "away", "away; " + overtaken, "away; " + overtaken, "away"},
		{"rework done", func(tab *Tablet, r *row) { tab.Rework(P1, "shaft", record.ReworkDone, "J1") }, "does not conform", overtaken + "; does not conform", overtaken + "; does not conform", "does not conform"},
		{"rework of nothing that is measured", func(tab *Tablet, r *row) { tab.Rework(P1, "shaft", record.ReworkDone, "thread") }, cleared, overtaken, overtaken, cleared},
		{"concession", func(tab *Tablet, r *row) { tab.Concede(Quality, "shaft", "J1", Ptr(Um(0)), nil) }, cleared, overtaken, overtaken, cleared},
		{"concession withdrawn", func(tab *Tablet, r *row) {
			tab.Write(Quality, &record.Concession{Component: "shaft", Feature: "J1", Characteristic: spindle.Size, Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: "letter 13", Withdraws: r.concession})
		}, cleared, overtaken, overtaken, cleared},
		{"damage", func(tab *Tablet, r *row) { tab.Damage(P1, "J1") }, cleared, overtaken, overtaken, cleared},
		{"note", func(tab *Tablet, r *row) {
			tab.Write(P1, &record.Finding{Subject: "J1", Severity: "note", Text: "oil on the bench"})
		}, cleared, cleared, cleared, cleared},
		{"objection to the part", func(tab *Tablet, r *row) {
			tab.Write(Server, &record.Objection{Names: []string{"shaft"}, Reason: "serial in two jobs", From: "server"})
		}, "objection", overtaken + "; objection", overtaken + "; objection", "objection"},
		{"objection to a set-up", func(tab *Tablet, r *row) { tab.Object(Quality, "recalled", r.setup) }, "objection; set-up in doubt", overtaken + "; objection; set-up in doubt", overtaken + "; objection; set-up in doubt", "objection; set-up in doubt"},
		{"objection lifted", func(tab *Tablet, r *row) {
			tab.Settle(Quality, record.HowLift, tab.Object(Quality, "recalled", r.setup))
		}, cleared, overtaken, overtaken, cleared},
		{"step", func(tab *Tablet, r *row) { tab.Fit(P5, "shaft") }, cleared, cleared, cleared, cleared},
		{"fact", func(tab *Tablet, r *row) {
			tab.Write(Office, &record.Fact{Subject: "job", Field: "stage", Value: "inspection"})
		}, cleared, cleared, cleared, cleared},
		{"decision for hold", func(tab *Tablet, r *row) { tab.Decide(P4, "shaft", record.OutcomeHold) }, cleared, "decided against", "decisions differ", cleared},
		{"decision for the same", func(tab *Tablet, r *row) { tab.Decide(P4, "shaft", record.OutcomeReuse) }, cleared, cleared, cleared, cleared},
	} {
		for when, want := range map[string]string{"before": k.before, "after": k.after, "concurrent": k.concurrent} {
			t.Run(k.name+", "+when, func(t *testing.T) {
				st := tell(t, j1)
				r := &row{}
				r.setup = st.a.SetUp(P1, ring("g1"))
				st.a.ReadPlane(P1, r.setup, "J1", "1", good[:3]...)
				r.spare = st.a.Read(P1, r.setup, "J1", "1", 0, 4.1)
				wrong := st.a.Read(P1, r.setup, "J1", "1", 0, 4.2)
				st.a.ReadPlane(P1, r.setup, "J1", "2", good[3:]...)
				st.a.Zero(P1, r.setup, spindle.ZeroAfter, 0)
				r.strike = st.a.Strike(P1, wrong, "slip")
				r.concession = st.a.Concede(Quality, "shaft", "J1", Ptr(Um(1)), nil)
				st.sync()
				decide := func(tab *Tablet) { tab.Decide(P3, "shaft", record.OutcomeReuse) }
				switch when {
				case "before":
					k.write(st.a, r)
					decide(st.a)
				case "after":
					decide(st.a)
					st.held("decided", st.a.Look(), "shaft", cleared)
					k.write(st.a, r)
				case "concurrent":
					k.write(st.b, r)
					decide(st.a)
					st.held("decided, alone", st.a.Look(), "shaft", cleared)
				}
				st.sync()
				st.held(when, st.s.Look(), "shaft", want)
				st.same()
				decide(st.s)
				st.held(when+", decided again", st.s.Look(), "shaft", k.again)
			})
		}
	}
}

// row are the entries that a row of the table may speak of.
type row struct {
	setup, spare, strike, concession record.ID
}
