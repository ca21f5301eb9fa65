package verdict

import (
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

func TestPropose(t *testing.T) {
	shaft := spindle.Component{ID: "shaft", Type: spindle.Shaft, Name: "shaft", Origin: spindle.Removed, RunBefore: true}
	ran := spindle.Component{ID: "b", Type: spindle.Bearing, Name: "front bearing, outer of the pair", Origin: spindle.Removed, RunBefore: true}
	fresh := spindle.Component{ID: "n", Type: spindle.Bearing, Name: "new front bearing", Origin: spindle.New}
	good, low, tooHigh, near := []float64{4, 5, 4.5, 5, 6, 5.08}, []float64{0.5, 1, 1.5, 1, 0.8, 1.2}, []float64{11.5, 8, 8, 8, 8, 8}, []float64{2.5, 5, 4.5, 5, 6, 5}
	k4 := journal()
	second := journal()
	second.Feature, second.Name = "J2", "rear bearing journal"
	noBuildUp := journal()
	noBuildUp.Rework.BuildUp = false
	proposed := journal()
	proposed.Source, proposed.Reference = spindle.FromProposal, "class 4 seats"
	optional := journal()
	optional.Characteristics[0].Required = false
	at := func(spec spindle.Specification, values ...float64) Feature {
		return Assess(input(spec, sized(spec, "s", values...), comparator("s", 0.5)))
	}
	clash := Assess(func() Input {
		list := append(sized(k4, "s", good...), reading("x", "p2", k4, spindle.Size, "1", 0, spindle.MeansFromNominal, 9))
		list[6].Person = "P2"
		return input(k4, list, comparator("s", 0.5), comparator("p2", 0.5))
	}())
	specs := func(s ...spindle.Specification) []spindle.Specification { return s }
	for _, c := range []struct {
		name     string
		part     spindle.Component
		features []Feature
		specs    []spindle.Specification
		damage   []string
		action   Action
		feature  string
		says     string
	}{
		{"all conform", shaft, []Feature{at(k4, good...)}, specs(k4), nil, Reuse, "J1", "J1 front bearing journal conforms"},
		{"build up", shaft, []Feature{at(k4, low...)}, specs(k4), nil, Rework, "J1", "build up and finish, adding 2.3 … 7.7 µm on the diameter, aim 5.0 µm"},
		{"grind", shaft, []Feature{at(k4, tooHigh...)}, specs(k4), nil, Rework, "J1", "take off 2.3 … 5.2 µm on the diameter, aim 3.8 µm"},
		{"not allowed to build up", shaft, []Feature{at(noBuildUp, low...)}, specs(noBuildUp), nil, Replace, "J1", "no building up is allowed"},
		{"half read", shaft, []Feature{at(k4, good[:3]...)}, specs(k4), nil, Measure, "J1", "measure with a two-point comparator, U ≤ 2.00 µm (T/4)"},
		{"too near the limit", shaft, []Feature{at(k4, near...)}, specs(k4), nil, Measure, "J1", "U ≤ 0.61 µm"},
		{"two people differ", shaft, []Feature{clash}, specs(k4), nil, Decide, "J1", "conflict"},
		{"damage beats size", shaft, []Feature{at(k4, good...)}, specs(k4), []string{"fretting on J1"}, Decide, "", "fretting on J1"},
		{"limits not accepted", shaft, []Feature{at(proposed, good...)}, specs(proposed), nil, Decide, "J1", "not from the drawing"},
		{"nothing required", shaft, []Feature{at(optional, low...)}, specs(optional), nil, Measure, "J1", "required"},
		{"no specification", spindle.Component{Type: spindle.Cover, Name: "cover", Origin: spindle.Removed}, nil, nil, nil, Measure, "", "nothing is specified"},
		{"the failing feature speaks, not the good one", shaft, []Feature{at(k4, good...), at(second, low...)}, specs(k4, second), nil, Rework, "J2", "J2 rear bearing journal"},
		{"unrecoverable beats rework", shaft, []Feature{at(second, low...), at(noBuildUp, low...)}, specs(second, noBuildUp), nil, Replace, "J1", "no building up"},
		{"rework beats measure", shaft, []Feature{at(k4, good[:3]...), at(second, low...)}, specs(k4, second), nil, Rework, "J2", ""},
		{"a feature without a verdict", shaft, nil, specs(k4), nil, Measure, "J1", "0 of 6 stations"},
		{"a bearing that has run", ran, nil, nil, nil, Replace, "", "common practice, no source"},
		{"a bearing that has run and is damaged", ran, nil, nil, []string{"spalled"}, Decide, "", "spalled"},
		{"a new bearing, nothing specified", fresh, nil, nil, nil, Measure, "", "nothing is specified"},
		{"a new bearing, not measured", fresh, []Feature{at(k4)}, specs(k4), nil, Measure, "J1", "not measured"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := Propose(c.part, c.features, c.specs, c.damage)
			t.Log(p.Action, "—", p.Reason)
			if p.Action != c.action || p.Feature != c.feature || !strings.Contains(p.Reason, c.says) {
				t.Errorf("%s on %q, want %s on %q saying %q", p.Action, p.Feature, c.action, c.feature, c.says)
			}
		})
	}
}

func TestAllowance(t *testing.T) {
	for _, c := range []struct {
		name     string
		geometry spindle.Geometry
		rework   spindle.ReworkAllowance
		values   []float64 // 0: all 12 µm (metal off a journal) or −12 (a bore)
		allowed  bool
		from, to float64
		why      string
	}{
		{"enough stock", spindle.Outside, spindle.ReworkAllowance{MaxOff: 20 * µm}, []float64{12, 12}, true, 4.82, 7.18, "0.02 mm"},
		{"less than the zone would bear", spindle.Outside, spindle.ReworkAllowance{MaxOff: 5 * µm}, []float64{12, 12}, true, 4.82, 5, "0.005 mm"},
		{"too little stock", spindle.Outside, spindle.ReworkAllowance{MaxOff: 4 * µm}, []float64{12, 12}, false, 4.82, 7.18, "0.004 mm"},
		{"nothing may come off", spindle.Outside, spindle.ReworkAllowance{BuildUp: true}, []float64{12, 12}, false, 4.82, 7.18, "nothing"},
		{"the wall is too thin", spindle.Outside, spindle.ReworkAllowance{MaxOff: 20 * µm, MinWall: 70*length.Millimetre + 9*µm}, []float64{12, 12}, false, 4.82, 7.18, "0.003 mm is left"},
		{"a bore too large", spindle.Inside, spindle.ReworkAllowance{MaxOff: 20 * µm, MinWall: 70*length.Millimetre + 9*µm}, []float64{0, 0}, true, 2.82, 5.18, "0.009 mm is left"},
	} {
		t.Run(c.name, func(t *testing.T) {
			spec := journal()
			spec.Geometry, spec.Rework = c.geometry, c.rework
			spec.Characteristics[0] = spindle.Characteristic{Name: spindle.Size, Lower: ptr(2 * µm), Upper: ptr(6 * µm), Required: true}
			if c.geometry == spindle.Outside {
				spec.Characteristics[0].Lower, spec.Characteristics[0].Upper = ptr(4*µm), ptr(8*µm)
			}
			spec.Plan.Planes, spec.Plan.Angles = nil, []int64{0, 90_000}
			m := Assess(input(spec, sized(spec, "s", c.values...), comparator("s", 0.5))).of(t, spindle.Size).Mend
			if m == nil {
				t.Fatal("no rework is named")
			}
			t.Logf("%+v", *m)
			near(t, "from in µm", m.From.Micrometres(), c.from, 0.01)
			near(t, "to in µm", m.To.Micrometres(), c.to, 0.01)
			if m.Direction != MetalOff || m.Allowed != c.allowed || !strings.Contains(m.Why, c.why) || m.Aim < m.From || m.Aim > m.To {
				t.Errorf("%s, allowed %v (%s), aim %v", m.Direction, m.Allowed, m.Why, m.Aim)
			}
		})
	}
}

// Truing a run-out takes metal off anywhere: the sizes must stay inside, else the feature is built up first. Truing a wedge leaves the smallest size as it is.
func TestMendingForm(t *testing.T) {
	for _, c := range []struct {
		name      string
		geometry  spindle.Geometry
		build     bool
		sizes     float64
		direction Direction
		allowed   bool
	}{
		{"a journal near its upper limit", spindle.Outside, false, 9, MetalOff, true},
		{"a journal near its lower limit", spindle.Outside, false, 4, MetalOn, false},
		{"the same, to be built up", spindle.Outside, true, 4, MetalOn, true},
		{"a bore near its lower limit", spindle.Inside, false, 4, MetalOff, true},
		{"a bore near its upper limit", spindle.Inside, false, 8, MetalOn, false},
	} {
		spec := journal()
		spec.Geometry, spec.Rework = c.geometry, spindle.ReworkAllowance{MaxOff: 20 * µm, BuildUp: c.build}
		spec.Plan.SweepAngles = around(4)
		spec.Characteristics = []spindle.Characteristic{{Name: spindle.Size, Lower: ptr(2 * µm), Upper: ptr(10 * µm)}, greatest(spindle.CircularRunOut, 2)}
		list := sized(spec, "s", c.sizes, c.sizes, c.sizes, c.sizes, c.sizes, c.sizes)
		for _, p := range []string{"1", "2"} {
			list = append(list, round("i", spec, spindle.CircularRunOut, p, around(4), 0, 2, 4, 2)...)
		}
		m := Assess(input(spec, list, comparator("s", 0.5), indicator("i", 0.5))).of(t, spindle.CircularRunOut).Mend
		if m == nil || m.Direction != c.direction || m.Allowed != c.allowed {
			t.Errorf("%s at %+v µm, run-out 4 of 2 µm: %+v, want %s, allowed %v", c.name, c.sizes, m, c.direction, c.allowed)
		}
	}
}

func TestQuantities(t *testing.T) {
	q := func(v int64, exp int, unit, bound string) *spindle.Quantity {
		return &spindle.Quantity{Value: v, Exp10: exp, Unit: unit, Bound: bound}
	}
	for _, c := range []struct {
		lower, upper *spindle.Quantity
		values       []*spindle.Quantity
		outcome      Outcome
		worst        string
	}{
		{q(5, 0, "MΩ", ""), nil, []*spindle.Quantity{q(655, -2, "MΩ", "")}, Conforms, "6.55 MΩ"},
		{q(5, 0, "MΩ", ""), nil, []*spindle.Quantity{q(283, -2, "MΩ", "")}, Fails, "2.83 MΩ"},
		{q(5, 0, "MΩ", ""), nil, []*spindle.Quantity{q(2000, 0, "MΩ", ">")}, Conforms, "> 2000 MΩ"},
		{q(5, 3, "MΩ", ""), nil, []*spindle.Quantity{q(2000, 0, "MΩ", ">")}, CannotBeTold, "> 2000 MΩ"},
		{nil, q(1, 0, "mm/s", ""), []*spindle.Quantity{q(2, 0, "mm/s", ">")}, Fails, "> 2 mm/s"},
		{nil, q(1, 0, "mm/s", ""), []*spindle.Quantity{q(5, -1, "mm/s", "<")}, Conforms, "< 0.5 mm/s"},
		{nil, q(1, 0, "mm/s", ""), []*spindle.Quantity{q(2, 0, "mm/s", "<")}, CannotBeTold, "< 2 mm/s"},
		{q(5, 0, "MΩ", ""), nil, []*spindle.Quantity{q(5, 0, "MΩ", "<")}, Fails, "< 5 MΩ"},
		{q(5, 0, "MΩ", ""), nil, []*spindle.Quantity{q(6, 3, "kΩ", "")}, CannotBeTold, "kΩ"},
		{q(18, 0, "kN", ""), q(22, 0, "kN", ""), []*spindle.Quantity{q(20, 0, "kN", ""), q(185, -1, "kN", ""), q(19, 0, "kN", "")}, Conforms, "18.5 kN"},
		{q(18, 0, "kN", ""), q(22, 0, "kN", ""), []*spindle.Quantity{q(20, 0, "kN", ""), q(1799, -2, "kN", "")}, Fails, "17.99 kN"},
		{q(-5, 0, "°C", ""), q(-5, 0, "°C", ""), []*spindle.Quantity{q(-500, -2, "°C", "")}, Conforms, "−5.00 °C"},
		{q(1, -18, "A", ""), nil, []*spindle.Quantity{q(9_223_372_036_854_775_807, 18, "A", "")}, Conforms, ""},
		{nil, nil, nil, Incomplete, ""},
	} {
		spec := journal()
		spec.Geometry = spindle.QuantityPoint
		spec.Plan = spindle.Plan{}
		if c.lower == nil && c.upper == nil {
			c.lower = q(1, 0, "kN", "")
		}
		spec.Characteristics = []spindle.Characteristic{{Name: spindle.QuantityChar, LowerQ: c.lower, UpperQ: c.upper, Required: true}}
		var list []Observation
		for i, v := range c.values {
			list = append(list, Observation{ID: fmt.Sprint(i), Person: "P1", Reading: spindle.Reading{Setup: "s", Feature: "J1", Characteristic: spindle.QuantityChar, Repeat: i, Means: spindle.MeansQuantity, Quantity: v}})
		}
		got := Assess(input(spec, list, comparator("s", 0.5))).of(t, spindle.QuantityChar)
		t.Log(got.Sentence)
		if got.Outcome != c.outcome || !strings.Contains(got.Sentence, c.worst) {
			t.Errorf("%v within %v … %v: %s, %q; want %s, %q", c.values, c.lower, c.upper, got.Outcome, got.Sentence, c.outcome, c.worst)
		}
	}
}

func TestStrokesAreCounted(t *testing.T) {
	spec := journal()
	spec.Plan = spindle.Plan{MinN: 3}
	spec.Characteristics = []spindle.Characteristic{{Name: spindle.QuantityChar, LowerQ: &spindle.Quantity{Value: 18, Unit: "kN"}, Required: true}}
	var list []Observation
	for i := range 3 {
		list = append(list, Observation{ID: fmt.Sprint(i), Reading: spindle.Reading{Characteristic: spindle.QuantityChar, Repeat: i, Quantity: &spindle.Quantity{Value: 20, Unit: "kN"}}})
		got := Assess(input(spec, list)).of(t, spindle.QuantityChar)
		if want := map[bool]Outcome{true: Conforms, false: Incomplete}[i == 2]; got.Outcome != want || got.Have != i+1 {
			t.Errorf("%d of 3 strokes: %s (%d)", i+1, got.Outcome, got.Have)
		}
	}
}

func TestAttributes(t *testing.T) {
	spec := journal()
	spec.Geometry = spindle.Attribute
	spec.Characteristics = []spindle.Characteristic{{Name: spindle.AttributeChar, Ask: "Free of fretting?", Required: true}}
	spec.Plan = spindle.Plan{}
	for _, c := range []struct {
		answers []bool
		outcome Outcome
		action  Action
	}{{nil, Incomplete, Measure}, {[]bool{true}, Conforms, Reuse}, {[]bool{false}, Fails, Decide}, {[]bool{true, true}, Conforms, Reuse}, {[]bool{true, false}, InConflict, Decide}} {
		var list []Observation
		for i, yes := range c.answers {
			list = append(list, Observation{ID: fmt.Sprint(i), Person: fmt.Sprint("P", i), Reading: spindle.Reading{Characteristic: spindle.AttributeChar, Means: spindle.MeansYesNo, Yes: ptr(yes)}})
		}
		f := Assess(input(spec, list))
		p := Propose(spindle.Component{Name: "shaft", Type: spindle.Shaft}, []Feature{f}, []spindle.Specification{spec}, nil)
		if f.Outcome != c.outcome || p.Action != c.action {
			t.Errorf("answers %v: %s, %s (%s); want %s, %s", c.answers, f.Outcome, p.Action, p.Reason, c.outcome, c.action)
		}
	}
}
