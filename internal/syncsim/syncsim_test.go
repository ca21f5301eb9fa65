package syncsim

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"runtrue/internal/record"
	"runtrue/internal/record/recordtest"
	"runtrue/internal/spindle"
)

func TestMain(m *testing.M) {
	if folder := os.Getenv(aloneIn); folder != "" {
		if err := serveAlone(folder); err != nil {
			fmt.Fprintln(os.Stderr, "server process:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func run(t *testing.T, plan Plan) Report {
	t.Helper()
	report, err := Run(context.Background(), plan)
	if err != nil {
		t.Fatalf("seed %d: %v", plan.Seed, err)
	}
	return report
}

// play runs a plan in which all must be well.
func play(t *testing.T, plan Plan) Report {
	t.Helper()
	report := run(t, plan)
	for _, problem := range report.Problems {
		t.Errorf("seed %d: %s", plan.Seed, problem)
	}
	t.Logf("seed %d: %d entries in %d jobs on every replica after %d rounds; %d saved once and lost by every holder, %d of them once shown as on the server; %v", plan.Seed, report.Entries, report.Jobs, report.Passes, report.Lost, report.Shown, report.Counts)
	return report
}

// The weeks of `go test`, chosen so that together they have something of everything. Many more: go run ./cmd/dev soak.
var weeks = []uint64{3, 13}

func TestBadWeeks(t *testing.T) {
	total := map[string]int{}
	for _, seed := range weeks {
		for what, n := range play(t, BadWeek(seed, t.TempDir())).Counts {
			total[what] += n
		}
	}
	for _, what := range []fate{lost, answerLost, twice, late, cutShort, answerCut, altered, answerWrong} {
		if total[string(what)] == 0 {
			t.Errorf("in all the weeks no %s happened", what)
		}
	}
	if total["server put back to a backup"] != 2*len(weeks) {
		t.Errorf("the server was put back %d times, want twice a week", total["server put back to a backup"])
	}
	for _, what := range []string{"histories not continued", "entries given back", "devices died in a transaction", "jobs tidied away", "rushes"} {
		if total[what] == 0 {
			t.Errorf("in all the weeks there were no %s", what)
		}
	}
}

// The same seed is the same week, to the byte of every sheet.
func TestSeedRepeatsTheWeek(t *testing.T) {
	plan := BadWeek(77, t.TempDir())
	plan.Days, plan.Devices, plan.Together = 1, 5, false
	first, again := play(t, plan), play(t, plan)
	if first.Digest != again.Digest {
		t.Errorf("digest %s, the second time %s", first.Digest, again.Digest)
	}
	plan.Seed++
	if other := play(t, plan); other.Digest == first.Digest {
		t.Errorf("another seed gives the same week")
	}
}

// A simulation in which devices break one of their rules must say so; else it would show nothing when they keep them.
func TestBrokenRulesAreSeen(t *testing.T) {
	for _, c := range []struct {
		breaks rule
		words  string
		first  uint64 // seed, of at most 6
		adapt  func(p *Plan)
	}{
		{looksAtDigests, "nobody wrote it", 3, func(p *Plan) { p.Weather = Weather{Alter: 300} }},
		{tidiesWhatIsBacked, "tidied away as safe, and nobody has it", 4, func(p *Plan) { p.Restores, p.Tidying, p.Days = 2, true, 2 }},
		{disksKeepWhatIsSynced, "confirmed by the store, and is gone", 1, func(p *Plan) { p.Kills = 6 }},
		{storesBeforeCursors, "or others", 1, func(p *Plan) { p.DiesOnceIn = 30 }},
	} {
		t.Run(string(c.breaks), func(t *testing.T) {
			seen := ""
			for seed := c.first; seed < c.first+6 && seen == ""; seed++ {
				plan := Plan{Seed: seed, Folder: t.TempDir(), Devices: 5, Days: 1, Backups: 1, breaks: c.breaks}
				c.adapt(&plan)
				report := run(t, plan)
				t.Logf("seed %d: %d problems", seed, len(report.Problems))
				for _, problem := range report.Problems {
					if strings.Contains(problem, c.words) {
						seen = fmt.Sprintf("seed %d: %s", seed, problem)
					}
				}
			}
			if seen == "" {
				t.Errorf("in 6 weeks the simulation did not say %q", c.words)
			}
			t.Log(seen)
		})
	}
}

// The server is put back to a backup from before an entry that it had. In turn: the author's queue had let it go, since it had been pulled; the server had said that it has it; it had said so twice, since its first answer was lost, and with a
// number that others fill up again before the author asks for news. The author gives it back in all three, and loses it on the server for ever if it breaks the rule.
func TestEntryThatTheServerForgot(t *testing.T) {
	for _, c := range []struct {
		what   string
		breaks rule
		before func(w *world, author *device)
		after  func(w *world, author *page)
	}{
		{"pulled", offersWhatItHolds, func(w *world, author *device) {
			w.must(errOf(calm(author).round()))
		}, func(*world, *page) {}},
		{"sent", recallsDoubtful, func(w *world, author *device) {
			w.must(errOf2(calm(author).pushAll()))
		}, goesOn},
		{"sent twice", olderCursorsVouch, func(w *world, author *device) {
			w.weather = Weather{LoseAnswer: 1000}
			if _, err := author.page(func(int64) {}, false).pushAll(); !errors.Is(err, errNoAnswer) {
				t.Errorf("the answer was not lost: %v", err)
			}
			w.weather = Weather{}
			if taken, err := calm(author).pushAll(); taken != 1 || err != nil {
				t.Errorf("asked again the server took %d, %v", taken, err)
			}
		}, goesOn},
	} {
		for _, breaks := range []rule{"", c.breaks} {
			var entry record.ID
			report := run(t, Plan{Seed: 5, Folder: t.TempDir(), Devices: 3, breaks: breaks, script: func(w *world) {
				author := w.devices[1]
				entry = state(w, author, "the entry in question")
				c.before(w, author)
				w.must(w.house.putBack(true))
				c.after(w, calm(author))
			}})
			want := fmt.Sprintf("entry %s had a holder when the links healed, and the server does not have it (shown as on the server: true)", entry.Short())
			switch {
			case breaks != "" && (len(report.Problems) == 0 || report.Problems[0] != want):
				t.Errorf("%s, the rule %q broken: %q; want first %q", c.what, breaks, report.Problems, want)
			case breaks == "" && len(report.Problems) > 0:
				t.Errorf("%s: %q", c.what, report.Problems)
			}
		}
	}
}

// An inspector decides without a network while the role is withdrawn; another hands a device on with an unsent reading. Both are taken, each once, and each stands under one objection.
func TestWhatTheServerObjectsTo(t *testing.T) {
	report := play(t, Plan{Seed: 6, Folder: t.TempDir(), Devices: 3, script: func(w *world) {
		office, handedOn, inspector := w.devices[0], w.devices[1], w.devices[3]
		if inspector.person != inspectors[1] {
			t.Fatalf("%s is %s's, not %s's", inspector.name, inspector.person, inspectors[1])
		}
		state(w, handedOn, "unsent when the device is handed on")
		handedOn.person = technicians[2]
		_, err := calm(inspector).write("job-1", spindle.Inspector, recordtest.Decision("shaft", record.OutcomeReuse))
		w.must(err)
		_, err = calm(office).write(record.ShopJob, spindle.Admin, &record.Grant{Person: inspectors[1], Role: spindle.Inspector, From: w.now(), Withdraws: w.grants[inspectors[1]]})
		w.must(err)
		w.must(errOf(calm(office).round()))
		w.must(errOf2(calm(inspector).pushAll()))
		if _, err := calm(inspector).pullAll(); !says(err, 403) {
			t.Errorf("somebody who has lost every role fetches: %v", err)
		}
		w.count("roles withdrawn", 1)
	}})
	for what, n := range map[string]int{"decisions that came after the role was withdrawn": 1, "entries sent by another person": 1, "entries under an objection by the server": 2} {
		if report.Counts[what] != n {
			t.Errorf("%d %s, want %d", report.Counts[what], what, n)
		}
	}
}

func calm(d *device) *page { return d.page(func(int64) {}, true) }

func state(w *world, d *device, customer string) record.ID {
	id, err := calm(d).write("job-1", spindle.Technician, &record.Fact{Subject: "job", Field: "customer", Value: customer})
	w.must(err)
	return id
}

// goesOn lets another device fill the history up, and the author end the round that the restore came into.
func goesOn(w *world, author *page) {
	other := w.devices[2]
	for i := range 5 {
		state(w, other, fmt.Sprint("another ", i))
	}
	w.must(errOf(calm(other).round()))
	w.must(errOf2(author.pullAll()))
	w.must(errOf2(author.recall()))
}

func errOf2(_ int, err error) error { return err }

// A role is withdrawn, the server is put back to before that, and a decision made after the withdrawal comes in before whoever withdrew it gives the withdrawal back.
func TestDecisionBeforeTheWithdrawalComesBack(t *testing.T) {
	report := play(t, Plan{Seed: 8, Folder: t.TempDir(), Devices: 3, script: func(w *world) {
		office, witness, inspector := w.devices[0], w.devices[1], w.devices[3]
		_, err := calm(office).write(record.ShopJob, spindle.Admin, &record.Grant{Person: inspectors[1], Role: spindle.Inspector, From: w.now(), Withdraws: w.grants[inspectors[1]]})
		w.must(err)
		w.must(errOf(calm(office).round()))
		_, err = calm(inspector).write("job-1", spindle.Inspector, recordtest.Decision("shaft", record.OutcomeReuse))
		w.must(err)
		w.ms.Add(hour)
		w.must(w.house.putBack(true))
		w.must(errOf2(calm(inspector).pushAll()))
		w.must(errOf(calm(witness).round()))
		w.ms.Add(hour)
		w.count("roles withdrawn", 1)
	}})
	if n := report.Counts["decisions that came after the role was withdrawn"]; n != 1 {
		t.Errorf("%d decisions came after the role was withdrawn, want 1", n)
	}
}
