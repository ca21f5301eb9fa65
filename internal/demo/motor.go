package demo

import (
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// motor is a motor spindle at assembly: most parts are cleared, the rear journal was built up and reground (its first round is history), the assembler has measured the front journal again, the customer
// conceded the rear bore, and the rotor's balance was decided differently by two inspectors who did not know of each other.
func (w *writer) motor() {
	const job = "lf-4066"
	bench, second := w.tablet("bench-1", job, 120), w.tablet("bench-3", job, 120)
	bench.facts(Office, spindle.Office, "job", "customer", "Brightmoor Castings", "maker", "Aldersyn", "model", "MS 24-170", "serial", "24170-0457", "stage", "assembly",
		"max_speed", "24000 r/min", "promised", "2026-11-30")
	hybrid := func(opens string) *spindle.BearingFacts {
		return &spindle.BearingFacts{Designation: "angular contact, ceramic balls, 65×100×18", Bore: mm(65), Outside: mm(100), Width: mm(18), Class: "4", ContactAngle: 25_000, OpensTo: opens}
	}
	small := func(opens string) *spindle.BearingFacts {
		return &spindle.BearingFacts{Designation: "angular contact, ceramic balls, 45×75×16", Bore: mm(45), Outside: mm(75), Width: mm(16), Class: "4", ContactAngle: 25_000, OpensTo: opens}
	}
	fresh := func(c *spindle.Component) { c.Origin, c.RunBefore = spindle.New, false }
	bench.component("shaft", spindle.Shaft, "shaft", "whole length", true, []spindle.Segment{segment(0, 26, 79, 40), segment(26, 30, 82, 34), segment(56, 40, 65, 34), segment(96, 20, 63, 34), segment(116, 180, 60, 34),
		segment(296, 34, 45, 28), segment(330, 40, 42, 28)}, nil)
	bench.component("rotor", spindle.Rotor, "rotor", "on the shaft", true, []spindle.Segment{segment(130, 150, 98, 60)}, nil)
	bench.component("housing", spindle.Housing, "housing with stator", "around all", true, []spindle.Segment{segment(40, 16, 170, 102), segment(56, 40, 170, 100), segment(96, 194, 170, 130), segment(290, 42, 150, 75), segment(332, 20, 150, 60)}, nil)
	bench.component("bearing-f1", spindle.Bearing, "front bearing, outer of the pair", "front, towards the nose", false, []spindle.Segment{segment(58, 18, 100, 65)}, hybrid("rear"), fresh, set("set-4066-f", "KX-118"))
	bench.component("bearing-f2", spindle.Bearing, "front bearing, inner of the pair", "front, towards the rear", false, []spindle.Segment{segment(76, 18, 100, 65)}, hybrid("nose"), fresh, set("set-4066-f", "KX-119"))
	bench.component("bearing-r1", spindle.Bearing, "rear bearing, first", "rear", false, []spindle.Segment{segment(297, 16, 75, 45)}, small("nose"), fresh, set("set-4066-r", "KX-207"))
	bench.component("bearing-r2", spindle.Bearing, "rear bearing, second", "rear", false, []spindle.Segment{segment(313, 16, 75, 45)}, small("nose"), fresh, set("set-4066-r", "KX-208"))
	bench.component("sleeve", spindle.Sleeve, "rear sleeve with springs", "in the rear of the housing", true, []spindle.Segment{segment(292, 4, 75, 46)}, nil)
	bench.component("nut", spindle.Nut, "rear nut", "behind the rear bearings", true, []spindle.Segment{segment(331, 14, 62, 42)}, nil)

	j1 := journal("J1", "shaft", "front bearing seat", 65, 58, 36, "js4", 2, "centres")
	j2 := journal("J2", "shaft", "rear bearing seat", 45, 297, 32, "js4", 2, "centres")
	b1 := bore("B1", "housing", "front bearing bore", 100, 57, 38, "JS4")
	b2 := bore("B2", "housing", "rear bearing bore", 75, 292, 38, "H5")
	for _, s := range []spindle.Specification{j1, j2, b1, b2, question("Q1", "rotor", "rotor balance and windings", "Residual unbalance within grade, windings sound?", 200),
		question("Q2", "sleeve", "sleeve springs", "All springs free and of equal length?", 294), question("Q3", "nut", "nut thread and face", "Thread free of damage, face clean?", 336),
		question("N1", "bearing-f1", "new bearing, box", "Box unopened, label as ordered, no rust?", 62), question("N2", "bearing-f2", "new bearing, box", "Box unopened, label as ordered, no rust?", 80),
		question("N3", "bearing-r1", "new bearing, box", "Box unopened, label as ordered, no rust?", 300), question("N4", "bearing-r2", "new bearing, box", "Box unopened, label as ordered, no rust?", 316)} {
		s.Reference = "MS24-170-3"
		bench.spec(s)
	}

	front := bench.setup(Technician, "cmp-07", "r65-a")
	bench.sizes(Technician, front, j1, []string{"1", "2"}, 0.6, 1.0, 0.4, 0.2, 0.6, -0.2)
	bench.zero(Technician, front, spindle.ZeroAfter, 0.2)
	rear := bench.setup(Technician, "cmp-07", "r45-a")
	bench.sizes(Technician, rear, j2, []string{"1", "2"}, -7.2, -8.0, -7.0, -6.4, -6.8, -6.2)
	bench.zero(Technician, rear, spindle.ZeroAfter, 0)
	runOut := bench.setup(Technician, "lev-11", "")
	bench.sweep(Technician, runOut, j1, spindle.CircularRunOut, "1", 0, 0.3, 0.5, 0.6, 0.4, 0.1, -0.1, -0.1)
	bench.sweep(Technician, runOut, j1, spindle.CircularRunOut, "2", 0, 0.3, 0.6, 0.5, 0.3, 0, -0.2, -0.1)
	bench.decide(Inspector, "shaft", record.OutcomeRework, "rear seat worn 3 to 4 µm below its lower limit: build up and regrind")
	bench.write(Inspector, spindle.Inspector, &record.Rework{Component: "shaft", Features: []string{"J2"}, State: "sent", Operation: "hard chrome and regrind to 45 js4", Who: "outside plater"})
	bench.ms += 40 * 3_600_000
	bench.write(Inspector, spindle.Inspector, &record.Rework{Component: "shaft", Features: []string{"J2"}, State: record.ReworkDone, Operation: "hard chrome and regrind to 45 js4", Who: "outside plater", Certificate: "P-7714"})
	again := bench.setup(OtherTechnician, "cmp-07", "r45-a")
	bench.sizes(OtherTechnician, again, j2, []string{"1", "2"}, 0.8, 0.6, 0.4, 0.2, 0.4, 0.6)
	bench.zero(OtherTechnician, again, spindle.ZeroAfter, 0)
	swept := bench.setup(OtherTechnician, "lev-11", "")
	bench.sweep(OtherTechnician, swept, j2, spindle.CircularRunOut, "1", 0, 0.2, 0.4, 0.4, 0.2, 0, -0.1, -0.1)
	bench.sweep(OtherTechnician, swept, j2, spindle.CircularRunOut, "2", 0, 0.2, 0.3, 0.4, 0.3, 0, -0.2, -0.1)
	bench.decide(Inspector, "shaft", record.OutcomeReuse, "rear seat good after regrinding")

	bores := bench.setup(OtherTechnician, "bor-02", "r110-b")
	for _, b := range []spindle.Specification{b1, b2} {
		values := []float64{0.5, 1, 0, -0.5, 0.5, 0}
		if b.Feature == "B2" {
			values = []float64{13, 13.5, 13, 14.5, 14, 13.5}
		}
		for n, v := range values {
			bench.read(OtherTechnician, spindle.Reading{Setup: bores.String(), Feature: b.Feature, Characteristic: spindle.Size, Plane: []string{"1", "2"}[n/3], Angle: threeAngles[n%3], Means: spindle.MeansFromNominal, Value: ptr(um(v))})
		}
	}
	bench.zero(OtherTechnician, bores, spindle.ZeroAfter, 0)
	bench.write(Quality, spindle.Quality, &record.Concession{Component: "housing", Feature: "B2", Characteristic: spindle.Size, Upper: ptr(um(17)), Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: "letter of 20 November", Rounds: []record.ID{}})
	bench.decide(Inspector, "housing", record.OutcomeReuse, "rear bore slightly large, floating seat, conceded by the customer")
	for _, q := range []string{"Q1", "Q2", "Q3", "N1", "N2", "N3", "N4"} {
		bench.answer(Technician, q, true)
	}
	second.meet(bench)
	for _, c := range []string{"bearing-f1", "bearing-f2", "bearing-r1", "bearing-r2"} {
		bench.decide(Inspector, c, record.OutcomeFitNew, "new set, boxes unopened")
	}
	bench.decide(Inspector, "sleeve", record.OutcomeReuse, "springs equal")
	bench.decide(Inspector, "nut", record.OutcomeReuse, "good")
	// Two inspectors decide on the rotor without knowledge of each other.
	bench.decide(Inspector, "rotor", record.OutcomeReuse, "windings sound")
	second.decide(OtherInspector, "rotor", record.OutcomeHold, "balance report of the rotor alone is missing")
	second.meet(bench)
	// The assembler measures the front journal again, blind, having seen the decision.
	check := second.setup(Assembler, "cmp-04", "r65-a")
	for n, v := range []float64{0.7, 0.9, 0.5} {
		second.read(Assembler, spindle.Reading{Setup: check.String(), Feature: "J1", Characteristic: spindle.Size, Plane: "1", Angle: threeAngles[n], Means: spindle.MeansFromMaster, Value: ptr(um(v)), Purpose: spindle.ForAssembly, Blind: true})
	}
	second.zero(Assembler, check, spindle.ZeroAfter, 0)
}
