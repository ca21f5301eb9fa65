package server

import (
	"fmt"
	"testing"
	"time"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// Scenario: an inspector's role is withdrawn while the tablet is off line and decides on, with a clock that is wrong by months.
func TestDecisionUnderAWithdrawnRole(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		shop := g.shop()
		g4 := shop.give("p4", spindle.Inspector)
		g3 := shop.give("p3", spindle.Inspector)
		p4, p3 := g.device("p4"), g.device("p3")
		p4.push(p4.entry("job-1", spindle.Inspector, g4, decision("hold"))) // 9:00, in good standing
		shop.withdraw("p4", spindle.Inspector, g4, false)                   // 10:00

		g.clock.pass(time.Hour)
		p4.renew()
		p3.renew()
		wrong := int64(60 * 24 * 3600 * 1000)
		late, err := record.Make(record.Draft{Job: "job-1", Salt: [16]byte{1}, Parents: p4.heads("job-1"), By: "p4", As: spindle.Inspector, Grant: g4, Device: p4.id, WallMS: startMS + wrong, Body: decision("reuse")})
		if err != nil {
			t.Fatal(err)
		}
		reading := p4.entry("job-1", spindle.Technician, grantless, fact("bench work needs no standing"))
		first := p4.push(late, reading)
		if len(first.Taken) != 2 || len(first.Refused) != 0 {
			t.Fatalf("answer %+v; nothing semantic is ever refused", first)
		}
		want := map[string]int{"decided by p4, whose role was withdrawn": 1}
		wantReasons(t, g.objections("job-1"), want)
		before := len(g.all("job-1"))
		for range 3 {
			if again := p4.push(late, reading); !again.Taken[0].Repeat || !again.Taken[1].Repeat {
				t.Errorf("pushed again: %+v", again)
			}
		}
		if after := len(g.all("job-1")); after != before {
			t.Errorf("%d entries after repeated pushes, want %d", after, before)
		}
		for _, e := range g.all("job-1") {
			if e.By == "server" && e.WallMS != startMS+3600_000 {
				t.Errorf("the objection carries time %d, want the server's own %d", e.WallMS, startMS+3600_000)
			}
		}
		p3.pull()
		p3.push(p3.entry("job-1", spindle.Inspector, g3, decision("reuse")))
		wantReasons(t, g.objections("job-1"), want)
	})
}

func TestObjectionsToRolesAndNames(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	shop := g.shop()
	name := shop.admin.entry(record.ShopJob, spindle.Admin, shop.grant, &record.Fact{Subject: "person/p3", Field: "name", Value: "Ines Vogt"})
	shop.admin.push(name)
	g1, g3 := shop.give("p1", spindle.Technician), shop.give("p3", spindle.Inspector)
	p1, p2, p3 := g.device("p1"), g.device("p2"), g.device("p3")
	run := 0
	for _, c := range []struct {
		what string
		push func(job string) pushAnswer
		want map[string]int
	}{
		{"inspector decides", func(job string) pushAnswer {
			return p3.push(p3.entry(job, spindle.Inspector, g3, decision("reuse")))
		}, nil},
		{"technician claims the inspector's role without a grant", func(job string) pushAnswer {
			return p1.push(p1.entry(job, spindle.Inspector, grantless, decision("reuse")))
		}, map[string]int{"decided by p1 as inspector, a role that the shop's record does not give": 1}},
		{"technician claims the inspector's grant", func(job string) pushAnswer {
			return p1.push(p1.entry(job, spindle.Inspector, g3, decision("reuse")))
		}, map[string]int{"decided by p1 as inspector, a role that the shop's record does not give": 1}},
		{"technician with the own grant under another role", func(job string) pushAnswer {
			return p1.push(p1.entry(job, spindle.Inspector, g1, decision("reuse")))
		}, map[string]int{"decided by p1 as inspector, a role that the shop's record does not give": 1}},
		{"bench work without any role", func(job string) pushAnswer {
			return p2.push(p2.entry(job, spindle.Technician, grantless, fact("x")))
		}, nil},
		{"strike of an own entry", func(job string) pushAnswer {
			f := p2.entry(job, spindle.Technician, grantless, fact("x"))
			return p2.push(f, p2.entry(job, spindle.Technician, grantless, &record.Strike{Target: f.ID, Reason: "slip"}))
		}, nil},
		{"strike of an own entry of an earlier push", func(job string) pushAnswer {
			f := p2.entry(job, spindle.Technician, grantless, fact("x"))
			p2.push(f)
			return p2.push(p2.entry(job, spindle.Technician, grantless, &record.Strike{Target: f.ID, Reason: "slip"}))
		}, nil},
		{"strike of another's entry without the role", func(job string) pushAnswer {
			f := p1.entry(job, spindle.Technician, g1, fact("x"))
			p1.push(f)
			p2.pull()
			return p2.push(p2.entry(job, spindle.Quality, grantless, &record.Strike{Target: f.ID, Reason: "dirt"}))
		}, map[string]int{"struck by p2 as quality, a role that the shop's record does not give": 1}},
		{"settlement, concession and objection by nobody in particular: one objection for each reason", func(job string) pushAnswer {
			lower := spindleLength(-1)
			return p2.push(
				p2.entry(job, spindle.Inspector, grantless, &record.Settle{About: []record.ID{{1}}, How: record.HowLift, Text: "never mind"}),
				p2.entry(job, spindle.Inspector, grantless, &record.Settle{About: []record.ID{{2}}, How: record.HowLift, Text: "never mind"}),
				p2.entry(job, spindle.Quality, grantless, &record.Concession{Component: "shaft", Feature: "J1", Characteristic: "size", Lower: &lower, Authority: "shop", Person: "p2", Reference: "7"}),
				p2.entry(job, spindle.Quality, grantless, &record.Objection{Targets: []record.ID{{1}}, Reason: "x", From: "person"}))
		}, map[string]int{
			"settled by p2 as inspector, a role that the shop's record does not give": 2,
			"conceded by p2 as quality, a role that the shop's record does not give":  1,
			"objected by p2 as quality, a role that the shop's record does not give":  1}},
		{"sent under another name: the tablet was handed over with unsent work", func(job string) pushAnswer {
			return p1.push(p1.entryBy("p3", p1.id, job, spindle.Technician, grantless, fact("x")), p1.entryBy("p3", p1.id, job, spindle.Technician, grantless, fact("y")))
		}, map[string]int{"sent under another name: written as Ines Vogt, sent by p1": 2}},
		{"an inspector's decision forged by a technician", func(job string) pushAnswer {
			return p1.push(p1.entryBy("p3", p3.id, job, spindle.Inspector, g3, decision("reuse")))
		}, map[string]int{"sent under another name: written as Ines Vogt, sent by p1": 1}},
		{"in the server's name", func(job string) pushAnswer {
			return p1.push(p1.entryBy("server", "server", job, spindle.Machine, grantless, &record.Objection{Targets: []record.ID{{1}}, Reason: "made up", From: "server"}),
				p1.entryBy("p1", p1.id, job, spindle.Machine, grantless, fact("own name, the server's role")))
		}, map[string]int{"written in the server's name, and the server did not write it; sent by p1": 2, "made up": 1}},
	} {
		run++
		job := fmt.Sprint("job-", run)
		before := len(g.all(job))
		a := c.push(job)
		if len(a.Refused)+len(a.Waiting) != 0 || before != 0 {
			t.Errorf("%s: answer %+v", c.what, a)
		}
		t.Run(c.what, func(t *testing.T) { wantReasonsOn(t, g, job, c.want) })
	}
}

func wantReasonsOn(t *testing.T, g *rig, job string, want map[string]int) {
	t.Helper()
	got := map[string]int{}
	all := g.all(job)
	for _, e := range all {
		if o, ok := e.Body.(*record.Objection); ok && e.As == spindle.Machine {
			got[o.Reason] += len(o.Targets)
		}
	}
	wantReasons(t, got, want)
	for i, e := range all {
		own, err := g.srv.wrote(e)
		if err != nil {
			t.Fatal(err)
		}
		if o, ok := e.Body.(*record.Objection); ok && own {
			j := record.NewJob(job)
			if _, err := j.AddAll(all); err != nil {
				t.Fatal(err)
			}
			for _, target := range o.Targets {
				if !j.Saw(e.ID, target) {
					t.Errorf("objection %d has not its target %s in its past", i, target.Short())
				}
			}
		}
	}
}

// A role withdrawn including what was done earlier reaches back into every job, once, and reaches what comes in afterwards too.
func TestWithdrawnIncludingEarlier(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		shop := g.shop()
		g4, g3 := shop.give("p4", spindle.Inspector), shop.give("p3", spindle.Inspector)
		p4, p3 := g.device("p4"), g.device("p3")
		for _, job := range []string{"job-1", "job-2"} {
			p4.push(p4.entry(job, spindle.Inspector, g4, decision("reuse")), p4.entry(job, spindle.Inspector, g4, fact("not a deed")))
			p4.push(p4.entry(job, spindle.Inspector, g4, decision("hold")))
		}
		p3.push(p3.entry("job-3", spindle.Inspector, g3, decision("reuse")))
		unsent := p4.entry("job-1", spindle.Inspector, g4, decision("reuse"))

		shop.withdraw("p4", spindle.Inspector, g4, true)
		backward := "decided by p4, whose role was withdrawn, including what was done earlier"
		for _, job := range []string{"job-1", "job-2"} {
			wantReasons(t, g.objections(job), map[string]int{backward: 2})
		}
		wantReasons(t, g.objections("job-3"), nil)
		p4.push(unsent)
		wantReasons(t, g.objections("job-1"), map[string]int{backward: 2, "decided by p4, whose role was withdrawn": 1})

		// Again, and after a crash before the work was marked as done: nothing is objected to twice.
		count := len(g.all("job-1"))
		if err := g.store.PutMeta(ctx, []store.Meta{{Key: sweptRow + g4.String(), Delete: true}}); err != nil {
			t.Fatal(err)
		}
		if err := g.srv.learnShop(ctx); err != nil {
			t.Fatal(err)
		}
		if n := len(g.all("job-1")); n != count {
			t.Errorf("%d entries after the second run, want %d", n, count)
		}
	})
}

// Withdrawal and deed in one push: the shop's record is taken first, whatever their order.
func TestShopRecordCountsForWhatComesWithIt(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	shop := g.shop()
	w := shop.admin.entry(record.ShopJob, spindle.Admin, shop.grant, &record.Grant{Person: "boss", Role: spindle.Inspector, From: startMS})
	shop.admin.push(shop.admin.entry("job-1", spindle.Inspector, w.ID, decision("reuse")), w)
	wantReasons(t, g.objections("job-1"), nil)
}

// Nobody becomes admin by writing so in the server's name.
func TestForgedGrantGivesNothing(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	shop := g.shop()
	p1 := g.device("p1")
	p1.pull()
	forged := p1.entryBy("server", "server", record.ShopJob, spindle.Machine, grantless, &record.Grant{Person: "p1", Role: spindle.Admin, From: startMS})
	if a := p1.push(forged); len(a.Taken) != 1 {
		t.Fatalf("answer %+v", a)
	}
	if g.desk.Holds("p1", spindle.Admin) {
		t.Error("p1 is admin by its own word")
	}
	wantReasons(t, g.objections(record.ShopJob), map[string]int{"written in the server's name, and the server did not write it; sent by p1": 1})
	// And what is built on the forgery still counts.
	shop.admin.pull()
	shop.give("p5", spindle.Quality)
	if !g.desk.Holds("p5", spindle.Quality) {
		t.Error("a true grant after the forged one does not count")
	}
}

// Three hundred heads are more parents than an entry may have.
func TestObjectionOnManyHeads(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	p1 := g.device("p1")
	var all []*record.Entry
	for i := range 300 {
		e, err := record.Make(record.Draft{Job: "job-1", Salt: [16]byte{byte(i), byte(i >> 8)}, By: "p2", As: spindle.Technician, Device: p1.id, Body: fact(fmt.Sprint(i))})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	p1.push(all...)
	wantReasons(t, g.objections("job-1"), map[string]int{"sent under another name: written as p2, sent by p1": 300})
	if heads := g.srv.jobs.get("job-1").currentHeads(); len(heads) != 1 {
		t.Errorf("%d heads, want the objection alone", len(heads))
	}
}
