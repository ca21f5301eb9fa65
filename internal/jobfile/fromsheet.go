package jobfile

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// FromSheet makes the job file of a recorded job: what counts now, and nothing of what was. Only readings that count are in it, set-ups have their corrected constants, and only
// concessions that apply and damage that nobody has decided on are kept.
//
// A file is returned only if reading it again gives the list of the sheet, word for word; whoever passes it on passes on the same verdicts.
//
// Errors: [ErrDiffers], or what [Read] says of the file, where the record holds what a job file cannot state, such as a class that is none.
func FromSheet(s *sheet.Sheet) (*File, error) {
	f := &File{Job: s.Job}
	for _, fact := range s.Facts {
		if fact.Subject == record.SubjectJob && fact.Field != "" {
			for _, v := range fact.Values {
				f.Facts = append(f.Facts, Fact{Field: fact.Field, Value: v})
			}
		}
	}
	setups := map[string]verdict.SetupState{}
	known := map[string]bool{}
	for _, c := range s.Components {
		for _, k := range c.Features {
			known[k.Spec.Feature] = true
		}
	}
	for _, c := range s.Components {
		f.Components = append(f.Components, f.component(c, known, setups))
	}
	for _, p := range s.Setups {
		if u, used := setups[p.ID.String()]; used {
			f.Setups = append(f.Setups, u)
		}
	}
	return f, f.sameAs(s)
}

func (f *File) component(c sheet.Component, known map[string]bool, setups map[string]verdict.SetupState) Component {
	out := Component{Component: c.Component}
	out.Outline, out.Bearing = nil, nil
	out.Damage = c.Damage
	for _, k := range c.Features {
		spec := k.Spec
		spec.At = nil
		spec.Characteristics = slices.Clone(spec.Characteristics)
		for i, r := range spec.Characteristics {
			// A datum that is no feature of the job can void nothing.
			spec.Characteristics[i].Datum = slices.DeleteFunc(slices.Clone(r.Datum), func(d string) bool { return !known[d] })
		}
		out.Features = append(out.Features, Feature{Specification: spec, Concessions: k.Input.Concessions})
		readings := counting(k)
		for _, r := range readings {
			if u, ok := k.Input.Setups[r.Reading.Setup]; ok {
				setups[u.ID] = u
			}
		}
		f.Readings = append(f.Readings, readings...)
	}
	return out
}

// counting are the readings of a feature that its verdict rests on, by station, with their repeats numbered so that none is given twice.
func counting(k sheet.Feature) []verdict.Observation {
	var out []verdict.Observation
	groups := map[station][]int{}
	for _, r := range k.Input.Observations {
		reading := r.Reading
		if !serves(k.Spec, reading.Characteristic) {
			continue
		}
		at := station{as: spindle.ReadAs(k.Spec.Geometry, reading.Characteristic), plane: reading.Plane, angle: reading.Angle}
		if reading.Value != nil { // lengths are averaged by set-up and person; answers of all stand in one row
			at.setup, at.person, at.closing = reading.Setup, r.Person, reading.Closing
		}
		groups[at] = append(groups[at], len(out))
		out = append(out, r)
	}
	for _, group := range groups { // each reading is in one group, so the order of the groups changes nothing
		renumber(out, group)
	}
	return out
}

// renumber numbers the repeats of a group 0, 1, 2 … where two readings of one person have the same number, as when two tablets counted apart. The order in which the verdict takes them stays.
func renumber(all []verdict.Observation, group []int) {
	slices.SortFunc(group, func(a, b int) int {
		x, y := all[a], all[b]
		return cmp.Or(cmp.Compare(x.Reading.Repeat, y.Reading.Repeat), strings.Compare(x.Person, y.Person), strings.Compare(x.ID, y.ID))
	})
	type number struct {
		setup, person string
		repeat        int
		closing       bool
	}
	given := map[number]bool{}
	for _, n := range group {
		r := all[n].Reading
		given[number{r.Setup, all[n].Person, r.Repeat, r.Closing}] = true
	}
	if len(given) == len(group) {
		return
	}
	for i, n := range group {
		all[n].Reading.Repeat = i
	}
}

func serves(spec spindle.Specification, characteristic string) bool {
	as := spindle.ReadAs(spec.Geometry, characteristic)
	return slices.ContainsFunc(spec.Characteristics, func(c spindle.Characteristic) bool { return spindle.ReadAs(spec.Geometry, c.Name) == as })
}

// sameAs reports whether the file, once written and read, gives what the sheet says.
func (f *File) sameAs(s *sheet.Sheet) error {
	again, err := Read("the job file of "+s.Job, f.JSON())
	if err != nil {
		return fmt.Errorf("the job cannot be handed on as a job file: %w", err)
	}
	want, got := ResultOf(s).Lines(), again.Assess().Lines()
	if len(want) != len(got) {
		return fmt.Errorf("%w: %d components instead of %d; hand on the list instead", ErrDiffers, len(got), len(want))
	}
	for i := range want {
		if !bytes.Equal(Indented(want[i]), Indented(got[i])) {
			return fmt.Errorf("%w: %s rests on something that a job file cannot state; hand on the list instead (%s)", ErrDiffers, want[i].Component, firstDifference(want[i], got[i]))
		}
	}
	return nil
}

// firstDifference names the first characteristic that reads differently.
func firstDifference(want, got ComponentLine) string {
	for i := range min(len(want.Features), len(got.Features)) {
		a, b := want.Features[i], got.Features[i]
		if !bytes.Equal(Indented(a), Indented(b)) {
			return fmt.Sprintf("%s %s: %q would read %q", a.Feature, a.Characteristic, a.Sentence, b.Sentence)
		}
	}
	return fmt.Sprintf("%q would read %q", want.Reason, got.Reason)
}
