package form

import (
	"fmt"
	"math"

	"runtrue/internal/portablemath"
)

// VBlockFactor returns by how much a lobing of n waves per turn is magnified when the part turns in a V of the included angle and the indicator stands on
// the bisector: F = 1 + cos[n(90° + α/2)]/sin(α/2), signed; peak to valley reads |F| times the true one. α in (0, 180) degrees, n ≥ 1.
// 90°: F₂ = 1, F₃ = 2, F₇ = 0; 60°: F₃ = 3, F₂ = F₅ = F₇ = 0. For n = 1 it is 0 up to rounding: the V takes the eccentricity out.
func VBlockFactor(n int, includedDeg float64) float64 {
	sin, _ := portablemath.SincosDegrees(float64(0.5 * includedDeg))
	_, cos := portablemath.SincosDegrees(float64(float64(n) * (90 + float64(0.5*includedDeg))))
	return 1 + cos/sin
}

// blindFactor is the magnification below which a V counts as blind to an order (common practice, no source): noise would be magnified more than tenfold.
const blindFactor = 0.1

// FormFromVBlock returns the peak to valley in µm of a pure lobing of order n from what the indicator showed. Error ErrBlind where the V does not show this order
// (|F| < 0.1), ErrMalformed for impossible numbers.
func FormFromVBlock(shownUm float64, n int, includedDeg float64) (float64, error) {
	if !(shownUm >= 0) || n < 2 || !(includedDeg > 0 && includedDeg < 180) {
		return 0, fmt.Errorf("%g µm shown of %d lobes in a V of %g°: %w; give a reading of at least 0, two lobes or more, an angle between 0 and 180°",
			shownUm, n, includedDeg, ErrMalformed)
	}
	f := math.Abs(VBlockFactor(n, includedDeg))
	if f < blindFactor {
		return 0, fmt.Errorf("%d lobes in a V of %g°: %w; use a V of another angle or a sweep", n, includedDeg, ErrBlind)
	}
	return shownUm / f, nil
}

// InVBlock is what a sweep says of a section that turned in a V with the indicator on the bisector: each harmonic divided by its factor.
type InVBlock struct {
	N           int
	IncludedDeg float64
	Orders      []VBlockOrder // 2 … N/2
	FormUm      float64       // peak to valley, at the stations, of the harmonics that the V shows, each as large as it truly is
	Blind       []int         // orders within 2 … N/2 that the V hides: FormUm says nothing of them
	// Gain is the root of the sum of the squared weights of the readings in FormUm, found for the two stations where it is reached: u(FormUm) = Gain·u for readings of
	// independent u. It grows as factors fall below 1.
	Gain float64
}

// VBlockOrder is one order of lobing in the V.
type VBlockOrder struct {
	K       int
	Factor  float64 // signed
	ShownUm float64 // amplitude of the readings
	TrueUm  float64 // of the section; 0 where the V is blind
}

// EvaluateInVBlock undoes the magnification of a V for a sweep of eight or more equally spaced stations. The reading belongs to the section that lies in the V; a part that
// turns in V-blocks elsewhere is not what this is for. Errors as [Eccentricity], and ErrMalformed for an angle outside 0 … 180°.
func EvaluateInVBlock(stations []Station, includedDeg float64) (InVBlock, error) {
	if !(includedDeg > 0 && includedDeg < 180) {
		return InVBlock{}, fmt.Errorf("a V of %g°: %w; give its included angle, between 0 and 180°", includedDeg, ErrMalformed)
	}
	r, err := around("form in a V", stations, leastForRunOut, 360)
	if err != nil {
		return InVBlock{}, err
	}
	switch {
	case len(r) < leastForEccentricity:
		return InVBlock{}, StationError{"form in a V", len(r), fmt.Sprintf("take %d or more, equally spaced", leastForEccentricity), ErrCannotSeparate}
	case !r.even():
		return InVBlock{}, StationError{"form in a V", len(r), "take those that are missing", ErrUneven}
	}
	s := r.analyseEven()
	v := InVBlock{N: len(r), IncludedDeg: includedDeg}
	form := make([]float64, len(r))
	for _, h := range s.Harmonics[1:] {
		o := VBlockOrder{K: h.K, Factor: VBlockFactor(h.K, includedDeg), ShownUm: h.CUm}
		if math.Abs(o.Factor) < blindFactor {
			v.Blind = append(v.Blind, h.K)
			v.Orders = append(v.Orders, o)
			continue
		}
		o.TrueUm = h.CUm / math.Abs(o.Factor)
		v.Orders = append(v.Orders, o)
		for i, st := range r {
			sin, cos := portablemath.SincosDegrees(float64(float64(h.K) * st.AngleDeg))
			form[i] += (float64(h.A*cos) + float64(h.B*sin)) / o.Factor
		}
	}
	low, high := 0, 0
	for i, y := range form {
		if y < form[low] {
			low = i
		}
		if y > form[high] {
			high = i
		}
	}
	v.FormUm = form[high] - form[low]
	// Weight of reading j in form[high] − form[low]: Σ_k 2/(N·F_k)·[cos k(θ_h − θ_j) − cos k(θ_l − θ_j)], half of it for k = N/2. The squares sum by orthogonality.
	squares := 0.0
	for _, o := range v.Orders {
		if math.Abs(o.Factor) < blindFactor {
			continue
		}
		_, cos := portablemath.SincosDegrees(float64(float64(o.K) * (r[high].AngleDeg - r[low].AngleDeg)))
		share := 4.0
		if o.K+o.K == len(r) {
			share = 2
		}
		squares += share * (1 - cos) / float64(float64(len(r))*float64(o.Factor*o.Factor))
	}
	v.Gain = math.Sqrt(squares)
	return v, nil
}
