package explain

import (
	"testing"

	"runtrue/internal/spindle"
)

func BenchmarkExplain(b *testing.B) {
	in := hot()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Of(in, spindle.Size); err != nil {
			b.Fatal(err)
		}
	}
}
