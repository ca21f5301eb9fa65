package verdict

import (
	"runtrue/internal/form"
	"runtrue/internal/portablemath"
)

// firstWeights returns the weight of each reading in k·C₁, the amplitude of the first harmonic as least squares finds it, once its direction is known: for equally spaced
// stations k·(2/N)·cos(θ−φ). Package form gives the amplitude; the weights carry the uncertainty of each station into it, shared parts and all. Their sum is 0
// up to rounding, so that a common error cancels. Angles are in degrees. False where the stations do not fix the curve.
func firstWeights(k float64, deg []float64, direction float64) ([]float64, bool) {
	n := float64(len(deg))
	cos, sin := make([]float64, len(deg)), make([]float64, len(deg))
	var c, s, cc, ss, cs float64
	for i, d := range deg {
		sin[i], cos[i] = portablemath.SincosDegrees(d)
		c += cos[i] / n
		s += sin[i] / n
	}
	for i := range deg {
		cos[i] -= c
		sin[i] -= s
		cc += float64(cos[i] * cos[i])
		ss += float64(sin[i] * sin[i])
		cs += float64(cos[i] * sin[i])
	}
	determinant := float64(cc*ss) - float64(cs*cs)
	if len(deg) < 3 || determinant < 1e-9 {
		return nil, false
	}
	y, x := portablemath.SincosDegrees(direction)
	weights := make([]float64, len(deg))
	for i := range deg {
		inA := (float64(ss*cos[i]) - float64(cs*sin[i])) / determinant
		inB := (float64(cc*sin[i]) - float64(cs*cos[i])) / determinant
		weights[i] = float64(k * (float64(inA*x) + float64(inB*y)))
	}
	return weights, true
}

// stationsOf pairs angles in degrees with values in µm.
func stationsOf(deg, um []float64) []form.Station {
	list := make([]form.Station, len(deg))
	for i, d := range deg {
		list[i] = form.Station{AngleDeg: d, Um: um[i]}
	}
	return list
}

// extent returns the largest minus the smallest value, 0 for none.
func extent(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	low, high := values[0], values[0]
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	return high - low
}

// least amplitude of a first harmonic, in µm, whose direction is worth naming: below the resolution of the length type it is rounding.
const noDirection = 1e-6
