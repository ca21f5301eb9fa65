package slip

import (
	"slices"

	"runtrue/internal/length"
)

const µm = length.Micrometre

// expected is what a feature leads one to expect of its next reading.
type expected struct {
	read      bool // from earlier readings; else from the limits alone
	known     bool // something is known at all
	centre    length.Length
	low, high length.Length // outside of these a value is looked at
	tight     [2]length.Length
	beyond    [2]length.Length // outside of these it is asked about even if nothing explains it
}

// Widths of expectation. All of them are common practice, no source.
const (
	leastRoom  = 10 * µm  // about the limits of a size not yet read: ordinary wear
	leastWidth = 3 * µm   // about earlier readings of a size: ordinary form
	leastReach = 50 * µm  // outside the limits of a size before a lone value is odd
	mostReach  = 100 * µm // and where the tolerance is wide
	farOnDial  = 500 * µm // of an indicator's own zero
	dialRoom   = 10 * µm  // about earlier readings of a sweep
	dialLikely = 50 * µm  // of a first reading of a sweep
)

// expect forms the expectation. Limits that are missing or exchanged are left out of account.
func expect(lower, upper *length.Length, earlier []length.Length, sweep bool) expected {
	x := expected{}
	var centre, spread length.Length
	if len(earlier) > 0 {
		centre, spread = middle(earlier)
		x.read, x.known, x.centre = true, true, centre
	}
	if sweep {
		limit := 5 * µm
		if upper != nil && *upper > 0 {
			limit = *upper
		}
		x.known, x.beyond = true, [2]length.Length{-farOnDial, farOnDial}
		width := max(dialLikely, 10*limit)
		if x.read {
			width = max(dialRoom, 2*limit, 4*spread)
			x.low, x.high = centre-width, centre+width
			x.tight = [2]length.Length{x.low, x.high}
			x.beyond = [2]length.Length{min(-farOnDial, x.low), max(farOnDial, x.high)}
			return x
		}
		x.low, x.high = -farOnDial, farOnDial
		x.tight = [2]length.Length{-width, width}
		return x
	}
	limited := lower != nil && upper != nil && *lower <= *upper
	tolerance := length.Length(0)
	if limited {
		tolerance = *upper - *lower
		reach := max(leastReach, min(20*tolerance, mostReach))
		x.beyond = [2]length.Length{*lower - reach, *upper + reach}
	}
	switch {
	case x.read:
		width := max(leastWidth, tolerance/2, 4*spread)
		x.low, x.high = centre-width, centre+width
		x.tight = [2]length.Length{x.low, x.high}
		if limited {
			x.beyond = [2]length.Length{min(x.beyond[0], x.low), max(x.beyond[1], x.high)}
		} else {
			x.beyond = [2]length.Length{x.low - mostReach, x.high + mostReach}
		}
	case limited:
		x.known = true
		room := max(leastRoom, tolerance)
		x.low, x.high = *lower-room, *upper+room
		x.tight = [2]length.Length{*lower - tolerance/2, *upper + tolerance/2}
	}
	return x
}

// holds reports whether a value is as expected; where nothing is known, every value is.
func (x expected) holds(d length.Length) bool { return !x.known || (d >= x.low && d <= x.high) }

// near reports whether a value would be an ordinary one: what a slip must lead back to.
func (x expected) near(d length.Length) bool { return d >= x.tight[0] && d <= x.tight[1] }

// far reports whether a value is odd by itself.
func (x expected) far(d length.Length) bool { return d < x.beyond[0] || d > x.beyond[1] }

// middle returns the median and the median distance from it, which one wild value among them does not move.
func middle(values []length.Length) (centre, spread length.Length) {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	centre = sorted[(len(sorted)-1)/2]
	for i, v := range sorted {
		sorted[i] = (v - centre).Abs()
	}
	slices.Sort(sorted)
	return centre, sorted[len(sorted)/2]
}
