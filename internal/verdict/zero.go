package verdict

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// zero is what the checks on the master say about a set-up.
type zero struct {
	opening length.Length // b: what the gauge showed last before the readings, instead of 0
	drift   length.Length // after − before, of the last pair
	paired  bool          // there is a pair
	open    bool          // the closing check is missing
	// worst is the largest move of any pair, with its sign: a person who set the gauge again within one set-up does not undo the earlier drift.
	worst length.Length
}

// readZero pairs the checks in the order in which they were taken: checks before, then checks after; another check before starts the next pair.
// Of several checks of one kind in a row the last counts. Without a check before, the gauge counts as set to 0.
// A set-up to a master needs a closing check; an absolute gauge may have one; an indicator has none, its sweep closes on itself.
func readZero(s *SetupState) zero {
	var z zero
	if s.Mode == spindle.ModeIndicator {
		return z
	}
	var before, after length.Length
	closed := false
	pair := func() {
		if !closed {
			return
		}
		z.paired, z.opening, z.drift = true, before, minus(after, before)
		if z.drift.Abs() > z.worst.Abs() {
			z.worst = z.drift
		}
	}
	for _, c := range s.Checks {
		switch {
		case c.After:
			after, closed = c.Value, true
		case closed:
			pair()
			before, closed = c.Value, false
		default:
			before = c.Value
		}
	}
	pair()
	if !closed {
		z.opening = before
	}
	z.open = !closed && s.Mode == spindle.ModeMaster
	return z
}

// doubt says in words what makes every reading of the set-up count as "cannot be told", or nothing. The tolerance, where there is one, is the
// tightest size tolerance that the readings serve: a zero that moved by more than a tenth of it is too much (common practice, no source). Where it stood before is known, and
// subtracted; beyond the whole tolerance it is no setting but a slip.
func doubt(s *SetupState, z zero, tolerance *length.Length) string {
	switch {
	case s.Overdue != "":
		return s.Overdue
	case s.Doubted != "":
		return s.Doubted
	case tolerance == nil:
		return ""
	case exceedsTenth(z.worst, *tolerance):
		return "zero moved by " + signedExact(z.worst) + ", more than a tenth of the tolerance " + exact(*tolerance) + ": set again"
	case z.opening.Abs() > *tolerance:
		return "the gauge stood at " + signedExact(z.opening) + " on the master before the readings, more than the whole tolerance " + exact(*tolerance) + ": set it near 0 and measure again"
	}
	return ""
}

func exceedsTenth(move, tolerance length.Length) bool { return move.Abs() > tolerance/10 }
