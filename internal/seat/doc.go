// Package seat proposes what the seats of spindle bearings, their shoulders, spacers and clamping nuts must be where the drawing is silent.
//
// A proposal is a maker's printed recommendation, never a requirement: it is shown as "proposed from …, not from the drawing", it is valid
// only once an inspector has accepted it, and any limit off the drawing replaces it. Makers disagree, and their figures belong together: a
// seat to one maker's size and another's roundness is nobody's recommendation. So the caller names a maker; without one the proposals of
// every maker are listed side by side, and [Characteristics] refuses to mix them.
//
// # Where the numbers come from
//
// Each table is one printed page (files named by source id and maker). Most form and run-out values are an ISO 286 standard tolerance at the
// nominal size, or half of it, and are computed by package iso286; sizes are a tolerance class or the maker's own limits; the rest is as
// printed. Every proposal carries its source, how the value was made (its basis), and a mark: read in the source, or from memory in what its
// note says.
//
// # Gaps
//
// Where a maker prints nothing, prints another class or size only, or its page could not be read, the answer holds an open proposal with
// the reason in place of a value. No maker's hardness of seats, and no GOST figure, was read; none is proposed.
package seat
