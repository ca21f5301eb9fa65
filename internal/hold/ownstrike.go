package hold

import (
	"fmt"
	"slices"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// ownStrike says so if the decider's own strikes turned a characteristic from fails to conforms: then somebody else must decide, so that nobody strikes until a part passes.
//
// Without the strikes a characteristic may fail outright. Where the station was read again, the old and the new reading together would be in conflict; so each struck reading is
// also put in the place of what counts at its station now, a sweep in the place of the sweeps of its plane.
func (k *judge) ownStrike(d *record.Item) string {
	own := func(strike *record.Item) bool { return strike.By == d.By }
	if !slices.ContainsFunc(k.Evidence, func(e record.Evidence) bool { return e.Kind == "strike" && e.Counts() && own(e.Item) }) {
		return ""
	}
	before := k.unstruck[d.By]
	if before == nil {
		before = k.state.WithoutStrikes(own)
		k.unstruck[d.By] = before
	}
	for i, f := range k.Features {
		was := before.Feature(f.Name)
		if was == nil {
			continue
		}
		for _, readings := range insteads(f, was) {
			old := verdict.Assess(k.input(f, readings))
			for n, c := range k.Verdicts[i].Characteristics {
				if c.Required && c.Outcome == verdict.Conforms && old.Characteristics[n].Outcome == verdict.Fails {
					return fmt.Sprintf("%s struck a reading of %s; without that, %s fails, so %s may not decide on it alone", d.By, f.Name, c.Name, d.By)
				}
			}
		}
	}
	return ""
}

// insteads lists the sets of readings to look at, on their set-ups as they were before the strikes: all that counted then, and for each of those that counts no more, what counts now with it in the
// place of its rivals.
func insteads(now, was *record.FeatureState) [][]*record.ReadingState {
	counts := map[record.ID]bool{}
	for _, r := range now.Readings {
		counts[r.ID] = r.Status == record.ReadingCounts
	}
	var counted, kept []*record.ReadingState
	for _, r := range was.Readings {
		if r.Status == record.ReadingCounts {
			counted = append(counted, r)
		}
		if counts[r.ID] {
			copied := *r
			copied.Status = record.ReadingCounts
			kept = append(kept, &copied)
		}
	}
	out := [][]*record.ReadingState{counted}
	for _, r := range counted {
		if counts[r.ID] {
			continue
		}
		with := slices.DeleteFunc(slices.Clone(kept), func(o *record.ReadingState) bool { return rivals(r, o) })
		for _, o := range counted {
			if o == r || spindle.IsSweep(r.Characteristic) && !counts[o.ID] && rivals(r, o) && o.Setup == r.Setup {
				with = append(with, o)
			}
		}
		out = append(out, with)
	}
	return out
}

// rivals reports whether two readings speak of the same station or, for sweeps, of the same plane.
func rivals(a, b *record.ReadingState) bool {
	return a.Characteristic == b.Characteristic && a.Plane == b.Plane && (a.Angle == b.Angle || spindle.IsSweep(a.Characteristic))
}
