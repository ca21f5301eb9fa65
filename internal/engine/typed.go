package engine

import (
	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/slip"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// typed gathers what is known when a number is typed: what was read before on this feature, and what the other features of the job are like.
func (l *loaded) typed(a understandArgs, spec spindle.Specification) slip.Reading {
	r := slip.Reading{Spec: spec, Characteristic: a.Characteristic, Means: a.Means, Text: a.Text, Unit: length.Unit(a.Unit)}
	if s := l.setup(a.Setup); s != nil && s.Master != nil {
		r.Certified = &s.Master.Certified
	}
	r.Lower, r.Upper = limitsOf(spec, a.Characteristic)
	for _, c := range l.fold().Components {
		for _, f := range c.Features {
			if len(f.Specs) == 0 {
				continue
			}
			other := f.Spec()
			if other.Feature == spec.Feature {
				r.Earlier = earlier(f, a.Characteristic, a.Setup)
				continue
			}
			if _, sized := other.Characteristic(spindle.Size); sized && !spindle.IsSweep(a.Characteristic) {
				o := slip.Other{Spec: other, Earlier: earlier(f, spindle.Size, record.ID{})}
				o.Lower, o.Upper = limitsOf(other, spindle.Size)
				r.Others = append(r.Others, o)
			}
		}
	}
	return r
}

// zero is the same for a check on the master: it should show 0, or what it showed before.
func (l *loaded) zero(a understandArgs) slip.Reading {
	r := slip.Reading{Characteristic: spindle.CircularRunOut, Means: spindle.MeansIndicator, Text: a.Text, Unit: length.Unit(a.Unit), Earlier: []length.Length{0}}
	for _, f := range l.fold().Setups {
		if f.First.ID != a.Setup {
			continue
		}
		for _, c := range f.Checks {
			if c.Value != nil {
				r.Earlier = append(r.Earlier, *c.Value)
			}
		}
	}
	return r
}

// limitsOf returns no limits where there are none or they cannot be found: then less is expected, and less is asked.
func limitsOf(spec spindle.Specification, characteristic string) (lower, upper *length.Length) {
	lower, upper, _, err := verdict.Limits(spec, characteristic)
	if err != nil {
		return nil, nil
	}
	return lower, upper
}

// earlier lists what was read before and counts, as deviation from nominal for a size; of a sweep only what the same set-up read.
func earlier(f *record.FeatureState, characteristic string, setup record.ID) []length.Length {
	spec := f.Spec()
	as := spindle.ReadAs(spec.Geometry, characteristic)
	var list []length.Length
	for _, r := range f.Readings {
		if r.Status != record.ReadingCounts || r.Value == nil || r.Setup == nil || spindle.ReadAs(spec.Geometry, r.Characteristic) != as {
			continue
		}
		v := *r.Value
		switch {
		case spindle.IsSweep(characteristic):
			if r.Setup.First.ID != setup {
				continue
			}
		case r.Means == spindle.MeansSize:
			v -= spec.Nominal
		case r.Means == spindle.MeansFromMaster:
			constants := r.Setup.Constants()
			if constants.Master == nil {
				continue
			}
			v += constants.Master.Certified - spec.Nominal
		case r.Means == spindle.MeansIndicator:
			continue // an arbitrary zero says nothing of a size
		}
		list = append(list, v)
	}
	return list
}
