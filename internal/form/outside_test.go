package form

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"

	"runtrue/internal/portablemath"
)

// Comparisons with a general-purpose library, gonum, on random data. The tolerances are relative to the size of the numbers and allow for the different order of its sums.
const (
	outsideSeed = 20_261_126
	outsideRuns = 200
)

func random(stream uint64) *rand.Rand { return rand.New(rand.NewPCG(outsideSeed, stream)) }

// qr solves rows·x ≈ y by gonum's QR factorisation.
func qr(t *testing.T, rows [][]float64, y []float64) []float64 {
	t.Helper()
	a := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, r := range rows {
		a.SetRow(i, r)
	}
	var factors mat.QR
	factors.Factorize(a)
	var x mat.VecDense
	if err := factors.SolveVecTo(&x, false, mat.NewVecDense(len(y), y)); err != nil {
		t.Fatal(err)
	}
	return x.RawVector().Data
}

func TestLeastSquaresAgainstQR(t *testing.T) {
	r, worst := random(1), 0.0
	for range outsideRuns {
		m, n := 8+r.IntN(40), 1+r.IntN(7)
		rows, y := make([][]float64, m), make([]float64, m)
		for i := range rows {
			for range n {
				rows[i] = append(rows[i], r.NormFloat64()*math.Pow(10, float64(r.IntN(4))))
			}
			y[i] = r.NormFloat64() * 10
		}
		got, ok := leastSquares(rows, y)
		if !ok {
			continue
		}
		for j, want := range qr(t, rows, y) {
			worst = math.Max(worst, math.Abs(got.x[j]-want)/(1e-3+math.Abs(want)))
		}
	}
	t.Logf("seed %d: %d systems, greatest relative difference %.2g", outsideSeed, outsideRuns, worst)
	if worst > 1e-10 {
		t.Errorf("least squares differs from QR by %.3g, at most 1e-10 is wanted", worst)
	}
}

func TestLineAndPlaneAgainstGonum(t *testing.T) {
	r := random(2)
	for range outsideRuns {
		n := 4 + r.IntN(30)
		x, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
		rows := make([][]float64, n)
		for i := range n {
			x[i], y[i] = 100*r.Float64(), 100*r.Float64()
			z[i] = 3 + 0.02*x[i] - 0.05*y[i] + r.NormFloat64()
			rows[i] = []float64{1, x[i], y[i]}
		}
		line, err := FitLine(x, z, 0)
		if err != nil {
			t.Fatal(err)
		}
		if intercept, slope := stat.LinearRegression(x, z, nil, false); math.Abs(line.Intercept-intercept) > 1e-9 || math.Abs(line.Slope-slope) > 1e-11 {
			t.Errorf("line %v + %v·x, gonum %v + %v·x", line.Intercept, line.Slope, intercept, slope)
		}
		plane, err := FitPlane(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		want := qr(t, rows, z)
		if math.Abs(plane.C0-want[0]) > 1e-9 || math.Abs(plane.CX-want[1]) > 1e-11 || math.Abs(plane.CY-want[2]) > 1e-11 {
			t.Errorf("plane %v %v %v, gonum %v", plane.C0, plane.CX, plane.CY, want)
		}
	}
}

// Harmonics of unevenly spaced readings, by QR on cosines and sines.
func TestHarmonicsAgainstQR(t *testing.T) {
	r := random(3)
	compared := 0
	for range outsideRuns {
		n := 7 + r.IntN(20)
		var stations []Station
		for i := range n {
			stations = append(stations, Station{(float64(i) + 0.6*r.Float64()) * 360 / float64(n), r.NormFloat64()})
		}
		s, err := Analyse(stations)
		if err != nil {
			continue
		}
		rows, y := make([][]float64, n), make([]float64, n)
		for i, st := range stations {
			rows[i] = []float64{1}
			for k := 1; k <= s.Highest; k++ {
				rows[i] = append(rows[i], math.Cos(float64(k)*st.AngleDeg*math.Pi/180), math.Sin(float64(k)*st.AngleDeg*math.Pi/180))
			}
			y[i] = st.Um
		}
		want := qr(t, rows, y)
		for k := 1; k <= s.Highest; k++ {
			if h := s.Harmonic(k); math.Abs(h.A-want[2*k-1]) > 1e-9 || math.Abs(h.B-want[2*k]) > 1e-9 {
				t.Errorf("%d stations, order %d: %v %v, gonum %v %v", n, k, h.A, h.B, want[2*k-1], want[2*k])
			}
			compared++
		}
	}
	if compared < outsideRuns {
		t.Errorf("only %d harmonics compared", compared)
	}
}

// The orthogonal-distance circle against a general minimiser, which knows nothing of circles.
func TestCircleAgainstMinimiser(t *testing.T) {
	r := random(4)
	for range 40 {
		n := 5 + r.IntN(20)
		x, y := make([]float64, n), make([]float64, n)
		for i := range n {
			a, radius := 2*math.Pi*(float64(i)+r.Float64())/float64(n), 30+r.NormFloat64()
			x[i], y[i] = 4+radius*math.Cos(a), -7+radius*math.Sin(a)
		}
		var points []Point
		for i := range x {
			points = append(points, Point{x[i], y[i]})
		}
		got, err := LeastSquares(points)
		if err != nil {
			t.Fatal(err)
		}
		squares := func(p []float64) float64 {
			sum := 0.0
			for i := range x {
				d := math.Hypot(x[i]-p[0], y[i]-p[1]) - p[2]
				sum += d * d
			}
			return sum
		}
		best, err := optimize.Minimize(optimize.Problem{Func: squares}, []float64{3, -6, 29}, nil, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		ours := squares([]float64{got.X, got.Y, got.R})
		if ours > best.F+1e-9 || math.Abs(got.X-best.X[0]) > 1e-3 || math.Abs(got.Y-best.X[1]) > 1e-3 || math.Abs(got.R-best.X[2]) > 1e-3 {
			t.Errorf("%d points: circle (%v, %v) r %v with %v, minimiser %v with %v", n, got.X, got.Y, got.R, ours, best.X, best.F)
		}
	}
}

// The cylinder, by QR on its five columns.
func TestCylinderAgainstQR(t *testing.T) {
	r := random(5)
	for range outsideRuns {
		var sections []Section
		var rows [][]float64
		var y []float64
		for i := range 2 + r.IntN(3) {
			s := Section{ZMm: float64(i)*40 + 10*r.Float64()}
			n := 5 + r.IntN(8)
			for j := range n {
				st := Station{(float64(j) + 0.5*r.Float64()) * 360 / float64(n), r.NormFloat64()}
				s.Stations = append(s.Stations, st)
				sin, cos := portablemath.SincosDegrees(st.AngleDeg)
				rows = append(rows, []float64{1, cos, sin, s.ZMm * cos, s.ZMm * sin})
				y = append(y, st.Um)
			}
			sections = append(sections, s)
		}
		c, err := FitCylinder(sections)
		if err != nil {
			t.Fatal(err)
		}
		want := qr(t, rows, y)
		at := c.Axis.Centre(0)
		for i, d := range []float64{c.RadiusUm - want[0], at.XUm - want[1], at.YUm - want[2], c.Axis.PerMm.XUm - want[3], c.Axis.PerMm.YUm - want[4]} {
			if math.Abs(d) > 1e-9 {
				t.Errorf("number %d of the cylinder differs by %g", i, d)
			}
		}
	}
}
