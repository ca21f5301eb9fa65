package slip

import (
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// BenchmarkAsk asks about a reading that every kind of slip is tried on.
func BenchmarkAsk(b *testing.B) {
	r := read("69.0045", length.Millimetres, spindle.MeansSize, 4, 5, 4.5, 5)
	b.ReportAllocs()
	for b.Loop() {
		if len(Ask(r)) == 0 {
			b.Fatal("no question")
		}
	}
}
