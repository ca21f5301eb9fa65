package verdict

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// mendSize says how a feature with failing sizes could be made good, or nil if nothing fails.
//
// The aim is the guarded zone, the limits drawn in by 1.645·u: from any starting size the same amount comes off (or is put on) everywhere, so the largest and the
// smallest local size must both end inside. A journal or spacer that is too large is ground, one too small built up; a bore the other way round.
func (q *inquiry) mendSize(findings []finding) *Mend {
	least, most := 0.0, 0.0
	below, above, any := false, false, false
	for _, f := range findings {
		if f.outcome == InConflict || f.doubt != "" {
			continue
		}
		if !any {
			least, most, any = f.um, f.um, true
		}
		least, most = min(least, f.um), max(most, f.um)
		if f.outcome == Fails {
			y := f.value()
			below = below || (q.band.lower != nil && y < *q.band.lower)
			above = above || (q.band.upper != nil && y > *q.band.upper)
		}
	}
	keep := float64(guard() * q.u.Micrometres())
	var from, to float64
	bounded := true
	switch {
	case above:
		from = most - (q.specified.upper.Micrometres() - keep)
		if q.specified.lower == nil {
			to, bounded = from, false
		} else {
			to = least - (q.specified.lower.Micrometres() + keep)
		}
	case below:
		from = (q.specified.lower.Micrometres() + keep) - least
		if q.specified.upper == nil {
			to, bounded = from, false
		} else {
			to = (q.specified.upper.Micrometres() - keep) - most
		}
	default:
		return nil
	}
	m := &Mend{Direction: MetalOn, From: toLength(from), To: toLength(to), Aim: toLength(from + (to-from)/2)}
	if above != (q.in.Spec.Geometry == spindle.Inside) {
		m.Direction = MetalOff
	}
	if (above && below) || m.From > m.To {
		m.Why = "the sizes vary so much that no one amount brings all of them inside: the form must be trued as well"
		return m
	}
	remaining := q.in.Spec.Nominal + toLength(least)
	if q.in.Spec.Geometry == spindle.Inside {
		remaining = q.in.Spec.Nominal + toLength(most)
	}
	m.allow(q.in.Spec, remaining, bounded)
	return m
}

// allow holds the amount against what may be done to the feature, and draws it in where less is allowed than the limits would bear.
// Remaining is the size that is nearest to the least wall before the rework: the smallest of a journal or spacer, the largest of a bore.
func (m *Mend) allow(spec spindle.Specification, remaining length.Length, bounded bool) {
	allowance := spec.Rework
	if m.Direction == MetalOn {
		m.Allowed = allowance.BuildUp
		m.Why = "no building up is allowed"
		if m.Allowed {
			m.Why = "may be built up and finished to size"
		}
		return
	}
	most, why := allowance.MaxOff, millimetres(allowance.MaxOff)+" may be taken off"
	if allowance.MinWall > 0 {
		stock := minus(remaining, allowance.MinWall)
		if spec.Geometry == spindle.Inside {
			stock = minus(allowance.MinWall, remaining)
		}
		if stock < most {
			most, why = max(stock, 0), "only "+millimetres(max(stock, 0))+" is left to the limit size "+millimetres(allowance.MinWall)
		}
	}
	m.Why = why
	switch {
	case allowance.MaxOff <= 0:
		m.Why = "nothing may be taken off"
	case most >= m.From:
		m.Allowed = true
		if !bounded {
			m.To = most
		}
		m.To = min(m.To, most)
		m.Aim = min(m.Aim, m.To)
	}
}

func millimetres(l length.Length) string { return trimmed(l, length.Millimetres, 6) + " mm" }

// mendForm adds to failing form and position what truing them would take: at least the value itself comes off the high places, until all is as small as the smallest
// (a bore: as large as the largest). Where the feature has a size, that must still be inside its limits afterwards; else the feature is built up first, if that is allowed.
func (r *reader) mendForm(list []Characteristic) {
	var size *Characteristic
	for i := range list {
		if list[i].Name == spindle.Size {
			size = &list[i]
		}
	}
	for i := range list {
		c := &list[i]
		if c.Outcome != Fails || c.Value == nil || c.Name == spindle.Size || r.in.Spec.Geometry == spindle.QuantityPoint || r.in.Spec.Geometry == spindle.Attribute {
			continue
		}
		amount := c.Value.Abs()
		m := &Mend{Direction: MetalOff, From: amount, To: amount, Aim: amount}
		if r.staysInside(size, amount, c.Name) {
			remaining := length.Length(0)
			if size != nil && size.Value != nil {
				remaining = r.extremeSize(size)
			}
			if remaining == 0 {
				remaining = r.in.Spec.Nominal
			}
			m.allow(r.in.Spec, remaining, true)
			c.Mend = m
			continue
		}
		m.Direction = MetalOn
		m.allow(r.in.Spec, 0, true)
		m.Why = "truing it takes the size out of its limits: " + m.Why
		c.Mend = m
	}
}

// staysInside reports whether the sizes would all still be inside their limits once the amount is off. For what is read from the sizes themselves only the high places
// lose metal, so that the smallest size stays; a run-out is trued about another axis and may take the amount off anywhere.
func (r *reader) staysInside(size *Characteristic, amount length.Length, name string) bool {
	if size == nil || len(size.Stations) == 0 {
		return true
	}
	if spindle.ReadAs(r.in.Spec.Geometry, name) == spindle.Size {
		amount = 0
	}
	inside := r.in.Spec.Geometry == spindle.Inside
	after := minus(r.extremeSize(size), r.in.Spec.Nominal)
	if inside {
		return size.Upper == nil || after+amount <= *size.Upper
	}
	return size.Lower == nil || minus(after, amount) >= *size.Lower
}

// extremeSize returns the smallest local size, or the largest of a bore.
func (r *reader) extremeSize(size *Characteristic) length.Length {
	extreme := size.Stations[0].Value
	for _, s := range size.Stations {
		if r.in.Spec.Geometry == spindle.Inside {
			extreme = max(extreme, s.Value)
		} else {
			extreme = min(extreme, s.Value)
		}
	}
	return r.in.Spec.Nominal + extreme
}
