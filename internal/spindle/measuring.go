package spindle

import "runtrue/internal/length"

// Gauge is the instrument in hand as its last calibration left it. The values are pinned into each set-up, so that a verdict never changes
// because the shop's list of gauges did.
type Gauge struct {
	ID         string        `json:"id"`
	Name       string        `json:"name,omitempty"`
	Type       string        `json:"type"` // "two-point comparator", "lever indicator", "bore gauge, two-point", …
	Resolution length.Length `json:"resolution_pm"`
	CalID      string        `json:"cal_id,omitempty"` // number of the calibration certificate
	Due        int64         `json:"due_ms,omitempty"` // when the calibration ends; 0: not known
	UCal       length.Length `json:"u_cal_pm"`         // standard uncertainty (k = 1) from the calibration
	SPooled    length.Length `json:"s_p_pm,omitempty"` // pooled standard deviation of one reading from a study of this gauge; 0: no study
	Nu         int           `json:"nu,omitempty"`     // degrees of freedom of that study
	BlindTo    []string      `json:"blind_to,omitempty"`
}

// Master is the setting ring, gauge block or setting rod that a comparator was set to.
type Master struct {
	ID        string        `json:"id"`
	Name      string        `json:"name,omitempty"`
	Certified length.Length `json:"certified_pm"`              // value of the certificate at 20 °C
	Alpha     int64         `json:"alpha_ppb_per_k,omitempty"` // 0: steel, 11 500
	U         length.Length `json:"u_pm"`                      // standard uncertainty (k = 1) of the certified value
}

// The modes of a set-up: how what the gauge shows becomes a length.
const (
	ModeAbsolute  = "absolute"  // the gauge shows the size itself
	ModeMaster    = "master"    // the gauge shows the difference to a master
	ModeIndicator = "indicator" // the zero is arbitrary: run-outs and faces
)

// Setup is what readings rest on: gauge, master, zero, temperatures, person. It is the unit of truth: correcting it re-computes all its readings.
type Setup struct {
	Gauge  Gauge   `json:"gauge"`
	Mode   string  `json:"mode"`
	Master *Master `json:"master,omitempty"`
	// Temperatures; nil where nobody measured. TMaster is the gauge's own scale where there is no master.
	TMaster *int64 `json:"t_master_mdegc,omitempty"`
	TPart   *int64 `json:"t_part_mdegc,omitempty"`
	// UT is the standard uncertainty (k = 1) of the difference between the two temperatures; nil: the default for soaked or not.
	UT      *int64 `json:"u_t_mk,omitempty"`
	Soaked  bool   `json:"soaked"`
	Support string `json:"support,omitempty"`  // between centres, on V-blocks, in its bearings …
	ZeroRef string `json:"zero_ref,omitempty"` // what 0° is: "keyway"
	Sense   string `json:"sense,omitempty"`    // "clockwise seen from the nose" …
	// Corrects is the id of an earlier set-up whose constants this one replaces for all its readings.
	Corrects string `json:"corrects,omitempty"`
}

// Check says what is wrong with the set-up, or nil.
func (s Setup) Check() error {
	switch {
	case s.Gauge.ID == "":
		return invalid("a set-up needs a gauge")
	case s.Gauge.UCal < 0 || s.Gauge.Resolution < 0 || s.Gauge.SPooled < 0 || s.Gauge.Nu < 0:
		return invalid("gauge %s: an uncertainty, resolution or degree of freedom is negative", s.Gauge.ID)
	case s.Mode != ModeAbsolute && s.Mode != ModeMaster && s.Mode != ModeIndicator:
		return invalid("set-up mode %q is none of absolute, master, indicator", s.Mode)
	case s.Mode == ModeMaster && s.Master == nil:
		return invalid("a set-up to a master names no master")
	case s.Master != nil && (s.Master.Certified <= 0 || s.Master.U < 0):
		return invalid("master %s: the certified value must be above 0 and its uncertainty not negative", s.Master.ID)
	case s.UT != nil && *s.UT < 0:
		return invalid("the uncertainty of the temperature is negative")
	}
	for _, t := range []*int64{s.TMaster, s.TPart} {
		if t != nil && (*t < -60_000 || *t > 300_000) {
			return invalid("temperature %d m°C is outside -60 … 300 °C", *t)
		}
	}
	return nil
}

// Meaning says what the number that was read off stands for.
type Meaning string

// The meanings of a reading.
const (
	MeansSize        Meaning = "size"         // the full size
	MeansFromNominal Meaning = "from nominal" // deviation from the specification's nominal
	MeansFromMaster  Meaning = "from master"  // deviation from the master's certified value
	MeansIndicator   Meaning = "indicator"    // an indicator reading from an arbitrary zero
	MeansQuantity    Meaning = "quantity"     // a quantity with a unit of its own
	MeansYesNo       Meaning = "yes or no"
)

// Purpose says why a reading was taken.
type Purpose string

// The purposes of a reading.
const (
	ForArrival    Purpose = "arrival"
	ForTeardown   Purpose = "teardown"
	ForInspection Purpose = "inspection"
	ForAssembly   Purpose = "assembly"
	ForFinal      Purpose = "final"
	ForMarked     Purpose = "marked" // a deviation marked on a bearing ring
)

// Reading is one value off one gauge at one station. Exactly one of Value, Quantity and Yes is given.
type Reading struct {
	Setup          string         `json:"setup"`
	Feature        string         `json:"feature"` // MasterFeature for a zero check
	Characteristic string         `json:"characteristic"`
	Plane          string         `json:"plane,omitempty"`
	Angle          int64          `json:"angle_mdeg"`
	Repeat         int            `json:"repeat,omitempty"`  // 0 the first, then lifted off and set again
	Closing        bool           `json:"closing,omitempty"` // a sweep's second reading at its first angle
	Typed          string         `json:"typed"`             // what the person typed or the gauge sent
	Unit           string         `json:"unit"`              // the unit it was typed in
	Means          Meaning        `json:"means"`
	Value          *length.Length `json:"value_pm,omitempty"`
	Quantity       *Quantity      `json:"quantity,omitempty"`
	Yes            *bool          `json:"yes,omitempty"`
	Purpose        Purpose        `json:"purpose"`
	TakenAt        int64          `json:"taken_at_ms,omitempty"` // where it was typed later than read
	Blind          bool           `json:"blind,omitempty"`       // taken without seeing the earlier values
	Asked          string         `json:"asked,omitempty"`       // the slip question that the person answered with "yes, keep it"
}

// Check says what is wrong with the reading, or nil.
func (r Reading) Check() error {
	given := 0
	for _, b := range []bool{r.Value != nil, r.Quantity != nil, r.Yes != nil} {
		if b {
			given++
		}
	}
	switch {
	case r.Feature == "":
		return invalid("a reading names no feature")
	case given != 1:
		return invalid("reading of %s: give exactly one of value_pm, quantity, yes", r.Feature)
	case r.Value != nil && r.Means != MeansSize && r.Means != MeansFromNominal && r.Means != MeansFromMaster && r.Means != MeansIndicator:
		return invalid("reading of %s: a length means size, from nominal, from master or indicator, not %q", r.Feature, r.Means)
	case r.Quantity != nil && r.Means != MeansQuantity, r.Yes != nil && r.Means != MeansYesNo:
		return invalid("reading of %s: meaning %q does not fit its value", r.Feature, r.Means)
	case r.Angle < 0 || r.Angle >= 360_000:
		return invalid("reading of %s: angle %d mdeg is outside 0 … 359 999", r.Feature, r.Angle)
	case r.Repeat < 0:
		return invalid("reading of %s: repeat %d is negative", r.Feature, r.Repeat)
	case r.Setup == "" && r.Yes == nil:
		return invalid("reading of %s names no set-up", r.Feature)
	case r.Feature == MasterFeature && (r.Characteristic != ZeroCheck || r.Value == nil || (r.Plane != ZeroBefore && r.Plane != ZeroAfter)):
		return invalid("a zero check is a length read on the master, before or after")
	case !oneOf(string(r.Purpose), []Purpose{ForArrival, ForTeardown, ForInspection, ForAssembly, ForFinal, ForMarked}):
		return invalid("reading of %s: purpose %q is not one of ours", r.Feature, r.Purpose)
	}
	if r.Feature != MasterFeature && !oneOf(r.Characteristic, Characteristics()) {
		return invalid("reading of %s: characteristic %q is none of %v", r.Feature, r.Characteristic, Characteristics())
	}
	if r.Quantity != nil {
		return r.Quantity.Check()
	}
	return nil
}
