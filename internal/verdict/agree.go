package verdict

import (
	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// Agree reports whether a later reading agrees with what was read before at its station: a size with the earlier mean within √(U₁²+U₂²).
// The same rule tells a conflict between two people. Delta is later minus earlier, limit how large it may be; both are 0 where nothing can be compared.
//
// A sweep is compared as a whole, by its run-out: the later reading stands for all readings of its set-up and plane in the input. While that sweep
// has fewer stations than the earlier one it can only grow, so that it disagrees only once it is larger. A quantity agrees if it stands to its limits
// as the earlier ones do, an answer if it is the same. Earlier readings elsewhere on the feature are passed over. A reading on which nothing can be built (a set-up in doubt, no earlier reading) agrees with nothing.
func Agree(in Input, earlier []Observation, later Observation) (agrees bool, delta, limit length.Length) {
	c, ok := in.Spec.Characteristic(later.Reading.Characteristic)
	switch {
	case later.Reading.Quantity != nil:
		before := atStation(earlier, later)
		return ok && len(before) > 0 && agreeQuantity(c, before, *later.Reading.Quantity), 0, 0
	case later.Reading.Yes != nil:
		before := atStation(earlier, later)
		for _, e := range before {
			if e.Reading.Yes == nil || *e.Reading.Yes != *later.Reading.Yes {
				return false, 0, 0
			}
		}
		return len(before) > 0, 0, 0
	case readAsSize(in.Spec, later.Reading.Characteristic):
		return agreeSize(in, earlier, later)
	}
	return agreeSweep(in, earlier, later)
}

// atStation keeps the observations of the same characteristic at the same place.
func atStation(list []Observation, like Observation) []Observation {
	var here []Observation
	for _, o := range list {
		if o.Reading.Characteristic == like.Reading.Characteristic && o.Reading.Plane == like.Reading.Plane && o.Reading.Angle == like.Reading.Angle {
			here = append(here, o)
		}
	}
	return here
}

func agreeQuantity(c spindle.Characteristic, earlier []Observation, later spindle.Quantity) bool {
	now, _ := judgeQuantity(later, c)
	for _, e := range earlier {
		if e.Reading.Quantity == nil {
			return false
		}
		if was, _ := judgeQuantity(*e.Reading.Quantity, c); was != now {
			return false
		}
	}
	return true
}

func agreeSize(in Input, earlier []Observation, later Observation) (bool, length.Length, length.Length) {
	at := func(observations []Observation) (station, bool) {
		with := in
		with.Observations = observations
		r := &reader{in: with, tolerance: sizeTolerance(in.Spec)}
		loose := later.Reading.Means == spindle.MeansIndicator
		stations, faults := r.sizes(loose)
		for _, s := range stations {
			if s.Plane == later.Reading.Plane && s.Angle == later.Reading.Angle {
				return s, len(faults) == 0 && s.doubt == "" && !loose
			}
		}
		return station{}, false
	}
	before, ok1 := at(earlier)
	after, ok2 := at([]Observation{later})
	if !ok1 || !ok2 {
		return false, 0, 0
	}
	studied := true
	for _, g := range append(before.counting, after.counting...) {
		studied = studied && g.setup.Gauge.SPooled > 0
	}
	delta, limit, agrees := difference(before.estimate, after.estimate, studied)
	return agrees, delta, limit
}

func agreeSweep(in Input, earlier []Observation, later Observation) (bool, length.Length, length.Length) {
	at := func(observations []Observation, setup string) ([]sweep, bool) {
		with := in
		with.Observations = observations
		all, faults := (&reader{in: with}).sweeps(later.Reading.Characteristic)
		var here []sweep
		for _, s := range all {
			if s.plane == later.Reading.Plane && s.doubt == "" && (setup == "" || s.setup.ID == setup) {
				here = append(here, s)
			}
		}
		return here, len(here) > 0 && len(faults) == 0
	}
	before, ok1 := at(earlier, "")
	after, ok2 := at(append([]Observation{later}, without(in.Observations, later.ID)...), later.Reading.Setup)
	if !ok1 || !ok2 {
		return false, 0, 0
	}
	most := before[0]
	for _, s := range before {
		if len(s.angles) > len(most.angles) {
			most = s
		}
	}
	var figures []estimate
	for _, s := range before {
		if len(s.angles) == len(most.angles) {
			figures = append(figures, s.runOut())
		}
	}
	delta, limit, agrees := difference(mean(figures), after[0].runOut(), false)
	if len(after[0].angles) < len(most.angles) && delta < 0 {
		agrees = true
	}
	return agrees, delta, limit
}

func without(list []Observation, id string) []Observation {
	var rest []Observation
	for _, o := range list {
		if o.ID != id {
			rest = append(rest, o)
		}
	}
	return rest
}
