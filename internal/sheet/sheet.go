// Package sheet sets out one job as people see it: everything that a screen, a list or a report shows, computed from the record and nothing else.
//
// A [Sheet] is folded from the set of entries and written as canonical JSON: the same set gives the same bytes in the browser and on the server, whatever the order in
// which the entries arrived. What lies outside the set (how old the knowledge is, what is overdue today) comes in as an [hold.Overlay] and can only turn cleared into held.
package sheet

import (
	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// Sheet is one job.
type Sheet struct {
	Job     string      `json:"job"`
	Engine  string      `json:"engine"`
	Digest  string      `json:"digest"` // SHA-256 over the sorted ids of the set: two devices that hold the same set show the same
	Entries int         `json:"entries"`
	Heads   []record.ID `json:"heads"`

	Facts      []Fact        `json:"facts"`
	Components []Component   `json:"components"`
	Setups     []Setup       `json:"setups"`
	Steps      []Step        `json:"steps"`
	Findings   []Finding     `json:"findings"`
	Alarms     []string      `json:"alarms"` // "fitted on a clearance since withdrawn: shaft"
	Holds      []hold.Reason `json:"holds"`  // what holds the whole job
	// WithoutEffect are entries that are kept but change nothing, each with the reason in words.
	WithoutEffect []Line `json:"without_effect"`
	History       []Line `json:"history"` // every entry, oldest first by ancestry
}

// Fact is a register of the job: customer, maker, model, serial, stage … Several values: written without knowledge of each other.
type Fact struct {
	Subject string   `json:"subject"`
	Field   string   `json:"field"`
	Values  []string `json:"values"`
}

// Stamp says who and when. Clocked is false where the device's clock was never checked against the server's.
type Stamp struct {
	By      string       `json:"by"`
	As      spindle.Role `json:"as"`
	Device  string       `json:"device"`
	TimeMS  int64        `json:"time_ms"`
	Clocked bool         `json:"clocked"`
}

// Component is one line of the list: proposal, decision, cleared or held, and its features.
type Component struct {
	spindle.Component
	Proposal  verdict.Proposal `json:"proposal"`
	Decision  string           `json:"decision"` // outcome that stands, "" while none does
	Decisions []Decision       `json:"decisions"`
	Cleared   bool             `json:"cleared"`
	ClearedBy string           `json:"cleared_by"` // in words: "reuse by P3", "by concession (customer, ref. 4711)"
	Holds     []hold.Reason    `json:"holds"`
	Features  []Feature        `json:"features"`
	Evidence  string           `json:"evidence"` // digest of everything that bears on it: goes into a fitted step
	Fitted    bool             `json:"fitted"`
	Damage    []string         `json:"-"` // found, and no standing decision has seen it; for the job file
}

// Decision is one decision on a component, newest last.
type Decision struct {
	ID record.ID `json:"id"`
	Stamp
	Outcome string `json:"outcome"`
	Reason  string `json:"reason"`
	Stands  bool   `json:"stands"`
	Why     string `json:"why,omitempty"` // why it does not stand
}

// Feature is one feature with its specification, verdict and every reading ever taken there.
type Feature struct {
	Spec        spindle.Specification   `json:"spec"`
	SpecID      record.ID               `json:"spec_id"`
	Others      []spindle.Specification `json:"others,omitempty"` // conflicting specifications
	Input       verdict.Input           `json:"-"`                // what the verdict rests on, for the job file
	Round       int                     `json:"round"`            // reworks done on it
	Verdict     verdict.Feature         `json:"verdict"`
	Readings    []Reading               `json:"readings"`
	Reworks     []Rework                `json:"reworks"`
	Concessions []Concession            `json:"concessions"`
}

// Reading is one reading and whether it counts.
type Reading struct {
	ID record.ID `json:"id"`
	Stamp
	spindle.Reading
	Status string `json:"status"` // "counts", "struck", "earlier round", "unplaced", "without effect"
	Why    string `json:"why,omitempty"`
}

// Rework is one rework of a feature.
type Rework struct {
	ID record.ID `json:"id"`
	Stamp
	State     string `json:"state"`
	Operation string `json:"operation"`
	Struck    bool   `json:"struck"`
}

// Concession is one concession on a feature and whether it covers.
type Concession struct {
	ID record.ID `json:"id"`
	Stamp
	Characteristic string `json:"characteristic"`
	Words          string `json:"words"`
	Covers         bool   `json:"covers"`
	Why            string `json:"why,omitempty"`
}

// Setup is one set-up with its constants as they stand now.
type Setup struct {
	ID record.ID `json:"id"`
	Stamp
	spindle.Setup
	Before    *int64 `json:"zero_before_pm"`
	After     *int64 `json:"zero_after_pm"`
	Corrected bool   `json:"corrected"` // a later set-up replaced its constants
	Readings  int    `json:"readings"`  // how many rest on it
	Struck    bool   `json:"struck"`
}

// Step is one step of taking apart or putting together.
type Step struct {
	ID record.ID `json:"id"`
	Stamp
	What      string `json:"what"`
	Component string `json:"component"`
	Place     string `json:"place"`
	Words     string `json:"words"`
}

// Finding is what somebody saw on a part.
type Finding struct {
	ID record.ID `json:"id"`
	Stamp
	Subject  string   `json:"subject"`
	Place    string   `json:"place"`
	Severity string   `json:"severity"`
	Text     string   `json:"text"`
	Signs    []string `json:"signs"`
	Photos   []string `json:"photos"` // hashes
	Struck   bool     `json:"struck"`
}

// Line is one entry in words.
type Line struct {
	ID record.ID `json:"id"`
	Stamp
	Kind  string `json:"kind"`
	Words string `json:"words"`
	Why   string `json:"why,omitempty"`
}
