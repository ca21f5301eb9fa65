package hold_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/length"
	"runtrue/internal/record"
	. "runtrue/internal/record/recordtest"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// story is one scenario: a shop's server and three tablets that all begin with the shaft and its journal.
type story struct {
	*testing.T
	*Bench
	s, a, b, c *Tablet
}

func tell(t *testing.T, specs ...spindle.Specification) *story {
	t.Helper()
	bench := NewBench(t, "job-1")
	st := &story{T: t, Bench: bench, s: bench.Tablet("server-copy"), a: bench.Tablet("a"), b: bench.Tablet("b"), c: bench.Tablet("c")}
	for _, spec := range specs {
		if st.s.Look().State.Component(spec.Component) == nil {
			typ := spindle.Shaft
			if spec.Geometry == spindle.Inside {
				typ = spindle.Housing
			}
			st.s.Part(P1, spec.Component, typ)
		}
		st.s.Specify(P3, spec)
	}
	st.sync()
	return st
}

func (st *story) sync() { Meet(st.s, st.a, st.b, st.c) }

// same checks that all the devices show the same bytes.
func (st *story) same() {
	st.Helper()
	want := sheet.Build(st.s.Job, hold.Overlay{}).JSON()
	for _, t := range []*Tablet{st.a, st.b, st.c} {
		if !bytes.Equal(sheet.Build(t.Job, hold.Overlay{}).JSON(), want) {
			st.Errorf("tablet %s shows other bytes than the server", t.Name)
		}
	}
}

// held checks the codes of what holds a part; "" for cleared.
func (st *story) held(when string, v *View, part, want string) {
	st.Helper()
	if got := v.Held(part); got != want {
		st.Errorf("%s: %s is held by %q, want %q\n%s", when, part, got, want, v.Words(part))
	}
}

// words checks that some reason names a text.
func (st *story) words(when string, v *View, part, want string) {
	st.Helper()
	if got := v.Words(part); !strings.Contains(got, want) {
		st.Errorf("%s: nothing that holds %s says %q:\n%s", when, part, want, got)
	}
}

// says checks outcome, p_c (±0.003; negative: not asked) and a part of the sentence of a size.
func (st *story) says(when string, v *View, feature string, outcome verdict.Outcome, pc float64, want ...string) verdict.Characteristic {
	st.Helper()
	c := v.Size(feature)
	if c.Outcome != outcome {
		st.Errorf("%s: %s %s, want %s: %s", when, feature, c.Outcome, outcome, c.Sentence)
	}
	if pc >= 0 && (c.PC == nil || math.Abs(*c.PC-pc) > 0.003) {
		st.Errorf("%s: p_c of %s is %v, want %.3f: %s", when, feature, value(c.PC), pc, c.Sentence)
	}
	for _, w := range want {
		if !strings.Contains(c.Sentence+" | "+c.Settle, w) {
			st.Errorf("%s: %q does not say %q", when, c.Sentence+" | "+c.Settle, w)
		}
	}
	return c
}

// um checks a length in micrometres, ±0.01.
func (st *story) um(what string, got *length.Length, want float64) {
	st.Helper()
	if got == nil || math.Abs(got.Micrometres()-want) > 0.01 {
		st.Errorf("%s: %v µm, want %.2f", what, umOf(got), want)
	}
}

func umOf(l *length.Length) any {
	if l == nil {
		return "none"
	}
	return l.Micrometres()
}

func value[T any](p *T) any {
	if p == nil {
		return "none"
	}
	return *p
}

func (st *story) proposes(when string, v *View, part string, want verdict.Action) {
	st.Helper()
	if p := v.Part(part).Proposal; p.Action != want {
		st.Errorf("%s: proposes %s for %s, want %s: %s", when, p.Action, part, want, p.Reason)
	}
}

// mend checks which way and how much: from, to and aim in µm, ±0.01.
func (st *story) mend(when string, c verdict.Characteristic, way verdict.Direction, from, to, aim float64) {
	st.Helper()
	if c.Mend == nil || c.Mend.Direction != way {
		st.Errorf("%s: mend %+v, want %s", when, c.Mend, way)
		return
	}
	st.um(when+" from", &c.Mend.From, from)
	st.um(when+" to", &c.Mend.To, to)
	st.um(when+" aim", &c.Mend.Aim, aim)
}

var (
	j1 = Seat("J1", "shaft", spindle.Outside, 70, "k4")
	j2 = Seat("J2", "shaft", spindle.Outside, 70, "k4")
	b1 = Seat("B1", "housing", spindle.Inside, 110, "JS5")
)

// ring is a comparator of u = 0.5 µm set to a master of the nominal size; each gauge has its own master.
func ring(gauge string) spindle.Setup { return Comparator(gauge, 0.5, 70) }

// good is a J1 that conforms.
var good = []float64{4.0, 5.0, 4.5, 5.0, 6.0, 5.0}

// clearedShaft is a story in which J1 was measured on two tablets and cleared by P3, known everywhere.
func clearedShaft(t *testing.T) *story {
	t.Helper()
	st := tell(t, j1)
	st.a.MeasureSeat(P1, ring("g1"), "J1", good...)
	st.sync()
	st.b.Decide(P3, "shaft", record.OutcomeReuse)
	st.sync()
	st.held("to begin with", st.s.Look(), "shaft", "")
	return st
}
