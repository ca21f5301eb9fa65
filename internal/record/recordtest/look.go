package recordtest

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
	"runtrue/internal/verdict"
)

// View is the job as a device shows it.
type View struct {
	State  *record.State
	Judged *hold.Judgement
	Sheet  *sheet.Sheet
}

// Look folds and judges what the device holds.
func (t *Tablet) Look() *View { return t.LookUnder(hold.Overlay{}) }

// LookUnder does so with what the device knows beside the record.
func (t *Tablet) LookUnder(o hold.Overlay) *View { return ViewOf(t.Job, o) }

// ViewOf folds and judges a job.
func ViewOf(j *record.Job, o hold.Overlay) *View {
	v := &View{State: record.Fold(j)}
	v.Judged = hold.Judge(v.State, o)
	v.Sheet = sheet.FromState(v.State, v.Judged)
	return v
}

// Part returns the component of that id, which must be there.
func (v *View) Part(id string) *hold.Component {
	for _, c := range v.Judged.Components {
		if c.ID == id || slices.Contains(c.Aliases, id) {
			return c
		}
	}
	panic("recordtest: no component " + id)
}

// Size returns the verdict on the size of a feature.
func (v *View) Size(feature string) verdict.Characteristic { return v.Characteristic(feature, "size") }

// Characteristic returns the verdict on a characteristic of a feature, which must be there.
func (v *View) Characteristic(feature, name string) verdict.Characteristic {
	for _, c := range v.Judged.Components {
		for _, f := range c.Verdicts {
			for _, k := range f.Characteristics {
				if f.Feature == feature && k.Name == name {
					return k
				}
			}
		}
	}
	panic("recordtest: no characteristic " + feature + " " + name)
}

// Held writes the codes of what holds a component, in order, joined by "; "; "" where it is cleared.
func (v *View) Held(id string) string {
	var codes []string
	for _, r := range v.Part(id).Held {
		if c := string(r.Code); !slices.Contains(codes, c) {
			codes = append(codes, c)
		}
	}
	slices.Sort(codes)
	return strings.Join(codes, "; ")
}

// Words writes everything that holds a component, for messages of tests.
func (v *View) Words(id string) string {
	var b strings.Builder
	for _, r := range v.Part(id).Held {
		fmt.Fprintf(&b, "  [%s] %s → %s %v\n", r.Code, r.Words, r.Act, r.Who)
	}
	return b.String()
}

// Reading returns the state of a reading, or nil.
func (v *View) Reading(id record.ID) *record.ReadingState {
	for _, c := range v.State.Components {
		for _, f := range c.Features {
			for _, r := range f.Readings {
				if r.ID == id {
					return r
				}
			}
		}
	}
	return nil
}
