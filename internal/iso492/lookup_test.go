package iso492_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/iso492"
	"runtrue/internal/length"
)

func TestParseClass(t *testing.T) {
	for _, c := range []struct {
		text string
		want iso492.Class
	}{
		{"Normal", iso492.Normal}, {"normal", iso492.Normal}, {"P0", iso492.Normal}, {"class 0", iso492.Normal}, {"ABEC 1", iso492.Normal}, {"RBEC 1", iso492.Normal},
		{"6", iso492.Class6}, {"ABEC3", iso492.Class6}, {"P6", iso492.Class6}, {"5", iso492.Class5}, {"abec 5", iso492.Class5}, {"RBEC 5", iso492.Class5},
		{"4", iso492.Class4}, {"P4", iso492.Class4}, {"p4", iso492.Class4}, {"class 4", iso492.Class4}, {"ABEC 7", iso492.Class4}, {"2", iso492.Class2}, {"ABEC 9", iso492.Class2},
	} {
		if got, err := iso492.ParseClass(c.text); err != nil || got != c.want {
			t.Errorf("ParseClass(%q) = %q, %v; want %q", c.text, got, err, c.want)
		}
	}
	for i, class := range iso492.Classes() {
		want := fmt.Sprintf("ABEC %d", 2*i+1)
		if got := class.ABEC(); got != want {
			t.Errorf("class %s is %q in the trade; want %q", class, got, want)
		}
		for _, name := range []string{string(class), class.ABEC()} {
			if got, err := iso492.ParseClass(name); err != nil || got != class {
				t.Errorf("ParseClass(%q) = %q, %v; want %q", name, got, err, class)
			}
		}
	}
	if got := iso492.Class("8").ABEC(); got != "" {
		t.Errorf("class 8 is %q in the trade; there is none", got)
	}
}

func TestLookupSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		ring, size, class string
		want              error
		says              string // part of the message
	}{
		{"", "70", "4", iso492.ErrMalformed, "write inner"},
		{"Inner", "70", "4", iso492.ErrMalformed, "write inner"},
		{"cone", "70", "4", iso492.ErrMalformed, `"cone" ring`},
		{"inner", "70", "", iso492.ErrMalformed, "class is missing"},
		{"inner", "70", "4/2", iso492.ErrMalformed, "letters and digits only"},
		{"inner", "70", "P-4", iso492.ErrMalformed, "letters and digits only"},
		{"inner", "70", "κ4", iso492.ErrMalformed, "letters and digits only"},
		{"inner", "70", "3", iso492.ErrNotDefined, "the classes are Normal, 6, 5, 4 and 2"},
		{"inner", "70", "ABEC 11", iso492.ErrNotDefined, "ABEC 1, 3, 5, 7 and 9"},
		{"inner", "70", "RBEC 7", iso492.ErrNotDefined, "the classes are"},
		{"inner", "70", "6X", iso492.ErrNotDefined, "tapered roller"},
		{"inner", "70", "ABEC 7P", iso492.ErrNotDefined, "instrument"},
		{"inner", "70", "P4S", iso492.ErrNotDefined, "makers' own"},
		{"inner", "0", "4", iso492.ErrOutOfRange, "this one is 0 mm"},
		{"inner", "-70", "4", iso492.ErrOutOfRange, "from 0.6 mm up to 400 mm"},
		{"inner", "0.599999999", "4", iso492.ErrOutOfRange, "from 0.6 mm up to 400 mm"},
		{"inner", "400.000000001", "Normal", iso492.ErrOutOfRange, "from 0.6 mm up to 400 mm"},
		{"outer", "2.4", "4", iso492.ErrOutOfRange, "from 2.5 mm up to 400 mm"},
		{"outer", "500", "4", iso492.ErrOutOfRange, "from 2.5 mm up to 400 mm"},
		{"inner", "250.001", "4", iso492.ErrNotDefined, "class 4 inner rings are given from 0.6 mm up to 250 mm"},
		{"inner", "300", "2", iso492.ErrNotDefined, "class 2 inner rings are given from 0.6 mm up to 250 mm"},
	} {
		ring, err := iso492.ParseRing(c.ring)
		var class iso492.Class
		if err == nil {
			class, err = iso492.ParseClass(c.class)
		}
		var values []iso492.Value
		if err == nil {
			values, err = iso492.Lookup(ring, read(t, c.size, length.Millimetres), class)
		}
		if !errors.Is(err, c.want) || values != nil {
			t.Errorf("%s %s mm %s: %d values, %v; want %v", c.ring, c.size, c.class, len(values), err, c.want)
			continue
		}
		var facts *iso492.QuestionError
		if !strings.Contains(err.Error(), c.says) || !errors.As(err, &facts) || facts.Reason == "" {
			t.Errorf("%s %s mm %s: message %q does not say %q", c.ring, c.size, c.class, err, c.says)
		}
	}
	// A ring or class that was not parsed is checked all the same.
	for _, c := range []struct {
		ring  iso492.Ring
		class iso492.Class
	}{{"", iso492.Class4}, {"INNER", iso492.Class4}, {iso492.Inner, ""}, {iso492.Inner, "P4"}} {
		if _, err := iso492.Lookup(c.ring, 70*mm, c.class); !errors.Is(err, iso492.ErrMalformed) {
			t.Errorf("Lookup(%q, 70 mm, %q): %v; want ErrMalformed", c.ring, c.class, err)
		}
		if _, err := iso492.MeanDiameter(c.ring, 70*mm, c.class); !errors.Is(err, iso492.ErrMalformed) {
			t.Errorf("MeanDiameter(%q, 70 mm, %q): %v; want ErrMalformed", c.ring, c.class, err)
		}
	}
}

// The first step begins with its lower bound, the others just above it.
func TestStepsBeginWhereTheyShould(t *testing.T) {
	for _, c := range []struct {
		ring  iso492.Ring
		size  length.Length
		class iso492.Class
		lower length.Length // of the mean diameter, pm
	}{
		{iso492.Inner, 600 * um, iso492.Normal, -8 * um},
		{iso492.Inner, 18 * mm, iso492.Normal, -8 * um},
		{iso492.Inner, 18*mm + 1, iso492.Normal, -10 * um},
		{iso492.Inner, 50 * mm, iso492.Class4, -6 * um},
		{iso492.Inner, 50*mm + 1, iso492.Class4, -7 * um},
		{iso492.Inner, 80 * mm, iso492.Class4, -7 * um},
		{iso492.Inner, 80*mm + 1, iso492.Class4, -8 * um},
		{iso492.Outer, 2500 * um, iso492.Class4, -4 * um},
		{iso492.Outer, 110 * mm, iso492.Class4, -8 * um},
		{iso492.Outer, 400 * mm, iso492.Class2, -10 * um},
	} {
		v, err := iso492.MeanDiameter(c.ring, c.size, c.class)
		if err != nil || v.Lower != c.lower || v.Upper != 0 {
			t.Errorf("%s ring %s class %s: %s / %s, %v; want 0 / %s", c.ring, c.size, c.class, v.Upper, v.Lower, err, c.lower)
		}
	}
}

func TestWeakest(t *testing.T) {
	for i, worst := range iso492.Statuses() {
		var values []iso492.Value
		for j := i; j >= 0; j-- {
			values = append(values, iso492.Value{Status: iso492.Statuses()[j]})
		}
		if got := iso492.Weakest(values); got != worst {
			t.Errorf("the weakest of the first %d statuses is %q; want %q", i+1, got, worst)
		}
	}
	if got := iso492.Weakest(nil); got != "" {
		t.Errorf("the weakest of nothing is %q", got)
	}
}

// What is returned belongs to the caller.
func TestLookupReturnsACopy(t *testing.T) {
	first, err := iso492.Lookup(iso492.Inner, 70*mm, iso492.Class4)
	if err != nil {
		t.Fatal(err)
	}
	kept := first[0].Sources[0]
	first[0].Sources[0], first[0].Lower = "changed", 0
	second, err := iso492.Lookup(iso492.Inner, 70*mm, iso492.Class4)
	if err != nil || second[0].Sources[0] != kept || second[0].Lower != -7*um {
		t.Errorf("a change to one answer shows in the next: %q, %s, %v", second[0].Sources[0], second[0].Lower, err)
	}
}

func FuzzLookup(f *testing.F) {
	for _, s := range []string{"4", "Normal", "ABEC 7", "P4S", "class", "", "6\xff", "RBEC 7"} {
		f.Add("inner", int64(70*mm), s)
	}
	f.Add("outer", int64(-1), "2")
	f.Add("cage", int64(400*mm)+1, "2")
	f.Fuzz(func(t *testing.T, ringText string, size int64, classText string) {
		ring, ringErr := iso492.ParseRing(ringText)
		class, classErr := iso492.ParseClass(classText)
		if classErr == nil && class.ABEC() == "" {
			t.Fatalf("ParseClass(%q) = %q, which has no name in the trade", classText, class)
		}
		values, err := iso492.Lookup(ring, length.Length(size), class)
		if err == nil {
			if ringErr != nil || classErr != nil || len(values) == 0 {
				t.Fatalf("%q %d pm %q: %d values, though parsing says %v, %v", ringText, size, classText, len(values), ringErr, classErr)
			}
			for _, v := range values {
				if iso492.Meaning(v.Symbol) == "" || v.Deviation != (v.Lower < 0) || v.Deviation == (v.Max > 0) {
					t.Fatalf("%q %d pm %q: %+v", ringText, size, classText, v)
				}
			}
			return
		}
		for _, each := range []error{err, ringErr, classErr} {
			kinds := 0
			for _, kind := range []error{iso492.ErrMalformed, iso492.ErrOutOfRange, iso492.ErrNotDefined} {
				if errors.Is(each, kind) {
					kinds++
				}
			}
			if each != nil && kinds != 1 {
				t.Fatalf("%q %d pm %q: %v is %d of the kinds of error; want exactly one", ringText, size, classText, each, kinds)
			}
		}
	})
}

func ExampleLookup() {
	values, err := iso492.Lookup(iso492.Inner, 70*length.Millimetre, iso492.Class4)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range values {
		if v.Symbol == "Delta_dmp" {
			fmt.Println(v.Symbol, v.Upper, v.Lower, v.Confirmed())
		}
		if v.Symbol == "VBs" {
			fmt.Println(v.Symbol, v.Max, v.Confirmed())
		}
	}
	// Output:
	// Delta_dmp 0 µm −7 µm 5 independent publishers print it alike
	// VBs 4 µm from memory of the standard; no print read has it
}

func ExampleLookup_notDefined() {
	_, err := iso492.Lookup(iso492.Inner, 300*length.Millimetre, iso492.Class4)
	fmt.Println(err)
	// Output:
	// inner ring, 300 mm, class 4: no value in the tables of ISO 492: class 4 inner rings are given from 0.6 mm up to 250 mm
}

func BenchmarkLookup(b *testing.B) {
	for b.Loop() {
		if _, err := iso492.Lookup(iso492.Inner, 70*length.Millimetre, iso492.Class4); err != nil {
			b.Fatal(err)
		}
	}
}
