package jobfile

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/length"
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
// Errors: [ErrDiffers] where the sheet does not carry enough for that (a set-up in doubt by an objection, several rounds of zero checks in one set-up), or what [Read] says of the file.
func FromSheet(s *sheet.Sheet) (*File, error) {
	f := &File{Job: s.Job}
	for _, fact := range s.Facts {
		if fact.Subject == record.SubjectJob && fact.Field != "" {
			for _, v := range fact.Values {
				f.Facts = append(f.Facts, Fact{Field: fact.Field, Value: v})
			}
		}
	}
	used := map[string]bool{}
	known := map[string]bool{}
	for _, c := range s.Components {
		for _, k := range c.Features {
			known[k.Spec.Feature] = true
		}
	}
	for _, c := range s.Components {
		f.Components = append(f.Components, f.component(c, known, used))
	}
	for _, p := range s.Setups {
		if used[p.ID.String()] {
			f.Setups = append(f.Setups, setupOf(p))
		}
	}
	return f, f.sameAs(s)
}

func (f *File) component(c sheet.Component, known, used map[string]bool) Component {
	out := Component{Component: c.Component}
	out.Outline, out.Bearing = nil, nil
	if words, found := strings.CutPrefix(c.Proposal.Reason, c.Name+": damage was found and nobody has decided on it: "); found {
		out.Damage = []string{words}
	}
	for _, k := range c.Features {
		spec := k.Spec
		spec.At = nil
		spec.Characteristics = slices.Clone(spec.Characteristics)
		for i, r := range spec.Characteristics {
			// A datum that is no feature of the job can void nothing.
			spec.Characteristics[i].Datum = slices.DeleteFunc(slices.Clone(r.Datum), func(d string) bool { return !known[d] })
		}
		out.Features = append(out.Features, Feature{Specification: spec, Concessions: concessions(k)})
		readings := counting(k)
		for _, r := range readings {
			used[r.Reading.Setup] = true
		}
		f.Readings = append(f.Readings, readings...)
	}
	return out
}

// counting are the readings of a feature that its verdict rests on, by station, with their repeats numbered so that none is given twice.
func counting(k sheet.Feature) []verdict.Observation {
	var out []verdict.Observation
	groups := map[station][]int{}
	for _, r := range k.Readings {
		reading := r.Reading
		if r.Status != string(record.ReadingCounts) || !serves(k.Spec, reading.Characteristic) {
			continue
		}
		at := station{as: spindle.ReadAs(k.Spec.Geometry, reading.Characteristic), plane: reading.Plane, angle: reading.Angle}
		if reading.Value != nil { // lengths are averaged by set-up and person; answers of all stand in one row
			at.setup, at.person, at.closing = reading.Setup, r.By, reading.Closing
		}
		groups[at] = append(groups[at], len(out))
		out = append(out, verdict.Observation{ID: r.ID.String(), Person: r.By, Reading: reading})
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

// concessions are those that moved a limit: where the verdict's limits are not the specification's.
func concessions(k sheet.Feature) []verdict.Concession {
	var out []verdict.Concession
	for _, c := range k.Verdict.Characteristics {
		lower, upper, from, err := verdict.Limits(k.Spec, c.Name)
		if err != nil {
			continue
		}
		by, conceded := strings.CutPrefix(c.LimitsFrom, from+"; conceded by ")
		if !conceded {
			continue
		}
		out = append(out, verdict.Concession{Characteristic: c.Name, Lower: moved(lower, c.Lower), Upper: moved(upper, c.Upper), By: by})
	}
	return out
}

// moved is the conceded limit where it is not the specified one.
func moved(specified, now *length.Length) *length.Length {
	if specified == nil || now == nil || *specified == *now {
		return nil
	}
	return now
}

func setupOf(p sheet.Setup) verdict.SetupState {
	s := verdict.SetupState{ID: p.ID.String(), Person: p.By, Setup: p.Setup}
	if p.Gauge.Due != 0 && p.TimeMS > p.Gauge.Due {
		s.Overdue = fmt.Sprintf("the calibration of gauge %s had ended when it was set up", p.Gauge.ID)
	}
	for _, c := range []struct {
		after bool
		pm    *int64
	}{{false, p.Before}, {true, p.After}} {
		if c.pm != nil {
			s.Checks = append(s.Checks, verdict.ZeroCheck{After: c.after, Value: length.Length(*c.pm)})
		}
	}
	return s
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
