package form

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"runtrue/internal/portablemath"
)

// Harmonic is one order of a harmonic analysis: A·cos kθ + B·sin kθ = C·cos(kθ − φ).
type Harmonic struct {
	K        int     // order: waves per turn
	A, B     float64 // µm
	CUm      float64 // amplitude √(A² + B²) ≥ 0: half of what this lobing gives from peak to valley
	PhaseDeg float64 // φ in [0, 360): the first peak stands at φ/k
}

// Spectrum is the harmonic analysis of one turn.
type Spectrum struct {
	N         int
	Even      bool       // equally spaced
	MeanUm    float64    // for unequally spaced stations that of the fitted series, not of the readings
	Harmonics []Harmonic // orders 1 … Highest; Harmonics[k−1] is of order k
	Highest   int
	// NoiseGain is how much more an error of a reading moves the worst of the coefficients than it would with as many equally spaced stations: 1 if Even.
	NoiseGain float64
}

// largestNoiseGain is where the order of an analysis of uneven stations stops (common practice, no source).
const largestNoiseGain = 3

// Harmonic returns the harmonic of order k, or none of that order if k is 0 or above Highest.
func (s Spectrum) Harmonic(k int) Harmonic {
	if k < 1 || k > s.Highest {
		return Harmonic{K: k}
	}
	return s.Harmonics[k-1]
}

// AmplitudeU returns the standard uncertainty, in µm, of the coefficients A and B when each reading has the independent standard uncertainty u: u·√(2/N), times the
// noise gain. An amplitude is never negative and so lies too high by about that when the true one is near 0.
func (s Spectrum) AmplitudeU(u float64) float64 {
	return float64(u * math.Sqrt(2/float64(s.N)) * s.NoiseGain)
}

// at returns the value of the mean and the harmonics up to order highest.
func (s Spectrum) at(deg float64, highest int) float64 {
	y := s.MeanUm
	for _, h := range s.Harmonics[:min(highest, s.Highest)] {
		sin, cos := portablemath.SincosDegrees(float64(float64(h.K) * deg))
		y += float64(h.A*cos) + float64(h.B*sin)
	}
	return y
}

// Analyse returns the harmonics of the readings of one turn, at least three, at different angles and in any order.
//
// Equally spaced: a_k = (2/N)Σy cos kθ and so on up to k = N/2, where the factor is 1/N and only the part that the stations can see is found. Unequally spaced or
// missing: least squares, with as many orders as the stations bear without magnifying errors more than threefold. What lies above Highest is folded into the
// lower orders; see [LooksLike].
func Analyse(stations []Station) (Spectrum, error) {
	r, err := around("harmonics", stations, 3, 360)
	if err != nil {
		return Spectrum{}, err
	}
	if r.even() {
		return r.analyseEven(), nil
	}
	for highest := (len(r) - 1) / 2; highest >= 1; highest-- {
		if s, ok := r.analyseUneven(highest); ok && (s.NoiseGain <= largestNoiseGain || highest == 1) {
			return s, nil
		}
	}
	return Spectrum{}, StationError{"harmonics", len(r), "spread them around the turn", ErrDegenerate}
}

func (r round) analyseEven() Spectrum {
	n := len(r)
	s := Spectrum{N: n, Even: true, MeanUm: r.mean(), Highest: n / 2, NoiseGain: 1}
	step := 360 / float64(n)
	for k := 1; k <= s.Highest; k++ {
		var a, b float64
		for i, st := range r {
			// The place is exact in whole steps: i·k is reduced before it is multiplied.
			sin, cos := portablemath.SincosDegrees(float64(float64(i*k%n)*step) + float64(float64(k)*r[0].AngleDeg))
			a += float64(st.Um * cos)
			b += float64(st.Um * sin)
		}
		factor := 2 / float64(n)
		if k+k == n {
			factor = 1 / float64(n)
		}
		s.Harmonics = append(s.Harmonics, harmonic(k, float64(a*factor), float64(b*factor)))
	}
	return s
}

func (r round) analyseUneven(highest int) (Spectrum, bool) {
	rows := make([][]float64, len(r))
	y := make([]float64, len(r))
	for i, st := range r {
		rows[i] = append(rows[i], 1)
		for k := 1; k <= highest; k++ {
			sin, cos := portablemath.SincosDegrees(float64(float64(k) * st.AngleDeg))
			rows[i] = append(rows[i], cos, sin)
		}
		y[i] = st.Um
	}
	fit, ok := leastSquares(rows, y)
	if !ok {
		return Spectrum{}, false
	}
	s := Spectrum{N: len(r), MeanUm: fit.x[0], Highest: highest}
	for k := 1; k <= highest; k++ {
		s.Harmonics = append(s.Harmonics, harmonic(k, fit.x[k+k-1], fit.x[k+k]))
	}
	for i := 1; i < len(fit.x); i++ {
		gain := math.Sqrt(float64(fit.covariance(i, i) * float64(len(r)) / 2))
		s.NoiseGain = math.Max(s.NoiseGain, gain)
	}
	return s, true
}

func harmonic(k int, a, b float64) Harmonic {
	return Harmonic{K: k, A: a, B: b, CUm: portablemath.Hypot(a, b), PhaseDeg: direction(a, b)}
}

// LooksLike returns the order as which a lobing of order k shows at n equally spaced stations: between 0 (like a change of size) and n/2.
func LooksLike(k, n int) int {
	k %= n
	if k+k > n {
		return n - k
	}
	return k
}

// Confused returns the orders up to highest that n equally spaced stations cannot tell from order k.
func Confused(k, n, highest int) []int {
	var orders []int
	for j := 1; j <= highest; j++ {
		if j != k && LooksLike(j, n) == LooksLike(k, n) {
			orders = append(orders, j)
		}
	}
	return orders
}

// AliasingStatement says in words what n equally spaced stations cannot tell from eccentricity, tilt or a wedge: the orders n−1 and n+1, and further ones.
func AliasingStatement(n int) string {
	orders := Confused(1, n, n+1)
	words := make([]string, len(orders))
	for i, k := range orders {
		words[i] = strconv.Itoa(k)
	}
	return fmt.Sprintf("with %d stations, harmonics up to %d are seen; %s lobes would look like the first harmonic", n, n/2, strings.Join(words, " or "))
}

// UnseenShare returns the greatest part, 0 … 1, of the peak-to-valley of a pure lobing of order k that n equally spaced stations can leave unseen, by
// max − min, when the lobes stand as unluckily as they can. For the first order and even n: 1 − cos(180°/n); for odd n: half of that.
// 1 means that all of it can hide. k and n ≥ 1.
func UnseenShare(k, n int) float64 {
	// The stations meet n/gcd(k, n) different places of the wave, equally spaced.
	places := n / gcd(k, n)
	if places <= 2 {
		return 1 // two places can both fall on the zero of the wave
	}
	_, cos := portablemath.SincosDegrees(180 / float64(places))
	if places&1 == 1 {
		return float64(0.5 * (1 - cos))
	}
	return 1 - cos
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// unseenOfFirst is UnseenShare(1, n) for stations wherever they stand: the least width of the polygon that they form on the unit circle, which is the
// least max − min of a unit eccentricity, is reached across one of its sides.
func (r round) unseenOfFirst() float64 {
	if r.even() {
		return UnseenShare(1, len(r))
	}
	least := 2.0
	for i, s := range r {
		gap := r[(i+1)%len(r)].AngleDeg - s.AngleDeg
		if gap < 0 {
			gap += 360
		}
		across := s.AngleDeg + float64(0.5*gap)
		low, high := 1.0, -1.0
		for _, other := range r {
			_, cos := portablemath.SincosDegrees(other.AngleDeg - across)
			low, high = math.Min(low, cos), math.Max(high, cos)
		}
		least = math.Min(least, high-low)
	}
	return 1 - float64(0.5*least)
}
