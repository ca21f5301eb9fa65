// Package verdict says what readings mean: readings × specification → verdict of a feature → proposal for a component.
//
// It knows nothing of entries, people's rights or the order in which things were written: what stands, in which round, is decided before (package record) and handed in
// as [Input]. Everything here is a pure function of its input: the same numbers, to the last bit, in the browser and on the server.
//
// # From reading to value at 20 °C
//
// A reading is turned into a deviation from the feature's nominal at 20 °C: the master's certified value or the nominal is added as its meaning says, half the drift of
// the set-up is taken off (b on the master before, a after: correction −(b+a)/2, u = |a−b|/√12), and the difference in expansion between part and gauge or master is corrected (ISO 1).
// Readings of one set-up at one station are repeats and are averaged first; then the set-ups at that station; stations are never averaged for conformity,
// since every local size must lie within the limits (ISO 14405-1 default).
//
// # The decision
//
// Guarded, after JCGM 106: p_c = Φ((T_U−y)/u) − Φ((T_L−y)/u). A value conforms if p_c ≥ 0.95, fails if one tail alone is ≥ 0.95, else it cannot be told. Probabilities are
// rounded to 1e-6 before they are compared.
//
// For several local values the worst is the one with the gravest outcome, then the smallest p_c, then the least margin; equal ones in the order of the plan.
//
// What several values share (the calibration of one gauge, one master, one temperature) is one error: it does not shrink in their mean and cancels in their difference.
//
// A set-up in doubt (overdue, objected to, its zero moved by more than a tenth of the tolerance) neither passes nor fails anything. Where a sound set-up was read at the same
// station, that counts and the doubtful readings are left out, which a note says: "set again" is the remedy, and so it must help.
//
// Precedence: in conflict, then fails, then incomplete, then cannot be told, then conforms. A part with a local size that surely fails has failed, however many stations are missing.
package verdict

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Outcome is the verdict of one characteristic or feature. The list is closed.
type Outcome string

// The outcomes.
const (
	Conforms     Outcome = "conforms"
	Fails        Outcome = "fails"
	CannotBeTold Outcome = "cannot be told"
	Incomplete   Outcome = "incomplete"
	InConflict   Outcome = "in conflict"
)

// Action is the proposal for a component. The list is closed.
type Action string

// The proposals.
const (
	Reuse   Action = "reuse"
	Rework  Action = "rework"
	Replace Action = "replace"
	Measure Action = "measure"
	Decide  Action = "decide"
)

// Observation is one reading that counts: unstruck, of the current round.
type Observation struct {
	ID      string // of the reading, to point back to it
	Person  string
	Reading spindle.Reading
}

// ZeroCheck is one reading on the master, as the person gave it: a deviation from what the gauge should show.
type ZeroCheck struct {
	ID    string
	After bool
	Value length.Length
}

// SetupState is a set-up with everything that bears on it: its constants (already the corrected ones), its zero checks and what stands against it.
type SetupState struct {
	ID     string
	Person string
	spindle.Setup
	Checks []ZeroCheck // in the order in which they were taken
	// Overdue and Doubted make every reading of the set-up "cannot be told", with this reason in words; empty: nothing stands against it.
	Overdue string
	Doubted string
}

// Concession widens the limits of one characteristic for this round (ISO 9000). Nil limits stay as specified.
type Concession struct {
	ID             string
	Characteristic string
	Lower, Upper   *length.Length
	By             string // "customer, ref. 4711"
}

// Input is everything that the verdict of one feature rests on.
type Input struct {
	Spec         spindle.Specification
	Observations []Observation
	Setups       map[string]SetupState // by id, for every observation
	Concessions  []Concession
	// Damage are findings of damage on the feature that nobody has decided on; they do not change a number, they turn the proposal to "decide".
	Damage []string
}

// Direction says which way a failing size could be mended.
type Direction string

// The directions of rework.
const (
	MetalOff Direction = "metal off" // grind, hone, lap
	MetalOn  Direction = "metal on"  // plate or sleeve, and regrind
)

// Mend says how a failing size could be made good: the amount to take off or put on (on the diameter or thickness), least, most and the aim in the middle of the guarded zone.
type Mend struct {
	Direction Direction     `json:"direction"`
	From      length.Length `json:"from_pm"`
	To        length.Length `json:"to_pm"`
	Aim       length.Length `json:"aim_pm"`
	Allowed   bool          `json:"allowed"`
	Why       string        `json:"why"` // in words: "0.02 mm may be ground off", "the drawing allows no building up"
}

// Station is one station's value: the mean of what was read there, as deviation from nominal (sizes) or plain value.
type Station struct {
	Plane   string        `json:"plane,omitempty"`
	Angle   int64         `json:"angle_mdeg"`
	Value   length.Length `json:"value_pm"`
	U       length.Length `json:"u_pm"` // standard uncertainty, k = 1
	PC      float64       `json:"p_c"`  // probability of conformity, 1e-6
	N       int           `json:"n"`    // readings
	People  []string      `json:"people"`
	IDs     []string      `json:"ids"`
	Clash   bool          `json:"clash,omitempty"` // two people or set-ups differ beyond their combined uncertainty
	Outcome Outcome       `json:"outcome"`
}

// BudgetLine is one line of an uncertainty budget as a person reads it.
type BudgetLine struct {
	Source       string  `json:"source"`
	Value        string  `json:"value"` // as given, with unit
	Distribution string  `json:"distribution"`
	UUm          float64 `json:"u_um"`  // contribution to the result, standard, µm
	Share        float64 `json:"share"` // of the variance, 0 … 1
	// UInput is the standard uncertainty of the input in Unit, Sensitivity the change of the result in µm per Unit of it, signed; their product is ±UUm. A term
	// joined from several independent ones shows the root of the sum of their squares as sensitivity.
	UInput      float64 `json:"u_input"`
	Unit        string  `json:"unit"`
	Sensitivity float64 `json:"sensitivity"`
	Nu          int     `json:"nu,omitempty"`   // degrees of freedom; left out where u is known well
	Mend        string  `json:"mend,omitempty"` // what shrinks it
}

// Figure is a further number that the picture and the explanation show: a mean, an eccentricity, a wedge.
type Figure struct {
	Name  string  `json:"name"` // "mean of plane 1", "eccentricity", "high spot", "wedge", "wedge direction", "what the stations may have missed"
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // "µm", "°", "″", "%"
	Note  string  `json:"note,omitempty"`
}

// Characteristic is the verdict of one characteristic.
type Characteristic struct {
	Name    string  `json:"characteristic"`
	Outcome Outcome `json:"outcome"`
	// Value is the worst local deviation from nominal for a size, the value of a geometrical characteristic otherwise; nil while nothing is known.
	Value *length.Length `json:"value_pm"`
	Lower *length.Length `json:"lower_pm"` // limits in the sense of Value, after concessions; nil where there is none
	Upper *length.Length `json:"upper_pm"`
	U     *length.Length `json:"U_pm"` // expanded, U = 2u, of Value
	PC    *float64       `json:"p_c"`
	// NuEff are the effective degrees of freedom of u (Welch and Satterthwaite), where repeats limit them, and U95 is Student's t for 95 % times u; both nil where u is
	// known well. Decisions take u as known.
	NuEff      *float64          `json:"nu_eff,omitempty"`
	U95        *length.Length    `json:"U95_pm,omitempty"`
	Rule       string            `json:"rule"`               // "guarded: p_c ≥ 0.95", "simple: limits as they are, U ≤ T/4"
	Quantity   *spindle.Quantity `json:"quantity,omitempty"` // the worst value of a quantity, as given; its limits
	LowerQ     *spindle.Quantity `json:"lower,omitempty"`
	UpperQ     *spindle.Quantity `json:"upper,omitempty"`
	Need       int               `json:"need"` // stations wanted
	Have       int               `json:"have"` // stations with a reading
	Missing    []StationName     `json:"missing,omitempty"`
	Stations   []Station         `json:"stations,omitempty"`
	Figures    []Figure          `json:"figures,omitempty"`
	Budget     []BudgetLine      `json:"budget,omitempty"` // of the worst value, biggest first
	Margin     *length.Length    `json:"margin_pm"`        // distance of Value to the nearer limit, positive inside
	Mend       *Mend             `json:"mend,omitempty"`
	Settle     string            `json:"settle,omitempty"`    // what would settle a "cannot be told", in words
	SettleBy   []Settling        `json:"settle_by,omitempty"` // the acts one by one, those that are enough by themselves first
	Sentence   string            `json:"sentence"`            // one sentence with numbers and units
	Notes      []string          `json:"notes,omitempty"`     // "odd lobing cannot be seen by two-point measuring", …
	Conceded   string            `json:"conceded,omitempty"`  // by whom, where a concession widened the limits and they mattered
	LimitsFrom string            `json:"limits_from"`         // "ISO 286-2:2010, 70 k4", "drawing T-2041"
	Required   bool              `json:"required"`
	// Doubtful is set where a set-up's doubt or overdue calibration, not the numbers, made it "cannot be told".
	Doubtful string `json:"doubtful,omitempty"`
	// Open is set where readings rest on a set-up to a master whose closing zero check is still missing: the verdict is provisional and cannot clear.
	Open bool `json:"open,omitempty"`
}

// StationName names one station of the plan.
type StationName struct {
	Plane string `json:"plane"`
	Angle int64  `json:"angle_mdeg"`
}

// Feature is the verdict of one feature: its characteristics and the worst outcome among the required ones.
type Feature struct {
	Feature         string           `json:"feature"`
	Name            string           `json:"name"`
	Outcome         Outcome          `json:"outcome"`
	Characteristics []Characteristic `json:"characteristics"`
}

// Proposal is what the program advises for a component, and the one sentence why, on the worst feature.
type Proposal struct {
	Action         Action `json:"proposal"`
	Reason         string `json:"reason"`
	Feature        string `json:"feature,omitempty"`        // the worst one
	Characteristic string `json:"characteristic,omitempty"` // of it
}
