package record

import "runtrue/internal/spindle"

// Fact is one value of a register: customer, maker, model, serial, stage … of the job, a name of a person, a gauge's card in the shop's record.
// Concurrent values all stay, until somebody who saw them writes one again.
type Fact struct {
	Subject string `json:"subject"` // "job", a component's id, "person/ana", "gauge/12", "master/r70", "shop"
	Field   string `json:"field"`
	Value   string `json:"value"`
}

// Kind is "fact".
func (*Fact) Kind() string { return "fact" }

// Check requires subject and field; the value may be empty, which clears the register.
func (b *Fact) Check() error { return need("subject", b.Subject, "field", b.Field) }

// Component brings a part into the job, or states anew what is known of it. Its id is TemplateID where given, so that two tablets that both take the part from the
// spindle's type mean the same; otherwise the id of the entry.
type Component struct {
	TemplateID string `json:"template_id,omitempty"`
	spindle.Component
}

// Kind is "component".
func (*Component) Kind() string { return "component" }

// Check checks the component. Its id stands in TemplateID, or is the entry's.
func (b *Component) Check() error {
	if b.ID != "" {
		return malformed("a component's id stands in template_id, not in id")
	}
	return b.Component.Check()
}

// Specification says what a feature must be. One register per feature; concurrent ones conflict and hold the part.
type Specification struct {
	spindle.Specification
}

// Kind is "specification".
func (*Specification) Kind() string { return "specification" }

// Setup is what readings rest on.
type Setup struct {
	spindle.Setup
}

// Kind is "setup".
func (*Setup) Kind() string { return "setup" }

// Check checks the set-up and that the one it corrects is written as an id.
func (b *Setup) Check() error {
	if b.Corrects != "" {
		if _, err := ParseID(b.Corrects); err != nil {
			return err
		}
	}
	return b.Setup.Check()
}

// Reading is one value off one gauge.
type Reading struct {
	spindle.Reading
}

// Kind is "reading".
func (*Reading) Kind() string { return "reading" }

// Check checks the reading and that its set-up is written as an id.
func (b *Reading) Check() error {
	if b.Setup != "" {
		if _, err := ParseID(b.Setup); err != nil {
			return err
		}
	}
	return b.Reading.Check()
}

// Gather joins heads when there are more than an entry can name as parents. It says nothing else.
type Gather struct{}

// Kind is "gather".
func (*Gather) Kind() string { return "gather" }

// Check accepts it.
func (*Gather) Check() error { return nil }
