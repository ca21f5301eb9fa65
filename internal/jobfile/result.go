package jobfile

import (
	"bytes"
	"encoding/json"

	"runtrue/internal/length"
	"runtrue/internal/sheet"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Result is what a job says: a proposal for each component, and the verdicts that it rests on.
type Result struct {
	Components []Assessed
}

// Assessed is one component with its proposal and verdicts.
type Assessed struct {
	spindle.Component
	Proposal verdict.Proposal
	Features []verdict.Feature
}

// ResultOf takes the result of a recorded job from its sheet.
func ResultOf(s *sheet.Sheet) Result {
	var r Result
	for _, c := range s.Components {
		out := Assessed{Component: c.Component, Proposal: c.Proposal}
		for _, f := range c.Features {
			out.Features = append(out.Features, f.Verdict)
		}
		r.Components = append(r.Components, out)
	}
	return r
}

// ComponentLine is one component as programs read it.
type ComponentLine struct {
	Component string               `json:"component"`
	Proposal  verdict.Action       `json:"proposal"`
	Reason    string               `json:"reason"`
	Features  []CharacteristicLine `json:"features"`
	Name      string               `json:"name"`
	Place     string               `json:"place"`
	Serial    string               `json:"serial"`
}

// CharacteristicLine is one characteristic of a feature as programs read it. Value is the worst local deviation from nominal for a size, the value of a geometrical
// characteristic otherwise; U is expanded, 2u. What does not exist is null.
type CharacteristicLine struct {
	Feature        string           `json:"feature"`
	Characteristic string           `json:"characteristic"`
	Outcome        verdict.Outcome  `json:"outcome"`
	Value          Micrometres      `json:"value_um"`
	Lower          Micrometres      `json:"lower_um"`
	Upper          Micrometres      `json:"upper_um"`
	U              Micrometres      `json:"u_um"`
	Rule           string           `json:"rule"`
	PC             *float64         `json:"p_c"`
	Sentence       string           `json:"sentence"`
	Required       bool             `json:"required"`
	Margin         Micrometres      `json:"margin_um"`
	Settle         string           `json:"settle,omitempty"`
	Conceded       string           `json:"conceded,omitempty"`
	Doubtful       string           `json:"doubtful,omitempty"`
	Open           bool             `json:"provisional,omitempty"`
	Quantity       *json.RawMessage `json:"value,omitempty"` // of a quantity, in Unit
	Bound          string           `json:"bound,omitempty"`
	LowerQ         *json.RawMessage `json:"lower,omitempty"`
	UpperQ         *json.RawMessage `json:"upper,omitempty"`
	Unit           string           `json:"unit,omitempty"`
}

// Micrometres is a length that is written in micrometres, exactly; null where there is none.
type Micrometres struct{ *length.Length }

// MarshalJSON writes every digit that the length has and no other.
func (m Micrometres) MarshalJSON() ([]byte, error) { return []byte(m.text("null")), nil }

// String is the number alone, empty where there is none.
func (m Micrometres) String() string { return m.text("") }

func (m Micrometres) text(none string) string {
	if m.Length == nil {
		return none
	}
	return unscaled(int64(*m.Length), inMicrometres)
}

// Line sets the component out for programs.
func (c Assessed) Line() ComponentLine {
	l := ComponentLine{Component: c.ID, Proposal: c.Proposal.Action, Reason: c.Proposal.Reason, Features: []CharacteristicLine{}, Name: c.Name, Place: c.Place, Serial: c.Serial}
	for _, f := range c.Features {
		for _, k := range f.Characteristics {
			l.Features = append(l.Features, characteristicLine(f.Feature, k))
		}
	}
	return l
}

func characteristicLine(feature string, k verdict.Characteristic) CharacteristicLine {
	l := CharacteristicLine{Feature: feature, Characteristic: k.Name, Outcome: k.Outcome, Value: Micrometres{k.Value}, Lower: Micrometres{k.Lower}, Upper: Micrometres{k.Upper},
		U: Micrometres{k.U}, Rule: k.Rule, PC: k.PC, Sentence: k.Sentence, Required: k.Required, Margin: Micrometres{k.Margin}, Settle: k.Settle, Conceded: k.Conceded,
		Doubtful: k.Doubtful, Open: k.Open}
	for _, q := range []struct {
		from *spindle.Quantity
		to   **json.RawMessage
	}{{k.LowerQ, &l.LowerQ}, {k.UpperQ, &l.UpperQ}, {k.Quantity, &l.Quantity}} {
		if q.from != nil {
			raw := json.RawMessage(QuantityText(*q.from))
			*q.to, l.Unit = &raw, q.from.Unit
		}
	}
	if k.Quantity != nil {
		l.Bound = k.Quantity.Bound
	}
	return l
}

// Lines sets the result out for programs, one object a component.
func (r Result) Lines() []ComponentLine {
	lines := []ComponentLine{}
	for _, c := range r.Components {
		lines = append(lines, c.Line())
	}
	return lines
}

// JSON writes {"components":[…]}.
func (r Result) JSON() []byte {
	return Indented(struct {
		Components []ComponentLine `json:"components"`
	}{r.Lines()})
}

// Indented writes JSON with two spaces a level and without escaping < > &. The value must be one that encoding/json can write: a NaN would be a fault of the program.
func Indented(v any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		panic("jobfile: " + err.Error())
	}
	return b.Bytes()
}
