package verdict

import (
	"fmt"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// tester is what *testing.T and a property's *rapid.T have in common.
type tester interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}

const µm = length.Micrometre

// The fixtures of the acceptance scenarios: comparator and master at 20.0 °C exactly, u = 0.5 µm from the calibration alone.

func um(x float64) length.Length { return toLength(x) }

func ptr[T any](v T) *T { return &v }

func comparator(id string, u float64) SetupState {
	return SetupState{ID: id, Person: "P1", Setup: spindle.Setup{
		Gauge:   spindle.Gauge{ID: "G-" + id, Type: "two-point comparator", UCal: um(u)},
		Mode:    spindle.ModeMaster,
		Master:  &spindle.Master{ID: "M-70", Certified: 70 * length.Millimetre},
		TPart:   ptr(int64(20_000)),
		TMaster: ptr(int64(20_000)),
		UT:      ptr(int64(0)),
		Soaked:  true,
	}, Checks: []ZeroCheck{{ID: "z1"}, {ID: "z2", After: true}}}
}

func indicator(id string, u float64) SetupState {
	return SetupState{ID: id, Person: "P1", Setup: spindle.Setup{
		Gauge: spindle.Gauge{ID: "I-" + id, Type: "lever indicator", UCal: um(u)}, Mode: spindle.ModeIndicator}}
}

func journal() spindle.Specification {
	return spindle.Specification{
		Feature: "J1", Component: "shaft", Name: "front bearing journal", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre,
		Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}},
		Plan:            spindle.Plan{Planes: []spindle.Plane{{Name: "1", Z: 60 * length.Millimetre}, {Name: "2", Z: 80 * length.Millimetre}}, Angles: []int64{0, 60_000, 120_000}},
		Rework:          spindle.ReworkAllowance{BuildUp: true, MaxOff: 20 * µm},
		Source:          spindle.FromDrawing, Reference: "T-2041",
	}
}

func bore() spindle.Specification {
	s := journal()
	s.Feature, s.Component, s.Name, s.Geometry, s.Nominal = "B1", "housing", "front bearing bore", spindle.Inside, 110*length.Millimetre
	s.Characteristics = []spindle.Characteristic{{Name: spindle.Size, Class: "JS5", Required: true}}
	return s
}

func reading(id, setup string, spec spindle.Specification, characteristic, plane string, angle int64, means spindle.Meaning, value float64) Observation {
	return Observation{ID: id, Person: "P1", Reading: spindle.Reading{
		Setup: setup, Feature: spec.Feature, Characteristic: characteristic, Plane: plane, Angle: angle,
		Typed: fmt.Sprint(value), Unit: "µm", Means: means, Value: ptr(um(value)), Purpose: spindle.ForInspection,
	}}
}

// sized reads the stations of the plan in its order, in micrometres from nominal.
func sized(spec spindle.Specification, setup string, values ...float64) []Observation {
	var list []Observation
	for i, s := range plannedStations(spec, spindle.Size) {
		if i < len(values) {
			list = append(list, reading(fmt.Sprintf("%s-%d", setup, i), setup, spec, spindle.Size, s.Plane, s.Angle, spindle.MeansFromNominal, values[i]))
		}
	}
	return list
}

func input(spec spindle.Specification, observations []Observation, setups ...SetupState) Input {
	in := Input{Spec: spec, Observations: observations, Setups: map[string]SetupState{}}
	for _, s := range setups {
		in.Setups[s.ID] = s
	}
	return in
}

func (f Feature) of(t tester, name string) Characteristic {
	t.Helper()
	for _, c := range f.Characteristics {
		if c.Name == name {
			return c
		}
	}
	t.Fatalf("%s: no characteristic %s in the verdict", f.Feature, name)
	return Characteristic{}
}

func (c Characteristic) drawn(t tester, name string) float64 {
	t.Helper()
	for _, f := range c.Figures {
		if f.Name == name {
			return f.Value
		}
	}
	t.Fatalf("%s: no figure %q among %+v", c.Name, name, c.Figures)
	return 0
}

func near(t tester, what string, got, want, within float64) {
	t.Helper()
	if d := got - want; !(d <= within && d >= -within) {
		t.Errorf("%s = %.6f, want %.6f ± %g", what, got, want, within)
	}
}

func nearLength(t tester, what string, got *length.Length, want float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is missing, want %.3f µm", what, want)
		return
	}
	near(t, what+" in µm", got.Micrometres(), want, 0.0101)
}

func nearPC(t tester, got *float64, want float64) {
	t.Helper()
	if got == nil {
		t.Errorf("p_c is missing, want %.4f", want)
		return
	}
	near(t, "p_c", *got, want, 0.003)
}
