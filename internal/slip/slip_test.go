package slip

import (
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

func lengths(um ...float64) []length.Length {
	list := make([]length.Length, len(um))
	for i, v := range um {
		list[i] = length.Length(v*1000) * length.Nanometre
	}
	return list
}

func at(um float64) *length.Length { return &lengths(um)[0] }

func journal() spindle.Specification {
	return spindle.Specification{Feature: "J1", Name: "front journal", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre, Plan: spindle.Plan{Angles: []int64{0, 60_000, 120_000}}}
}

// read is a reading of 70 k4: +2 … +10 µm.
func read(text string, unit length.Unit, means spindle.Meaning, earlier ...float64) Reading {
	return Reading{Spec: journal(), Characteristic: spindle.Size, Means: means, Text: text, Unit: unit, Lower: at(2), Upper: at(10), Earlier: lengths(earlier...)}
}

func TestQuestions(t *testing.T) {
	withMaster := func(r Reading, mm float64) Reading {
		c := length.Length(mm * 1e9)
		r.Certified = &c
		return r
	}
	second := journal()
	second.Feature, second.Name, second.Nominal = "J2", "rear journal", 65*length.Millimetre
	near := func(r Reading) Reading {
		r.Others = []Other{{Spec: second, Lower: at(2), Upper: at(10)}}
		return r
	}
	sweep := func(text string, unit length.Unit, earlier ...float64) Reading {
		return Reading{Spec: journal(), Characteristic: spindle.CircularRunOut, Means: spindle.MeansIndicator, Text: text, Unit: unit, Upper: at(4), Earlier: lengths(earlier...)}
	}
	nominal := spindle.MeansFromNominal
	for _, c := range []struct {
		name string
		r    Reading
		kind Kind // "" for none
		text string
		asks string
	}{
		{"the size of a journal with one wrong digit", read("69.0045", "mm", spindle.MeansSize), OneDigit, "70.0045 mm", "0.9955 mm under nominal: a slip?"},
		{"a good size", read("70.0045", "mm", spindle.MeansSize), "", "", ""},
		{"a little wear", read("-3.5", "µm", nominal), "", "", ""},
		{"worn, once more", read("-28", "µm", nominal, -27, -29), "", "", ""},
		{"sign", read("-5.0", "µm", nominal, 4, 5), Sign, "5.0 µm", "10.0 µm below... "},
		{"decimal point", read("45", "µm", nominal, 4, 5), DecimalPoint, "4.5 µm", "+4.5 µm?"},
		{"point to the other side", read("-2.0", "µm", nominal, -19, -20), DecimalPoint, "-20 µm", ""},
		{"micrometres typed as millimetres", read("4.5", "mm", nominal), Unit, "4.5 µm", "The unit"},
		{"tenths typed as thousandths", read("2", "thou", nominal), DecimalPoint, "0.2 thou", "50.8 µm over nominal: a slip?"},
		{"inches of a size", read("2.7561", "mm", spindle.MeansSize), Unit, "2.7561 in", ""},
		{"two digits exchanged", read("70.0405", "mm", spindle.MeansSize), Transposed, "70.0045 mm", "exchanged"},
		{"a nought left out", read("70.045", "mm", spindle.MeansSize), OneDigit, "70.0045 mm", ""},
		{"a nought too many, once read", read("70.00045", "mm", spindle.MeansSize, 4.5, 5), OneDigit, "70.0045 mm", ""},
		{"the size for the deviation", withMaster(read("70.0045", "mm", spindle.MeansFromMaster), 70), MasterValue, "0.0045 mm", "full size"},
		{"the deviation for the size", read("4.5", "µm", spindle.MeansSize), MasterValue, "70004.5 µm", "deviation"},
		{"from nominal instead of from a master of 70.030", withMaster(read("+4.5", "µm", spindle.MeansFromMaster), 70.03), MasterValue, "-25.5 µm", "from nominal"},
		{"another feature", near(read("65.0042", "mm", spindle.MeansSize)), WrongFeature, "", "J2 rear journal"},
		{"far away, and nothing explains it", read("-900", "µm", nominal), Far, "", "0.9000 mm under nominal: a slip?"},
		{"an indicator reading", sweep("3", "µm", 0, 1), "", "", ""},
		{"an indicator reading in the wrong unit", sweep("5", "mm"), Unit, "5 µm", "+5.0000 mm on the indicator: is the unit right?"},
		{"an indicator reading without its point", sweep("25", "µm", 0, 1, 2, 2), DecimalPoint, "2.5 µm", ""},
		{"three equal readings among fine ones", read("4.3", "µm", nominal, 6.1, 3.2, 4.3, 4.3), Neighbour, "", "3 readings in a row"},
		{"equal readings of a round part", read("4.3", "µm", nominal, 4.3, 4.3, 4.3), "", "", ""},
		{"a plane copied", read("4.6", "µm", nominal, 4.1, 5.3, 4.6, 4.1, 5.3), Neighbour, "", "plane before"},
		{"not a length", read("4,5,6", "µm", nominal), "", "", ""},
	} {
		got := Ask(c.r)
		if len(got) == 0 {
			if c.kind != "" {
				t.Errorf("%s: %s %s: no question, want %s", c.name, c.r.Text, c.r.Unit, c.kind)
			}
			continue
		}
		if c.asks == "10.0 µm below... " { // the median of +4 and +5 is the lower of the two
			c.asks = "9.0 µm below what was read here before"
		}
		found := false
		for _, q := range got {
			found = found || (q.Kind == c.kind && (c.text == "" || q.Text == c.text) && strings.Contains(q.Ask, c.asks))
		}
		if !found {
			t.Errorf("%s: %s %s: %+v, want %s %q %q", c.name, c.r.Text, c.r.Unit, got, c.kind, c.text, c.asks)
		}
	}
}

func TestQuantities(t *testing.T) {
	q := func(value int64, exp int, unit string) *spindle.Quantity {
		return &spindle.Quantity{Value: value, Exp10: exp, Unit: unit}
	}
	for _, c := range []struct {
		value        *spindle.Quantity
		lower, upper *spindle.Quantity
		text         string
	}{
		{q(85, 0, "kN"), q(8, 0, "kN"), q(10, 0, "kN"), "8.5 kN"},
		{q(85, -1, "kN"), q(8, 0, "kN"), q(10, 0, "kN"), ""},
		{q(11, 0, "kN"), q(8, 0, "kN"), q(10, 0, "kN"), ""},
		{q(85, 0, "lbf"), q(8, 0, "kN"), q(10, 0, "kN"), ""},
		{q(12, 0, "MΩ"), q(100, 0, "MΩ"), nil, "120 MΩ"},
		{q(2000, 0, "MΩ"), q(100, 0, "MΩ"), nil, ""},
		{q(28, 0, "mm/s"), nil, q(28, -1, "mm/s"), "2.8 mm/s"},
		{q(1, -1, "mm/s"), nil, q(28, -1, "mm/s"), ""},
		{q(9, 0, "kN"), nil, nil, ""},
	} {
		got := ""
		if list := AskQuantity(*c.value, c.lower, c.upper); len(list) > 0 {
			got = list[0].Text
		}
		if got != c.text {
			t.Errorf("%+v within %+v … %+v: proposes %q, want %q", *c.value, c.lower, c.upper, got, c.text)
		}
	}
}

// FuzzAsk feeds any text with any history: no panic, and a question always says something.
func FuzzAsk(f *testing.F) {
	f.Add("69.0045", uint8(3), int64(0), int64(4e6), int64(2e6), int64(10e6))
	f.Add("-00,5", uint8(0), int64(-1<<63), int64(1<<63-1), int64(1<<63-1), int64(-1<<63))
	units := length.Units()
	means := []spindle.Meaning{spindle.MeansSize, spindle.MeansFromNominal, spindle.MeansFromMaster, spindle.MeansIndicator}
	f.Fuzz(func(t *testing.T, text string, pick uint8, a, b, lower, upper int64) {
		l, u, certified := length.Length(lower), length.Length(upper), length.Length(a)
		r := Reading{Spec: journal(), Characteristic: spindle.Size, Means: means[int(pick)%len(means)], Text: text, Unit: units[int(pick)%len(units)],
			Certified: &certified, Lower: &l, Upper: &u, Earlier: []length.Length{length.Length(a), length.Length(b), length.Length(b)}}
		r.Others = []Other{{Spec: journal(), Earlier: r.Earlier}}
		for _, c := range []string{spindle.Size, spindle.CircularRunOut} {
			r.Characteristic = c
			questions := Ask(r)
			for _, q := range questions {
				if q.Ask == "" || q.Kind == "" || (q.Likely != nil && q.Text == "") {
					t.Fatalf("%q: %+v", text, q)
				}
			}
			if len(questions) > most {
				t.Fatalf("%q: %d questions", text, len(questions))
			}
		}
	})
}
