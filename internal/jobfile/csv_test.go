package jobfile

import (
	"errors"
	"strings"
	"testing"

	"runtrue/internal/spindle"
)

func TestReadingsFromCSV(t *testing.T) {
	base, err := Read("small.json", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	const text = "\ufefffeature,angle_deg,repeat,size_mm,value_um,means,person\r\nJ1,120,,,+4.5,,\r\nJ1,120,1,70.0045,,,bo\r\nJ1,60,1,,\u22120.5,from nominal,\r\n"
	f, err := base.ReadCSV("r.csv", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(base.Readings) != 2 || len(f.Readings) != 5 {
		t.Fatalf("%d readings before, %d after; want 2 and 5", len(base.Readings), len(f.Readings))
	}
	for i, want := range []struct {
		um     int64
		means  spindle.Meaning
		person string
	}{{4_500_000, spindle.MeansFromMaster, "ana"}, {70_004_500_000, spindle.MeansSize, "bo"}, {-500_000, spindle.MeansFromNominal, "ana"}} {
		r := f.Readings[2+i]
		if int64(*r.Reading.Value) != want.um || r.Reading.Means != want.means || r.Person != want.person || r.Reading.Plane != "1" {
			t.Errorf("line %d: %+v of %d pm", i+2, r, int64(*r.Reading.Value))
		}
	}
}

func TestFaultsOfCSVAreNamedWithLineAndColumn(t *testing.T) {
	base, err := Read("small.json", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		text    string
		err     error
		message string
	}{
		{"", ErrSyntax, "r.csv:1:1: not readable as JSON or CSV: it is empty"},
		{"feature;value_um\nJ1;4\n", ErrSyntax, "r.csv:1:1: not readable as JSON or CSV: columns are separated by commas"},
		{"feature,value\nJ1,4\n", ErrNoUnit, "r.csv:2:4: value: no unit: write value_um for a length"},
		{"feature,angle,value_um\nJ1,0,4\n", ErrNoUnit, "r.csv:1:9: angle: no unit: the unit stands in the key: write angle_deg"},
		{"feature,colour,value_um\nJ1,red,4\n", ErrUnknownKey, "r.csv:1:9: colour: unknown key"},
		{"feature,value_um,value_um\nJ1,4,4\n", ErrDuplicate, "r.csv:1:18: value_um: given twice"},
		{"value_um\n4\n", ErrMissing, "r.csv:1: feature: missing: no column"},
		{"feature,angle_deg,value_um\nJ1,120,4\n,120,5\n", ErrMissing, "r.csv:3: feature: missing"},
		{"feature,angle_deg,value_um\nJ1,120,four\n", ErrType, `r.csv:2:8: value_um: wrong type: a number is expected, this cell is "four"`},
		{"feature,angle_deg,value_um\nJ1,120,\"4,5\"\n", ErrType, `r.csv:2:8: value_um: wrong type`},
		{"feature,angle_deg,value_um\nJ1,120,NaN\n", ErrNotFinite, "r.csv:2:8: value_um: not a finite number"},
		{"feature,angle_deg,value_um\nJ1,120,-inf\n", ErrNotFinite, "r.csv:2:8: value_um: not a finite number"},
		{"feature,angle_deg,value_um\nJ1,120,1e999\n", ErrOutOfRange, "r.csv:2:8: value_um: out of range"},
		{"feature,angle_deg,value_um\nJ1,120\n", ErrSyntax, "r.csv:2:1: not readable as JSON or CSV: the line has not as many cells"},
		{"feature,angle_deg,value_um\nJ1,120,\"4\n", ErrSyntax, "r.csv:2:"},
		{"feature,angle_deg,value_um\nJ9,120,4\n", ErrUnknown, `r.csv:2: not in this file: no feature is called "J9"`},
		{"setup,feature,angle_deg,value_um\nz,J1,120,4\n", ErrUnknown, `r.csv:2: not in this file: no set-up has the id "z"`},
		{"feature,angle_deg,value_um\nJ1,60,4\n", ErrDuplicate, "r.csv:2: given twice: J1 has a reading at this station with this set-up, person and repeat already, at the job file"},
		{"feature,angle_deg,value_um\nJ1,120,4\nJ1,120,4\n", ErrDuplicate, "r.csv:3: given twice: J1 has a reading at this station with this set-up, person and repeat already, at r.csv:2"},
	} {
		f, err := base.ReadCSV("r.csv", []byte(c.text))
		if f != nil || !errors.Is(err, c.err) || !strings.Contains("\n"+err.Error(), "\n"+c.message) {
			t.Errorf("%q:\n  got  %v\n  want %s", c.text, err, c.message)
		}
	}
}
