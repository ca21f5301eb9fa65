package recordtest

import (
	"fmt"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

func (h *History) person() Person { return pick(h, []Person{P1, P2, P5, P1, P2, P3}) }

func (h *History) inspector() Person { return pick(h, []Person{P3, P3, P4}) }

func (h *History) checker() Person { return pick(h, []Person{P3, P4, Quality}) }

// draw is a deviation: mostly well inside 2 … 10 µm, sometimes near a limit, sometimes out.
func (h *History) draw() float64 {
	switch {
	case h.one(h.rough):
		return float64(h.rng.IntN(30)-15) * 1.25
	case h.one(h.rough):
		return 2 + float64(h.rng.IntN(8))/4
	}
	return 5 + float64(h.rng.IntN(10))/10
}

func (h *History) setup(by Person) *record.Setup {
	s := Comparator(pick(h, []string{"g1", "g2"}), 0.5, 70)
	s.Gauge.Due = Start + 120*24*3_600_000
	if h.one(3) {
		s.Gauge.SPooled, s.Gauge.Nu = Um(0.2), 12
	}
	return &record.Setup{Setup: s}
}

func (h *History) reading(setup record.ID, f, characteristic string, angle int64, um float64) *record.Reading {
	r := spindle.Reading{Feature: f, Characteristic: characteristic, Plane: "1", Angle: angle, Typed: typed(um), Unit: "µm", Means: spindle.MeansFromMaster, Value: Ptr(Um(um)), Purpose: spindle.ForInspection}
	if !setup.IsZero() {
		r.Setup = setup.String()
	}
	switch characteristic {
	case spindle.ZeroCheck:
		r.Angle, r.Means = 0, spindle.MeansIndicator
	case spindle.CircularRunOut:
		r.Means = spindle.MeansIndicator
	case spindle.AttributeChar:
		r = spindle.Reading{Feature: f, Characteristic: characteristic, Typed: "yes", Means: spindle.MeansYesNo, Yes: Ptr(um > 2), Purpose: spindle.ForInspection}
	}
	return &record.Reading{Reading: r}
}

// zero writes a check on the master.
func (h *History) zero(t *Tablet, by Person, setup record.ID, plane string, um float64) {
	r := h.reading(setup, spindle.MasterFeature, spindle.ZeroCheck, 0, um)
	r.Plane = plane
	h.write(t, by, r)
}

// measure measures a whole feature, or leaves off in the middle.
func (h *History) measure(t *Tablet, f string) {
	by := h.person()
	if f[0] == 'Q' {
		h.write(t, by, h.reading(record.ID{}, f, spindle.AttributeChar, 0, h.draw()))
		return
	}
	setup := h.write(t, by, h.setup(by))
	h.zero(t, by, setup, spindle.ZeroBefore, 0)
	angles := []int64{0, 90_000}
	if f == "B1" {
		angles = angles[:1]
	}
	for _, a := range angles {
		h.write(t, by, h.reading(setup, f, spindle.Size, a, h.draw()))
		if h.one(20) {
			return
		}
	}
	if !h.one(8) {
		h.zero(t, by, setup, spindle.ZeroAfter, float64(h.rng.IntN(9)-4)/10)
	}
	if f != "J2" {
		return
	}
	indicator := h.write(t, by, &record.Setup{Setup: spindle.Setup{Gauge: spindle.Gauge{ID: "l1", UCal: Um(0.2)}, Mode: spindle.ModeIndicator}})
	for i := range int64(4) {
		h.write(t, by, h.reading(indicator, f, spindle.CircularRunOut, i*90_000, float64(h.rng.IntN(12))/5))
	}
}

// straggler is one more reading on some set-up, or on none that its author has seen.
func (h *History) straggler(t *Tablet) {
	f := pick(h, append(Features, "J9"))
	setup, ok := h.seen(t, "setup")
	if f[0] == 'Q' || !ok {
		h.write(t, h.person(), h.reading(record.ID{}, "Q1", spindle.AttributeChar, 0, h.draw()))
		return
	}
	h.write(t, h.person(), h.reading(setup, f, spindle.Size, int64(h.rng.IntN(3))*90_000, h.draw()))
}

func (h *History) check(t *Tablet) {
	if setup, ok := h.seen(t, "setup"); ok {
		h.zero(t, h.person(), setup, pick(h, []string{spindle.ZeroBefore, spindle.ZeroAfter, spindle.ZeroAfter}), float64(h.rng.IntN(13)-6)/6)
	}
}

func (h *History) strike(t *Tablet) {
	if id, ok := h.seen(t, "reading", "reading", "reading", "strike", "strike", "setup", "rework", "finding", "settle", "decision", "step"); ok {
		by := h.checker()
		if e := t.Job.Get(id); e != nil && h.one(2) {
			by = Person{ID: e.By, Role: e.As}
		}
		h.write(t, by, &record.Strike{Target: id, Reason: pick(h, []string{"slip", "dirt", "gauge"})})
	}
}

func (h *History) rework(t *Tablet) {
	part := pick(h, []string{"shaft", "shaft", "housing", "nowhere"})
	features := map[string][]string{"shaft": {"J1", "J2"}, "housing": {"B1"}, "nowhere": {"J1"}}[part]
	if len(features) == 2 && !h.one(3) {
		features = features[h.rng.IntN(2):][:1]
	}
	state := pick(h, []string{"done", "done", "asked", "sent"})
	h.write(t, h.person(), &record.Rework{Component: part, Features: features, State: state, Operation: "grind"})
}

func (h *History) settle(t *Tablet) {
	b := &record.Settle{Text: "looked into it", How: pick(h, []string{record.HowPlaceAfter, record.HowPlaceAfter, record.HowPlaceBefore, record.HowLift, record.HowLift, record.HowOneRework, record.HowBothInOrder, record.HowSameAs, record.HowKeepFact})}
	add := func(kind string) {
		if id, ok := h.seen(t, kind); ok {
			b.About = append(b.About, id)
		}
	}
	by := h.checker()
	switch b.How {
	case record.HowPlaceAfter, record.HowPlaceBefore:
		by = h.person()
		for range 1 + h.rng.IntN(3) {
			add("reading")
		}
		if h.one(3) {
			add("rework")
		}
	case record.HowLift:
		add("objection")
	case record.HowOneRework, record.HowBothInOrder:
		add("rework")
		add("rework")
	case record.HowKeepFact:
		add("fact")
	case record.HowSameAs:
		if !h.one(4) {
			return // seldom: it joins what the other acts keep apart
		}
		b.Names = []string{pick(h, Parts), pick(h, Parts)}
		if id, ok := h.seen(t, "component"); ok && h.one(2) {
			b.Names[1] = id.String()
		}
	}
	if b.Check() == nil {
		h.write(t, by, b)
	}
}

func (h *History) decide(t *Tablet) {
	subject := pick(h, append([]string{"shaft", "housing", "ring-a", "ring-b", "set-1"}, Parts...))
	if h.one(30) {
		subject = pick(h, []string{record.SubjectJob, "nothing"})
	}
	outcome := record.OutcomeReuse
	if h.one(6) {
		outcome = pick(h, []string{record.OutcomeFitNew, record.OutcomeHold, record.OutcomeRework, record.OutcomeReplace})
	}
	by := h.inspector()
	if h.one(15) {
		by = h.person()
	}
	if h.one(2) {
		h.screen[t] = t.Job.Heads()
	}
	h.write(t, by, Decision(subject, outcome))
}

func (h *History) correct(t *Tablet) {
	id, ok := h.seen(t, "setup")
	if !ok {
		return
	}
	b := h.setup(P1)
	b.Corrects, b.Master.Certified = id.String(), Mm(70)+length.Length(h.rng.IntN(3)-1)*Um(1)
	h.write(t, h.checker(), b)
}

func (h *History) concede(t *Tablet) {
	f := pick(h, []string{"J1", "J2", "B1"})
	b := &record.Concession{Component: partOf[f], Feature: f, Characteristic: spindle.Size, Authority: record.AuthorityCustomer, Person: "plant engineer", Reference: fmt.Sprint("letter ", h.rng.IntN(9))}
	if id, ok := h.seen(t, "concession"); ok && h.one(3) {
		b.Withdraws = id
	} else {
		b.Lower = Ptr(Um(float64(h.rng.IntN(3)) - 2))
		if h.one(2) {
			b.Upper = Ptr(Um(11 + float64(h.rng.IntN(3))))
		}
	}
	h.write(t, pick(h, []Person{Quality, P3}), b)
}

func (h *History) object(t *Tablet) {
	b := &record.Objection{Reason: "recalled", From: "person"}
	by := Quality
	if h.one(2) {
		by, b.From = Server, "server"
	}
	if h.one(4) {
		b.Names = []string{pick(h, Parts)}
	} else if id, ok := h.seen(t, "setup", "decision", "reading", "decision", "rework", "strike", "settle"); ok {
		b.Targets = []record.ID{id}
	} else {
		return
	}
	h.write(t, by, b)
}

func (h *History) damage(t *Tablet) {
	h.write(t, h.person(), &record.Finding{Subject: pick(h, append([]string{"shaft", "ring-a", "J9"}, Features...)), Signs: []string{"fretting"}, Severity: pick(h, []string{"note", record.SeverityDamage, record.SeverityDamage})})
}

func (h *History) specify(t *Tablet) {
	f := pick(h, Features)
	part := partOf[f]
	if h.one(12) {
		part = pick(h, Parts)
	}
	s := h.spec(f, part, pick(h, []spindle.Source{spindle.FromDrawing, spindle.FromProposal, spindle.FromStandard}))
	if f[0] != 'Q' {
		s.Characteristics[0].Upper = Ptr(Um(float64(9 + h.rng.IntN(3))))
	}
	by := h.inspector()
	if s.Source == spindle.FromProposal && h.one(2) {
		s.AcceptedBy = by.ID
	}
	if h.one(5) {
		by = h.person()
	}
	h.write(t, by, &record.Specification{Specification: s})
}

func (h *History) newPart(t *Tablet) {
	if h.one(2) {
		h.component(t, pick(h, Parts))
		return
	}
	h.write(t, P1, &record.Component{Component: spindle.Component{Type: spindle.Bearing, Name: "spare", Origin: spindle.Spare, SetID: pick(h, []string{"", "set-1", "set-2"})}})
}

func (h *History) assemble(t *Tablet) {
	b := &record.Step{What: pick(h, []string{record.StepFitted, record.StepFitted, record.StepRemoved}), Component: pick(h, Parts), ReliedOn: &record.Relied{}}
	h.write(t, P5, b)
}
