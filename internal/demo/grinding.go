package demo

import "runtrue/internal/spindle"

// grinding is a grinding spindle that has just been taken apart: its parts and limits are there, the first run-outs are in, nearly everything is still to be measured, and two limits are only proposed.
func (w *writer) grinding() {
	const job = "lf-4075"
	bench := w.tablet("phone-2", job, 6)
	bench.facts(Office, spindle.Office, "job", "customer", "Tillvane Tools", "maker", "Orsette", "model", "GS 60", "serial", "60-2219", "stage", "teardown", "max_speed", "60000 r/min", "promised", "2026-12-16")
	ball := func(opens string) *spindle.BearingFacts {
		return &spindle.BearingFacts{Designation: "angular contact 25×42×9", Bore: mm(25), Outside: mm(42), Width: mm(9), Class: "4", ContactAngle: 15_000, OpensTo: opens}
	}
	bench.component("shaft", spindle.Shaft, "shaft", "whole length", true, []spindle.Segment{segment(0, 22, 32, 10), segment(22, 6, 34, 8), segment(28, 26, 25, 8), segment(54, 86, 27, 8), segment(140, 22, 25, 8), segment(162, 28, 20, 8)}, nil)
	bench.component("housing", spindle.Housing, "housing", "around the bearings", true, []spindle.Segment{segment(18, 10, 70, 36), segment(28, 26, 70, 42), segment(54, 86, 70, 38), segment(140, 24, 70, 42)}, nil)
	bench.component("bearing-f1", spindle.Bearing, "front bearing, outer of the pair", "front, towards the nose", true, []spindle.Segment{segment(28, 9, 42, 25)}, ball("rear"), set("set-g-f", ""))
	bench.component("bearing-f2", spindle.Bearing, "front bearing, inner of the pair", "front, towards the rear", true, []spindle.Segment{segment(45, 9, 42, 25)}, ball("nose"), set("set-g-f", ""))
	bench.component("spacer-in", spindle.Spacer, "inner spacer", "between the front bearings", true, []spindle.Segment{segment(37, 8, 30, 25)}, nil)
	bench.component("bearing-r", spindle.Bearing, "rear bearing", "rear, spring loaded", true, []spindle.Segment{segment(141, 9, 42, 25)}, ball("nose"))
	j1 := journal("J1", "shaft", "front bearing seat", 25, 28, 26, "js4", 1.5, "centres")
	j2 := journal("J2", "shaft", "rear bearing seat", 25, 140, 11, "js4", 1.5, "centres")
	for _, s := range []spindle.Specification{j1, j2, shoulder("S1", "shaft", "front shoulder", 27, 15, 1), spacer("P1", "spacer-in", "inner spacer, thickness", 8, 37, 13.7, 1)} {
		bench.spec(s)
	}
	for _, s := range []spindle.Specification{bore("B1", "housing", "front bearing bore", 42, 28, 26, "JS4"), bore("B2", "housing", "rear bearing bore", 42, 140, 12, "H4")} {
		s.Source, s.Reference = spindle.FromProposal, "the bearing's class 4; no drawing at hand"
		bench.spec(s)
	}
	first := bench.setup(Technician, "lev-11", "")
	bench.sweep(Technician, first, j1, spindle.CircularRunOut, "1", 0, 0.6, 1.2, 1.4, 1.0, 0.4, -0.2, -0.4)
}
