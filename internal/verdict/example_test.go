package verdict_test

import (
	"fmt"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// A journal 70 k4 read at three places with a comparator of U = 1 µm, set to a ring of 70.000 mm; part and ring at 20 °C.
func Example() {
	journal := spindle.Specification{
		Feature: "J1", Component: "shaft", Name: "front bearing journal", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre,
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}},
		Plan:            spindle.Plan{Angles: []int64{0, 60_000, 120_000}},
		Rework:          spindle.ReworkAllowance{MaxOff: 20 * length.Micrometre},
		Source:          spindle.FromDrawing,
	}
	twenty, exactly := int64(20_000), int64(0)
	comparator := verdict.SetupState{
		Setup: spindle.Setup{
			Gauge: spindle.Gauge{ID: "C-7", UCal: 500 * length.Nanometre}, Mode: spindle.ModeMaster,
			Master: &spindle.Master{ID: "R-70", Certified: 70 * length.Millimetre}, TPart: &twenty, TMaster: &twenty, UT: &exactly, Soaked: true,
		},
		Checks: []verdict.ZeroCheck{{}, {After: true}},
	}
	in := verdict.Input{Spec: journal, Setups: map[string]verdict.SetupState{"morning": comparator}}
	for i, µm := range []length.Length{11, 12, 11} {
		value := µm * length.Micrometre
		in.Observations = append(in.Observations, verdict.Observation{ID: fmt.Sprint(i), Person: "Ana", Reading: spindle.Reading{
			Setup: "morning", Feature: "J1", Characteristic: spindle.Size, Angle: journal.Plan.Angles[i], Means: spindle.MeansFromMaster, Value: &value,
		}})
	}
	feature := verdict.Assess(in)
	proposal := verdict.Propose(spindle.Component{Type: spindle.Shaft, Name: "shaft"}, []verdict.Feature{feature}, []spindle.Specification{journal}, nil)
	fmt.Println(feature.Outcome)
	fmt.Println(proposal.Action)
	fmt.Println(proposal.Reason)
	// Output:
	// fails
	// rework
	// J1 front bearing journal is 2.0 µm above its upper limit (70 k4: +2 … +10 µm; worst local +12.0 ± 1.0 µm at 60°): take off 2.8 … 8.2 µm on the diameter, aim 5.5 µm (0.02 mm may be taken off)
}
