package verdict

import (
	"math"
	"slices"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

// GaugeCanDecide says, before the first reading, whether a gauge as set up could ever show that the characteristic conforms: with one reading a station,
// and the value where it is best (the middle of the tolerance, or 0 for a greatest value).
//
// BestPC is the probability of conformity there. BoundU is the largest U = 2u with which the guarded rule can say "conforms" at all: T/1.96 between two limits,
// T/0.82 below one with 0 as the least value; 0 where no length is decided on. Useful is U ≤ T/4. Words say the same to a person; they are empty where nothing is to be said.
func GaugeCanDecide(spec spindle.Specification, characteristic string, setup SetupState) (can bool, bestPC float64, boundU length.Length, words string) {
	lower, upper, _, err := Limits(spec, characteristic)
	if err != nil {
		return false, 0, 0, err.Error()
	}
	if lower == nil && upper == nil {
		return true, 1, 0, ""
	}
	if g := setup.Gauge; g.UCal == 0 && g.Resolution == 0 && g.SPooled == 0 {
		// A force gauge, or a card that was never filled in: nothing would be left but the temperature, and everything would seem certain.
		return false, 0, 0, "gauge " + g.ID + " states no uncertainty and no resolution for lengths"
	}
	if slices.Contains(setup.Gauge.BlindTo, characteristic) {
		return false, 0, 0, blindWords(setup.Gauge)
	}
	if characteristic == spindle.Size && setup.Mode == spindle.ModeIndicator {
		return false, 0, 0, noSizeFromZero
	}
	b := band{lower, upper}
	width, ok := b.width(neverNegative(characteristic) || b.lower == nil)
	if !ok {
		return true, 1, 0, "" // one open end: far enough inside, any gauge can decide
	}
	u := oneReading(spec, characteristic, setup)
	y := *upper
	if lower != nil {
		y = minus(*upper, width/2)
	} else {
		y = minus(*upper, width)
	}
	_, pc, _, err := decide(y, u, b, spindle.Characteristic{Name: characteristic})
	if err != nil {
		return false, 0, 0, err.Error()
	}
	two := b.lower != nil
	boundU = largestU(width, two)
	expanded := toLength(2 * u.Micrometres())
	limits := subject(spec) + " (T " + exact(width) + ")"
	gauge := setup.Gauge.ID
	if setup.Gauge.Name != "" {
		gauge = setup.Gauge.Name
	}
	switch {
	case pc < wanted:
		words = gauge + " with U " + rounded(expanded) + " can never decide " + characteristic + " of " + limits + ": the best p_c, in the middle, is " + probability(pc) + " < 0.95; needs U ≤ " + rounded(boundU) + ", useful is U ≤ " + rounded(width/4) + " (T/4)"
	case expanded > width/4:
		words = gauge + " with U " + rounded(expanded) + " decides " + characteristic + " of " + limits + " only near the middle: useful is U ≤ " + rounded(width/4) + " (T/4)"
	}
	return pc >= wanted, pc, boundU, words
}

func rounded(l length.Length) string { return length.Format(l, length.Micrometres, 2) }

// largestU returns the largest 2u with p_c ≥ 0.95 at the best place of a tolerance: 2Φ(T/2u)−1 = 0.95 between two limits, Φ(T/u) = 0.95 below one.
func largestU(width length.Length, two bool) length.Length {
	t := width.Micrometres()
	if two {
		return toLength(uncertainty.LargestU(t))
	}
	return toLength(2 * t / guard())
}

// oneReading returns the standard uncertainty of the characteristic's value with one reading at each station.
func oneReading(spec spindle.Specification, characteristic string, setup SetupState) length.Length {
	r := studied(setup.Gauge)
	if spindle.IsSweep(characteristic) || (characteristic == spindle.Parallelism && spec.Geometry != spindle.Thickness) {
		return newSweep(&setup, "", r).estimate(0, math.Sqrt2).standard()
	}
	one := basisOf(spec, &setup, nil).average([]float64{0}, r, false)
	if characteristic == spindle.Size {
		return one.standard()
	}
	return spread([]float64{1, -1}, []estimate{one, one}).standard()
}
