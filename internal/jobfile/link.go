package jobfile

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// index knows what the names in a file stand for.
type index struct {
	file     *File
	setups   map[string]*verdict.SetupState
	features map[string]*Feature
	taken    map[station]spot
	ids      map[string]spot
}

// station is what two readings must not share. Readings of different characteristics that say the same kind of thing (size, taper) share it.
type station struct {
	setup, person, feature, as, plane string
	angle                             int64
	repeat                            int
	closing                           bool
}

func (x *index) station(r verdict.Observation) station {
	v := r.Reading
	s := station{setup: v.Setup, person: r.Person, feature: v.Feature, as: v.Characteristic, plane: v.Plane, angle: v.Angle, repeat: v.Repeat, closing: v.Closing}
	if f := x.features[v.Feature]; f != nil {
		s.as = spindle.ReadAs(f.Geometry, v.Characteristic)
	}
	return s
}

func newIndex(f *File) *index {
	x := &index{file: f, setups: map[string]*verdict.SetupState{}, features: map[string]*Feature{}, taken: map[station]spot{}, ids: map[string]spot{}}
	for i := range f.Setups {
		x.setups[f.Setups[i].ID] = &f.Setups[i]
	}
	for i := range f.Components {
		for k := range f.Components[i].Features {
			x.features[f.Components[i].Features[k].Feature] = &f.Components[i].Features[k]
		}
	}
	for _, r := range f.Readings {
		x.taken[x.station(r)] = spot{path: "the job file"}
		x.ids[r.ID] = spot{path: "the job file"}
	}
	return x
}

// link holds the file against itself: every name is given once, what is said makes sense, every reading knows where it belongs.
func (l *loading) link(top *object) {
	f := l.file
	once := names{}
	for i := range f.Setups {
		s, o := &f.Setups[i], l.setups[i]
		once.give(o, "id", "set-up", s.ID)
		if s.Person == "" {
			s.Person = f.Defaults.Person
		}
		for k := range s.Checks {
			s.Checks[k].ID = fmt.Sprintf("%s zero check %d", s.ID, k+1)
		}
		if !o.faulty {
			o.check(s.Check())
		}
	}
	n := 0
	for i := range f.Components {
		c, o := &f.Components[i], l.parts[i]
		once.give(o, "component", "component", c.ID)
		if !o.faulty {
			o.check(c.Check())
		}
		for k := range c.Features {
			c.Features[k].Component = c.ID
			once.give(l.features[n], "feature", "feature", c.Features[k].Feature)
			l.features[n].feature(&c.Features[k])
			n++
		}
	}
	x := newIndex(f)
	n = 0
	for i := range f.Components {
		for k := range f.Components[i].Features {
			l.features[n].datums(x, &f.Components[i].Features[k])
			n++
		}
	}
	if d := f.Defaults.Setup; d != "" && x.setups[d] == nil {
		at := top.spot("defaults")
		at.path = "defaults.setup"
		l.report.addf(at, ErrUnknown, "no set-up has the id %s; %s", shown(d), x.knownSetups())
	}
	l.resolve(x)
}

// names remembers what was given, by kind.
type names map[[2]string]int

func (n names) give(o *object, key, what, name string) {
	if name == "" {
		return // reported as missing
	}
	if line := n[[2]string{what, name}]; line > 0 {
		o.faultf(key, ErrDuplicate, "a %s %s stands at line %d already; give each its own", what, shown(name), line)
		return
	}
	n[[2]string{what, name}] = o.node.line
}

func (o *object) check(err error) {
	if err != nil {
		o.fault("", err)
	}
}

// feature checks a specification that was read without fault.
func (o *object) feature(f *Feature) {
	if o.faulty {
		return
	}
	o.check(f.Check())
	for i, c := range f.Characteristics {
		if c.Class != "" && !classShape(c.Class) {
			o.report.addf(o.item("characteristics", i, "class"), ErrInvalid, "class %s is not a tolerance class: one or two letters and a grade, such as k4 or JS5", shown(c.Class))
		}
	}
	for i, c := range f.Concessions {
		k, ok := f.Characteristic(c.Characteristic)
		at := o.item("concessions", i, "characteristic")
		switch {
		case !ok:
			o.report.addf(at, ErrUnknown, "%s has no characteristic %s to concede", f.Feature, shown(c.Characteristic))
		case k.Name == spindle.QuantityChar || k.Name == spindle.AttributeChar:
			o.report.addf(at, ErrInvalid, "a concession gives limits of length; %s has none", shown(c.Characteristic))
		case c.Lower == nil && c.Upper == nil:
			o.report.addf(at, ErrMissing, "a concession accepts to lower_um, upper_um or both")
		case c.Lower != nil && c.Upper != nil && *c.Lower > *c.Upper:
			o.report.addf(at, ErrInvalid, "the conceded lower limit is above the upper one")
		}
	}
}

func (o *object) datums(x *index, f *Feature) {
	for i, c := range f.Characteristics {
		for _, d := range c.Datum {
			if x.features[d] == nil && !o.faulty {
				o.report.addf(o.item("characteristics", i, "datum"), ErrUnknown, "datum %s of %s is no feature; %s", shown(d), c.Name, x.knownFeatures())
			}
		}
	}
}

// classShape reports whether a text can be a tolerance class at all. Whether the standard defines it is for the verdict to say.
func classShape(s string) bool {
	letters := strings.TrimRight(s, "0123456789")
	grade := s[len(letters):]
	return (len(letters) == 1 || len(letters) == 2) && strings.Trim(strings.ToLower(letters), "abcdefghijklmnopqrstuvwxyz") == "" && (len(grade) == 1 || len(grade) == 2)
}

// resolve fills in what readings leave out, checks them and takes them into the file.
func (l *loading) resolve(x *index) {
	f := l.file
	for i := range l.readings {
		r := &l.readings[i]
		if !l.complete(x, r) {
			continue
		}
		if r.ID == "" {
			// In the order of the file, so that of equal readings the first comes first.
			r.ID = fmt.Sprintf("reading %09d", len(f.Readings)+1)
		}
		if earlier, ok := x.ids[r.ID]; ok {
			l.report.addf(r.spot, ErrDuplicate, "the id %s stands at %s already", shown(r.ID), earlier.words())
			continue
		}
		s := x.station(r.Observation)
		if earlier, ok := x.taken[s]; ok {
			l.report.addf(r.spot, ErrDuplicate, "%s has a reading at this station with this set-up, person and repeat already, at %s; number repeats 0, 1, 2 …", r.Reading.Feature, earlier.words())
			continue
		}
		x.ids[r.ID], x.taken[s] = r.spot, r.spot
		f.Readings = append(f.Readings, r.Observation)
	}
	l.readings = nil
}

func (s spot) words() string {
	if s.line == 0 {
		return s.path
	}
	return fmt.Sprintf("%s:%d", s.file, s.line)
}

// complete fills in one reading and reports what is wrong with it.
func (l *loading) complete(x *index, r *found) bool {
	d, v := x.file.Defaults, &r.Reading
	fault := func(sentinel error, format string, args ...any) bool {
		l.report.addf(r.spot, sentinel, format, args...)
		return false
	}
	spec := x.features[v.Feature]
	switch {
	case v.Feature == spindle.MasterFeature:
		return fault(ErrInvalid, "a zero check stands in its set-up, as zero_before_um and zero_after_um")
	case spec == nil:
		return fault(ErrUnknown, "no feature is called %s; %s", shown(v.Feature), x.knownFeatures())
	}
	if v.Setup == "" && v.Yes == nil {
		v.Setup = d.Setup
	}
	setup := x.setups[v.Setup]
	switch {
	case v.Setup == "" && v.Yes == nil:
		return fault(ErrMissing, "the reading names no set-up, and the file has no default; %s", x.knownSetups())
	case v.Setup != "" && setup == nil:
		return fault(ErrUnknown, "no set-up has the id %s; %s", shown(v.Setup), x.knownSetups())
	}
	if r.Person == "" && setup != nil {
		r.Person = setup.Person
	}
	if r.Person == "" {
		r.Person = d.Person
	}
	if v.Purpose == "" {
		v.Purpose = d.Purpose
	}
	if v.Purpose == "" {
		v.Purpose = spindle.ForInspection
	}
	if !r.planeGiven && len(spec.Plan.Planes) == 1 {
		v.Plane = spec.Plan.Planes[0].Name
	}
	if words := characteristicOf(spec, v); words != "" {
		return fault(ErrUnknown, "%s", words)
	}
	if v.Value != nil && v.Means == "" {
		switch {
		case spindle.IsSweep(v.Characteristic) || setup.Mode == spindle.ModeIndicator:
			v.Means = spindle.MeansIndicator
		case setup.Mode == spindle.ModeMaster:
			v.Means = spindle.MeansFromMaster
		default:
			return fault(ErrMissing, "say what value_um means under an absolute set-up: write size_mm, or means %q", spindle.MeansFromNominal)
		}
	}
	if v.Value != nil && v.Means == spindle.MeansSize && v.Unit != "mm" {
		return fault(ErrInvalid, "a full size is written as size_mm")
	}
	if err := v.Check(); err != nil {
		return fault(ErrInvalid, "%s", strings.TrimPrefix(err.Error(), spindle.ErrInvalid.Error()+": "))
	}
	return true
}

// characteristicOf fills in the characteristic of a reading, or says why it serves none.
func characteristicOf(f *Feature, v *spindle.Reading) string {
	var read []string // what is read at the feature
	for _, c := range f.Characteristics {
		if as := spindle.ReadAs(f.Geometry, c.Name); !slices.Contains(read, as) {
			read = append(read, as)
		}
	}
	switch {
	case v.Characteristic == "" && len(read) == 1:
		v.Characteristic = read[0]
	case v.Characteristic == "":
		return fmt.Sprintf("say which characteristic was read; at %s these are read: %s", f.Feature, strings.Join(read, ", "))
	case !slices.Contains(read, spindle.ReadAs(f.Geometry, v.Characteristic)):
		return fmt.Sprintf("%s has no characteristic %s; read there are: %s", f.Feature, shown(v.Characteristic), strings.Join(read, ", "))
	}
	return ""
}

func (x *index) knownFeatures() string {
	var have []string
	for _, c := range x.file.Components {
		for _, f := range c.Features {
			have = append(have, f.Feature)
		}
	}
	return listing("features", have)
}

func (x *index) knownSetups() string {
	var have []string
	for _, s := range x.file.Setups {
		have = append(have, s.ID)
	}
	return listing("set-ups", have)
}

func listing(what string, have []string) string {
	const most = 8
	switch {
	case len(have) == 0:
		return "the file has no " + what
	case len(have) > most:
		return fmt.Sprintf("%s are %s and %d more", what, strings.Join(have[:most], ", "), len(have)-most)
	}
	return what + " are " + strings.Join(have, ", ")
}
