package portablemath

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// The vectors hold the exact bits of inputs and outputs. They are frozen: whatever target runs this test must reproduce them.
//
//	go test ./internal/portablemath
//	GOOS=js GOARCH=wasm go test -exec "$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./internal/portablemath
//	GOARCH=arm64 go test -exec qemu-aarch64-static ./internal/portablemath
//	GOAMD64=v3 go test ./internal/portablemath
//
// Whether the bits are also right is the matter of the accuracy tests, which do not read this file.
//
//go:embed testdata/vectors.json
var vectorFile []byte

var update = flag.Bool("update", false, "write testdata/vectors.json anew; only when an algorithm was changed on purpose")

// vector is one evaluation; bits are hexadecimal, most significant first. Any NaN is written 7ff8000000000001.
type vector struct {
	Function string   `json:"function"`
	In       []string `json:"in_bits"`
	Out      []string `json:"out_bits"`
}

type function struct {
	name      string
	arguments int
	call      func(a []float64) []float64
	ranges    [][2]float64 // per argument: where random inputs are drawn, evenly
}

func unary(name string, f func(float64) float64, from, to float64) function {
	return function{name, 1, func(a []float64) []float64 { return []float64{f(a[0])} }, [][2]float64{{from, to}}}
}

func binary(name string, f func(x, y float64) float64, x, y [2]float64) function {
	return function{name, 2, func(a []float64) []float64 { return []float64{f(a[0], a[1])} }, [][2]float64{x, y}}
}

func binaryPair(name string, f func(float64) (float64, float64), from, to float64) function {
	return function{name, 1, func(a []float64) []float64 { s, c := f(a[0]); return []float64{s, c} }, [][2]float64{{from, to}}}
}

var functions = []function{
	unary("Exp", Exp, -50, 50),
	unary("Expm1", Expm1, -3, 3),
	unary("Log", Log, 0, 100),
	unary("Log1p", Log1p, -0.99, 3),
	unary("Cbrt", Cbrt, -1000, 1000),
	unary("Sin", Sin, -20, 20),
	unary("Cos", Cos, -20, 20),
	unary("Tan", Tan, -20, 20),
	binaryPair("Sincos", Sincos, -20, 20),
	binaryPair("SincosDegrees", SincosDegrees, -720, 720),
	unary("Atan", Atan, -5, 5),
	unary("Asin", Asin, -1, 1),
	unary("Acos", Acos, -1, 1),
	unary("Erf", Erf, -4, 4),
	unary("Erfc", Erfc, -4, 28),
	unary("NormalCDF", NormalCDF, -38, 9),
	unary("NormalQuantile", NormalQuantile, 0, 1),
	binary("Pow", Pow, [2]float64{0, 20}, [2]float64{-10, 10}),
	binary("Hypot", Hypot, [2]float64{-10, 10}, [2]float64{-10, 10}),
	binary("Atan2", Atan2, [2]float64{-10, 10}, [2]float64{-10, 10}),
	binary("StudentTail", StudentTail, [2]float64{0, 10}, [2]float64{0.5, 60}),
	binary("StudentQuantile", StudentQuantile, [2]float64{0.5, 0.9999}, [2]float64{0.5, 60}),
}

var edges = []float64{
	0, math.Copysign(0, -1), 1, -1, 0.5, -0.5, 2, 3, 30, 45, 60, 90, 180, 270, 360, math.Pi, -math.Pi / 2, math.Inf(1), math.Inf(-1), math.NaN(),
	math.SmallestNonzeroFloat64, 0x1p-1022, -0x1p-1022, math.MaxFloat64, 0x1p-54, 0x1p-28, 1 - 0x1p-53, 1 + 0x1p-52, 1e6, -1e6, 1e7,
	0.84375, 1.25, 20.0 / 7, 6, 7.0 / 16, 0.975, 709.78, -745.13, 1e-300, 1e300, 0.95, 0.9545, 1e-17,
}

func TestVectors(t *testing.T) {
	if *update {
		writeVectors(t)
		return
	}
	var vectors []vector
	if err := json.Unmarshal(vectorFile, &vectors); err != nil {
		t.Fatal(err)
	}
	known := map[string]function{}
	for _, f := range functions {
		known[f.name] = f
	}
	seen := map[string]int{}
	for _, v := range vectors {
		f, ok := known[v.Function]
		if !ok {
			t.Fatalf("vector for an unknown function %q", v.Function)
		}
		seen[v.Function]++
		in := make([]float64, len(v.In))
		for i, s := range v.In {
			in[i] = fromBits(t, s)
		}
		for i, r := range f.call(in) {
			if got := toBits(r); got != v.Out[i] {
				t.Errorf("%s%v (bits %v) = %v, bits %s; the vector has %v, bits %s", v.Function, in, v.In, r, got, fromBits(t, v.Out[i]), v.Out[i])
			}
		}
	}
	if len(vectors) < 2000 {
		t.Errorf("%d vectors, want at least 2000", len(vectors))
	}
	for _, f := range functions {
		if seen[f.name] < 80 {
			t.Errorf("%s has %d vectors, want at least 80", f.name, seen[f.name])
		}
	}
}

func toBits(x float64) string {
	if math.IsNaN(x) {
		x = math.NaN() // the payload of a NaN is the processor's business
	}
	return fmt.Sprintf("%016x", math.Float64bits(x))
}

func fromBits(t *testing.T, s string) float64 {
	b, err := strconv.ParseUint(s, 16, 64)
	if err != nil {
		t.Fatalf("bits %q: %v", s, err)
	}
	return math.Float64frombits(b)
}

func writeVectors(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 4))
	var out bytes.Buffer
	out.WriteString("[\n")
	first := true
	write := func(f function, in []float64) {
		v := vector{Function: f.name}
		for _, x := range in {
			v.In = append(v.In, toBits(x))
		}
		for _, x := range f.call(in) {
			v.Out = append(v.Out, toBits(x))
		}
		line, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if !first {
			out.WriteString(",\n")
		}
		first = false
		out.Write(line)
	}
	for _, f := range functions {
		for _, e := range edges {
			in := []float64{e}
			if f.arguments == 2 {
				in = []float64{e, edges[r.IntN(len(edges))]}
			}
			write(f, in)
		}
		for range 60 + 60*(f.arguments-1) {
			in := make([]float64, f.arguments)
			for i, span := range f.ranges {
				in[i] = span[0] + r.Float64()*(span[1]-span[0])
			}
			write(f, in)
		}
		for range 20 { // any magnitude
			in := make([]float64, f.arguments)
			for i := range in {
				in[i] = math.Ldexp(r.Float64()*2-1, r.IntN(60)-40)
			}
			write(f, in)
		}
	}
	out.WriteString("\n]\n")
	if err := os.WriteFile("testdata/vectors.json", out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
