package jobfile

import (
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Decimals that are kept of each unit.
const (
	inMicrometres = 6 // picometres
	inMillimetres = 9
	inDegrees     = 3 // thousandths of a degree
	inKelvins     = 3 // thousandths of a kelvin or degree Celsius
	inPPMPerK     = 3 // parts in 10^9 per kelvin
)

// setupFields describes a set-up.
func setupFields(o *object, s *verdict.SetupState) {
	o.text("id", &s.ID, true)
	o.text("person", &s.Person, false)
	o.child("gauge", true, true, func(o *object) {
		g := &s.Gauge
		o.text("id", &g.ID, true)
		o.text("name", &g.Name, false)
		o.text("type", &g.Type, false)
		number(o, "resolution_um", inMicrometres, &g.Resolution, false)
		number(o, "u_cal_um", inMicrometres, &g.UCal, true)
		number(o, "s_pooled_um", inMicrometres, &g.SPooled, false)
		number(o, "nu", 0, &g.Nu, false)
		o.text("cal_id", &g.CalID, false)
		o.texts("blind_to", &g.BlindTo)
	})
	if o.writing() || o.find("mode") != nil {
		o.text("mode", &s.Mode, true)
	} else {
		o.known = append(o.known, "mode")
	}
	m := spindle.Master{}
	if s.Master != nil {
		m = *s.Master
	}
	if o.child("master", s.Master != nil, false, func(o *object) {
		o.text("id", &m.ID, true)
		o.text("name", &m.Name, false)
		number(o, "certified_mm", inMillimetres, &m.Certified, true)
		number(o, "u_um", inMicrometres, &m.U, true)
		number(o, "alpha_ppm_per_k", inPPMPerK, &m.Alpha, false)
	}) {
		s.Master = &m
	}
	if s.Mode == "" && s.Master != nil {
		s.Mode = spindle.ModeMaster
	}
	optional(o, "t_part_degc", inKelvins, &s.TPart)
	optional(o, "t_master_degc", inKelvins, &s.TMaster)
	optional(o, "u_t_k", inKelvins, &s.UT)
	o.flag("soaked", &s.Soaked, false)
	o.text("support", &s.Support, false)
	o.text("zero_ref", &s.ZeroRef, false)
	o.text("sense", &s.Sense, false)
	zeroFields(o, s)
	o.text("overdue", &s.Overdue, false)
	o.text("doubt", &s.Doubted, false)
}

// zeroFields describes the zero checks: one before and one after as two numbers, a longer row as a list in the order in which they were taken.
func zeroFields(o *object, s *verdict.SetupState) {
	var before, after *length.Length
	listed := len(s.Checks) > 2 || len(s.Checks) == 2 && (s.Checks[0].After || !s.Checks[1].After)
	if !listed {
		for _, c := range s.Checks {
			if value := c.Value; c.After {
				after = &value
			} else {
				before = &value
			}
		}
	}
	optional(o, "zero_before_um", inMicrometres, &before)
	optional(o, "zero_after_um", inMicrometres, &after)
	if o.writing() && !listed {
		return
	}
	each(o, "zero_checks", &s.Checks, false, func(o *object, c *verdict.ZeroCheck) {
		when := spindle.ZeroBefore
		if c.After {
			when = spindle.ZeroAfter
		}
		o.text("when", &when, true)
		number(o, "value_um", inMicrometres, &c.Value, true)
		if c.After = when == spindle.ZeroAfter; !c.After && when != spindle.ZeroBefore && when != "" {
			o.faultf("when", ErrInvalid, "%s is neither before nor after", shown(when))
		}
	})
	if o.writing() {
		return
	}
	if (before != nil || after != nil) && len(s.Checks) > 0 {
		o.faultf("zero_checks", ErrDuplicate, "zero_before_um or zero_after_um says the same; write one or the other")
		return
	}
	for _, c := range []struct {
		after bool
		value *length.Length
	}{{false, before}, {true, after}} {
		if c.value != nil {
			s.Checks = append(s.Checks, verdict.ZeroCheck{After: c.after, Value: *c.value})
		}
	}
}

// componentFields describes a component with its features.
func componentFields(o *object, c *Component, seen func(o *object, f *Feature)) {
	o.text("component", &c.ID, true)
	word(o, "type", &c.Type, true)
	o.text("name", &c.Name, false)
	o.text("place", &c.Place, false)
	if word(o, "origin", &c.Origin, false); c.Origin == "" {
		c.Origin = spindle.Removed
	}
	o.text("serial", &c.Serial, false)
	o.text("set_id", &c.SetID, false)
	o.flag("run_before", &c.RunBefore, c.Origin == spindle.Removed)
	if c.Name == "" {
		c.Name = c.ID
	}
	o.texts("damage", &c.Damage)
	each(o, "features", &c.Features, false, func(o *object, f *Feature) {
		featureFields(o, f)
		if seen != nil {
			seen(o, f)
		}
	})
}

func featureFields(o *object, f *Feature) {
	o.text("feature", &f.Feature, true)
	o.text("name", &f.Name, false)
	word(o, "geometry", &f.Geometry, true)
	number(o, "nominal_mm", inMillimetres, &f.Nominal, false)
	if word(o, "source", &f.Source, false); f.Source == "" {
		f.Source = spindle.FromDrawing
	}
	o.text("reference", &f.Reference, false)
	o.text("accepted_by", &f.AcceptedBy, false)
	number(o, "alpha_ppm_per_k", inPPMPerK, &f.MaterialAlpha, false)
	each(o, "characteristics", &f.Characteristics, true, characteristicFields)
	p := &f.Plan
	o.child("plan", len(p.Planes)+len(p.Angles)+len(p.SweepAngles)+p.MinN > 0 || p.Radius != 0, false, func(o *object) {
		each(o, "planes", &p.Planes, false, func(o *object, p *spindle.Plane) {
			o.text("plane", &p.Name, true)
			number(o, "z_mm", inMillimetres, &p.Z, false)
		})
		o.angles("angles_deg", &p.Angles)
		o.angles("sweep_angles_deg", &p.SweepAngles)
		number(o, "radius_mm", inMillimetres, &p.Radius, false)
		number(o, "min_n", 0, &p.MinN, false)
	})
	o.child("rework", f.Rework != spindle.ReworkAllowance{}, false, func(o *object) {
		number(o, "max_off_um", inMicrometres, &f.Rework.MaxOff, false)
		o.flag("build_up", &f.Rework.BuildUp, false)
		number(o, "min_wall_mm", inMillimetres, &f.Rework.MinWall, false)
	})
	each(o, "concessions", &f.Concessions, false, func(o *object, c *verdict.Concession) {
		o.text("characteristic", &c.Characteristic, true)
		optional(o, "lower_um", inMicrometres, &c.Lower)
		optional(o, "upper_um", inMicrometres, &c.Upper)
		o.text("by", &c.By, true)
	})
}

func characteristicFields(o *object, c *spindle.Characteristic) {
	o.text("characteristic", &c.Name, true)
	o.text("class", &c.Class, false)
	optional(o, "lower_um", inMicrometres, &c.Lower)
	optional(o, "upper_um", inMicrometres, &c.Upper)
	optional(o, "max_um", inMicrometres, &c.Max)
	quantityLimits(o, c)
	o.texts("datum", &c.Datum)
	o.flag("required", &c.Required, true)
	o.text("rule", &c.Rule, false)
	o.text("ask", &c.Ask, false)
}

// quantityLimits are lower and upper in the unit beside them.
func quantityLimits(o *object, c *spindle.Characteristic) {
	unit := ""
	for _, q := range []*spindle.Quantity{c.LowerQ, c.UpperQ} {
		if q != nil {
			unit = q.Unit
		}
	}
	for _, limit := range []struct {
		key string
		q   **spindle.Quantity
	}{{"lower", &c.LowerQ}, {"upper", &c.UpperQ}} {
		if o.writing() {
			if *limit.q != nil {
				o.put(limit.key, QuantityText(**limit.q))
			}
			continue
		}
		*limit.q = o.quantity(limit.key, "unit", "")
	}
	o.text("unit", &unit, false)
}

// quantity reads a number whose unit stands under a key of its own. Without a unit the fault says which keys of length there are.
func (o *object) quantity(key, unitKey, bound string) *spindle.Quantity {
	o.known = append(o.known, key)
	if n := o.find(key); n == nil || n.kind == kindNull {
		return nil
	}
	n := o.take(key, kindNumber, false)
	unit := o.find(unitKey)
	if n == nil {
		return nil
	}
	if unit == nil || unit.kind != kindText || strings.TrimSpace(unit.text) == "" {
		o.faultf(key, ErrNoUnit, "write %s_um for a length, or the unit of the quantity under %s", key, shown(unitKey))
		return nil
	}
	q, err := quantityOf(n.text, unit.text, bound)
	if err != nil {
		o.fault(key, err)
		return nil
	}
	return &q
}
