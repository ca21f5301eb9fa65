package form

import (
	"fmt"
	"math"
)

// Line is a straight line by least squares, y = Intercept + Slope·(x − Origin), with what the scatter says of it.
type Line struct {
	Origin      float64
	Intercept   float64 // y at Origin
	Slope       float64
	S           float64 // residual standard deviation, n − 2 degrees of freedom; 0 for two points
	UIntercept  float64 // standard uncertainties from the scatter
	USlope      float64
	Correlation float64 // of intercept and slope
	Residuals   []float64
}

// FitLine fits a line to at least two points, all of them finite and not all at one x. Results refer to x = origin.
func FitLine(x, y []float64, origin float64) (Line, error) {
	if len(x) != len(y) || len(x) < 2 {
		return Line{}, fmt.Errorf("line through %d x and %d y: %w; give at least two points", len(x), len(y), ErrTooFewStations)
	}
	n := float64(len(x))
	var meanX, meanY float64
	for i := range x {
		if math.IsNaN(x[i]) || math.IsInf(x[i], 0) || math.IsNaN(y[i]) || math.IsInf(y[i], 0) {
			return Line{}, fmt.Errorf("line: point %d is (%g, %g): %w; correct or strike it", i, x[i], y[i], ErrMalformed)
		}
		meanX += x[i]
		meanY += y[i]
	}
	meanX, meanY = meanX/n, meanY/n
	var xx, xy float64 // about the means, which keeps the digits
	for i := range x {
		xx += float64((x[i] - meanX) * (x[i] - meanX))
		xy += float64((x[i] - meanX) * (y[i] - meanY))
	}
	if xx == 0 {
		return Line{}, fmt.Errorf("line: all points at x = %g: %w; measure at two places or more", meanX, ErrDegenerate)
	}
	l := Line{Origin: origin, Slope: xy / xx}
	l.Intercept = meanY + float64(l.Slope*(origin-meanX))
	sum := 0.0
	for i := range x {
		r := (y[i] - meanY) - float64(l.Slope*(x[i]-meanX))
		l.Residuals = append(l.Residuals, r)
		sum += float64(r * r)
	}
	distance := origin - meanX
	perSlope := 1 / xx
	perIntercept := 1/n + float64(distance*distance)/xx
	l.Correlation = distance / xx / math.Sqrt(float64(perSlope*perIntercept))
	if len(x) > 2 {
		l.S = math.Sqrt(sum / (n - 2))
		l.USlope = float64(l.S * math.Sqrt(perSlope))
		l.UIntercept = float64(l.S * math.Sqrt(perIntercept))
	}
	return l, nil
}

// At returns the value of the line at x and its standard uncertainty from the scatter.
func (l Line) At(x float64) (y, u float64) {
	d := x - l.Origin
	y = l.Intercept + float64(l.Slope*d)
	v := float64(l.UIntercept*l.UIntercept) + float64(d*d*l.USlope*l.USlope) + float64(2*d*l.UIntercept*l.USlope*l.Correlation)
	return y, math.Sqrt(math.Max(0, v))
}

// Plane is a plane by least squares, z = C0 + CX·x + CY·y.
type Plane struct {
	C0, CX, CY float64
	S          float64   // residual standard deviation, n − 3 degrees of freedom; 0 for three points
	Residuals  []float64 // z − plane
	Flatness   float64   // largest minus smallest residual: FLTt about the least-squares plane (ISO 12781-1)
}

// FitPlane fits a plane to at least three points that do not lie on one line in x and y.
func FitPlane(x, y, z []float64) (Plane, error) {
	if len(x) != len(z) || len(y) != len(z) || len(z) < 3 {
		return Plane{}, fmt.Errorf("plane through %d x, %d y, %d z: %w; give at least three points", len(x), len(y), len(z), ErrTooFewStations)
	}
	rows := make([][]float64, len(z))
	for i := range z {
		for _, v := range []float64{x[i], y[i], z[i]} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return Plane{}, fmt.Errorf("plane: point %d is (%g, %g, %g): %w; correct or strike it", i, x[i], y[i], z[i], ErrMalformed)
			}
		}
		rows[i] = []float64{1, x[i], y[i]}
	}
	fit, ok := leastSquares(rows, z)
	if !ok {
		return Plane{}, fmt.Errorf("plane through %d points: %w; they lie on one line", len(z), ErrDegenerate)
	}
	p := Plane{C0: fit.x[0], CX: fit.x[1], CY: fit.x[2], Residuals: fit.residuals}
	if len(z) > 3 {
		p.S = math.Sqrt(fit.sumOfSquares() / float64(len(z)-3))
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range fit.residuals {
		low, high = math.Min(low, r), math.Max(high, r)
	}
	p.Flatness = high - low
	return p, nil
}
