package form

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/portablemath"
)

// section draws y(θ) = radius + e·cos(θ − φ) + lobes at n equal stations.
func section(z, radius float64, e Offset, n int, extra func(deg float64) float64) Section {
	s := Section{ZMm: z}
	for i := range n {
		deg := 360 * float64(i) / float64(n)
		sin, cos := portablemath.SincosDegrees(deg)
		y := radius + e.XUm*cos + e.YUm*sin
		if extra != nil {
			y += extra(deg)
		}
		s.Stations = append(s.Stations, Station{deg, y})
	}
	return s
}

func TestCylindersMadeToMeasure(t *testing.T) {
	axis := func(z float64) Offset { return Offset{2 + 0.03*z, -1 + 0.01*z} }
	lobes := func(deg float64) float64 { _, c := portablemath.SincosDegrees(3 * deg); return 1.5 * c }
	for _, c := range []struct {
		name     string
		sections []Section
		radius   float64
		form     float64
		cone     float64
		bow      float64
	}{
		{"true, tilted and off the axis", []Section{section(10, 5, axis(10), 8, nil), section(60, 5, axis(60), 12, nil), section(110, 5, axis(110), 8, nil)}, 5, 0, 0, 0},
		{"three lobes of 1.5 µm", []Section{section(10, 5, axis(10), 12, lobes), section(110, 5, axis(110), 12, lobes)}, 5, 3, 0, 0},
		{"a cone of 4 µm on the radius", []Section{section(0, 3, axis(0), 8, nil), section(50, 5, axis(50), 8, nil), section(100, 7, axis(100), 8, nil)}, 5, 4, 4, 0},
		{"a barrel of 3 µm", []Section{section(0, 4, axis(0), 8, nil), section(50, 7, axis(50), 8, nil), section(100, 4, axis(100), 8, nil)}, 5, 3, 0, 3},
		{"an hour-glass", []Section{section(0, 6, axis(0), 8, nil), section(50, 3, axis(50), 8, nil), section(100, 6, axis(100), 8, nil)}, 5, 3, 0, -3},
	} {
		got, err := FitCylinder(c.sections)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		z := c.sections[len(c.sections)-1].ZMm
		want := axis(z)
		for what, d := range map[string]float64{"radius": got.RadiusUm - c.radius, "form": got.CylindricityUm - c.form, "cone": got.ConicityUm - c.cone, "bow": got.BowUm - c.bow,
			"axis x": got.Axis.Centre(z).XUm - want.XUm, "axis y": got.Axis.Centre(z).YUm - want.YUm} {
			if math.Abs(d) > 1e-9 {
				t.Errorf("%s: %s is off by %g µm: %+v", c.name, what, d, got)
			}
		}
	}
}

// A station that is missing, a section turned to another start and noise: the fit stays the least-squares one, since moving any of its five numbers makes the sum grow.
func TestCylinderIsTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var sections []Section
		for i := range rapid.IntRange(2, 4).Draw(t, "sections") {
			s := section(float64(i)*rapid.Float64Range(10, 60).Draw(t, "step in mm"), 0, Offset{}, rapid.IntRange(5, 12).Draw(t, "stations"), nil)
			for j := range s.Stations {
				s.Stations[j].Um = rapid.Float64Range(-5, 5).Draw(t, "reading in µm")
			}
			drop := rapid.IntRange(0, len(s.Stations)-1).Draw(t, "missing")
			s.Stations = append(s.Stations[:drop], s.Stations[drop+1:]...)
			sections = append(sections, s)
		}
		if sections[1].ZMm == 0 {
			t.Skip("sections at one place")
		}
		c, err := FitCylinder(sections)
		if err != nil {
			t.Fatal(err)
		}
		sum := func(radius float64, a Axis) (squares, extent float64) {
			low, high := math.Inf(1), math.Inf(-1)
			for _, s := range sections {
				at := a.Centre(s.ZMm)
				for _, st := range s.Stations {
					sin, cos := portablemath.SincosDegrees(st.AngleDeg)
					r := st.Um - radius - at.XUm*cos - at.YUm*sin
					squares += r * r
					low, high = math.Min(low, r), math.Max(high, r)
				}
			}
			return squares, high - low
		}
		best, extent := sum(c.RadiusUm, c.Axis)
		if math.Abs(extent-c.CylindricityUm) > 1e-9 {
			t.Fatalf("cylindricity %v µm, by the axis %v", c.CylindricityUm, extent)
		}
		for i := range 10 {
			radius, a := c.RadiusUm, c.Axis
			d := 1e-3 * float64(1-2*(i&1))
			switch i / 2 {
			case 0:
				radius += d
			case 1:
				a.At.XUm += d
			case 2:
				a.At.YUm += d
			case 3:
				a.PerMm.XUm += d
			default:
				a.PerMm.YUm += d
			}
			if other, _ := sum(radius, a); other < best-1e-12 {
				t.Fatalf("moving number %d by %g brings the sum of squares from %v to %v", i/2, d, best, other)
			}
		}
	})
}

func TestCylindersThatCannotBe(t *testing.T) {
	ok := section(0, 0, Offset{}, 8, nil)
	for _, c := range []struct {
		name     string
		sections []Section
		want     error
	}{
		{"one section", []Section{ok}, ErrTooFewStations},
		{"both at one place", []Section{ok, ok}, ErrDegenerate},
		{"three stations", []Section{ok, section(10, 0, Offset{}, 3, nil)}, ErrTooFewStations},
		{"nowhere", []Section{ok, section(math.NaN(), 0, Offset{}, 8, nil)}, ErrMalformed},
	} {
		if _, err := FitCylinder(c.sections); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

func TestBow(t *testing.T) {
	for _, c := range []struct {
		z, sizes []float64
		want     float64
		err      error
	}{
		{[]float64{10, 60, 110}, []float64{4, 7, 4}, 3, nil},
		{[]float64{110, 10, 60}, []float64{5, 1, 1}, -2, nil}, // unordered, with a taper of 4: 1 in the middle, 3 on the line
		{[]float64{0, 25, 50, 75, 100}, []float64{0, 3, 4, 3, 0}, 4, nil},
		{[]float64{0, 50}, []float64{1, 2}, 0, ErrTooFewStations},
		{[]float64{0, 50, 50}, []float64{1, 2, 2}, 0, ErrDegenerate},
		{[]float64{0, 0, 0}, []float64{1, 2, 3}, 0, ErrDegenerate},
		{[]float64{0, 50, 100}, []float64{1, math.Inf(1), 3}, 0, ErrMalformed},
	} {
		got, err := Bow(c.z, c.sizes)
		if !errors.Is(err, c.err) || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("sizes %v at %v mm: bow %v, %v; want %v, %v", c.sizes, c.z, got, err, c.want, c.err)
		}
	}
}

// A spindle taper 3 µm off at 20° and a bar 5 µm off at 80°, turned by 180° in it: each is found, whatever the indicator's zero.
func TestReversal(t *testing.T) {
	spindle, bar := OffsetAt(3, 20), OffsetAt(5, 80)
	both := func(sign, zero float64, n int) []Station {
		return section(0, zero, Offset{spindle.XUm + sign*bar.XUm, spindle.YUm + sign*bar.YUm}, n, nil).Stations
	}
	for _, n := range []int{4, 6, 8, 12} {
		got, err := SeparateByReversal(both(1, 2, n), both(-1, -7, n))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Spindle.Um()-3) > 1e-9 || math.Abs(got.Spindle.Deg()-20) > 1e-9 || math.Abs(got.Bar.Um()-5) > 1e-9 || math.Abs(got.Bar.Deg()-80) > 1e-9 {
			t.Errorf("%d stations: spindle %v µm at %v°, bar %v µm at %v°", n, got.Spindle.Um(), got.Spindle.Deg(), got.Bar.Um(), got.Bar.Deg())
		}
	}
	// The run-out of one position alone says neither: 2·|s + b|.
	one, err := CircularRunOut(both(1, 0, 360))
	if err != nil {
		t.Fatal(err)
	}
	if want := 2 * (Offset{spindle.XUm + bar.XUm, spindle.YUm + bar.YUm}).Um(); math.Abs(one.Um-want) > 0.01 || math.Abs(one.Um-6) < 1 {
		t.Errorf("run-out of the first position %v µm, want %v", one.Um, want)
	}
	if _, err := SeparateByReversal(both(1, 0, 3), both(-1, 0, 8)); !errors.Is(err, ErrTooFewStations) {
		t.Errorf("three stations: %v", err)
	}
}

// The zone is proved: no plane changes the weighted sum of the contacts, so none holds them in less; and the plane that is returned holds all points in that much.
func TestFlattestPlanesAreProved(t *testing.T) {
	proved := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(t, "points")
		x, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
		grid := rapid.Bool().Draw(t, "on a grid")
		for i := range n {
			if grid { // many points on common lines
				x[i], y[i] = float64(i%5)*10, float64(i/5)*10
			} else {
				x[i], y[i] = float64(rapid.IntRange(-500, 500).Draw(t, "x in 0.1 mm"))/10, float64(rapid.IntRange(-500, 500).Draw(t, "y in 0.1 mm"))/10
			}
			z[i] = rapid.Float64Range(-5, 5).Draw(t, "z in µm")
		}
		f, err := FlattestPlanes(x, y, z)
		if errors.Is(err, ErrDegenerate) || errors.Is(err, ErrDuplicateStation) {
			return
		}
		proved++
		if err != nil {
			t.Fatal(err)
		}
		var w, wx, wy, wz, abs float64
		for i, at := range f.Contacts {
			v := f.Weights[i]
			w, wx, wy, wz, abs = w+v, wx+v*x[at], wy+v*y[at], wz+v*z[at], abs+math.Abs(v)
		}
		if math.Abs(w) > 1e-9 || math.Abs(wx) > 1e-7 || math.Abs(wy) > 1e-7 || math.Abs(abs-2) > 1e-9 || math.Abs(wz-f.Um) > 1e-8 {
			t.Fatalf("proof of %v µm: Σw %v, Σwx %v, Σwy %v, Σ|w| %v, Σwz %v", f.Um, w, wx, wy, abs, wz)
		}
		for i, r := range f.Plane.Residuals {
			if math.Abs(r) > f.Um/2+1e-8 {
				t.Fatalf("point %d stands %v µm from the middle of a zone of %v", i, r, f.Um)
			}
		}
		if ls, err := FitPlane(x, y, z); err != nil || ls.Flatness < f.Um-1e-8 {
			t.Fatalf("least squares %v µm, minimum zone %v: %v", ls.Flatness, f.Um, err)
		}
	})
	if proved == 0 {
		t.Error("nothing that can be proved was drawn")
	}
}

func TestFlatnessOfKnownFaces(t *testing.T) {
	square := [][2]float64{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	var x, y []float64
	for _, p := range square {
		x, y = append(x, p[0]), append(y, p[1])
	}
	for _, c := range []struct {
		name string
		z    []float64
		want float64
	}{
		{"tilted and flat", []float64{1, 3, 7, 5}, 0},
		{"a saddle of ±1", []float64{1, -1, 1, -1}, 2},
		{"one corner up by 4", []float64{0, 0, 0, 4}, 2},
	} {
		f, err := FlattestPlanes(x, y, c.z)
		if err != nil || math.Abs(f.Um-c.want) > 1e-9 {
			t.Errorf("%s: %v µm, %v; want %v", c.name, f.Um, err, c.want)
		}
	}
	if _, err := FlattestPlanes(x[:3], y[:3], []float64{0, 1, 2}); !errors.Is(err, ErrTooFewStations) {
		t.Errorf("three points: %v", err)
	}
	if _, err := FlattestPlanes([]float64{0, 1, 0, 0}, []float64{0, 1, 1, 0}, []float64{0, 1, 0, 1}); !errors.Is(err, ErrDuplicateStation) {
		t.Errorf("a place read twice: %v", err)
	}
	if _, err := FlattestPlanes([]float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}, []float64{0, 1, 0, 1}); !errors.Is(err, ErrDegenerate) {
		t.Errorf("on one line: %v", err)
	}
}
