package verdict

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Trace is how the verdict of one characteristic came about: every reading that it rests on, from what was read to what it says at 20 °C.
type Trace struct {
	Characteristic
	Spec     spindle.Specification
	Readings []TracedReading
	// Faults are of readings that could not be used, in words.
	Faults []string
}

// TracedReading is one reading with everything that was added to it: Read + Σ Corrections = Value, in micrometres. Quantities and answers have neither.
type TracedReading struct {
	Observation
	Gauge       string // as the set-up names it
	ReadUm      float64
	Corrections []CorrectionLine
	ValueUm     float64
	// Doubt is why nothing of its set-up counts; empty: it counts.
	Doubt string
}

// CorrectionLine is one amount added to a reading.
type CorrectionLine struct {
	What    string
	Formula string
	Source  string
	Um      float64
}

// TraceOf assesses the feature and traces one of its characteristics; false where the specification has none of that name.
func TraceOf(in Input, characteristic string) (Trace, bool) {
	var t Trace
	found := false
	for _, c := range Assess(in).Characteristics {
		if c.Name == characteristic {
			t.Characteristic, found = c, true
		}
	}
	if !found {
		return t, false
	}
	t.Spec = in.Spec
	r := &reader{in: in, tolerance: sizeTolerance(in.Spec)}
	if characteristic == spindle.QuantityChar || characteristic == spindle.AttributeChar {
		c, _ := in.Spec.Characteristic(characteristic)
		for _, a := range r.ask(c).answers(func(r spindle.Reading) bool { return r.Quantity != nil || r.Yes != nil }) {
			t.Readings = append(t.Readings, TracedReading{Observation: a.Observation, Gauge: in.Setups[a.Reading.Setup].Gauge.ID, Doubt: a.doubt})
		}
		return t, true
	}
	use, faults := r.readings(characteristic)
	t.Faults = faults
	sized := readAsSize(in.Spec, characteristic)
	for _, o := range use {
		read := TracedReading{Observation: *o.Observation, Gauge: o.setup.Gauge.ID, ReadUm: o.Reading.Value.Micrometres(), ValueUm: o.um}
		if !sized {
			read.Doubt = doubt(o.setup, zero{}, nil)
			t.Readings = append(t.Readings, read)
			continue
		}
		read.Corrections = meaning(in.Spec, o)
		b := r.basis(o.setup, o.Reading.Purpose == spindle.ForMarked)
		if o.loose {
			b.uncorrected()
		}
		for _, c := range b.parts {
			read.Corrections = append(read.Corrections, CorrectionLine{c.what, c.formula, c.source, c.um})
		}
		read.ValueUm, read.Doubt = o.um+b.correction, b.doubt
		t.Readings = append(t.Readings, read)
	}
	return t, true
}

// meaning is what makes a deviation from nominal of a reading.
func meaning(spec spindle.Specification, o usable) []CorrectionLine {
	nominal := trimmed(spec.Nominal, length.Millimetres, 9) + " mm"
	switch o.Reading.Means {
	case spindle.MeansSize:
		return []CorrectionLine{{"less the nominal " + nominal, "− nominal", "the specification", -spec.Nominal.Micrometres()}}
	case spindle.MeansFromMaster:
		m := o.setup.Master
		if d := minus(m.Certified, spec.Nominal); d != 0 {
			return []CorrectionLine{{"certified value " + trimmed(m.Certified, length.Millimetres, 9) + " mm of master " + m.ID + " less the nominal " + nominal, "certified − nominal", "certificate of the master", d.Micrometres()}}
		}
	}
	return nil
}
