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

func write(digest hash.Hash, values ...float64) {
	var b [8]byte
	for _, v := range values {
		binary.BigEndian.PutUint64(b[:], math.Float64bits(v))
		digest.Write(b[:])
	}
}
