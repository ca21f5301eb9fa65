package hold

import (
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Code names a kind of hold, for programs; people read Words. The list is closed.
type Code string

// The codes.
const (
	NoDecision        Code = "no decision"
	DecisionOvertaken Code = "decision overtaken" // something that the decision has not seen
	DecisionsDiffer   Code = "decisions differ"
	DecidedAgainst    Code = "decided against" // rework, replace, hold
	OwnStrike         Code = "own strike"      // the decider's own strike made it conform
	NotSpecified      Code = "not specified"
	SpecNotAccepted   Code = "specification not accepted"
	SpecConflict      Code = "specifications differ"
	NotConforming     Code = "does not conform" // fails, cannot be told, incomplete, in conflict; the words say which
	DoubtfulSetup     Code = "set-up in doubt"
	OpenSetup         Code = "closing check missing"
	Unplaced          Code = "reading not placed" // before or after the rework?
	ReworkContested   Code = "reworks differ"
	Away              Code = "away"      // at the grinder or plater
	Objected          Code = "objection" // by the server or a person
	Damage            Code = "damage not decided"
	SetHeld           Code = "set held" // another ring of the matched set
	Withheld          Code = "entry withheld"
	TooOld            Code = "program too old"
	NotClosed         Code = "entries missing"
	// Overlay: what lies outside the record, and can only hold.
	OldKnowledge Code = "old knowledge"
	Overdue      Code = "gauge overdue"
	Revoked      Code = "role withdrawn"
	NewerEngine  Code = "newer program elsewhere"
)

// Reason is one thing that stands against a part: what it is, which act lifts it and who may do that.
type Reason struct {
	Code  Code           `json:"code"`
	Words string         `json:"words"` // "1 reading that the decision has not seen: J1 plane 2 at 120°, +1.0 µm by Ana"
	Act   string         `json:"act"`   // "decide again"
	Who   []spindle.Role `json:"who"`
	Refs  []record.ID    `json:"refs,omitempty"`
	// Feature and Characteristic, where the reason lies on one.
	Feature        string `json:"feature,omitempty"`
	Characteristic string `json:"characteristic,omitempty"`
}
