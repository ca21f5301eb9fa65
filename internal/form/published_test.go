package form

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

const publishedFolder = "../../testdata/published/mechanics/"

// published reads a file in which source and mark ([S] read in the source, [M] from memory) stand beside the values.
func published(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile(publishedFolder + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// columns reads a file of numbers under one line of names.
func columns(t *testing.T, name string, want int) [][]float64 {
	t.Helper()
	file, err := os.Open(publishedFolder + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(rows[0]))
	for _, row := range rows[1:] {
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			out[i] = append(out[i], v)
		}
	}
	if len(out[0]) != want {
		t.Fatalf("%s has %d rows, want %d", name, len(out[0]), want)
	}
	return out
}

// near holds a value to half a unit of the last printed digit.
func near(t *testing.T, what string, got, printed, lastDigit float64) {
	t.Helper()
	if !(math.Abs(got-printed) <= 0.5001*lastDigit) {
		t.Errorf("%s = %.12g, want %.12g ± half of %g", what, got, printed, lastDigit)
	}
}

func TestPublishedCircles(t *testing.T) {
	type printed struct {
		X, Y, R, Digit float64
		Sum            float64 `json:"sum_of_squares"`
		SumDigit       float64 `json:"sum_digit"`
	}
	type zone struct {
		X, Y, R float64
		Max     float64 `json:"r_max"`
		Min     float64 `json:"r_min"`
		Width   float64
	}
	var f struct {
		Sets []struct {
			Name          string
			X, Y          []float64
			LeastSquares  printed `json:"least_squares"`
			Algebraic     *printed
			Circumscribed *zone
			Inscribed     *zone
			MinimumZone   *zone   `json:"minimum_zone"`
			Form          float64 `json:"form_about_least_squares"`
		}
	}
	published(t, "a_circle_fits.json", &f)
	if len(f.Sets) != 3 {
		t.Fatalf("%d sets, want 3", len(f.Sets))
	}
	zones := 0
	for _, s := range f.Sets {
		points := make([]Point, len(s.X))
		for i := range s.X {
			points[i] = Point{s.X[i], s.Y[i]}
		}
		c, err := LeastSquares(points)
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		p := s.LeastSquares
		near(t, s.Name+", x", c.X, p.X, p.Digit)
		near(t, s.Name+", y", c.Y, p.Y, p.Digit)
		near(t, s.Name+", r", c.R, p.R, p.Digit)
		near(t, s.Name+", sum of squares", c.SumOfSquares, p.Sum, p.SumDigit)
		if p := s.Algebraic; p != nil {
			a, err := AlgebraicCircle(points)
			if err != nil {
				t.Fatal(err)
			}
			near(t, s.Name+", algebraic x", a.X, p.X, p.Digit)
			near(t, s.Name+", algebraic y", a.Y, p.Y, p.Digit)
			if p.R != 0 {
				near(t, s.Name+", algebraic r", a.R, p.R, p.Digit)
			}
			if p.Sum != 0 {
				near(t, s.Name+", algebraic sum of squares", a.sumOfSquares(points), p.Sum, p.SumDigit)
			}
		}
		if s.MinimumZone == nil {
			continue
		}
		zones++
		near(t, s.Name+", form about the least-squares circle", c.FormUm, s.Form, 1e-7)
		z, err := MinimumZone(points)
		if err != nil {
			t.Fatal(err)
		}
		near(t, s.Name+", zone x", z.X, s.MinimumZone.X, 1e-7)
		near(t, s.Name+", zone y", z.Y, s.MinimumZone.Y, 1e-7)
		near(t, s.Name+", zone Rmax", z.Rmax, s.MinimumZone.Max, 1e-7)
		near(t, s.Name+", zone Rmin", z.Rmin, s.MinimumZone.Min, 1e-7)
		near(t, s.Name+", zone width", z.Width(), s.MinimumZone.Width, 1.1e-7)
		if z, err = MinimumCircumscribed(points); err != nil {
			t.Fatal(err)
		}
		near(t, s.Name+", circumscribed x", z.X, s.Circumscribed.X, 1e-7)
		near(t, s.Name+", circumscribed y", z.Y, s.Circumscribed.Y, 1e-7)
		near(t, s.Name+", circumscribed r", z.Rmax, s.Circumscribed.R, 1e-7)
		if z, err = MaximumInscribed(points); err != nil {
			t.Fatal(err)
		}
		near(t, s.Name+", inscribed x", z.X, s.Inscribed.X, 1e-7)
		near(t, s.Name+", inscribed y", z.Y, s.Inscribed.Y, 1e-7)
		near(t, s.Name+", inscribed r", z.Rmin, s.Inscribed.R, 1e-7)
	}
	if zones != 1 {
		t.Errorf("%d sets with zones, want 1", zones)
	}
}

func TestNorris(t *testing.T) {
	c := columns(t, "a_nist_norris.csv", 36)
	l, err := FitLine(c[1], c[0], 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "B0", l.Intercept, -0.262323073774029, 2e-12)
	near(t, "B1", l.Slope, 1.00211681802045, 2e-14)
	near(t, "residual standard deviation", l.S, 0.884796396144373, 2e-13)
}

func TestLongley(t *testing.T) {
	c := columns(t, "a_nist_longley.csv", 16)
	rows := make([][]float64, 16)
	for i := range rows {
		rows[i] = []float64{1}
		for _, column := range c[1:] {
			rows[i] = append(rows[i], column[i])
		}
	}
	fit, ok := leastSquares(rows, c[0])
	if !ok {
		t.Fatal("Longley's columns were taken for dependent")
	}
	certified := []float64{-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355}
	for i, want := range certified {
		if math.Abs(fit.x[i]-want) > 1e-8*math.Abs(want) {
			t.Errorf("B%d = %.13g, certified %.13g", i, fit.x[i], want)
		}
	}
	if s := math.Sqrt(fit.sumOfSquares() / 9); math.Abs(s-304.854073561965) > 1e-8 {
		t.Errorf("residual standard deviation %.12g, certified 304.854073561965", s)
	}
}

func TestPlaneOfTrees(t *testing.T) {
	c := columns(t, "b_trees_plane.csv", 31)
	p, err := FitPlane(c[0], c[1], c[2])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "C0", p.C0, -57.9877, 1e-4)
	near(t, "CX", p.CX, 4.7082, 1e-4)
	near(t, "CY", p.CY, 0.3393, 1e-4)
	near(t, "residual standard error", p.S, 3.882, 1e-3)
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range p.Residuals {
		low, high = math.Min(low, r), math.Max(high, r)
	}
	near(t, "smallest residual", low, -6.4065, 1e-4)
	near(t, "largest residual", high, 8.4847, 1e-4)
	near(t, "flatness", p.Flatness, 8.4847+6.4065, 2e-4)
}

// The Guide, H.3: the calibration line of a thermometer.
func TestGuideLine(t *testing.T) {
	var f struct {
		Inputs  struct{ T, Correction []float64 }
		Printed struct {
			Y1   float64 `json:"y1"`
			UY1  float64 `json:"u_y1"`
			Y2   float64 `json:"y2"`
			UY2  float64 `json:"u_y2"`
			R    float64 `json:"r"`
			S    float64 `json:"s"`
			At30 float64 `json:"at_30"`
			U30  float64 `json:"u_at_30"`
		}
	}
	published(t, "d_gum_h3_line.json", &f)
	l, err := FitLine(f.Inputs.T, f.Inputs.Correction, 20)
	if err != nil {
		t.Fatal(err)
	}
	p := f.Printed
	near(t, "y1, °C", l.Intercept, p.Y1, 1e-4)
	near(t, "u(y1), °C", l.UIntercept, p.UY1, 1e-4)
	near(t, "y2", l.Slope, p.Y2, 1e-5)
	near(t, "u(y2)", l.USlope, p.UY2, 1e-5)
	near(t, "r(y1, y2)", l.Correlation, p.R, 1e-3)
	near(t, "s, °C", l.S, p.S, 1e-4)
	y, u := l.At(30)
	near(t, "correction at 30 °C", y, p.At30, 1e-4)
	near(t, "its u", u, p.U30, 1e-4)
}

func TestVBlockFactors(t *testing.T) {
	c := columns(t, "a_vblock_factors.csv", 7)
	for i := range c[0] {
		if f := VBlockFactor(int(c[1][i]), c[0][i]); math.Abs(f-c[2][i]) > 1e-12 {
			t.Errorf("V of %v°, %v lobes: F = %v, want %v", c[0][i], c[1][i], f, c[2][i])
		}
	}
}
