package form

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"math"
	"math/rand/v2"
	"testing"
)

// frozenBits is the digest of the results below, to the last bit. Every target must reproduce it: GOARCH=arm64, GOOS=js GOARCH=wasm, GOAMD64=v3. It changes only when a
// computation is changed on purpose; whether the results are right is the matter of the other tests.
const frozenBits = "5bce86f2c82c6e84059d188cf25bdb3a32a789526d132a823403a447e8515693"

func TestSameBitsOnEveryTarget(t *testing.T) {
	r := rand.New(rand.NewPCG(simulationSeed, 11))
	digest := sha256.New()
	for range 200 {
		n := 8 + r.IntN(20)
		s := make([]Station, n)
		points := make([]Point, n)
		var z, d []float64
		for i := range s {
			s[i] = Station{float64(float64(i)*360) / float64(n), float64(r.Float64()*20) - 10}
			o := OffsetAt(1000+s[i].Um, s[i].AngleDeg)
			points[i] = Point{o.XUm, o.YUm}
			z, d = append(z, float64(i)), append(d, s[i].Um)
		}
		e, err := Eccentricity(s)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, e.Um, e.AtMostUm, e.EccentricityUm, e.HighSpotDeg, e.FormUm, e.ZoneUm)
		for _, h := range e.Spectrum.Harmonics {
			write(digest, h.A, h.B, h.CUm, h.PhaseDeg)
		}
		uneven, err := Analyse(s[1:])
		if err != nil {
			t.Fatal(err)
		}
		write(digest, uneven.MeanUm, uneven.NoiseGain, uneven.Harmonic(1).CUm, uneven.Harmonic(2).PhaseDeg)
		f, err := EvaluateFace(s, 45)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, f.SquarenessUm, f.TiltSeconds, f.DirectionDeg, f.FormUm)
		ls, err := LeastSquares(points)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, ls.X, ls.Y, ls.R, ls.FormUm)
		for _, find := range []func([]Point) (Zone, error){MinimumZone, MinimumCircumscribed, MaximumInscribed} {
			zone, err := find(points)
			if err != nil {
				t.Fatal(err)
			}
			write(digest, zone.X, zone.Y, zone.Rmax, zone.Rmin)
		}
		l, err := FitLine(z, d, 3)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, l.Slope, l.Intercept, l.UIntercept, l.Correlation)
	}
	if got := hex.EncodeToString(digest.Sum(nil)); got != frozenBits {
		t.Errorf("digest of the results %s, frozen %s", got, frozenBits)
	}
}

// frozenBitsOfSolids is the same for cylinders, faces, bows, reversals and V-blocks.
const frozenBitsOfSolids = "43a8b7f56f0f41c8d52d721cc2e92210f62b4e489976fc67776fb331ffdbd39a"

func TestSameBitsOfSolidsOnEveryTarget(t *testing.T) {
	r := rand.New(rand.NewPCG(simulationSeed, 12))
	digest := sha256.New()
	for range 100 {
		n := 8 + 2*r.IntN(8)
		var sections []Section
		var x, y, z, sizes []float64
		for i := range 3 {
			s := Section{ZMm: float64(float64(i)*40) + r.Float64()}
			for j := range n {
				st := Station{float64(float64(j)*360) / float64(n), float64(r.Float64()*20) - 10}
				s.Stations = append(s.Stations, st)
				o := OffsetAt(45+float64(float64(i)*3), st.AngleDeg)
				x, y, z = append(x, o.XUm), append(y, o.YUm), append(z, st.Um)
			}
			sections, sizes = append(sections, s), append(sizes, r.Float64())
		}
		c, err := FitCylinder(sections)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, c.RadiusUm, c.CylindricityUm, c.ConicityUm, c.BowUm, c.Axis.At.XUm, c.Axis.PerMm.YUm)
		flat, err := FlattestPlanes(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, flat.Um, flat.Plane.C0, flat.Plane.CX, flat.Plane.CY)
		bow, err := Bow([]float64{sections[0].ZMm, sections[1].ZMm, sections[2].ZMm}, sizes)
		if err != nil {
			t.Fatal(err)
		}
		turned, err := SeparateByReversal(sections[0].Stations, sections[1].Stations)
		if err != nil {
			t.Fatal(err)
		}
		v, err := EvaluateInVBlock(sections[2].Stations, 72)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, bow, turned.Spindle.XUm, turned.Bar.YUm, v.FormUm, v.Gain)
	}
	if got := hex.EncodeToString(digest.Sum(nil)); got != frozenBitsOfSolids {
		t.Errorf("digest of the results %s, frozen %s", got, frozenBitsOfSolids)
	}
}

func write(digest hash.Hash, values ...float64) {
	var b [8]byte
	for _, v := range values {
		binary.BigEndian.PutUint64(b[:], math.Float64bits(v))
		digest.Write(b[:])
	}
}
