package verdict

import (
	"errors"
	"fmt"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// ErrNotSpecified says that the specification has no such characteristic.
var ErrNotSpecified = errors.New("not specified")

// Limits returns the limits of a characteristic in the sense in which its value is reported, and where they come from in words.
//
// A size has deviations from its nominal: ISO 286 for a tolerance class, the specification's own numbers otherwise. A greatest value gives an
// upper limit alone for a geometrical characteristic, whose value is never below 0, and 0 … max for a size. Quantities and yes/no points have
// no limits of length: both are nil without an error.
//
// Errors: [ErrNotSpecified], or what package iso286 says of a class that is malformed, out of range or not defined.
func Limits(spec spindle.Specification, characteristic string) (lower, upper *length.Length, from string, err error) {
	c, ok := spec.Characteristic(characteristic)
	if !ok {
		return nil, nil, "", fmt.Errorf("%w: the specification of %s says nothing of %s; specify it or leave it out", ErrNotSpecified, spec.Feature, characteristic)
	}
	switch {
	case c.Class != "":
		found, err := iso286.Lookup(spec.Nominal, c.Class)
		if err != nil {
			return nil, nil, "", fmt.Errorf("limits of %s %s: %w", spec.Feature, className(spec, c), err)
		}
		from = "ISO 286-2:2010, " + className(spec, c)
		if spec.Source == spindle.FromProposal {
			from += ", " + origin(spec)
		}
		return pointer(found.Lower), pointer(found.Upper), from, nil
	case c.Max != nil && c.Name == spindle.Size:
		return pointer(length.Length(0)), copied(c.Max), origin(spec), nil
	case c.Max != nil:
		return nil, copied(c.Max), origin(spec), nil
	}
	return copied(c.Lower), copied(c.Upper), origin(spec), nil
}

// band is a pair of limits; nil where there is none.
type band struct{ lower, upper *length.Length }

// width returns the tolerance and true for a band with two limits, or with an upper limit alone where no value can be below 0.
func (b band) width(neverNegative bool) (length.Length, bool) {
	switch {
	case b.lower != nil && b.upper != nil:
		return minus(*b.upper, *b.lower), true
	case b.lower == nil && b.upper != nil && neverNegative:
		return *b.upper, true
	}
	return 0, false
}

// widened returns the band after the concessions for the characteristic, and those that moved a limit.
// Of several, the one that allows least counts at each limit; a concession never narrows what the specification allows.
func (b band) widened(concessions []Concession, characteristic string) (band, []Concession) {
	var lower, upper *length.Length
	for _, c := range concessions {
		if c.Characteristic != characteristic {
			continue
		}
		if c.Lower != nil && (lower == nil || *c.Lower > *lower) {
			lower = c.Lower
		}
		if c.Upper != nil && (upper == nil || *c.Upper < *upper) {
			upper = c.Upper
		}
	}
	wide := b
	if b.lower != nil && lower != nil && *lower < *b.lower {
		wide.lower = copied(lower)
	}
	if b.upper != nil && upper != nil && *upper > *b.upper {
		wide.upper = copied(upper)
	}
	var used []Concession
	for _, c := range concessions {
		movedLower := c.Lower != nil && wide.lower != nil && *c.Lower == *wide.lower && wide.lower != b.lower
		movedUpper := c.Upper != nil && wide.upper != nil && *c.Upper == *wide.upper && wide.upper != b.upper
		if c.Characteristic == characteristic && (movedLower || movedUpper) {
			used = append(used, c)
		}
	}
	return wide, used
}

// className writes a nominal with its class as drawings do: "70 k4".
func className(spec spindle.Specification, c spindle.Characteristic) string {
	return trimmed(spec.Nominal, length.Millimetres, 9) + " " + c.Class
}

// origin says where a specification comes from: "drawing T-2041", "proposed from …, not from the drawing".
func origin(spec spindle.Specification) string {
	reference := spec.Reference
	switch spec.Source {
	case spindle.FromProposal:
		if reference == "" {
			reference = "common practice, no source"
		}
		words := "proposed from " + reference + ", not from the drawing"
		if spec.AcceptedBy != "" {
			words += ", accepted by " + spec.AcceptedBy
		}
		return words
	case spindle.FromShop:
		return spaced("shop", reference)
	case spindle.FromStandard:
		return spaced("standard", reference)
	}
	return spaced("drawing", reference)
}

func spaced(word, more string) string {
	if more == "" {
		return word
	}
	return word + " " + more
}

func pointer[T any](v T) *T { return &v }

func copied[T any](v *T) *T {
	if v == nil {
		return nil
	}
	return pointer(*v)
}
