package sheet

import (
	"fmt"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

func signed(l length.Length) string { return length.FormatSigned(l, length.Micrometres, 1) }

// words says in one line what an entry says.
func words(s *record.State, i *record.Item) string {
	switch b := i.Body.(type) {
	case *record.Fact:
		return fmt.Sprintf("%s %s: %s", b.Subject, b.Field, b.Value)
	case *record.Component:
		return fmt.Sprintf("%s, %s, %s", b.Name, b.Place, b.Origin)
	case *record.Specification:
		text := fmt.Sprintf("%s %s, from %s", b.Feature, b.Name, b.Source)
		if b.AcceptedBy != "" {
			text += ", accepted"
		}
		return text
	case *record.Setup:
		text := fmt.Sprintf("gauge %s, %s", b.Gauge.ID, b.Mode)
		if b.Master != nil {
			text += fmt.Sprintf(", master %s of %s", b.Master.ID, length.Format(b.Master.Certified, length.Millimetres, 4))
		}
		if b.Corrects != "" {
			text += ", corrects an earlier set-up"
		}
		return text
	case *record.Reading:
		return readingWords(b.Reading)
	case *record.Strike:
		return fmt.Sprintf("strikes %s: %s %s", targetWords(s, b.Target), b.Reason, b.Text)
	case *record.Finding:
		return fmt.Sprintf("%s on %s %s: %s", b.Severity, b.Subject, b.Place, strings.Join(append(append([]string{}, b.Signs...), b.Text), ", "))
	case *record.Rework:
		return fmt.Sprintf("%s: %s on %s", b.State, b.Operation, strings.Join(b.Features, ", "))
	case *record.Decision:
		return fmt.Sprintf("%s for %s: %s", b.Outcome, b.Subject, b.Reason)
	case *record.Concession:
		return fmt.Sprintf("%s %s: %s", b.Feature, b.Characteristic, concessionWords(b))
	case *record.Settle:
		return fmt.Sprintf("%s: %s", b.How, b.Text)
	case *record.Objection:
		return "objects: " + b.Reason
	case *record.Step:
		return stepWords(b)
	case *record.Grant:
		return fmt.Sprintf("%s may act as %s", b.Person, b.Role)
	case *record.Gather:
		return "joins what was written apart"
	}
	return i.Unread
}

func targetWords(s *record.State, id record.ID) string {
	if t := s.Item(id); t != nil {
		return fmt.Sprintf("the %s of %s (%s)", t.Kind, t.By, words(s, t))
	}
	return "an entry that is not here"
}

func readingWords(r spindle.Reading) string {
	where := r.Feature + " " + r.Characteristic
	if r.Feature == spindle.MasterFeature {
		where = "zero " + r.Plane
	} else if r.Plane != "" {
		where += fmt.Sprintf(", plane %s at %s", r.Plane, record.Degrees(r.Angle))
	}
	return fmt.Sprintf("%s: %s %s (%s)", where, r.Typed, r.Unit, r.Means)
}

func stepWords(b *record.Step) string {
	text := b.What + " " + b.Component
	if b.Place != "" {
		text += ", " + b.Place
	}
	if b.FaceToNose != "" {
		text += ", to the nose: " + b.FaceToNose
	}
	if b.Angle != nil {
		text += ", mark at " + record.Degrees(*b.Angle)
	}
	if b.KnowledgeMS > 0 {
		text += fmt.Sprintf(", on knowledge %d minutes old", b.KnowledgeMS/60_000)
	}
	return text
}
