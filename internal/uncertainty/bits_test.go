package uncertainty

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
const frozenBits = "c1cc379a0b8f06999d2cc8c57a0ab47091726e1798e14f8337fc2eee508e71d9"

func TestSameBitsOnEveryTarget(t *testing.T) {
	r := rand.New(rand.NewPCG(simulationSeed, 11))
	digest := sha256.New()
	between := func(low, high float64) float64 { return low + float64((high-low)*r.Float64()) }
	for range 500 {
		e := Expansion{SizeUm: between(1e4, 2e5), PartC: between(15, 40), GaugeC: between(15, 30), AlphaPart: between(9e-6, 24e-6), AlphaGauge: AlphaSteel,
			UDifferenceK: between(0, 1), ULevelK: between(0, 1), AlphaDoubt: AlphaDoubt}
		repeats, err := Repeatability(Study{between(0.1, 1), 12}, []float64{between(0, 1), between(0, 1)})
		if err != nil {
			t.Fatal(err)
		}
		b := append(Budget{Standard("gauge", between(0, 1)).Keyed("gauge:G1"), Rectangular("drift", between(0, 1)), UShaped("air", between(0, 1)), Resolution(0.5), repeats},
			e.Contributions("S1", "steel", "steel")...)
		mean, err := Mean(b, b)
		if err != nil {
			t.Fatal(err)
		}
		expanded, err := mean.ExpandedT(0.95)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, e.CorrectionUm(), b.Combined(), mean.Combined(), mean.NuEff(), expanded, Difference(b, b, false).Combined())
		lower := between(-10, 0)
		upper := lower + between(1, 20)
		l := Limits{Lower: &lower, Upper: &upper}
		y, u := between(-12, 12), between(0.1, 3)
		p, err := Probability(y, u, l)
		if err != nil {
			t.Fatal(err)
		}
		n, err := NeededU(y, l)
		if err != nil {
			t.Fatal(err)
		}
		write(digest, p.Below, p.Inside, p.Above, n.U, BestPossible(8, u), LargestU(u))
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
