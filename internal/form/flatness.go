package form

import (
	"fmt"
	"math"
)

// Flatness is the narrowest pair of parallel planes that holds the points (ISO 12781-1: FLTt, MZPL), with the proof.
type Flatness struct {
	Um       float64 // distance of the planes, ≥ 0; linear: along z, the tilt being small
	Plane    Plane   // in the middle between the two; Residuals of all points, Flatness = Um
	Contacts []int   // four points that alone already need this much: they touch alternately from above and below in the sense of Weights
	// Weights prove it: Σ wᵢ = Σ wᵢxᵢ = Σ wᵢyᵢ = 0 and Σ|wᵢ| = 2 over the contacts, so that no plane changes Σ wᵢzᵢ, which is Um.
	Weights []float64
}

// FlattestPlanes returns the minimum-zone flatness of at least four points that do not lie on one line in x and y.
//
// The least greatest deviation of points from a plane is the largest of those of any four of them, since a plane has three numbers (de la Vallée Poussin; E. W. Cheney,
// Introduction to Approximation Theory, 1966, chapter 2). It is looked for among a growing set of the points that stand out most.
func FlattestPlanes(x, y, z []float64) (Flatness, error) {
	start, err := FitPlane(x, y, z)
	if err != nil {
		return Flatness{}, err
	}
	n := len(z)
	if n < 4 {
		return Flatness{}, StationError{"flatness", n, "three points always lie in a plane: take four or more", ErrTooFewStations}
	}
	for i := range n {
		for j := range i {
			if x[i] == x[j] && y[i] == y[j] {
				return Flatness{}, fmt.Errorf("flatness: two readings at (%g, %g): %w; average repeats first, or strike one", x[i], y[i], ErrDuplicateStation)
			}
		}
	}
	scale := 0.0
	for _, v := range z {
		scale = math.Max(scale, math.Abs(v))
	}
	tolerance := float64(1e-11 * math.Max(scale, start.Flatness))
	inSet := make([]bool, n)
	var set []int
	take := func(residuals []float64, beyond float64) bool { // the largest and the smallest that are not yet in
		grew := false
		for _, sign := range []float64{1, -1} {
			best := -1
			for i, r := range residuals {
				if !inSet[i] && (best < 0 || sign*r > sign*residuals[best]) {
					best = i
				}
			}
			if best >= 0 && float64(sign*residuals[best]) > beyond {
				inSet[best], grew = true, true
				set = append(set, best)
			}
		}
		return grew
	}
	for len(set) < min(6, n) && take(start.Residuals, math.Inf(-1)) {
	}
	for {
		f, ok := widestFour(set, x, y, z)
		if !ok { // those in the set lie on one line
			if !take(start.Residuals, math.Inf(-1)) {
				return Flatness{}, fmt.Errorf("flatness of %d points: %w; they lie on one line", n, ErrDegenerate)
			}
			continue
		}
		half := float64(0.5 * f.Um)
		f.swing(x, y, z, half+tolerance)
		f.Plane.Residuals = make([]float64, n)
		greatest := 0.0
		for i := range z {
			f.Plane.Residuals[i] = z[i] - (f.Plane.C0 + float64(f.Plane.CX*x[i]) + float64(f.Plane.CY*y[i]))
			greatest = math.Max(greatest, math.Abs(f.Plane.Residuals[i]))
		}
		if greatest <= half+tolerance {
			f.Plane.Flatness = f.Um
			return f, nil
		}
		if !take(f.Plane.Residuals, half+tolerance) && !take(f.Plane.Residuals, math.Inf(-1)) {
			return Flatness{}, StationError{"flatness", n, "report the least-squares flatness", ErrNotConverged}
		}
	}
}

// widestFour returns the four points of the set that need the widest zone, and the plane in its middle.
func widestFour(set []int, x, y, z []float64) (best Flatness, ok bool) {
	least := 0.0 // area of the projected triangles, against points on one line
	for i := range set {
		for j := range i {
			for k := range j {
				for l := range k {
					four := [4]int{set[l], set[k], set[j], set[i]}
					w, area := balance(four, x, y)
					if area == 0 {
						continue
					}
					sum := 0.0
					for m, at := range four {
						sum += float64(w[m] * z[at])
					}
					if sum < 0 {
						sum = -sum
						for m := range w {
							w[m] = -w[m]
						}
					}
					if sum < best.Um || (ok && sum == best.Um && area <= least) {
						continue
					}
					if p, solved := middle(four, w, x, y, z, sum); solved {
						best, ok, least = Flatness{Um: sum, Plane: p, Contacts: four[:], Weights: w[:]}, true, area
						best.Contacts, best.Weights = append([]int{}, four[:]...), append([]float64{}, w[:]...)
					}
				}
			}
		}
	}
	return best, ok
}

// swing settles a plane whose contacts are three points on one line: it can still turn about that line, and is turned to where no other point stands out, if it can be.
func (f *Flatness) swing(x, y, z []float64, within float64) {
	var on []int
	for i, at := range f.Contacts {
		if math.Abs(f.Weights[i]) > 1e-9 {
			on = append(on, at)
		}
	}
	if len(on) != 3 {
		return
	}
	ux, uy := x[on[1]]-x[on[0]], y[on[1]]-y[on[0]]
	size := math.Sqrt(float64(ux*ux) + float64(uy*uy))
	ux, uy = ux/size, uy/size
	// A turn by t lowers a point by t times its distance d from the line; every point allows an interval of t.
	low, high := math.Inf(-1), math.Inf(1)
	for i := range z {
		d := float64(ux*(y[i]-y[on[0]])) - float64(uy*(x[i]-x[on[0]]))
		if math.Abs(d) < 1e-9*size {
			continue
		}
		r := z[i] - (f.Plane.C0 + float64(f.Plane.CX*x[i]) + float64(f.Plane.CY*y[i]))
		a, b := (r-within)/d, (r+within)/d
		low, high = math.Max(low, math.Min(a, b)), math.Min(high, math.Max(a, b))
	}
	if low > high || math.IsInf(low, 0) || math.IsInf(high, 0) {
		return
	}
	t := low + float64(0.5*(high-low))
	f.Plane.CX -= float64(t * uy)
	f.Plane.CY += float64(t * ux)
	f.Plane.C0 += float64(t * (float64(uy*x[on[0]]) - float64(ux*y[on[0]])))
}

// balance returns weights with Σw = Σwx = Σwy = 0 and Σ|w| = 2, and the area that they are scaled by: 0 for four points on one line.
func balance(four [4]int, x, y []float64) (w [4]float64, area float64) {
	triangle := func(a, b, c int) float64 {
		return float64((x[b]-x[a])*(y[c]-y[a])) - float64((x[c]-x[a])*(y[b]-y[a]))
	}
	a, b, c, d := four[0], four[1], four[2], four[3]
	w = [4]float64{triangle(b, c, d), -triangle(a, c, d), triangle(a, b, d), -triangle(a, b, c)}
	for _, v := range w {
		area += math.Abs(v)
	}
	if area == 0 {
		return w, 0
	}
	for i := range w {
		w[i] = 2 * w[i] / area
	}
	return w, area
}

// middle returns the plane from which the four points deviate by half of the width, to the side that the sign of their weight says. A point without weight does not decide.
func middle(four [4]int, w [4]float64, x, y, z []float64, width float64) (Plane, bool) {
	var rows [][]float64
	var right []float64
	for i, at := range four {
		side := 0.0
		switch {
		case w[i] > 0:
			side = float64(0.5 * width)
		case w[i] < 0:
			side = float64(-0.5 * width)
		}
		rows = append(rows, []float64{1, x[at], y[at]})
		right = append(right, z[at]-side)
	}
	fit, ok := leastSquares(rows, right)
	if !ok {
		return Plane{}, false
	}
	return Plane{C0: fit.x[0], CX: fit.x[1], CY: fit.x[2]}, true
}
