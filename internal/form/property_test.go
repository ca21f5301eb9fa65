package form

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/portablemath"
)

const simulationSeed = 20261125

// drawRound draws readings at distinct angles: an eccentric, lobed and rough turn.
func drawRound(t *rapid.T, least, most int) []Station {
	n := rapid.IntRange(least, most).Draw(t, "stations")
	even := rapid.Bool().Draw(t, "equally spaced")
	var s []Station
	for i := range n {
		a := 360 * float64(i) / float64(n)
		if !even {
			a += rapid.Float64Range(-0.4, 0.4).Draw(t, "shift of the station in steps") * 360 / float64(n)
		}
		s = append(s, Station{a, rapid.Float64Range(-10, 10).Draw(t, "reading µm")})
	}
	return s
}

// The exchange method against the trial of every set of four readings: the width is the largest levelled deviation over all of them, since each set is a lower bound.
func TestFlattestZoneAgainstEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, err := around("test", drawRound(t, 4, 12), 4, 360)
		if err != nil {
			t.Fatal(err)
		}
		z, err := r.flattestZone()
		if err != nil {
			t.Fatal(err)
		}
		largest := 0.0
		n := len(r)
		for i := range n {
			for j := i + 1; j < n; j++ {
				for k := j + 1; k < n; k++ {
					for l := k + 1; l < n; l++ {
						var a [][]float64
						var y []float64
						for q, at := range []int{i, j, k, l} {
							x := r[at].AngleDeg * math.Pi / 180
							a = append(a, []float64{1, math.Cos(x), math.Sin(x), 1 - 2*float64(q%2)})
							y = append(y, r[at].Um)
						}
						x, ok := solveSquare(a, y)
						if !ok {
							t.Fatal("levelled system is singular")
						}
						largest = math.Max(largest, 2*math.Abs(x[3]))
					}
				}
			}
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, s := range r {
			d := s.Um - z.at(s.AngleDeg)
			low, high = math.Min(low, d), math.Max(high, d)
		}
		if math.Abs(z.width-largest) > 1e-9 || math.Abs(high-low-z.width) > 1e-9 {
			t.Fatalf("width %v, by enumeration %v, of the residuals %v", z.width, largest, high-low)
		}
	})
}

// drawPoints draws points around a circle with form, in any order.
func drawPoints(t *rapid.T, least, most int) []Point {
	n := rapid.IntRange(least, most).Draw(t, "points")
	x, y := rapid.Float64Range(-50, 50).Draw(t, "centre x"), rapid.Float64Range(-50, 50).Draw(t, "centre y")
	r := rapid.Float64Range(10, 1000).Draw(t, "radius")
	rough := rapid.SampledFrom([]float64{1e-3, 0.02, 0.15}).Draw(t, "form, of the radius")
	points := make([]Point, n)
	for i := range points {
		a := (float64(i) + rapid.Float64Range(-0.3, 0.3).Draw(t, "shift")) * 2 * math.Pi / float64(n)
		d := r * (1 + rough*rapid.Float64Range(-1, 1).Draw(t, "form"))
		points[i] = Point{x + d*math.Cos(a), y + d*math.Sin(a)}
	}
	for i := n - 1; i > 0; i-- {
		j := rapid.IntRange(0, i).Draw(t, "exchange")
		points[i], points[j] = points[j], points[i]
	}
	return points
}

func TestReferenceCirclesAgainstSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawPoints(t, 6, 24)
		ls, err := LeastSquares(points)
		if err != nil {
			t.Fatal(err)
		}
		zone, err := MinimumZone(points)
		if err != nil {
			t.Fatal(err)
		}
		outer, err := MinimumCircumscribed(points)
		if err != nil {
			t.Fatal(err)
		}
		inner, err := MaximumInscribed(points)
		if err != nil {
			t.Fatal(err)
		}
		tolerance := 1e-9 * ls.R
		if zone.Width() > ls.FormUm+tolerance || zone.Width() > outer.Width()+tolerance || zone.Width() > inner.Width()+tolerance {
			t.Fatalf("minimum zone %v is wider than another: LS %v, circumscribed %v, inscribed %v", zone.Width(), ls.FormUm, outer.Width(), inner.Width())
		}
		if inner.Rmin > outer.Rmax {
			t.Fatalf("inscribed %v larger than circumscribed %v", inner.Rmin, outer.Rmax)
		}
		// No centre nearby does better.
		r := rand.New(rand.NewPCG(simulationSeed, uint64(len(points))))
		for range 300 {
			reach := ls.FormUm * math.Pow(10, -6*r.Float64())
			shift := func(x, y float64) Circle {
				return Circle{X: x + reach*r.NormFloat64(), Y: y + reach*r.NormFloat64(), R: ls.R}
			}
			if w := shift(zone.X, zone.Y).formOf(points); w < zone.Width()-tolerance {
				t.Fatalf("a zone of %v was found beside the minimum of %v", w, zone.Width())
			}
			if _, high := shift(outer.X, outer.Y).reach(points); high < outer.Rmax-tolerance {
				t.Fatalf("a circle of %v holds the points, the minimum is said to be %v", high, outer.Rmax)
			}
			// With rough points several inscribed circles are each the largest of their neighbourhood; with form small against the radius there is one.
			reachable := Circle{X: inner.X + 0.01*reach*r.NormFloat64(), Y: inner.Y + 0.01*reach*r.NormFloat64()}
			if ls.FormUm < 0.01*ls.R {
				reachable = shift(inner.X, inner.Y)
			}
			if low, _ := reachable.reach(points); low > inner.Rmin+tolerance {
				t.Fatalf("a circle of %v fits inside, the maximum is said to be %v", low, inner.Rmin)
			}
			c := shift(ls.X, ls.Y)
			c.R += reach * r.NormFloat64()
			if s := c.sumOfSquares(points); s < ls.SumOfSquares-1e-14*ls.R*ls.FormUm*float64(len(points)) { // rounding of the distances
				t.Fatalf("sum of squares %v beside the least of %v", s, ls.SumOfSquares)
			}
		}
	})
}

// Proofs must be able to fail.
func TestProofsRefuseOtherCircles(t *testing.T) {
	var points []Point
	for i := range 12 {
		a := float64(i) * math.Pi / 6
		d := 10 + 0.3*math.Cos(3*a+0.2) + 0.1*math.Sin(5*a)
		points = append(points, Point{d * math.Cos(a), d * math.Sin(a)})
	}
	zone, err := MinimumZone(points)
	if err != nil {
		t.Fatal(err)
	}
	outer, err := MinimumCircumscribed(points)
	if err != nil {
		t.Fatal(err)
	}
	inner, err := MaximumInscribed(points)
	if err != nil {
		t.Fatal(err)
	}
	moved := func(z Zone) Zone {
		z.X += 0.01
		z.Rmin, z.Rmax = Circle{X: z.X, Y: z.Y}.reach(points)
		return z
	}
	if moved(zone).ProvesMinimumZone(points) || moved(outer).ProvesMinimumCircumscribed(points) || moved(inner).ProvesMaximumInscribed(points) {
		t.Errorf("a moved circle is still called proved")
	}
	swapped := zone
	swapped.Contacts = []int{zone.Contacts[1], zone.Contacts[0], zone.Contacts[2], zone.Contacts[3]}
	if swapped.ProvesMinimumZone(points) {
		t.Errorf("contacts out of order are still called a proof")
	}
	oneSided := outer
	oneSided.Contacts = outer.Contacts[:1]
	if oneSided.ProvesMinimumCircumscribed(points) {
		t.Errorf("one contact is called a proof")
	}
}

func TestCirclesThatCannotBe(t *testing.T) {
	line := []Point{{0, 0}, {1, 1}, {2, 2}, {5, 5}}
	same := []Point{{1, 1}, {1, 1}, {1, 1}, {1, 1}}
	half := []Point{{1, 0}, {0.7, 0.7}, {0, 1.01}, {-0.7, 0.7}, {-0.95, 0.3}}
	for _, c := range []struct {
		name string
		err  error
		want error
	}{
		{"least squares on a line", second(LeastSquares(line)), ErrDegenerate},
		{"least squares of one point", second(LeastSquares(same)), ErrDegenerate},
		{"least squares of two", second(LeastSquares(line[:2])), ErrTooFewStations},
		{"circumscribed of one place", second(MinimumCircumscribed(same)), ErrDegenerate},
		{"inscribed in half a turn", second(MaximumInscribed(half)), ErrDegenerate},
		{"zone of three", second(MinimumZone(line[:3])), ErrTooFewStations},
		{"NaN", second(LeastSquares([]Point{{0, 0}, {1, math.NaN()}, {1, 0}})), ErrMalformed},
	} {
		if !errors.Is(c.err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, c.err, c.want)
		}
	}
	if z, err := MinimumCircumscribed(line); err != nil || math.Abs(z.Rmax-2.5*math.Sqrt2) > 1e-12 {
		t.Errorf("points on a line are held by the circle across them: %+v, %v", z, err)
	}
}

func second[T any](_ T, err error) error { return err }

// The series through equally spaced readings goes through each of them, whatever they are; and squares add up (Parseval).
func TestEvenHarmonicsRebuildTheReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(t, "stations")
		from := rapid.Float64Range(-400, 400).Draw(t, "first angle °")
		var s []Station
		for i := range n {
			s = append(s, Station{from + 360*float64(i)/float64(n), rapid.Float64Range(-10, 10).Draw(t, "reading µm")})
		}
		h, err := Analyse(s)
		if err != nil {
			t.Fatal(err)
		}
		if !h.Even || h.Highest != n/2 {
			t.Fatalf("even %v, highest %d", h.Even, h.Highest)
		}
		if n%2 == 0 && from != 0 {
			// The highest order of an even number is seen only in part unless the first station is at 0°: a series of lower orders plus alternation remains.
			return
		}
		for _, st := range s {
			if got := h.at(st.AngleDeg, h.Highest); math.Abs(got-st.Um) > 1e-9 {
				t.Fatalf("the series gives %v µm at %v°, the reading is %v", got, st.AngleDeg, st.Um)
			}
		}
	})
}

// Harmonics are found again, with equally spaced, shifted and missing stations, as long as the stations bear them.
func TestHarmonicsAreFoundAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(9, 36).Draw(t, "stations")
		angles := equally(n, rapid.Float64Range(0, 360).Draw(t, "first angle °"))
		for range rapid.IntRange(0, n/8).Draw(t, "missing") {
			at := rapid.IntRange(0, len(angles)-1).Draw(t, "which")
			angles = append(angles[:at:at], angles[at+1:]...)
		}
		c1, p1 := rapid.Float64Range(0.5, 10).Draw(t, "C₁ µm"), rapid.Float64Range(0, 359).Draw(t, "φ₁ °")
		c3, p3 := rapid.Float64Range(0, 5).Draw(t, "C₃ µm"), rapid.Float64Range(0, 359).Draw(t, "φ₃ °")
		s := lobed(angles, 2, [3]float64{1, c1, p1}, [3]float64{3, c3, p3})
		h, err := Analyse(s)
		if err != nil {
			t.Fatal(err)
		}
		if h.Highest < 3 {
			t.Fatalf("%d of %d stations bear only order %d", len(angles), n, h.Highest)
		}
		if math.Abs(h.MeanUm-2) > 1e-9 || math.Abs(h.Harmonic(1).CUm-c1) > 1e-9 || math.Abs(h.Harmonic(3).CUm-c3) > 1e-9 || h.Harmonic(2).CUm > 1e-9 {
			t.Fatalf("mean %v, C₁ %v, C₂ %v, C₃ %v", h.MeanUm, h.Harmonic(1).CUm, h.Harmonic(2).CUm, h.Harmonic(3).CUm)
		}
		if d := math.Abs(math.Mod(h.Harmonic(1).PhaseDeg-p1+540, 360) - 180); d > 1e-6 {
			t.Fatalf("phase %v°, want %v°", h.Harmonic(1).PhaseDeg, p1)
		}
	})
}

// Turning the part turns the high spot and changes nothing else; so does the order in which stations are given.
func TestSweepTurnsWithThePart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(8, 24).Draw(t, "stations")
		s := lobed(equally(n, 0), 3, [3]float64{1, rapid.Float64Range(0.5, 5).Draw(t, "C₁ µm"), rapid.Float64Range(0, 359).Draw(t, "φ₁ °")},
			[3]float64{2, rapid.Float64Range(0, 3).Draw(t, "C₂ µm"), rapid.Float64Range(0, 359).Draw(t, "φ₂ °")})
		by := rapid.Float64Range(-360, 360).Draw(t, "turned by °")
		first := rapid.IntRange(0, n-1).Draw(t, "first station given")
		var turned []Station
		for i := range n {
			st := s[(i+first)%n]
			turned = append(turned, Station{st.AngleDeg + by, st.Um + 7})
		}
		a, err := Eccentricity(s)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Eccentricity(turned)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			what string
			a, b float64
		}{{"run-out", a.Um, b.Um}, {"eccentricity", a.EccentricityUm, b.EccentricityUm}, {"form", a.FormUm, b.FormUm}, {"zone", a.ZoneUm, b.ZoneUm}} {
			if math.Abs(c.a-c.b) > 1e-8 {
				t.Fatalf("%s %v µm, turned %v", c.what, c.a, c.b)
			}
		}
		if d := math.Abs(math.Mod(b.HighSpotDeg-a.HighSpotDeg-by+1440+180, 360) - 180); d > 1e-6 {
			t.Fatalf("high spot went from %v° to %v° when turned by %v°", a.HighSpotDeg, b.HighSpotDeg, by)
		}
		if a.ZoneUm > a.FormUm+1e-9 || a.FormUm > a.Um+2*a.EccentricityUm+1e-9 {
			t.Fatalf("zone %v, form %v, run-out %v", a.ZoneUm, a.FormUm, a.Um)
		}
	})
}

// A lobing looks, at the stations, as LooksLike says.
func TestAliasing(t *testing.T) {
	for n := 3; n <= 24; n++ {
		for k := 1; k <= 3*n; k++ {
			h, err := Analyse(lobed(equally(n, 0), 0, [3]float64{float64(k), 1, 0}))
			if err != nil {
				t.Fatal(err)
			}
			as := LooksLike(k, n)
			got := h.MeanUm
			if as > 0 {
				got = h.Harmonic(as).CUm
			}
			if math.Abs(got-1) > 1e-9 {
				t.Errorf("order %d at %d stations: amplitude %v at order %d, want 1", k, n, got, as)
			}
		}
	}
	if s := AliasingStatement(4); s != "with 4 stations, harmonics up to 2 are seen; 3 or 5 lobes would look like the first harmonic" {
		t.Errorf("statement: %q", s)
	}
}

// The noise gain is what a simulation with noisy readings shows.
func TestNoiseGain(t *testing.T) {
	r := rand.New(rand.NewPCG(simulationSeed, 9))
	for _, angles := range [][]float64{equally(12, 0), equally(12, 0)[2:], {0, 20, 50, 100, 170, 200, 250, 290, 330}} {
		const trials, u = 20000, 0.3
		var squares []float64
		var h Spectrum
		for range trials {
			s := lobed(angles, 0)
			for i := range s {
				s[i].Um = u * r.NormFloat64()
			}
			var err error
			if h, err = Analyse(s); err != nil {
				t.Fatal(err)
			}
			if squares == nil {
				squares = make([]float64, 2*h.Highest)
			}
			for i, k := range h.Harmonics {
				if k.K+k.K == h.N && h.Even {
					continue
				}
				squares[2*i] += k.A * k.A
				squares[2*i+1] += k.B * k.B
			}
		}
		worst := 0.0
		for _, q := range squares {
			worst = math.Max(worst, math.Sqrt(q/trials))
		}
		// The largest of some ten simulated deviations lies above the true one by a few of their standard errors, 1/√(2·trials) = 0.5 %.
		if predicted := h.AmplitudeU(u); math.Abs(worst-predicted) > 0.025*predicted {
			t.Errorf("%d stations %v: worst u of a coefficient %.4f µm by simulation, %.4f predicted (noise gain %.3f); seed %d", len(angles), angles, worst, predicted, h.NoiseGain, simulationSeed)
		}
	}
}

// Coaxiality does not change when the whole part is displaced and tilted: the datum goes along.
func TestCoaxialityIgnoresHowThePartLies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(what string) Offset {
			return Offset{rapid.Float64Range(-20, 20).Draw(t, what+" x µm"), rapid.Float64Range(-20, 20).Draw(t, what+" y µm")}
		}
		a, b, m := draw("datum A"), draw("datum B"), draw("middle")
		shift, slope := draw("shift"), draw("tilt over 100 mm")
		zone := func(lay func(z float64, o Offset) Offset) float64 {
			datum, err := FitAxis([]Centre{{0, lay(0, a)}, {200, lay(200, b)}})
			if err != nil {
				t.Fatal(err)
			}
			c, err := CoaxialityTo(datum, []Centre{{70, lay(70, m)}})
			if err != nil {
				t.Fatal(err)
			}
			return c.ZoneUm
		}
		plain := zone(func(_ float64, o Offset) Offset { return o })
		laid := zone(func(z float64, o Offset) Offset {
			return Offset{o.XUm + shift.XUm + slope.XUm*z/100, o.YUm + shift.YUm + slope.YUm*z/100}
		})
		if math.Abs(plain-laid) > 1e-9 {
			t.Fatalf("zone %v µm, laid otherwise %v", plain, laid)
		}
	})
}

func BenchmarkEccentricityOf36(b *testing.B) {
	s := lobed(equally(36, 0), 0, [3]float64{1, 3, 20}, [3]float64{3, 1, 5}, [3]float64{7, 0.4, 50})
	for b.Loop() {
		if _, err := Eccentricity(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMinimumZoneOf360(b *testing.B) {
	r := rand.New(rand.NewPCG(simulationSeed, 10))
	var points []Point
	for i := range 360 {
		a := float64(i) * math.Pi / 180
		d := 35000 + 2*math.Cos(3*a) + r.NormFloat64()
		points = append(points, Point{3 + d*math.Cos(a), d * math.Sin(a)})
	}
	for b.Loop() {
		if _, err := MinimumZone(points); err != nil {
			b.Fatal(err)
		}
	}
}

// A section with known lobing turned in a V shows each order by its factor; EvaluateInVBlock undoes it, and its gain is what noise in the readings shows.
func TestFormInAVIsFoundAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{8, 12, 16}).Draw(t, "stations")
		included := rapid.SampledFrom([]float64{60, 72, 90, 108, 120}).Draw(t, "V in degrees")
		start := rapid.Float64Range(0, 44).Draw(t, "first station in degrees")
		truth, shown := make([]float64, n), make([]Station, n)
		for i := range shown {
			shown[i].AngleDeg = start + 360*float64(i)/float64(n)
			shown[i].Um = 7 // where the indicator stands
		}
		for k := 2; k < n/2; k++ {
			a, phase := rapid.Float64Range(0, 5).Draw(t, "amplitude in µm"), rapid.Float64Range(0, 360).Draw(t, "phase in degrees")
			f := VBlockFactor(k, included)
			for i := range shown {
				_, c := portablemath.SincosDegrees(float64(k)*shown[i].AngleDeg - phase)
				shown[i].Um += a * f * c
				if math.Abs(f) >= blindFactor {
					truth[i] += a * c
				}
			}
		}
		v, err := EvaluateInVBlock(shown, included)
		if err != nil {
			t.Fatal(err)
		}
		if want := slices.Max(truth) - slices.Min(truth); math.Abs(v.FormUm-want) > 1e-9 {
			t.Fatalf("form %.9f µm of a V of %v° from %d stations, want %.9f; orders %+v", v.FormUm, included, n, want, v.Orders)
		}
		// The gain by brute force: move each reading a little, add the squares.
		squares, step := 0.0, 1e-4
		for i := range shown {
			moved := slices.Clone(shown)
			moved[i].Um += step
			w, err := EvaluateInVBlock(moved, included)
			if err != nil {
				t.Fatal(err)
			}
			d := (w.FormUm - v.FormUm) / step
			squares += d * d
		}
		if v.FormUm > 0.1 && math.Abs(math.Sqrt(squares)-v.Gain) > 1e-3+0.01*v.Gain && gap(truth) > 4*step {
			t.Fatalf("gain %.6f, by moving the readings %.6f", v.Gain, math.Sqrt(squares))
		}
	})
}

// gap is how far the extreme values stand from the next ones: closer than a step, another pair of stations takes over.
func gap(values []float64) float64 {
	v := slices.Clone(values)
	slices.Sort(v)
	return min(v[1]-v[0], v[len(v)-1]-v[len(v)-2])
}

// at is the value in the middle of the zone.
func (z zone) at(deg float64) float64 {
	sin, cos := portablemath.SincosDegrees(deg)
	return z.c + z.a*cos + z.b*sin
}
