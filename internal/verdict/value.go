package verdict

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

// Errors of a reading that cannot become a value.
var (
	ErrNotALength = errors.New("not a length")
	ErrNoMaster   = errors.New("no master in the set-up")
)

// Temperatures and expansion where nobody measured them. The half-widths are common practice, no source.
const (
	soakedHalf  = 1.0 // K, between part and master that lay together
	looseHalf   = 5.0 // K, between part and master that did not
	levelHalf   = 5.0 // K, of a shop's air about 20 °C
	contactU    = 500 // mK, standard uncertainty of a measured difference where none is stated
	markHalf    = 0.5 // µm, rounding of a deviation marked on a ring
	gaugeRemedy = "a gauge with a smaller calibration uncertainty"
	soakRemedy  = "let part and master soak together and measure both temperatures"
)

// ValueAt20 turns one reading into what it says at 20 °C: for a size its deviation from the feature's nominal, for an indicator the reading itself.
// The budget is that of the single reading, biggest line first; its repeatability is the gauge's own study, where there is one.
//
// Errors: [ErrNotALength] for quantities and yes/no answers, [ErrNoMaster] for a reading from a master that the set-up does not name.
func ValueAt20(spec spindle.Specification, setup SetupState, reading spindle.Reading) (length.Length, []BudgetLine, error) {
	e, err := single(spec, setup, reading)
	if err != nil {
		return 0, nil, err
	}
	return e.value(), e.lines(), nil
}

func single(spec spindle.Specification, setup SetupState, reading spindle.Reading) (estimate, error) {
	raw, _, err := deviation(&spec, &setup, &reading)
	if err != nil {
		return estimate{}, err
	}
	if reading.Purpose == spindle.ForMarked {
		spec.Nominal = 0 // stated at 20 °C; see basis
	}
	b := basisOf(spec, &setup, nil)
	if !readAsSize(spec, reading.Characteristic) || reading.Means == spindle.MeansIndicator {
		b.uncorrected()
	}
	return b.average([]float64{raw}, studied(setup.Gauge), reading.Purpose == spindle.ForMarked), nil
}

func readAsSize(spec spindle.Specification, characteristic string) bool {
	return spindle.ReadAs(spec.Geometry, characteristic) == spindle.Size
}

// deviation returns what the reading says before any correction, in µm: for a size the deviation from nominal. Loose is true where the zero
// is arbitrary, so that only differences mean something. The sum is formed in floating point, where nothing can wrap round; it is exact up to 9 m.
func deviation(spec *spindle.Specification, setup *SetupState, r *spindle.Reading) (um float64, loose bool, err error) {
	if r.Value == nil {
		return 0, false, fmt.Errorf("%w: the reading of %s %s is a quantity or an answer; read a length", ErrNotALength, r.Feature, r.Characteristic)
	}
	v := float64(*r.Value)
	if readAsSize(*spec, r.Characteristic) {
		switch r.Means {
		case spindle.MeansSize:
			v -= float64(spec.Nominal)
		case spindle.MeansFromMaster:
			if setup.Master == nil {
				return 0, false, fmt.Errorf("%w: a reading of %s is from a master, but set-up %s names none; correct the set-up", ErrNoMaster, r.Feature, setup.ID)
			}
			v = (float64(setup.Master.Certified) - float64(spec.Nominal)) + v
		case spindle.MeansIndicator:
			loose = true
		}
	}
	return v / float64(length.Micrometre), loose, nil
}

// basis is what a set-up gives to every size read on it: correction, terms and reservations.
type basis struct {
	setup      *SetupState
	correction float64      // µm, to add to what was read: the sum of the corrections
	parts      []correction // not 0
	terms      []term
	resolution *cause // of the single reading; nil: none stated
	mark       *cause // rounding of a marked deviation
	notes      []string
	doubt      string
	open       bool
}

// basisOf reads a set-up for sizes of the feature. The tolerance is the one that a drift is held against; nil: none.
func basisOf(spec spindle.Specification, s *SetupState, tolerance *length.Length) basis {
	z := readZero(s)
	b := basis{setup: s, doubt: doubt(s, z, tolerance), open: z.open, terms: make([]term, 0, 8), mark: ofMark}
	b.terms = append(b.terms, calibration(s))
	if s.Gauge.Resolution > 0 {
		b.resolution = &cause{source: "resolution of " + s.Gauge.ID, given: exact(s.Gauge.Resolution), distribution: "rectangular", remedy: "a gauge that resolves finer",
			u: s.Gauge.Resolution.Micrometres() / math.Sqrt(12), unit: "µm", kind: ofReading}
	}
	if s.Master != nil && s.Mode == spindle.ModeMaster {
		u := s.Master.U.Micrometres()
		b.terms = append(b.terms, term{um: u, cause: &cause{
			key: "master:" + s.Master.ID, source: "certified value of master " + s.Master.ID, given: exact(s.Master.U), distribution: "normal, k = 1",
			u: u, unit: "µm", remedy: "a master with a smaller uncertainty",
		}})
	}
	b.zero(z)
	if len(s.Gauge.BlindTo) > 0 {
		b.notes = append(b.notes, blindWords(s.Gauge))
	}
	if z.open {
		b.notes = append(b.notes, "provisional: closing zero check missing")
	}
	if s.Mode != spindle.ModeIndicator && spec.Nominal > 0 {
		b.heat(spec)
	}
	return b
}

func blindWords(g spindle.Gauge) string { return "gauge " + g.ID + " cannot see " + listed(g.BlindTo) }

// uncorrected leaves the gauge alone: a difference of readings knows neither master nor temperature.
func (b *basis) uncorrected() { b.correction, b.parts, b.terms = 0, nil, b.terms[:1:1] }

// calibration is the gauge's own term. Where no study tells how well the gauge repeats it must not cancel; average says so.
func calibration(s *SetupState) term {
	u := s.Gauge.UCal.Micrometres()
	return term{um: u, cause: &cause{
		key: "cal:" + s.Gauge.ID, source: "calibration of " + s.Gauge.ID, given: exact(s.Gauge.UCal), distribution: "normal, k = 1",
		u: u, unit: "µm", remedy: gaugeRemedy,
	}}
}

// zero corrects by what the gauge showed on the master, b before and a after the readings: by −(b + a)/2, since it stood between the two while they were taken, with
// u = |a − b|/√12. With b = 0 that is half of the drift; while a is missing, −b.
func (b *basis) zero(z zero) {
	if b.setup.Mode == spindle.ModeIndicator {
		return
	}
	if z.opening != 0 {
		b.correct("the gauge stood at "+signedExact(z.opening)+" on the master before the readings", "−b", "common practice, no source", -z.opening.Micrometres())
		b.notes = append(b.notes, "the gauge stood at "+signedExact(z.opening)+" on the master before the readings and was not set to 0: subtracted")
	}
	if !z.paired {
		return
	}
	d := uncertainty.Drift{After: z.drift}
	b.correct("the zero moved by "+signedExact(z.drift)+" from before to after", "−d/2", "common practice, no source", d.CorrectionUm())
	if c := d.Contribution("drift:" + b.setup.ID); c.Um != 0 {
		b.terms = append(b.terms, term{um: c.Um, cause: &cause{key: c.Key, within: b.setup.ID, source: c.Source, given: signedExact(z.drift), distribution: c.Distribution + " over |d|",
			u: c.U, unit: "µm", remedy: "set the zero more often", kind: ofDrift}})
	}
}

// correction is one amount that is added to what was read, with the reason in words.
type correction struct {
	what, formula, source string
	um                    float64
}

func (b *basis) correct(what, formula, source string, um float64) {
	if um == 0 {
		return
	}
	b.correction += um
	b.parts = append(b.parts, correction{what, formula, source, um})
}

// ofMark is the rounding of a deviation marked on a ring.
var ofMark = &cause{source: "rounding of the mark", given: "±0.5 µm (common practice, no source)", distribution: "rectangular", u: markHalf / math.Sqrt(3), unit: "µm", remedy: "measure the ring"}

// heat adds the correction to 20 °C and its uncertainty (ISO 1): L·[α_g(t_g−20) − α_p(t_p−20)], sensitive to the difference of the temperatures
// rather than to their level. With a temperature missing nothing is corrected, and the uncertainty covers what may be missing.
func (b *basis) heat(spec spindle.Specification) {
	s := b.setup
	partner := "gauge"
	e := uncertainty.Expansion{SizeUm: spec.Nominal.Micrometres(), PartC: 20, GaugeC: 20, AlphaPart: coefficient(spec.MaterialAlpha), AlphaGauge: coefficient(0), AlphaDoubt: uncertainty.AlphaDoubt}
	if s.Master != nil && s.Mode == spindle.ModeMaster {
		e.AlphaGauge, partner = coefficient(s.Master.Alpha), "master"
	}
	if s.TPart != nil && s.TMaster != nil {
		milli := int64(contactU)
		if s.UT != nil {
			milli = *s.UT
		}
		e.PartC, e.GaugeC = celsius(*s.TPart), celsius(*s.TMaster)
		e.UDifferenceK = float64(milli) / 1000
		e.ULevelK = e.UDifferenceK
		b.correct("expansion of part at "+number(e.PartC)+" °C and "+partner+" at "+number(e.GaugeC)+" °C, to 20 °C", "L·[α_g(t_g − 20) − α_p(t_p − 20)]", "ISO 1", e.CorrectionUm())
		given := number(e.UDifferenceK) + " K"
		b.expand(e, given, given)
		return
	}
	missing, half, level, words := "temperature not measured", looseHalf, levelHalf, "not soaked"
	if s.Soaked {
		half, words = soakedHalf, "soaked"
	}
	if known := firstOf(s.TPart, s.TMaster); known != nil {
		missing = "temperature of the " + partner + " not measured"
		if s.TPart == nil {
			missing = "temperature of the part not measured"
		}
		away := math.Abs(celsius(*known) - 20)
		level += away
		if !s.Soaked {
			half += away
		}
	}
	e.UDifferenceK, e.ULevelK = half/math.Sqrt(3), level/math.Sqrt(3)
	b.expand(e, "±"+number(half)+" K, "+words, "±"+number(level)+" K")
	b.notes = append(b.notes, missing+": no correction to 20 °C, ±"+number(half)+" K between part and "+partner+" counted ("+words+"; common practice, no source)")
}

// expand adds the terms of an expansion; given and level are its two uncertainties in words.
func (b *basis) expand(e uncertainty.Expansion, given, level string) {
	for _, c := range e.Contributions(b.setup.ID, "part", b.setup.partnerID()) {
		if c.Um == 0 {
			continue
		}
		t := &cause{key: c.Key, source: c.Source, distribution: c.Distribution, u: c.U, unit: "K", kind: ofTemperature, given: given, remedy: soakRemedy}
		switch {
		case strings.HasPrefix(c.Source, "temperature level"):
			t.given = level
		case strings.HasPrefix(c.Source, "expansion"):
			t.given, t.remedy, t.kind = "±"+number(tidy(e.AlphaDoubt*1e6))+"·10⁻⁶/K", "measure near 20 °C", ofExpansion
			t.u, t.unit = c.U*1e6, "10⁻⁶/K"
		}
		b.terms = append(b.terms, term{cause: t, um: c.Um})
	}
}

func (s *SetupState) partnerID() string {
	if s.Master != nil && s.Mode == spindle.ModeMaster {
		return "master " + s.Master.ID
	}
	return "gauge " + s.Gauge.ID
}

func coefficient(ppb int64) float64 {
	if ppb == 0 {
		return uncertainty.AlphaSteel
	}
	return float64(ppb) / 1e9
}

func celsius(milli int64) float64 { return float64(milli) / 1000 }

func number(x float64) string {
	return strings.Replace(strconv.FormatFloat(tidy(x), 'f', -1, 64), "-", "−", 1)
}

func firstOf(a, b *int64) *int64 {
	if a != nil {
		return a
	}
	return b
}

// average forms the mean of the repeats at one station and attaches the terms. Values are in µm, as deviation gives them.
func (b basis) average(values []float64, r repeatability, marked bool) estimate {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	n := float64(len(values))
	e := estimate{um: sum/n + b.correction, terms: make([]term, 0, len(b.terms)+3)}
	e.terms = append(e.terms, b.terms...)
	if !r.known { // the calibration stands first
		e.terms[0].atLeast = math.Abs(e.terms[0].um)
	}
	if b.resolution != nil {
		e.terms = append(e.terms, term{cause: b.resolution, um: b.resolution.u / math.Sqrt(n)})
	}
	if r.cause != nil {
		e.terms = append(e.terms, term{cause: r.cause, um: r.s / math.Sqrt(n)})
	}
	if marked {
		e.terms = append(e.terms, term{cause: b.mark, um: b.mark.u})
	}
	return e
}
