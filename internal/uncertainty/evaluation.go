package uncertainty

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// Names of distributions as they stand in a budget.
const (
	DistributionNormal      = "normal"
	DistributionRectangular = "rectangular"
	DistributionTriangular  = "triangular"
	DistributionUShaped     = "U-shaped"
	DistributionRepeats     = "from repeats"
)

func line(source string, value float64, distribution string, u, nu float64) Contribution {
	return Contribution{Source: source, Value: value, Distribution: distribution, U: u, Sensitivity: 1, Um: u, Nu: nu}
}

// Standard is a contribution given as standard uncertainty u (k = 1), µm.
func Standard(source string, u float64) Contribution {
	return line(source, u, DistributionNormal, u, math.Inf(1))
}

// Certificate is a contribution given as expanded uncertainty with its coverage factor k > 0, as certificates state it (the Guide, 4.3.3), µm.
func Certificate(source string, expanded, k float64) Contribution {
	return line(source, expanded, DistributionNormal, expanded/k, math.Inf(1))
}

// Rectangular is ±a with every value within equally likely: u = a/√3 (the Guide, 4.3.7).
func Rectangular(source string, a float64) Contribution {
	return line(source, a, DistributionRectangular, a/math.Sqrt(3), math.Inf(1))
}

// Triangular is ±a with the middle likeliest: u = a/√6 (the Guide, 4.3.9).
func Triangular(source string, a float64) Contribution {
	return line(source, a, DistributionTriangular, a/math.Sqrt(6), math.Inf(1))
}

// UShaped is ±a of something that swings, such as the air temperature about its set point: u = a/√2 (the Guide, H.1.3.4).
func UShaped(source string, a float64) Contribution {
	return line(source, a, DistributionUShaped, a/math.Sqrt2, math.Inf(1))
}

// Resolution is the step of a display: u = step/√12 (the Guide, F.2.2.1).
func Resolution(step float64) Contribution {
	return line("resolution", step, DistributionRectangular, step/math.Sqrt(12), math.Inf(1))
}

// NuFromDoubt returns the degrees of freedom of a standard uncertainty that is itself uncertain by the given portion: 0.1 for "known to 10 %" gives 50
// (the Guide, equation G.3). portion > 0; 0 gives +Inf.
func NuFromDoubt(portion float64) float64 { return 0.5 / float64(portion*portion) }

// Study is what is known of a gauge's repeatability: the pooled standard deviation of a single reading, µm, and its degrees of freedom.
type Study struct {
	S  float64
	Nu float64
}

// Spread returns mean and sum of squared deviations of readings, in their unit and its square. No readings: NaN and 0.
func Spread(readings []float64) (mean, squares float64) {
	for _, x := range readings {
		mean += x
	}
	mean /= float64(len(readings))
	for _, x := range readings {
		squares += float64((x - mean) * (x - mean))
	}
	return mean, squares
}

// Pool joins studies of one gauge: s² = Σ νᵢsᵢ²/Σ νᵢ (the Guide, 4.2.4). The empty study has ν = 0.
func Pool(studies ...Study) Study {
	squares, nu := 0.0, 0.0
	for _, s := range studies {
		squares += float64(s.Nu * s.S * s.S)
		nu += s.Nu
	}
	if nu == 0 {
		return Study{}
	}
	return Study{math.Sqrt(squares / nu), nu}
}

// Update adds real repeats, readings of the same station with the part lifted off and set again, to the study. A single reading adds nothing.
func (s Study) Update(repeats []float64) Study {
	if len(repeats) < 2 {
		return s
	}
	_, squares := Spread(repeats)
	nu := float64(len(repeats) - 1)
	return Pool(s, Study{math.Sqrt(squares / nu), nu})
}

// Repeatability is the contribution of the gauge's scatter to the mean of the repeats: s/√n with the study updated by them. Without a study
// at least three repeats are needed: two alone give t = 12.7 and say nothing. The readings must be of one station; different stations differ by form.
func Repeatability(study Study, repeats []float64) (Contribution, error) {
	n := len(repeats)
	for _, x := range repeats {
		if err := finite("reading", x); err != nil {
			return Contribution{}, err
		}
	}
	if err := notNegative("standard deviation of the study", study.S); err != nil {
		return Contribution{}, err
	}
	if !(study.Nu >= 0) {
		return Contribution{}, BadValue{"degrees of freedom of the study", study.Nu, "0 for no study, or more"}
	}
	if n == 0 || (study.Nu < 2 && n < 3) {
		return Contribution{}, fmt.Errorf("%d readings of one station and a study with %g degrees of freedom: %w; take at least three, or study the gauge",
			n, study.Nu, ErrTooFewRepeats)
	}
	known := study
	if !math.IsInf(study.Nu, 1) {
		known = study.Update(repeats)
	}
	u := known.S / math.Sqrt(float64(n))
	return line("repeatability", known.S, DistributionRepeats, u, known.Nu), nil
}

// CorrelationOfMeans returns the correlation coefficient of the means of two quantities that were observed together (the Guide, equations 14 and 17).
// It needs as many x as y and at least three of each; a constant quantity has none.
func CorrelationOfMeans(x, y []float64) (float64, error) {
	if len(x) != len(y) || len(x) < 3 {
		return 0, fmt.Errorf("%d and %d observations: %w; give at least three pairs", len(x), len(y), ErrTooFewRepeats)
	}
	meanX, squaresX := Spread(x)
	meanY, squaresY := Spread(y)
	both := 0.0
	for i := range x {
		both += float64((x[i] - meanX) * (y[i] - meanY))
	}
	if squaresX == 0 || squaresY == 0 {
		return 0, fmt.Errorf("a quantity that never changes has no correlation: %w", ErrMalformed)
	}
	return both / math.Sqrt(float64(squaresX*squaresY)), nil
}

// coverage95 is Φ⁻¹(0.95) = 1.64485…: the guard at one limit in units of u.
var coverage95 = portablemath.NormalQuantile(0.95)
