package record

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Strike withdraws an entry, with a reason. Nothing is deleted. A strike can itself be struck.
type Strike struct {
	Target ID     `json:"target"`
	Reason string `json:"reason"` // slip, dirt, wrong place, gauge, wrong part, other
	Text   string `json:"text,omitempty"`
}

// Kind is "strike".
func (*Strike) Kind() string { return "strike" }

// Check requires a target and a reason of the list; "other" needs words.
func (b *Strike) Check() error {
	if b.Target.IsZero() {
		return malformed("a strike names its target")
	}
	if b.Reason == "other" {
		return need("text", b.Text)
	}
	return oneOf("reason", b.Reason, "slip", "dirt", "wrong place", "gauge", "wrong part", "other")
}

// Photo points to a picture by its content.
type Photo struct {
	Hash  ID    `json:"hash"`
	Bytes int64 `json:"bytes"`
	W     int   `json:"w"`
	H     int   `json:"h"`
}

// Finding is what somebody saw on a part: a note, or damage that holds it until an inspector has decided.
type Finding struct {
	Subject  string   `json:"subject"` // a component's id or a feature
	Place    string   `json:"place,omitempty"`
	Signs    []string `json:"signs"`
	Severity string   `json:"severity"` // note, damage
	Text     string   `json:"text,omitempty"`
	Photos   []Photo  `json:"photos"`
}

// Kind is "finding".
func (*Finding) Kind() string { return "finding" }

// Check requires a subject and some content; a finding of photos alone is a note.
func (b *Finding) Check() error {
	if err := need("subject", b.Subject); err != nil {
		return err
	}
	if b.Text == "" && len(b.Signs) == 0 && (len(b.Photos) == 0 || b.Severity != "note") {
		return malformed("a finding says something, or is a note with a photo")
	}
	return oneOf("severity", b.Severity, "note", "damage")
}

// Rework is work on features of a component: asked, sent away, done. Done starts a new round of the features, and makes their earlier readings void.
type Rework struct {
	Component   string         `json:"component"`
	Features    []string       `json:"features"`
	State       string         `json:"state"` // asked, sent, done
	Operation   string         `json:"operation"`
	From        *length.Length `json:"from_pm,omitempty"`
	To          *length.Length `json:"to_pm,omitempty"`
	Who         string         `json:"who,omitempty"`
	Certificate string         `json:"certificate,omitempty"`
	Text        string         `json:"text,omitempty"`
}

// Kind is "rework".
func (*Rework) Kind() string { return "rework" }

// Check requires component, at least one feature, state and operation.
func (b *Rework) Check() error {
	if len(b.Features) == 0 {
		return malformed("a rework names its features")
	}
	if err := need("component", b.Component, "operation", b.Operation); err != nil {
		return err
	}
	return oneOf("state", b.State, "asked", "sent", "done")
}

// Worst points to what a decision rested on.
type Worst struct {
	Feature        string `json:"feature"`
	Characteristic string `json:"characteristic"`
}

// Outcomes of a decision. Reuse and fit new clear a part.
const (
	OutcomeReuse      = "reuse"
	OutcomeFitNew     = "fit new"
	OutcomeRework     = "rework"
	OutcomeReplace    = "replace"
	OutcomeHold       = "hold"
	OutcomeReturn     = "return as is"
	SubjectJob        = "job"
	SeverityDamage    = "damage"
	ReworkDone        = "done"
	StepFitted        = "fitted"
	StepRemoved       = "removed"
	HowPlaceBefore    = "place before"
	HowPlaceAfter     = "place after"
	HowSameAs         = "same as"
	HowOneRework      = "one rework"
	HowBothInOrder    = "both in order"
	HowLift           = "lift objection"
	HowKeepFact       = "keep this fact"
	HowEndOfPart      = "end of part"
	AuthorityCustomer = "customer"
	AuthorityShop     = "shop"
)

// Decision is an inspector's decision on a component or on the whole job. Its parents are what the inspector saw.
type Decision struct {
	Subject string `json:"subject"`
	Outcome string `json:"outcome"`
	Reason  string `json:"reason"`
	Worst   *Worst `json:"worst,omitempty"`
	Engine  string `json:"engine"`
}

// Kind is "decision".
func (*Decision) Kind() string { return "decision" }

// Clears reports whether the outcome lets the part be assembled.
func (b *Decision) Clears() bool { return b.Outcome == OutcomeReuse || b.Outcome == OutcomeFitNew }

// Check requires subject, an outcome of the list and a reason.
func (b *Decision) Check() error {
	if err := need("subject", b.Subject, "reason", b.Reason, "engine", b.Engine); err != nil {
		return err
	}
	return oneOf("outcome", b.Outcome, OutcomeReuse, OutcomeFitNew, OutcomeRework, OutcomeReplace, OutcomeHold, OutcomeReturn)
}

// Concession releases a characteristic that does not conform, up to stated limits, for the rounds named (ISO 9000).
// With Withdraws it takes an earlier one back.
type Concession struct {
	Component      string         `json:"component"`
	Feature        string         `json:"feature"`
	Characteristic string         `json:"characteristic"`
	Rounds         []ID           `json:"rounds"` // the reworks done when it was given
	Lower          *length.Length `json:"lower_pm,omitempty"`
	Upper          *length.Length `json:"upper_pm,omitempty"`
	Authority      string         `json:"authority"` // shop, customer
	Person         string         `json:"person"`
	Reference      string         `json:"reference"`
	Attachment     *Photo         `json:"attachment,omitempty"`
	Withdraws      ID             `json:"withdraws,omitzero"`
}

// Kind is "concession".
func (*Concession) Kind() string { return "concession" }

// Check requires what it stands on, who gave it and, unless it withdraws, a limit.
func (b *Concession) Check() error {
	if err := need("component", b.Component, "feature", b.Feature, "characteristic", b.Characteristic, "person", b.Person, "reference", b.Reference); err != nil {
		return err
	}
	if b.Withdraws.IsZero() && b.Lower == nil && b.Upper == nil {
		return malformed("a concession accepts to a lower limit, an upper limit or both")
	}
	if b.Lower != nil && b.Upper != nil && *b.Lower > *b.Upper {
		return malformed("the conceded lower limit is above the upper one")
	}
	return oneOf("authority", b.Authority, AuthorityShop, AuthorityCustomer)
}

// Settle ends a question by a person's word: where a reading belongs, whether two parts or reworks are one, that an objection is lifted.
type Settle struct {
	About []ID     `json:"about"`
	Names []string `json:"names,omitempty"` // component ids, for "same as"
	How   string   `json:"how"`
	Text  string   `json:"text"`
}

// Kind is "settle".
func (*Settle) Kind() string { return "settle" }

// Check requires what it is about and words.
func (b *Settle) Check() error {
	if len(b.About) == 0 && len(b.Names) == 0 {
		return malformed("a settlement names what it is about")
	}
	if b.How == HowSameAs && len(b.Names) < 2 {
		return malformed("same as names two components or more")
	}
	if (b.How == HowOneRework || b.How == HowBothInOrder) && len(b.About) < 2 {
		return malformed("%s names two reworks or more", b.How)
	}
	if err := need("text", b.Text); err != nil {
		return err
	}
	return oneOf("how", b.How, HowPlaceBefore, HowPlaceAfter, HowSameAs, HowOneRework, HowBothInOrder, HowLift, HowKeepFact, HowEndOfPart)
}

// Objection stands against entries or components until somebody lifts it: a recalled gauge, a withdrawn role, a serial number in two jobs, a clock.
type Objection struct {
	Targets []ID     `json:"targets"`
	Names   []string `json:"names,omitempty"` // component ids
	Reason  string   `json:"reason"`
	From    string   `json:"from"` // server, person
	Since   int64    `json:"since_ms,omitempty"`
}

// Kind is "objection".
func (*Objection) Kind() string { return "objection" }

// Check requires a target and a reason.
func (b *Objection) Check() error {
	if len(b.Targets) == 0 && len(b.Names) == 0 {
		return malformed("an objection names what it is against")
	}
	if err := need("reason", b.Reason); err != nil {
		return err
	}
	return oneOf("from", b.From, "server", "person")
}

// Relied is what a fitted step rested on: the decisions and the digest of the evidence that was shown.
type Relied struct {
	Decisions []ID   `json:"decisions"`
	Digest    string `json:"digest"`
}

// Step is one act on a part: removed, fitted, ground, tightened, balanced, run.
type Step struct {
	What        string             `json:"what"`
	Component   string             `json:"component"`
	Place       string             `json:"place,omitempty"`
	FaceToNose  string             `json:"face_to_nose,omitempty"`
	Angle       *int64             `json:"angle_mdeg,omitempty"`
	Mark        string             `json:"mark,omitempty"`
	Amount      *length.Length     `json:"amount_pm,omitempty"`
	ReliedOn    *Relied            `json:"relied_on,omitempty"`
	Values      []spindle.Quantity `json:"values"`
	CautionRead bool               `json:"caution_read"`
	// KnowledgeMS is how old the device's knowledge was when the part was fitted, where older than the shop allows.
	KnowledgeMS int64 `json:"knowledge_age_ms,omitempty"`
}

// Kind is "step".
func (*Step) Kind() string { return "step" }

// Check requires what and which component; fitting states what it relied on.
func (b *Step) Check() error {
	if err := need("component", b.Component); err != nil {
		return err
	}
	if b.What == StepFitted && b.ReliedOn == nil {
		return malformed("a fitted step states what it relied on")
	}
	for _, q := range b.Values {
		if err := q.Check(); err != nil {
			return err
		}
	}
	return oneOf("what", b.What, StepRemoved, StepFitted, "ground", "tightened", "balanced", "run")
}

// Grant gives a person a role from a time on; with Withdraws it takes an earlier grant back. Grants are entries of the shop's record.
type Grant struct {
	Person           string       `json:"person"`
	Role             spindle.Role `json:"role"`
	From             int64        `json:"from_ms"`
	Until            int64        `json:"until_ms,omitempty"`
	Withdraws        ID           `json:"withdraws,omitzero"`
	IncludingEarlier bool         `json:"including_earlier,omitempty"`
}

// Kind is "grant".
func (*Grant) Kind() string { return "grant" }

// Check requires a person and a role of the list.
func (b *Grant) Check() error {
	if err := CheckName(b.Person); err != nil {
		return err
	}
	for _, r := range spindle.Roles() {
		if r == b.Role {
			return nil
		}
	}
	return malformed("role %q is none of %v", b.Role, spindle.Roles())
}
