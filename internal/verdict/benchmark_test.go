package verdict

import (
	"fmt"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// The benchmarks run natively and as the browser runs them:
//
//	go test -run '^$' -bench . ./internal/verdict
//	GOOS=js GOARCH=wasm go test -run '^$' -bench . -exec "$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./internal/verdict

// twelve is a journal with 12 stations, size, its variation, taper, run-out and roundness, everything read.
func twelve() Input {
	spec := journal()
	spec.Plan.Planes = append(spec.Plan.Planes, spindle.Plane{Name: "3", Z: 100 * length.Millimetre})
	spec.Plan.Angles, spec.Plan.SweepAngles = around(4), around(8)
	spec.Characteristics = append(spec.Characteristics, greatest(spindle.SizeVariation, 4), greatest(spindle.TaperChar, 3), greatest(spindle.CircularRunOut, 5), greatest(spindle.Roundness, 3))
	list := sized(spec, "s", 4, 5, 4.5, 5, 6, 5.08, 5, 5, 4.5, 6, 5.5, 5)
	for _, p := range spec.Plan.Planes {
		list = append(list, round("i", spec, spindle.CircularRunOut, p.Name, around(8), 0, 1, 2, 2, 1, 0, -1, -1)...)
	}
	return input(spec, list, comparator("s", 0.5), indicator("i", 0.5))
}

func BenchmarkTwelveStations(b *testing.B) {
	in := twelve()
	if f := Assess(in); f.Outcome != Conforms {
		b.Fatalf("%s: %+v", f.Outcome, f)
	}
	b.ReportAllocs()
	for b.Loop() {
		Assess(in)
	}
}

func BenchmarkSpindleOf200Features(b *testing.B) {
	var specs []spindle.Specification
	var inputs []Input
	for i := range 200 {
		in := twelve()
		in.Spec.Feature = fmt.Sprint("J", i)
		inputs, specs = append(inputs, in), append(specs, in.Spec)
	}
	b.ReportAllocs()
	for b.Loop() {
		var features []Feature
		for _, in := range inputs {
			features = append(features, Assess(in))
		}
		if p := Propose(spindle.Component{Name: "shaft", Type: spindle.Shaft}, features, specs, nil); p.Action != Reuse {
			b.Fatal(p.Reason)
		}
	}
}
