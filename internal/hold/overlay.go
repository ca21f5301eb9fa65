// Package hold says of every component whether it is cleared or held, and if held, everything that stands against it: in words, with the act that lifts it and who may do that.
//
// A component is cleared only if a standing decision that clears (reuse, fit new) covers all evidence on its current rounds, at least one required characteristic is specified and accepted,
// every required characteristic conforms or is covered by an exact concession, and nothing is unplaced, contested, objected to, doubtful or away. Everything else is held.
//
// A decision stands when each piece of evidence is in its past, or is a reading (with its set-up and zero checks) that was taken by somebody who had seen the decision, and that agrees with what was
// measured before. A reading that was taken without knowledge of the decision always reopens it, even if it agrees: nobody has looked at the two together.
//
// What lies outside the record comes in as an [Overlay] and can only hold. With the overlay empty the result is a pure function of the set of entries.
package hold

import "runtrue/internal/spindle"

// Overlay is what a device knows beside the record. The zero value adds nothing.
type Overlay struct {
	// KnowledgeMS is how long ago the server last answered; nil where that is not asked. Negative: it cannot be told.
	KnowledgeMS *int64 `json:"knowledge_ms"`
	// FreshMS is the age that the shop allows; 0: no limit.
	FreshMS int64 `json:"fresh_limit_ms"`
	// Revoked are roles that this device has heard to be withdrawn.
	Revoked []Revocation `json:"revoked"`
}

// Revocation is one role withdrawn from one person.
type Revocation struct {
	Person string       `json:"person"`
	Role   spindle.Role `json:"role"`
}
