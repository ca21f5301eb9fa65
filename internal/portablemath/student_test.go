package portablemath

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Table G.2 of the Guide, every cell, to the digits printed.
func TestStudentQuantileAgainstTheGuide(t *testing.T) {
	file, err := os.Open("../../testdata/published/mechanics/d_student_t.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	cells := 0
	for _, row := range rows[1:] {
		nu, err := strconv.ParseFloat(row[0], 64)
		if err != nil {
			t.Fatal(err)
		}
		for i := 1; i < len(row)-1; i++ {
			percent, err := strconv.ParseFloat(strings.TrimPrefix(rows[0][i], "t_"), 64)
			if err != nil {
				t.Fatal(err)
			}
			printed, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			decimals := len(row[i]) - strings.IndexByte(row[i], '.') - 1
			p := percent / 100
			if sigmas := map[string]float64{"t_68.27": 1, "t_95.45": 2, "t_99.73": 3}[rows[0][i]]; sigmas != 0 {
				p = math.Erf(sigmas / math.Sqrt2) // the Guide's note: these cover μ ± σ, 2σ, 3σ of a normal distribution
			}
			got := StudentQuantile(p, nu)
			if math.Abs(got-printed) > 0.5001*math.Pow(10, -float64(decimals)) {
				t.Errorf("t_%v%%(ν = %v) = %.5f, the Guide prints %s", percent, nu, got, row[i])
			}
			cells++
		}
	}
	if cells != 78 {
		t.Errorf("%d cells were checked, the table has 78", cells)
	}
}

// For whole ν the distribution is a finite sum: Abramowitz & Stegun 26.7.3 and 26.7.4.
func centralByFiniteSum(t float64, nu int) float64 {
	theta := math.Atan(t / math.Sqrt(float64(nu)))
	sin, cos := math.Sincos(theta)
	if nu%2 == 1 {
		sum, term := 0.0, cos
		for k := 3; k <= nu; k += 2 {
			sum += term
			term *= cos * cos * float64(k-1) / float64(k)
		}
		return 2 / math.Pi * (theta + sin*sum)
	}
	sum, term := 0.0, 1.0
	for k := 2; k <= nu; k += 2 {
		sum += term
		term *= cos * cos * float64(k-1) / float64(k)
	}
	return sin * sum
}

func TestStudentTailAgainstTheFiniteSum(t *testing.T) {
	worst := 0.0
	for nu := 1; nu <= 300; nu++ {
		for _, x := range []float64{0.001, 0.1, 0.7, 1, 1.5, 1.96, 2.1, 3, 5, 12.7} {
			tail, central := StudentTail(x, float64(nu)), centralByFiniteSum(x, nu)
			if d := math.Abs(1 - tail - central); d > worst {
				worst = d
			}
			if math.Abs(1-tail-central) > 2e-14 {
				t.Errorf("StudentTail(%v, %d) = %v, the finite sum gives %v", x, nu, tail, 1-central)
			}
		}
	}
	t.Logf("largest difference %.2g", worst)
}

// ν = 1 and 2 can be inverted by hand, also far out: t = 1/tan(π·tail/2) and t = (1 − tail)·√(2/(tail·(2 − tail))).
func TestStudentQuantileInClosedForm(t *testing.T) {
	for _, p := range []float64{0.01, 0.3, 0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9999, 1 - 1e-9} {
		tail := 1 - p
		for _, c := range []struct{ nu, want float64 }{
			{1, 1 / math.Tan(math.Pi*tail/2)},
			{2, (1 - tail) * math.Sqrt(2/(tail*(2-tail)))},
		} {
			if got := StudentQuantile(p, c.nu); math.Abs(got-c.want) > 1e-11*c.want {
				t.Errorf("StudentQuantile(%v, %v) = %v, in closed form %v", p, c.nu, got, c.want)
			}
		}
	}
}

// For ν between whole numbers: the density, built here from math.Lgamma, integrated by Simpson's rule.
func TestStudentTailBetweenWholeNumbers(t *testing.T) {
	for _, nu := range []float64{0.7, 1.5, 2.6, 4.25, 16.75, 25.4, 99.5, 1234.5} {
		a, _ := math.Lgamma((nu + 1) / 2)
		b, _ := math.Lgamma(nu / 2)
		front := math.Exp(a-b) / math.Sqrt(nu*math.Pi)
		for _, x := range []float64{0.3, 1, 2, 4} {
			const n = 4000
			sum := 0.0
			for i := range n + 1 {
				u := x * float64(i) / n
				w := []float64{2, 4}[i%2]
				if i == 0 || i == n {
					w = 1
				}
				sum += w * front * math.Pow(1+u*u/nu, -(nu+1)/2)
			}
			central := 2 * sum * x / n / 3
			if got := 1 - StudentTail(x, nu); math.Abs(got-central) > 1e-11 {
				t.Errorf("probability within ±%v at ν = %v is %v, by integration %v", x, nu, got, central)
			}
		}
	}
}

func TestStudentQuantileInvertsTheTail(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 5))
	for range 2000 {
		p, nu := 0.01+0.98*r.Float64(), math.Exp(r.Float64()*12-0.7)
		x := StudentQuantile(p, nu)
		if back := StudentTail(x, nu); math.Abs(back-(1-p)) > 1e-11*(1-p) {
			t.Errorf("StudentTail(StudentQuantile(%v, ν = %v) = %v) = %v, want %v; seed %d", p, nu, x, back, 1-p, seed)
		}
	}
}

// Both methods meet where one takes over from the other, and the limit is the normal distribution.
func TestStudentQuantileIsContinuous(t *testing.T) {
	for _, p := range []float64{0.5, 0.95, 0.9973, 0.999999} {
		below, above := StudentQuantile(p, manyFreedoms*(1-1e-12)), StudentQuantile(p, manyFreedoms)
		if math.Abs(below-above) > 1e-11*above {
			t.Errorf("p = %v: %v below ν = %v, %v at it", p, below, manyFreedoms, above)
		}
		if a, b := StudentQuantile(p, 1e14), StudentQuantile(p, math.Inf(1)); math.Abs(a-b) > 1e-12 {
			t.Errorf("p = %v: %v at ν = 1e14, %v at infinity", p, a, b)
		}
	}
}

func BenchmarkFunctions(b *testing.B) {
	for _, f := range functions {
		b.Run(f.name, func(b *testing.B) {
			in := make([]float64, f.arguments)
			for i, span := range f.ranges {
				in[i] = span[0] + 0.37*(span[1]-span[0])
			}
			for b.Loop() {
				f.call(in)
			}
		})
	}
}
