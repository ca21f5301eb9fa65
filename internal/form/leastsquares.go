package form

import "math"

// solution is the least-squares solution of rows·x ≈ y.
type solution struct {
	x         []float64
	residuals []float64   // y − rows·x
	inverse   [][]float64 // R⁻¹, upper triangular: the covariance of x is σ²·R⁻¹·R⁻ᵀ
}

// covariance returns element i, j of (AᵀA)⁻¹.
func (s solution) covariance(i, j int) float64 {
	sum := 0.0
	for k := range s.x {
		sum += float64(s.inverse[i][k] * s.inverse[j][k])
	}
	return sum
}

// sumOfSquares returns the residual sum of squares.
func (s solution) sumOfSquares() float64 {
	sum := 0.0
	for _, r := range s.residuals {
		sum += float64(r * r)
	}
	return sum
}

// leastSquares solves by Householder reflections with the columns scaled to unit length (A. S. Householder, J. ACM 5 (1958) 339). rows is not changed. ok is
// false where the columns are linearly dependent to 13 digits.
func leastSquares(rows [][]float64, y []float64) (s solution, ok bool) {
	m, n := len(rows), len(rows[0])
	a := make([][]float64, m) // working copy
	for i, row := range rows {
		a[i] = append([]float64{}, row...)
	}
	scale := make([]float64, n)
	for j := range n {
		sum := 0.0
		for i := range m {
			sum += float64(a[i][j] * a[i][j])
		}
		scale[j] = math.Sqrt(sum)
		if scale[j] == 0 || m < n {
			return solution{}, false
		}
		for i := range m {
			a[i][j] /= scale[j]
		}
	}
	b := append([]float64{}, y...)
	diagonal := make([]float64, n)
	for k := range n {
		norm := 0.0
		for i := k; i < m; i++ {
			norm += float64(a[i][k] * a[i][k])
		}
		norm = math.Sqrt(norm)
		if norm < 1e-13 {
			return solution{}, false
		}
		if a[k][k] > 0 {
			norm = -norm
		}
		diagonal[k] = norm
		a[k][k] -= norm // column k from k down is now the reflecting vector v, with vᵀv = −2·norm·v_k
		factor := float64(norm * a[k][k])
		for j := k + 1; j < n; j++ {
			dot := 0.0
			for i := k; i < m; i++ {
				dot += float64(a[i][k] * a[i][j])
			}
			for i := k; i < m; i++ {
				a[i][j] += float64(a[i][k] * dot / factor)
			}
		}
		dot := 0.0
		for i := k; i < m; i++ {
			dot += float64(a[i][k] * b[i])
		}
		for i := k; i < m; i++ {
			b[i] += float64(a[i][k] * dot / factor)
		}
	}
	s.inverse = make([][]float64, n)
	for i := range n {
		s.inverse[i] = make([]float64, n)
	}
	for j := range n {
		s.inverse[j][j] = 1 / diagonal[j]
		for i := j - 1; i >= 0; i-- {
			sum := 0.0
			for k := i + 1; k <= j; k++ {
				sum += float64(a[i][k] * s.inverse[k][j])
			}
			s.inverse[i][j] = -sum / diagonal[i]
		}
	}
	s.x = make([]float64, n)
	for i := range n {
		for j := i; j < n; j++ {
			s.x[i] += float64(s.inverse[i][j] * b[j])
		}
		s.x[i] /= scale[i]
		for j := range n {
			s.inverse[i][j] /= scale[i]
		}
	}
	s.residuals = make([]float64, m)
	for i, row := range rows {
		fitted := 0.0
		for j, v := range row {
			fitted += float64(v * s.x[j])
		}
		s.residuals[i] = y[i] - fitted
	}
	return s, true
}

// solveSquare solves a·x = y for a small square system by elimination with row exchange. a and y are overwritten. ok is false if it is singular.
func solveSquare(a [][]float64, y []float64) (x []float64, ok bool) {
	n := len(y)
	for k := range n {
		pivot := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[pivot][k]) {
				pivot = i
			}
		}
		if math.Abs(a[pivot][k]) < 1e-14 {
			return nil, false
		}
		a[k], a[pivot] = a[pivot], a[k]
		y[k], y[pivot] = y[pivot], y[k]
		for i := k + 1; i < n; i++ {
			f := a[i][k] / a[k][k]
			for j := k; j < n; j++ {
				a[i][j] -= float64(f * a[k][j])
			}
			y[i] -= float64(f * y[k])
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			y[i] -= float64(a[i][j] * y[j])
		}
		y[i] /= a[i][i]
	}
	return y, true
}
