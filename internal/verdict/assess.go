package verdict

import (
	"math"
	"strconv"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Assess returns the verdict of one feature with all its characteristics.
//
// The result depends on the input's numbers alone, not on the order of its observations. The outcome of the feature is the worst of its
// required characteristics; where none is required, the worst of all.
func Assess(in Input) Feature {
	r := &reader{in: in, tolerance: sizeTolerance(in.Spec)}
	f := Feature{Feature: in.Spec.Feature, Name: in.Spec.Name, Outcome: Conforms, Characteristics: make([]Characteristic, 0, len(in.Spec.Characteristics))}
	for _, c := range in.Spec.Characteristics {
		f.Characteristics = append(f.Characteristics, r.characteristic(c))
	}
	r.mendForm(f.Characteristics)
	required := false
	for _, c := range in.Spec.Characteristics {
		required = required || c.Required
	}
	if len(f.Characteristics) == 0 {
		f.Outcome = Incomplete
	}
	for _, c := range f.Characteristics {
		if (c.Required || !required) && severity(c.Outcome) < severity(f.Outcome) {
			f.Outcome = c.Outcome
		}
	}
	return f
}

// sizeTolerance returns the width of the feature's size tolerance, or nil where it has none.
func sizeTolerance(spec spindle.Specification) *length.Length {
	lower, upper, _, err := Limits(spec, spindle.Size)
	if err != nil || lower == nil || upper == nil {
		return nil
	}
	return pointer(minus(*upper, *lower))
}

func (r *reader) characteristic(c spindle.Characteristic) Characteristic {
	q := r.ask(c)
	switch {
	case q.fault != "":
		q.refuse(q.fault)
	case c.Name == spindle.QuantityChar:
		q.quantity()
	case c.Name == spindle.AttributeChar:
		q.attribute()
	case c.Name == spindle.Size:
		q.size()
	case c.Name == spindle.SizeVariation:
		q.sizeVariation()
	case c.Name == spindle.TaperChar:
		q.taper()
	case c.Name == spindle.Parallelism && r.in.Spec.Geometry == spindle.Thickness:
		q.ring()
	case c.Name == spindle.CircularRunOut:
		q.circularRunOut()
	case c.Name == spindle.Roundness:
		q.roundness()
	case c.Name == spindle.TotalRunOut:
		q.totalRunOut()
	case c.Name == spindle.AxialRunOut:
		q.axialRunOut()
	case c.Name == spindle.Perpendicular, c.Name == spindle.Parallelism:
		q.squareness()
	default:
		q.refuse("no rule is known for this characteristic")
	}
	return q.out
}

// inquiry is the question whether one characteristic is as specified, and its answer as it grows.
type inquiry struct {
	*reader
	c           spindle.Characteristic
	specified   band // what the specification says
	band        band // after concessions
	concessions []Concession
	limitWords  string // "70 k4: +2 … +10 µm"
	fault       string
	out         Characteristic
	u           length.Length // largest standard uncertainty of a finding, for mending
}

func (r *reader) ask(c spindle.Characteristic) *inquiry {
	spec := r.in.Spec
	q := &inquiry{reader: r, c: c}
	q.out = Characteristic{Name: c.Name, Required: c.Required, Rule: guarded}
	lower, upper, from, err := Limits(spec, c.Name)
	if err != nil {
		q.fault = err.Error()
		return q
	}
	q.specified = band{lower, upper}
	ofLength := c.Name != spindle.QuantityChar && c.Name != spindle.AttributeChar
	switch {
	case ofLength && lower == nil && upper == nil:
		q.fault = "the specification gives no limits: give a tolerance class, limits or a greatest value"
	case lower != nil && upper != nil && *lower > *upper:
		q.fault = "the lower limit lies above the upper one: look whether they were exchanged"
	}
	q.band, q.concessions = q.specified.widened(r.in.Concessions, c.Name)
	q.out.Lower, q.out.Upper, q.out.LimitsFrom = q.band.lower, q.band.upper, from
	short := from
	if c.Class != "" {
		short = className(spec, c)
	}
	for _, used := range q.concessions {
		short = "conceded by " + used.By
		q.out.LimitsFrom += "; conceded by " + used.By
	}
	q.limitWords = short + ": " + q.band.words(q.signed())
	return q
}

// signed reports whether values of the characteristic carry a sign.
func (q *inquiry) signed() bool { return !neverNegative(q.c.Name) }

// noun names what the sentence is about: the feature alone for its size.
func (q *inquiry) noun() string {
	if q.c.Name == spindle.Size {
		return subject(q.in.Spec)
	}
	return subject(q.in.Spec) + ": " + q.c.Name
}

// refuse answers that nothing can be told, for a reason that no reading mends by itself.
func (q *inquiry) refuse(reason string) {
	q.out.Outcome = CannotBeTold
	q.out.Settle = reason
	q.out.Sentence = q.noun() + " cannot be told: " + reason
}

// note adds a remark, once.
func (q *inquiry) note(words ...string) {
	for _, w := range words {
		q.out.Notes = addNote(q.out.Notes, w)
	}
}

// conclude judges the findings and fills in the answer. The faults are of readings that could not be used: they do not let a feature pass.
func (q *inquiry) conclude(findings []finding, complete bool, faults []string) {
	q.note(faults...)
	for i := range findings {
		findings[i].judge(q.band, q.c)
		q.note(findings[i].notes...)
		q.out.Open = q.out.Open || findings[i].open
		q.u = max(q.u, findings[i].standard())
	}
	outcome, worst := overall(findings, complete)
	if outcome == Conforms && len(faults) > 0 {
		outcome = CannotBeTold
	}
	q.out.Outcome = outcome
	if worst < 0 {
		q.out.Sentence = q.noun() + " is not measured: " + q.missingWords()
		if len(faults) > 0 {
			q.out.Sentence += "; " + listed(faults)
		}
		return
	}
	w := findings[worst]
	q.out.Value, q.out.U, q.out.PC = pointer(w.value()), pointer(w.expanded()), pointer(w.pc)
	q.out.Rule, q.out.Margin, q.out.Budget = w.rule, w.margin, w.lines()
	q.degreesOfFreedom(w)
	for _, f := range findings {
		if outcome == CannotBeTold && f.doubt != "" && q.out.Doubtful == "" {
			q.out.Doubtful = f.doubt
		}
	}
	if outcome == CannotBeTold && q.out.Doubtful == "" && len(faults) > 0 {
		q.out.Doubtful = listed(faults)
	}
	if outcome == CannotBeTold {
		q.out.Settle = q.settle(w)
	}
	if len(q.concessions) > 0 && outcome == Conforms {
		q.concede(findings, complete)
	}
	q.out.Sentence = q.sentence(w)
}

// degreesOfFreedom says how far the uncertainty itself is known, where few repeats stand behind it.
func (q *inquiry) degreesOfFreedom(w finding) {
	nu := w.nuEff()
	if math.IsInf(nu, 1) {
		return
	}
	k := coverage(nu)
	expanded := toLength(float64(k * w.standard().Micrometres()))
	q.out.NuEff, q.out.U95 = pointer(tidy(nu)), &expanded
	if nu >= fewDegrees {
		return
	}
	q.figure("effective degrees of freedom", nu, "", "Welch–Satterthwaite (JCGM 100:2008, G.4)")
	factor := strconv.FormatFloat(k, 'f', 2, 64)
	q.figure("U for 95 % by Student's t", expanded.Micrometres(), "µm", "k = "+factor+"; the U beside the value is 2u")
	q.note("u rests on few repeats (ν_eff = " + strconv.FormatFloat(math.Floor(nu), 'f', -1, 64) + "): U for 95 % is " + factor + "·u = " + length.Format(expanded, length.Micrometres, 2) +
		" by Student's t instead of 2u; p_c takes u as known")
}

// concede names who conceded, where without it the outcome would be another.
func (q *inquiry) concede(findings []finding, complete bool) {
	plain := make([]finding, len(findings))
	copy(plain, findings)
	for i := range plain {
		plain[i].judge(q.specified, q.c)
	}
	if outcome, _ := overall(plain, complete); outcome == Conforms {
		return
	}
	var by []string
	for _, c := range q.concessions {
		by = addNote(by, c.By)
	}
	q.out.Conceded = listed(by)
}
