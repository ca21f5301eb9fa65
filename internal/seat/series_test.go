package seat_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/portablemath"
	"runtrue/internal/seat"
)

// Cases printed with their result. W5 and W6 are the fit of a seat k5 with a ring of a precision tapered bearing; W1 the play left after a
// fit; W2 and W3 the correction of a lever indicator, whose printed factors are the cosine to two places.
func TestWorkedExamples(t *testing.T) {
	number := func(text string) float64 { // the first word that is a number
		for _, word := range strings.Fields(text) {
			if v, err := strconv.ParseFloat(word, 64); err == nil {
				return v
			}
		}
		t.Fatalf("no number in %q", text)
		return 0
	}
	rows := readRows(t, "worked_examples.csv")
	for _, row := range rows {
		switch row["id"] {
		case "W5", "W6":
			size, ring := 65*mm, -12*um
			if row["id"] == "W6" {
				size, ring = 40*mm, -10*um
			}
			p := one(t, seat.Request{Part: seat.Shaft, Nominal: size, Class: seat.ClassC, Type: seat.TaperedRoller, Maker: "Timken"}, "size")
			fit := seat.FitRange(seat.Shaft, p.Upper, p.Lower, 0, ring)
			words := strings.Fields(row["printed"]) // such as 0.003 T to 0.027 T, in mm
			if fit.Min != read(t, words[0], length.Millimetres) || fit.Max != read(t, words[3], length.Millimetres) || fit.Is != "interference" || p.Fit != nil {
				t.Errorf("%s at %s: k5 %s / %s gives %s to %s; printed %s", row["id"], size, p.Upper, p.Lower, fit.Min, fit.Max, row["printed"])
			}
		case "W1":
			inputs := strings.FieldsFunc(row["inputs"], func(r rune) bool { return r == ',' })
			play, interference, lost := number(inputs[0]), number(inputs[1]), number(inputs[2])/100
			if left := play - float64(lost*interference); math.Abs(left-number(row["printed"])) > 1e-12 {
				t.Errorf("W1: %v in of play and %v in of interference leave %v in; printed %s", play, interference, left, row["printed"])
			}
		case "W2", "W3":
			words := strings.Fields(row["inputs"]) // such as 0.200 mm read at 10 deg
			reading, angle := number(words[0]), number(words[4])
			_, cosine := portablemath.SincosDegrees(angle)
			if corrected := reading * cosine; math.Abs(corrected-number(row["printed"])) > 0.001 {
				t.Errorf("%s: %v mm read at %v° is %v mm; printed %s", row["id"], reading, angle, corrected, row["printed"])
			}
		default:
			t.Errorf("example %q is not known to this test", row["id"])
		}
	}
	if len(rows) != 5 {
		t.Errorf("%d examples were checked; the file holds 5", len(rows))
	}
}

// Preload rises with its class in every bearing, S < L < M < H. Source: JTEKT's tables, see sources.csv. A check of the typing.
func TestPreloadRisesWithItsClass(t *testing.T) {
	order := map[string]int{"S": 0, "L": 1, "M": 2, "H": 3}
	preload := map[string]map[int]float64{}
	for i, row := range readRows(t, "preload_published.csv") {
		class, known := order[row["preload_class"]]
		value, err := strconv.ParseFloat(row["preload_n"], 64)
		if !known || err != nil || value <= 0 {
			t.Errorf("row %d: class %q, preload %q N", i+1, row["preload_class"], row["preload_n"])
		}
		if preload[row["bearing"]] == nil {
			preload[row["bearing"]] = map[int]float64{}
		}
		if before, twice := preload[row["bearing"]][class]; twice && before != value {
			t.Errorf("row %d: %s class %s is %v N and %v N", i+1, row["bearing"], row["preload_class"], before, value)
		}
		preload[row["bearing"]][class] = value
	}
	pairs := 0
	for bearing, values := range preload {
		for low := range 4 {
			for high := low + 1; high < 4; high++ {
				a, foundA := values[low]
				b, foundB := values[high]
				if foundA && foundB {
					pairs++
					if a >= b {
						t.Errorf("%s: %v N in a class below %v N", bearing, a, b)
					}
				}
			}
		}
	}
	if pairs < 100 {
		t.Errorf("only %d pairs were compared", pairs)
	}
}

// Gauge blocks: grade 2 has twice the limits of grade 1 above 10 mm, grade 1 twice those of grade 0 above 25 mm. Source: DIN 861 as two
// publishers print it, see sources.csv. A check of the typing.
func TestGaugeBlockGradesDouble(t *testing.T) {
	limit := map[string]map[length.Length]length.Length{}
	for _, row := range readRows(t, "gauge_blocks.csv") {
		if row["characteristic"] != "length limit +-" {
			continue
		}
		if limit[row["instrument"]] == nil {
			limit[row["instrument"]] = map[length.Length]length.Length{}
		}
		limit[row["instrument"]][read(t, row["upto_mm"], length.Millimetres)] = read(t, row["value"], length.Micrometres)
	}
	compared := 0
	for _, c := range []struct {
		fine, coarse string
		above        length.Length
	}{{"gauge block grade 1", "gauge block grade 2", 10 * mm}, {"gauge block grade 0", "gauge block grade 1", 25 * mm}} {
		for upto, fine := range limit[c.fine] {
			if coarse, found := limit[c.coarse][upto]; found && upto > c.above {
				compared++
				if coarse != 2*fine {
					t.Errorf("%s to %s: %s; %s: %s", c.coarse, upto, coarse, c.fine, fine)
				}
			}
		}
	}
	if compared < 10 {
		t.Errorf("only %d pairs were compared", compared)
	}
}

// AT tolerances lie on the R10 series: two steps up for each grade, one step down for each range of length; over the length they are the
// angle times it. From memory of the standard; a check of the typing.
func TestConeAngleTolerancesFollowTheSeries(t *testing.T) {
	series := []float64{1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8}
	place := func(urad float64) int {
		for decade := range 4 {
			for i, v := range series {
				if math.Abs(urad/(v*[]float64{1, 10, 100, 1000}[decade])-1) < 0.001 {
					return 10*decade + i
				}
			}
		}
		t.Fatalf("%v µrad is not in the series", urad)
		return 0
	}
	at := map[[2]int]int{} // by grade and the order of the range of length
	var ranges []string
	parse := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for i, row := range readRows(t, "cone_at.csv") {
		if len(ranges) == 0 || ranges[len(ranges)-1] != row["over_mm"] {
			ranges = append(ranges, row["over_mm"])
		}
		angle := parse(row["at_alpha_urad"])
		at[[2]int{int(row["grade"][2] - '0'), len(ranges)}] = place(angle)
		if seconds := parse(row["at_alpha_arcsec"]); math.Abs(seconds-angle*0.2062648) > 0.06 {
			t.Errorf("row %d: %v µrad and %v seconds of arc", i+1, angle, seconds)
		}
		for column, over := range map[string]string{"at_d_um_from": "over_mm", "at_d_um_to": "upto_mm"} {
			if d, want := parse(row[column]), angle*parse(row[over])/1000; math.Abs(d/want-1) > 0.02 {
				t.Errorf("row %d: %v µrad over %s mm make %v µm; printed %v", i+1, angle, row[over], want, d)
			}
		}
	}
	compared := 0
	for k, v := range at {
		if finer, found := at[[2]int{k[0] - 1, k[1]}]; found {
			compared++
			if v != finer+2 {
				t.Errorf("AT%d in range %d lies %d steps above AT%d; want 2", k[0], k[1], v-finer, k[0]-1)
			}
		}
		if shorter, found := at[[2]int{k[0], k[1] - 1}]; found {
			compared++
			if v != shorter-1 {
				t.Errorf("AT%d in range %d lies %d steps above the shorter range; want -1", k[0], k[1], v-shorter)
			}
		}
	}
	if compared < 80 {
		t.Errorf("only %d steps were compared", compared)
	}
}
