package form

import (
	"errors"
	"math"
	"testing"
)

// stations places readings in µm at equal angles from 0°.
func stations(readings ...float64) []Station {
	s := make([]Station, len(readings))
	for i, r := range readings {
		s[i] = Station{360 * float64(i) / float64(len(readings)), r}
	}
	return s
}

// lobed samples mean + Σ C cos(kθ − φ) at the angles given, with package math: other code than that under test.
func lobed(angles []float64, mean float64, harmonics ...[3]float64) []Station {
	var s []Station
	for _, a := range angles {
		y := mean
		for _, h := range harmonics { // order, amplitude, phase in degrees
			y += h[1] * math.Cos((h[0]*a-h[2])*math.Pi/180)
		}
		s = append(s, Station{a, y})
	}
	return s
}

func equally(n int, from float64) []float64 {
	a := make([]float64, n)
	for i := range a {
		a[i] = from + 360*float64(i)/float64(n)
	}
	return a
}

func TestTwelveStations(t *testing.T) {
	var f struct {
		Readings, Amplitude, Phase []float64
		Mean, Form                 float64
		RunOut                     float64 `json:"run_out"`
	}
	published(t, "a_harmonics.json", &f)
	e, err := Eccentricity(stations(f.Readings...))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean, µm", e.Spectrum.MeanUm, f.Mean, 1e-4)
	for i, want := range f.Amplitude {
		near(t, "amplitude, µm", e.Spectrum.Harmonics[i].CUm, want, 2e-4)
	}
	for i, want := range f.Phase {
		if d := math.Abs(e.Spectrum.Harmonics[i].PhaseDeg - want); d > 0.01 && d < 359.99 {
			t.Errorf("phase of order %d = %v°, want %v°", i+1, e.Spectrum.Harmonics[i].PhaseDeg, want)
		}
	}
	near(t, "run-out, µm", e.Um, f.RunOut, 2e-4)
	near(t, "form, µm", e.FormUm, f.Form, 2e-4)
	near(t, "eccentricity, µm", e.EccentricityUm, 4, 2e-4)
	if e.ZoneUm > e.FormUm || e.Um/2 == e.EccentricityUm {
		t.Errorf("zone %v above form %v, or half the run-out %v taken for eccentricity", e.ZoneUm, e.FormUm, e.Um/2)
	}
}

// r = 3 cos 3θ: wholly like eccentricity at four stations, none of it at eight.
func TestThreeLobes(t *testing.T) {
	four := stations(3, 0, -3, 0)
	r, err := CircularRunOut(four)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "run-out from four, µm", r.Um, 6, 1e-9)
	_, err = Eccentricity(four)
	var why StationError
	if !errors.Is(err, ErrCannotSeparate) || !errors.As(err, &why) || why.N != 4 {
		t.Errorf("four stations: %v, want ErrCannotSeparate with N = 4", err)
	}
	e, err := Eccentricity(stations(3, -2.121, 0, 2.121, -3, 2.121, 0, -2.121))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "C₁, µm", e.EccentricityUm, 0, 1e-3)
	near(t, "C₃, µm", e.Spectrum.Harmonic(3).CUm, 3, 1e-3)
	near(t, "form, µm", e.FormUm, 6, 2e-3)
	near(t, "run-out, µm", e.Um, 6, 1e-9)
	// The eight readings alone allow a centre shifted by a with 3 − a = 2.121 + a/√2: a = 0.515, zone 2·2.485. The lobes between the stations would not.
	near(t, "minimum zone of these eight readings, µm", e.ZoneUm, 4.970, 1e-3)
	shown := 2 * e.Spectrum.Harmonic(3).CUm * VBlockFactor(3, 90)
	near(t, "seen in a V of 90°, µm", shown, 12, 4e-3)
	back, err := FormFromVBlock(12, 3, 90)
	if err != nil || math.Abs(back-6) > 1e-12 {
		t.Errorf("12 µm shown in a V of 90° = %v µm, %v; want 6", back, err)
	}
	if _, err := FormFromVBlock(12, 7, 90); !errors.Is(err, ErrBlind) {
		t.Errorf("seven lobes in a V of 90°: %v, want ErrBlind", err)
	}
}

func TestWhichStationsMaySayEccentricity(t *testing.T) {
	for n := range 20 {
		_, err := Eccentricity(lobed(equally(n, 12), 0, [3]float64{1, 2, 40}))
		want := error(nil)
		switch {
		case n < 4:
			want = ErrTooFewStations
		case n < 8:
			want = ErrCannotSeparate
		}
		if !errors.Is(err, want) {
			t.Errorf("%d stations: %v, want %v", n, err, want)
		}
	}
	missing := lobed(equally(12, 0), 0, [3]float64{1, 2, 40})
	if _, err := Eccentricity(missing[1:]); !errors.Is(err, ErrUneven) {
		t.Errorf("eleven of twelve: %v, want ErrUneven", err)
	}
	r, err := CircularRunOut(missing[1:])
	if err != nil || r.Even || r.N != 11 {
		t.Errorf("run-out of eleven of twelve: %+v, %v", r, err)
	}
	if _, err := CircularRunOut(append(missing, Station{360, 1})); !errors.Is(err, ErrDuplicateStation) {
		t.Errorf("0° and 360°: %v, want ErrDuplicateStation", err)
	}
	missing[3].Um = math.NaN()
	if _, err := CircularRunOut(missing); !errors.Is(err, ErrMalformed) {
		t.Errorf("NaN: %v, want ErrMalformed", err)
	}
}

// A spacer with parallelism ≤ 3 µm: max − min 2.8 "within", the wedge 3.96 is not.
func TestWedgeMissed(t *testing.T) {
	r, err := EvaluateRing(stations(1.4, 1.4, -1.4, -1.4))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "max − min, µm", r.ParallelismUm, 2.8, 1e-9)
	near(t, "wedge, µm", r.WedgeUm, 3.96, 0.01)
	near(t, "direction, °", r.WedgeDeg, 45, 1e-9)
	near(t, "form beside the wedge, µm", r.FormUm, 0, 1e-9)
	near(t, "share unseen", r.UnseenShare, 1-math.Sqrt2/2, 1e-9)
	if r, err = EvaluateRing(lobed(equally(8, 0), 0, [3]float64{1, 2, 45})); err != nil {
		t.Fatal(err)
	}
	near(t, "max − min from eight, µm", r.ParallelismUm, 4, 1e-9)
	near(t, "wedge from eight, µm", r.WedgeUm, 4, 1e-9)
	// A saddle does separate from a wedge at four stations, three lobes do not.
	if r, err = EvaluateRing(lobed(equally(4, 0), 5, [3]float64{2, 1, 0})); err != nil || r.WedgeUm > 1e-12 || r.MeanUm != 5 {
		t.Errorf("saddle: wedge %v µm, mean %v µm, %v; want 0 and 5", r.WedgeUm, r.MeanUm, err)
	}
	// Printed mean of an inner spacer, mm from 25: 0.011, 0.0115, 0.0115, 0.011.
	if r, err = EvaluateRing(stations(11.0, 11.5, 11.5, 11.0)); err != nil || r.MeanUm != 11.25 {
		t.Errorf("mean thickness %v µm, %v; want 11.25", r.MeanUm, err)
	}
	if _, err := EvaluateRing(stations(1, 2, 3)); !errors.Is(err, ErrTooFewStations) {
		t.Errorf("three stations: %v", err)
	}
}

// What N stations leave unseen of a wedge or eccentricity: 29 %, 13 %, 3.4 % for 4, 6, 12.
func TestUnseenShare(t *testing.T) {
	for _, c := range []struct {
		k, n int
		want float64
	}{{1, 4, 0.29}, {1, 6, 0.13}, {1, 12, 0.034}} {
		near(t, "unseen share", UnseenShare(c.k, c.n), c.want, []float64{0.01, 0.01, 0.001}[map[int]int{4: 0, 6: 1, 12: 2}[c.n]])
	}
	// Against brute force over the phase, any order and number.
	for n := 3; n <= 16; n++ {
		for k := 1; k <= 2*n; k++ {
			least := 2.0
			for p := range 7200 {
				low, high := 1.0, -1.0
				for i := range n {
					y := math.Cos(float64(k)*2*math.Pi*float64(i)/float64(n) - float64(p)*math.Pi/3600)
					low, high = math.Min(low, y), math.Max(high, y)
				}
				least = math.Min(least, high-low)
			}
			if got := UnseenShare(k, n); math.Abs(got-(1-least/2)) > 1e-3 {
				t.Errorf("order %d at %d stations: unseen share %v, by brute force %v", k, n, got, 1-least/2)
			}
		}
	}
	// And for stations that are anywhere.
	angles := []float64{0, 31, 95, 160, 171, 240, 301.5}
	r, err := CircularRunOut(lobed(angles, 0, [3]float64{1, 2, 77}))
	if err != nil {
		t.Fatal(err)
	}
	least := 2.0
	for p := range 36000 {
		low, high := 1.0, -1.0
		for _, a := range angles {
			y := math.Cos((a - float64(p)/100) * math.Pi / 180)
			low, high = math.Min(low, y), math.Max(high, y)
		}
		least = math.Min(least, high-low)
	}
	if math.Abs(r.UnseenShare-(1-least/2)) > 1e-6 {
		t.Errorf("uneven stations %v: unseen share %v, by brute force %v", angles, r.UnseenShare, 1-least/2)
	}
	if r.AtMostUm < 4-1e-9 {
		t.Errorf("an eccentricity of 2 µm has a run-out of 4, the bound says at most %v", r.AtMostUm)
	}
}

func TestTaperCases(t *testing.T) {
	var f struct {
		Taper struct {
			Z, D    []float64
			Um      float64 `json:"taper_um"`
			Per100  float64 `json:"per_100_mm_um"`
			Seconds float64 `json:"half_angle_seconds"`
		}
		Tilt struct {
			Z, Um, Deg []float64
			Difference float64 `json:"difference_um"`
			At         float64 `json:"at_z"`
			AtUm       float64 `json:"at_um"`
		}
		Coaxiality struct {
			Datum  []float64 `json:"datum_z"`
			Middle float64   `json:"middle_z"`
			Um     float64   `json:"middle_um"`
			Zone   float64   `json:"zone_um"`
		}
	}
	published(t, "c_taper_coaxiality.json", &f)
	var planes []DiameterPlane
	for i, z := range f.Taper.Z {
		planes = append(planes, DiameterPlane{z, []Station{{0, f.Taper.D[i] * 1000}}})
	}
	taper, err := EvaluateTaper(planes, NoseAtSmallZ)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "taper, µm", taper.Um, f.Taper.Um, 1e-6)
	near(t, "taper, µm per 100 mm", taper.Per100Mm, f.Taper.Per100, 1e-6)
	near(t, "half angle, ″", taper.HalfSeconds, f.Taper.Seconds, 1e-3)
	if other, err := EvaluateTaper(planes, NoseAtLargeZ); err != nil || other.Um != -taper.Um || other.HalfSeconds != -taper.HalfSeconds {
		t.Errorf("nose at the other end: %v µm, %v; want %v", other.Um, err, -taper.Um)
	}
	if math.Abs(taper.Weights[0]-1) > 1e-12 || math.Abs(taper.Weights[1]+1) > 1e-12 {
		t.Errorf("weights %v, want 1 and −1", taper.Weights)
	}

	var centres []Centre
	for i, z := range f.Tilt.Z {
		centres = append(centres, Centre{z, OffsetAt(f.Tilt.Um[i], f.Tilt.Deg[i])})
	}
	near(t, "difference of the offsets, µm", centres[1].Minus(centres[0].Offset).Um(), f.Tilt.Difference, 1e-4)
	axis, err := FitAxis(centres)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "offset carried on, µm", axis.Centre(f.Tilt.At).Um(), f.Tilt.AtUm, 1e-4)
	near(t, "tilt, ″", axis.TiltSeconds(), math.Atan(f.Tilt.Difference/1e5)*180*3600/math.Pi, 1e-3)

	c := f.Coaxiality
	datum, err := FitAxis([]Centre{{c.Datum[0], Offset{}}, {c.Datum[1], Offset{}}})
	if err != nil {
		t.Fatal(err)
	}
	co, err := CoaxialityTo(datum, []Centre{{c.Middle, OffsetAt(c.Um, 33)}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "coaxiality zone, µm", co.ZoneUm, c.Zone, 1e-9)
	if co.WorstMm != c.Middle {
		t.Errorf("worst at z = %v, want %v", co.WorstMm, c.Middle)
	}
}

// A journal read +4.0 +5.0 +4.5 and +5.0 +6.0 +5.08: means 4.50 and 5.36, taper 0.86.
func TestJournalSizes(t *testing.T) {
	at := func(z float64, um ...float64) DiameterPlane {
		p := DiameterPlane{ZMm: z}
		for i, u := range um {
			p.Sizes = append(p.Sizes, Station{60 * float64(i), u})
		}
		return p
	}
	planes := []DiameterPlane{at(10, 4, 5, 4.5), at(40, 5, 6, 5.08)}
	taper, err := EvaluateTaper(planes, NoseAtLargeZ)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean of plane 1, µm", taper.Planes[0].MeanUm, 4.50, 0.01)
	near(t, "mean of plane 2, µm", taper.Planes[1].MeanUm, 5.36, 0.01)
	near(t, "taper, µm", taper.Um, 0.86, 0.01)
	variation, err := SizeVariation(planes)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "variation of size, µm", variation, 2, 1e-9)
	s := taper.Planes[0]
	if !s.HasOutOfRound || s.OutOfRoundUm != 0.5 || s.VariationUm != 1 || s.LeastDeg != 0 || s.MostDeg != 60 {
		t.Errorf("plane 1: %+v", s)
	}
	if s, err := EvaluatePlane(at(0, 1, 2)); err != nil || s.HasOutOfRound {
		t.Errorf("two angles do not give an out-of-round figure: %+v, %v", s, err)
	}
	if _, err := EvaluatePlane(DiameterPlane{0, []Station{{10, 1}, {190, 2}}}); !errors.Is(err, ErrDuplicateStation) {
		t.Errorf("10° and 190° are one diameter: %v", err)
	}
	if _, err := EvaluateTaper(planes[:1], NoseAtLargeZ); !errors.Is(err, ErrTooFewStations) {
		t.Errorf("one plane: %v", err)
	}
	if _, err := EvaluateTaper([]DiameterPlane{planes[0], planes[0]}, NoseAtLargeZ); !errors.Is(err, ErrDuplicateStation) {
		t.Errorf("two planes at one place: %v", err)
	}
	// Three planes of a barrel: no taper, 3 µm of barrel about the line (residuals −1, +2, −1).
	if b, err := EvaluateTaper([]DiameterPlane{at(0, 0), at(20, 3), at(40, 0)}, NoseAtLargeZ); err != nil || math.Abs(b.Um) > 1e-12 || math.Abs(b.BarrelUm-3) > 1e-12 {
		t.Errorf("barrel: %+v, %v", b, err)
	}
}

// Odd lobes leave every two-point size the same.
func TestTwoPointSizesAreBlindToOddLobes(t *testing.T) {
	radius := func(a float64) float64 { return 3 * math.Cos(3*a*math.Pi/180) }
	p := DiameterPlane{}
	for a := 0.0; a < 180; a += 15 {
		p.Sizes = append(p.Sizes, Station{a, radius(a) + radius(a+180)})
	}
	s, err := EvaluatePlane(p)
	if err != nil || s.OutOfRoundUm > 1e-12 {
		t.Errorf("three lobes of 6 µm: out of round %v µm by two-point sizes, %v; want 0", s.OutOfRoundUm, err)
	}
}

// 3 µm over 90 mm of diameter is 6.9″.
func TestFace(t *testing.T) {
	f, err := EvaluateFace(lobed(equally(12, 0), 1, [3]float64{1, 1.5, 210}, [3]float64{2, 0.4, 0}), 45)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "squareness, µm", f.SquarenessUm, 3, 1e-9)
	near(t, "tilt, ″", f.TiltSeconds, 6.9, 0.1)
	near(t, "direction, °", f.DirectionDeg, 210, 1e-9)
	near(t, "form, µm", f.FormUm, 0.8, 1e-9)
	near(t, "u of the squareness per u of a reading", f.SquarenessGain, 2*math.Sqrt(2.0/12), 1e-9)
	if _, err := EvaluateFace(stations(1, 2, 3, 4), 0); !errors.Is(err, ErrMalformed) {
		t.Errorf("radius 0: %v", err)
	}
	// One station missing: the plane is found by least squares all the same.
	uneven := lobed(equally(8, 0), 1, [3]float64{1, 1.5, 210})[1:]
	if f, err = EvaluateFace(uneven, 45); err != nil {
		t.Fatal(err)
	}
	near(t, "squareness from seven of eight, µm", f.SquarenessUm, 3, 1e-9)
	if _, err := EvaluateFace(lobed([]float64{0, 5, 10, 15}, 0, [3]float64{1, 1, 0}), 45); !errors.Is(err, ErrUneven) {
		t.Errorf("four stations within 15°: %v, want ErrUneven", err)
	}
}

func TestTotalRunOut(t *testing.T) {
	got, err := TotalRunOut([][]Station{stations(0, 1, 2, 1), stations(3, 4, 5, 4)})
	if err != nil || got != 5 {
		t.Errorf("total run-out %v, %v; want 5, where each plane has 2", got, err)
	}
	if _, err := TotalRunOut([][]Station{stations(0, 1, 2, 1)}); !errors.Is(err, ErrTooFewStations) {
		t.Errorf("one plane: %v", err)
	}
}

func TestFalseOvality(t *testing.T) {
	// A circle of 100 µm radius about an axis 10 µm off, sampled exactly: e²/4R = 0.25 µm, the next term is below 0.01.
	const e, r = 10.0, 100.0
	var s []Station
	for _, a := range equally(32, 0) {
		psi := a * math.Pi / 180
		s = append(s, Station{a, e*math.Cos(psi) + math.Sqrt(r*r-e*e*math.Sin(psi)*math.Sin(psi))})
	}
	h, err := Analyse(s)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := h.Harmonic(2).CUm, FalseOvalityUm(e, r); math.Abs(got-want) > 0.01 {
		t.Errorf("second harmonic %v µm, e²/4R = %v", got, want)
	}
}
