package uncertainty

import (
	"fmt"
	"math"
	"sort"

	"runtrue/internal/portablemath"
)

// Process is what is known of the parts before one is measured: normal, with mean and standard deviation in the unit of the limits.
type Process struct {
	Mean, Deviation float64
}

// Risks are probabilities for the next part, before it is measured (JCGM 106, 9.5).
type Risks struct {
	Consumer float64 // it is outside the tolerance, and accepted
	Producer float64 // it is inside the tolerance, and rejected
	Outside  float64 // it is outside the tolerance, measured or not
}

// GlobalRisks returns the risks for parts drawn from the process, measured with standard uncertainty u and accepted where the measured value lies within acceptance.
// The integrals over the true value run to 10 standard deviations of the process, by Simpson's rule between the places where the integrand bends; absolute error below 1e-7.
// Errors: ErrMalformed unless deviation and u are above 0, and those of the limits.
func GlobalRisks(process Process, u float64, tolerance, acceptance Limits) (Risks, error) {
	if err := tolerance.check(); err != nil {
		return Risks{}, fmt.Errorf("tolerance: %w", err)
	}
	if err := acceptance.check(); err != nil {
		return Risks{}, fmt.Errorf("acceptance: %w", err)
	}
	if err := finite("mean of the process", process.Mean); err != nil {
		return Risks{}, err
	}
	if !(process.Deviation > 0) || math.IsInf(process.Deviation, 1) {
		return Risks{}, BadValue{"standard deviation of the process", process.Deviation, "a finite number above 0"}
	}
	if !(u > 0) || math.IsInf(u, 1) {
		return Risks{}, BadValue{"standard uncertainty", u, "a finite number above 0"}
	}
	from, to := process.Mean-float64(10*process.Deviation), process.Mean+float64(10*process.Deviation)
	bends := []float64{from, to, process.Mean}
	for _, limit := range []*float64{tolerance.Lower, tolerance.Upper, acceptance.Lower, acceptance.Upper} {
		if limit != nil {
			bends = append(bends, *limit, *limit-float64(8*u), *limit+float64(8*u))
		}
	}
	sort.Float64s(bends)
	var r Risks
	for i := 1; i < len(bends); i++ {
		a, b := math.Max(bends[i-1], from), math.Min(bends[i], to)
		if a >= b {
			continue
		}
		accepted, all := simpsonOfAcceptance(process, u, acceptance, a, b)
		if tolerance.contains(a + float64(0.5*(b-a))) {
			r.Producer += all - accepted
		} else {
			r.Consumer += accepted
			r.Outside += all
		}
	}
	return r, nil
}

// simpsonOfAcceptance integrates the density of the process from a to b, once with the probability of acceptance and once without.
func simpsonOfAcceptance(process Process, u float64, acceptance Limits, a, b float64) (accepted, all float64) {
	const panels = 256
	for i := range panels + 1 {
		weight := 2.0
		switch {
		case i == 0 || i == panels:
			weight = 1
		case i&1 == 1:
			weight = 4
		}
		value := a + float64((b-a)*float64(i)/panels)
		z := (value - process.Mean) / process.Deviation
		density := float64(weight * portablemath.Exp(float64(-0.5*float64(z*z))))
		low, high := 0.0, 1.0
		if acceptance.Lower != nil {
			low = portablemath.NormalCDF((*acceptance.Lower - value) / u)
		}
		if acceptance.Upper != nil {
			high = portablemath.NormalCDF((*acceptance.Upper - value) / u)
		}
		accepted += float64(density * (high - low))
		all += density
	}
	scale := (b - a) / (3 * panels) / float64(process.Deviation*math.Sqrt(2*math.Pi))
	return float64(accepted * scale), float64(all * scale)
}
