package jobfile

import (
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Version is the version of the format that is written, and the only one that is read.
const Version = 1

// File is one job as the verdicts want it.
type File struct {
	Job        string // its name; may be empty
	Note       string // free words
	Facts      []Fact
	Defaults   Defaults
	Components []Component
	Setups     []verdict.SetupState
	Readings   []verdict.Observation // in the order in which they stand in the file
}

// Fact is one thing known of the job as a whole, such as the customer or the serial number of the spindle.
type Fact struct {
	Field string
	Value string
}

// Defaults hold for readings that leave them out.
type Defaults struct {
	Setup   string
	Person  string
	Purpose spindle.Purpose
}

// Component is one part with its features.
type Component struct {
	spindle.Component
	Damage   []string // found on it, and nobody has decided on it
	Features []Feature
}

// Feature is one specification with the concessions that apply to it.
type Feature struct {
	spindle.Specification
	Concessions []verdict.Concession
}

// Assess computes the verdict of every feature and the proposal for every component, in the order of the file. The file must have been read, or made from a sheet, without error.
func (f *File) Assess() Result {
	inputs := f.Inputs()
	var result Result
	for _, c := range f.Components {
		out := Assessed{Component: c.Component}
		var specs []spindle.Specification
		for _, k := range c.Features {
			out.Features = append(out.Features, verdict.Assess(inputs[0]))
			specs = append(specs, k.Specification)
			inputs = inputs[1:]
		}
		out.Proposal = verdict.Propose(c.Component, out.Features, specs, c.Damage)
		result.Components = append(result.Components, out)
	}
	return result
}

// Inputs returns what the verdict of each feature rests on, in the order of the file.
func (f *File) Inputs() []verdict.Input {
	setups := make(map[string]verdict.SetupState, len(f.Setups))
	for _, s := range f.Setups {
		setups[s.ID] = s
	}
	readings := map[string][]verdict.Observation{}
	for _, r := range f.Readings {
		readings[r.Reading.Feature] = append(readings[r.Reading.Feature], r)
	}
	var inputs []verdict.Input
	for _, c := range f.Components {
		for _, k := range c.Features {
			in := verdict.Input{Spec: k.Specification, Observations: readings[k.Feature], Setups: map[string]verdict.SetupState{}, Concessions: k.Concessions}
			for _, r := range in.Observations {
				if s, ok := setups[r.Reading.Setup]; ok {
					in.Setups[s.ID] = s
				}
			}
			inputs = append(inputs, in)
		}
	}
	return inputs
}
