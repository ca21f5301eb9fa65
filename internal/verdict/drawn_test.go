package verdict

import (
	"fmt"
	"math"

	"pgregory.net/rapid"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// drawMicro draws a length within ±limit µm, to the nanometre.
func drawMicro(t *rapid.T, what string, limit int64) length.Length {
	return length.Length(rapid.Int64Range(-limit*1000, limit*1000).Draw(t, what+" in nm")) * length.Nanometre
}

func drawU(t *rapid.T, what string, most int64) length.Length {
	return length.Length(rapid.Int64Range(1, most).Draw(t, what+" in nm")) * length.Nanometre
}

// drawSetup draws a sound set-up to a master, one of two gauges and two masters.
func drawSetup(t *rapid.T, id string) SetupState {
	s := comparator(id, 0)
	s.Gauge = spindle.Gauge{ID: rapid.SampledFrom([]string{"G1", "G2"}).Draw(t, "gauge"), UCal: drawU(t, "u_cal", 1000)}
	if rapid.Bool().Draw(t, "resolves") {
		s.Gauge.Resolution = rapid.SampledFrom([]length.Length{100 * length.Nanometre, µm, 2 * µm}).Draw(t, "resolution")
	}
	if rapid.Bool().Draw(t, "studied") {
		s.Gauge.SPooled, s.Gauge.Nu = drawU(t, "s_p", 600), rapid.IntRange(1, 30).Draw(t, "ν")
	}
	s.Master.ID = rapid.SampledFrom([]string{"M1", "M2"}).Draw(t, "master")
	s.Master.U = drawU(t, "u of the master", 500)
	s.Master.Certified += drawMicro(t, "certified", 50)
	s.Soaked = rapid.Bool().Draw(t, "soaked")
	if rapid.Bool().Draw(t, "temperatures measured") {
		s.TPart = ptr(rapid.Int64Range(17_000, 28_000).Draw(t, "part in m°C"))
		s.TMaster = ptr(rapid.Int64Range(17_000, 28_000).Draw(t, "master in m°C"))
		s.UT = ptr(rapid.Int64Range(0, 800).Draw(t, "u of the temperatures in mK"))
	} else {
		s.TPart, s.TMaster, s.UT = nil, nil, nil
	}
	s.Checks[0].Value, s.Checks[1].Value = drawMicro(t, "zero before", 1), drawMicro(t, "zero after", 1)
	return s
}

// drawFeature draws readings of the journal at most of its stations, under up to three set-ups, with repeats.
func drawFeature(t *rapid.T) Input {
	spec := journal()
	spec.Characteristics = append(spec.Characteristics, greatest(spindle.SizeVariation, 4), greatest(spindle.TaperChar, 3))
	in := Input{Spec: spec, Setups: map[string]SetupState{}}
	for i := range rapid.IntRange(1, 3).Draw(t, "set-ups") {
		id := fmt.Sprint("s", i)
		in.Setups[id] = drawSetup(t, id)
	}
	spread := rapid.Int64Range(0, 3).Draw(t, "spread in µm")
	middle := 6*µm + drawMicro(t, "middle", rapid.SampledFrom([]int64{1, 8}).Draw(t, "how far from the middle"))
	missing := rapid.IntRange(0, 8).Draw(t, "a station to leave out")
	for i, s := range plannedStations(spec, spindle.Size) {
		for j := range len(in.Setups) {
			if i == missing || (j > 0 && rapid.Bool().Draw(t, "not under this set-up")) {
				continue
			}
			for k := range rapid.IntRange(1, 3).Draw(t, "readings") {
				setup := in.Setups[fmt.Sprint("s", j)]
				o := reading(fmt.Sprintf("%d-%d-%d", i, j, k), setup.ID, spec, spindle.Size, s.Plane, s.Angle, spindle.MeansFromMaster, 0)
				v := middle + drawMicro(t, "value", spread) - (setup.Master.Certified - spec.Nominal) - um(plainCorrection(spec, setup))
				o.Reading.Value, o.Reading.Repeat, o.Person = &v, k, setup.Person
				in.Observations = append(in.Observations, o)
			}
		}
	}
	return in
}

// plainStation is the value of one station by the definitions alone, as one would on paper: means of means, every pair of errors with its covariance.
// A set-up whose zero moved too far counts for nothing; sound is false where no other is left.
func plainStation(in Input, s StationName) (y, variance float64, sound bool) {
	lower, upper, _, err := Limits(in.Spec, spindle.Size)
	if err != nil {
		return 0, 0, false
	}
	groups := map[string][]float64{}
	var ids []string
	for _, o := range in.Observations {
		setup := in.Setups[o.Reading.Setup]
		drifted := 10*(setup.Checks[1].Value-setup.Checks[0].Value).Abs() > *upper-*lower
		if o.Reading.Plane != s.Plane || o.Reading.Angle != s.Angle || drifted {
			continue
		}
		if groups[setup.ID] == nil {
			ids = append(ids, setup.ID)
		}
		groups[setup.ID] = append(groups[setup.ID], (setup.Master.Certified - in.Spec.Nominal + *o.Reading.Value).Micrometres())
	}
	w := 1 / float64(len(ids))
	for _, g := range ids {
		a := in.Setups[g]
		sum := 0.0
		for _, v := range groups[g] {
			sum += v
		}
		y += w * (sum/float64(len(groups[g])) + plainCorrection(in.Spec, a))
		for _, h := range ids {
			variance += w * w * plainCovariance(in, a, in.Setups[h], len(groups[g]))
		}
	}
	return y, variance, len(ids) > 0
}

// plainly decides on sizes, with Φ by the error function of the standard library.
func plainly(in Input) (conforms bool) {
	lower, upper, _, err := Limits(in.Spec, spindle.Size)
	if err != nil {
		return false
	}
	for _, s := range plannedStations(in.Spec, spindle.Size) {
		y, variance, sound := plainStation(in, s)
		if !sound {
			return false
		}
		u := math.Sqrt(variance)
		phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
		if phi((upper.Micrometres()-y)/u)-phi((lower.Micrometres()-y)/u) < 0.95-2e-6 {
			return false
		}
	}
	return true
}

func plainCorrection(spec spindle.Specification, s SetupState) float64 {
	c := -(s.Checks[1].Value + s.Checks[0].Value).Micrometres() / 2
	if s.TPart != nil {
		c += spec.Nominal.Micrometres() * 11.5e-6 * (float64(*s.TMaster) - float64(*s.TPart)) / 1000
	}
	return c
}

// plainCovariance of the means of two set-ups at a station; of one with itself the variance.
func plainCovariance(in Input, a, b SetupState, n int) float64 {
	size := in.Spec.Nominal.Micrometres()
	v := 0.0
	if a.Gauge.ID == b.Gauge.ID {
		v += a.Gauge.UCal.Micrometres() * b.Gauge.UCal.Micrometres()
	}
	if a.Master.ID == b.Master.ID {
		v += a.Master.U.Micrometres() * b.Master.U.Micrometres()
	}
	if a.TPart != nil && b.TPart != nil {
		k := size * 1e-6 / math.Sqrt(3)
		away := func(t *int64) float64 { return k * float64(*t-20_000) / 1000 }
		v += away(a.TPart) * away(b.TPart)
		if a.Master.ID == b.Master.ID {
			v += away(a.TMaster) * away(b.TMaster)
		}
	}
	if a.ID != b.ID {
		return v
	}
	switch {
	case a.TPart != nil:
		v += math.Pow(size*11.5e-6*float64(*a.UT)/1000, 2)
	case a.Soaked:
		v += math.Pow(size*11.5e-6, 2) / 3
	default:
		v += math.Pow(size*11.5e-6*5, 2) / 3
	}
	d := (a.Checks[1].Value - a.Checks[0].Value).Micrometres()
	r := a.Gauge.Resolution.Micrometres()
	s := plainRepeats(in, a)
	return v + d*d/12 + r*r/12/float64(n) + s*s/float64(n)
}

// plainRepeats pools the study of the gauge with the repeats on the set-up; without a study only three or more at a station count.
func plainRepeats(in Input, s SetupState) float64 {
	squares, nu := 0.0, 0
	if s.Gauge.SPooled > 0 {
		nu = s.Gauge.Nu
		squares = float64(nu) * math.Pow(s.Gauge.SPooled.Micrometres(), 2)
	}
	for _, st := range plannedStations(in.Spec, spindle.Size) {
		var values []float64
		for _, o := range in.Observations {
			if o.Reading.Setup == s.ID && o.Reading.Plane == st.Plane && o.Reading.Angle == st.Angle {
				values = append(values, o.Reading.Value.Micrometres())
			}
		}
		if len(values) < 2 || (len(values) < 3 && s.Gauge.SPooled == 0) {
			continue
		}
		m := 0.0
		for _, v := range values {
			m += v / float64(len(values))
		}
		for _, v := range values {
			squares += (v - m) * (v - m)
		}
		nu += len(values) - 1
	}
	if nu == 0 {
		return 0
	}
	return math.Sqrt(squares / float64(nu))
}
