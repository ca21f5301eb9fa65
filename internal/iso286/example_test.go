package iso286_test

import (
	"fmt"
	"testing"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

func ExampleLookup() {
	l, err := iso286.Lookup(70*length.Millimetre, "k4")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(length.FormatSigned(l.Upper, length.Micrometres, 1), length.FormatSigned(l.Lower, length.Micrometres, 1))
	fmt.Println(l.LowerSize(), "to", l.UpperSize())
	fmt.Println(l.Status)
	// Output:
	// +10.0 µm +2.0 µm
	// 70.002 mm to 70.01 mm
	// confirmed
}

func ExampleLookup_notDefined() {
	_, err := iso286.Lookup(20*length.Millimetre, "t6")
	fmt.Println(err)
	// Output:
	// t6 at 20 mm: not defined by ISO 286: t is given above 24 mm up to 3150 mm only
}

func BenchmarkLookup(b *testing.B) {
	for b.Loop() {
		if _, err := iso286.Lookup(70*length.Millimetre, "k4"); err != nil {
			b.Fatal(err)
		}
	}
}
