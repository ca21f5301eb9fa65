package seat_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
	"runtrue/internal/seat"
)

// The printed values themselves follow ISO 286 grades at every printed step from 10 to 500 mm: the reason why tables hold grades. Sources:
// FAG pp. 165 and 166, NTN-SNR pp. 59 and 60, see sources.csv of the check values.
func TestPrintedValuesFollowGrades(t *testing.T) {
	type key struct{ source, part, characteristic string }
	grades := map[key]iso286.Grade{
		{"F1", "shaft seat", "cylindricity"}: 0, {"F1", "shaft seat", "flatness of abutment"}: 0, {"F1", "shaft shoulder", "axial run-out"}: 1, {"F1", "shaft seat", "coaxiality"}: 3,
		{"F1", "housing seat", "cylindricity"}: 1, {"F1", "housing seat", "flatness of abutment"}: 1, {"F1", "housing shoulder", "axial run-out"}: 2, {"F1", "housing seat", "coaxiality"}: 3,
		{"F2", "inner spacer sleeve", "cylindricity"}: 3, {"F2", "inner spacer sleeve", "radial run-out"}: 3, {"F2", "inner spacer sleeve", "axial run-out of faces"}: 1, {"F2", "inner spacer sleeve", "parallelism of faces"}: 1,
		{"F2", "outer spacer sleeve", "cylindricity"}: 3, {"F2", "outer spacer sleeve", "axial run-out of faces"}: 2, {"F2", "outer spacer sleeve", "parallelism of faces"}: 1,
		{"N6", "shaft shoulder", "axial run-out to both seats (T2) 4"}: 2, {"N6", "shaft shoulder", "axial run-out to both seats (T2) 2"}: 1,
		{"N6", "housing shoulder", "axial run-out (T5) 4"}: 2, {"N6", "housing shoulder", "axial run-out (T5) 2"}: 1,
		{"N7", "clamping nut", "axial run-out of clamping face, bearing class 4"}: 4, {"N7", "clamping nut", "axial run-out of clamping face, bearing class 2"}: 3,
	}
	visited := map[key]int{}
	deviations := 0
	for _, row := range append(readRows(t, "seat_values.csv"), readRows(t, "spacer_values.csv")...) {
		upto := read(t, row["upto_mm"], length.Millimetres)
		if upto > 500*mm {
			continue
		}
		k := key{row["source"], row["part"], row["characteristic"]}
		if row["source"] == "N6" {
			k.characteristic += " " + row["bearing"][len(row["bearing"])-1:]
		}
		if grade, known := grades[k]; known {
			visited[k]++
			if it, err := iso286.StandardTolerance(upto, grade); err != nil || read(t, row["value"], length.Micrometres) != it {
				t.Errorf("%v at %s: printed %s µm; %s is %s, %v", k, upto, row["value"], grade, it, err)
			}
		}
		class := map[key]string{{"F1", "shaft seat", "size deviation"}: "js4", {"F2", "inner spacer sleeve", "bore deviation"}: "H6", {"F2", "outer spacer sleeve", "outside diameter deviation"}: "g6"}[k]
		if class == "" {
			continue
		}
		deviations++
		if l, err := iso286.Lookup(upto, class); err != nil || l.Upper != read(t, row["upper_um"], length.Micrometres) || l.Lower != read(t, row["lower_um"], length.Micrometres) {
			t.Errorf("%v at %s: printed %s / %s µm; %s is %s / %s, %v", k, upto, row["upper_um"], row["lower_um"], class, l.Upper, l.Lower, err)
		}
	}
	for k := range grades {
		if visited[k] < 5 {
			t.Errorf("%v: only %d printed values were compared", k, visited[k])
		}
	}
	if deviations < 20 {
		t.Errorf("only %d printed deviations were compared", deviations)
	}
}

// Rules of makers whose values in micrometres are not at hand: screw support bearings (FAG p. 170) and Timken's IT0 to IT3 (p. 90).
func TestProposalsByGradeAlone(t *testing.T) {
	for _, c := range []struct {
		maker, characteristic string
		part                  seat.Part
		kind                  seat.BearingType
		class                 seat.BearingClass
		grade                 iso286.Grade
		sizes                 []length.Length
	}{
		{"FAG", "cylindricity", seat.Shaft, seat.ScrewSupport, "4", 2, []length.Length{18 * mm, 50 * mm, 315 * mm}},
		{"FAG", "flatness of abutment", seat.Shaft, seat.ScrewSupport, "4", 1, []length.Length{18 * mm, 50 * mm, 315 * mm}},
		{"FAG", "axial run-out", seat.Shaft, seat.ScrewSupport, "4", 2, []length.Length{18 * mm, 50 * mm, 315 * mm}},
		{"FAG", "cylindricity", seat.Housing, seat.ScrewSupport, "4", 2, []length.Length{30 * mm, 80 * mm, 400 * mm}},
		{"FAG", "flatness of abutment", seat.Housing, seat.ScrewSupport, "4", 2, []length.Length{30 * mm, 80 * mm, 400 * mm}},
		{"FAG", "axial run-out", seat.Housing, seat.ScrewSupport, "4", 3, []length.Length{30 * mm, 80 * mm, 400 * mm}},
		{"Timken", "roundness", seat.Shaft, seat.AngularContact, "4", 2, []length.Length{18 * mm, 70 * mm, 400 * mm}},
		{"Timken", "roundness", seat.Shaft, seat.AngularContact, seat.Class4S, 1, []length.Length{18 * mm, 70 * mm, 400 * mm}},
		{"Timken", "roundness", seat.Shaft, seat.AngularContact, "2", 0, []length.Length{18 * mm, 70 * mm, 400 * mm}},
		{"Timken", "squareness to axis", seat.Shaft, seat.AngularContact, "2", 0, []length.Length{18 * mm, 70 * mm, 400 * mm}},
		{"Timken", "parallelism of opposite generators", seat.Shaft, seat.AngularContact, "4", 2, []length.Length{70 * mm}},
		{"Timken", "concentricity of the two journals", seat.Shaft, seat.AngularContact, "4", 3, []length.Length{18 * mm, 70 * mm, 400 * mm}},
		{"Timken", "concentricity of the two journals", seat.Shaft, seat.AngularContact, seat.Class4S, 2, []length.Length{70 * mm}},
		{"Timken", "concentricity of the two journals", seat.Shaft, seat.AngularContact, "2", 2, []length.Length{70 * mm}},
	} {
		for _, size := range c.sizes {
			p := one(t, seat.Request{Part: c.part, Nominal: size, Class: c.class, Type: c.kind, Maker: c.maker}, c.characteristic)
			if it, err := iso286.StandardTolerance(size, c.grade); err != nil || p.Max != it || !strings.Contains(p.Basis, c.grade.String()) {
				t.Errorf("%s of %s at %s class %s, %s: %s by %q; want %s = %s, %v", c.characteristic, c.part, size, c.class, c.maker, p.Max, p.Basis, c.grade, it, err)
			}
		}
	}
	for part, class := range map[seat.Part]string{seat.Shaft: "h5", seat.Housing: "J6"} {
		p := one(t, seat.Request{Part: part, Nominal: 70 * mm, Class: "4", Type: seat.ScrewSupport, Maker: "FAG"}, "size")
		if l, err := iso286.Lookup(70*mm, class); err != nil || p.ToleranceClass != class || p.Upper != l.Upper || p.Lower != l.Lower {
			t.Errorf("%s, screw support: %s %s / %s; want %s %s / %s, %v", part, p.ToleranceClass, p.Upper, p.Lower, class, l.Upper, l.Lower, err)
		}
	}
	// SKF's form and shoulders in every class. Sources: its product table and the super-precision table, see sources.csv.
	for _, c := range []struct {
		class                    seat.BearingClass
		demand                   seat.Demand
		form, shoulder           string
		formGrade, shoulderGrade iso286.Grade
	}{
		{"Normal", seat.NormalDemand, "cylindricity", "perpendicularity", 5, 5}, {"Normal", seat.HigherDemand, "total radial run-out", "total axial run-out", 4, 4},
		{"6", "", "cylindricity", "total axial run-out", 3, 3}, {"5", "", "total radial run-out", "perpendicularity", 2, 2},
		{"4", "", "total radial run-out", "total axial run-out", 2, 1}, {"2", "", "total radial run-out", "total axial run-out", 1, 0},
	} {
		for _, part := range []seat.Part{seat.Shaft, seat.Housing} {
			r := seat.Request{Part: part, Nominal: 60 * mm, Class: c.class, Demand: c.demand, Maker: "SKF"}
			form, err := iso286.StandardTolerance(r.Nominal, c.formGrade)
			shoulder, shoulderErr := iso286.StandardTolerance(r.Nominal, c.shoulderGrade)
			if got := one(t, r, c.form).Max; err != nil || got != form/2 {
				t.Errorf("SKF class %s %s: %s is %s; want half of %s, %v", c.class, c.demand, c.form, got, form, err)
			}
			if got := one(t, r, c.shoulder).Max; shoulderErr != nil || got != shoulder {
				t.Errorf("SKF class %s %s: %s is %s; want %s, %v", c.class, c.demand, c.shoulder, got, shoulder, shoulderErr)
			}
		}
	}
}

// Makers disagree on one and the same seat: a shaft of 60 mm, a housing of 80 mm. Values as the makers' pages have them.
func TestMakersSideBySide(t *testing.T) {
	for _, c := range []struct {
		part           seat.Part
		class          seat.BearingClass
		maker, what    string
		condition      string
		upper, lower   length.Length
		greatest       length.Length
		toleranceClass string
	}{
		{seat.Shaft, "4", "SKF", "total radial run-out", "", 0, 0, 1500 * length.Nanometre, ""},
		{seat.Shaft, "4", "FAG", "cylindricity", "", 0, 0, 1200 * length.Nanometre, ""},
		{seat.Shaft, "4", "Timken", "roundness", "", 0, 0, 3 * um, ""},
		{seat.Shaft, "4", "NTN-SNR", "form of seat", "", 0, 0, 2500 * length.Nanometre, ""},
		{seat.Shaft, "4", "SKF", "total axial run-out", "", 0, 0, 2 * um, ""},
		{seat.Shaft, "4", "FAG", "axial run-out", "", 0, 0, 2 * um, ""},
		{seat.Shaft, "4", "Timken", "squareness to axis", "", 0, 0, 3 * um, ""},
		{seat.Shaft, "4", "NTN-SNR", "axial run-out to the seats", "", 0, 0, 3 * um, ""},
		{seat.Shaft, "4", "FAG", "coaxiality", "", 0, 0, 5 * um, ""},
		{seat.Shaft, "4", "Timken", "concentricity of the two journals", "", 0, 0, 5 * um, ""},
		{seat.Shaft, "4", "NTN-SNR", "coaxiality to the first seat", "", 0, 0, 1300 * length.Nanometre, ""}, // 0.013 µm/mm over 100 mm
		{seat.Shaft, "4", "SKF", "size", "", 2 * um, -3 * um, 0, ""},
		{seat.Shaft, "4", "FAG", "size", "", 4 * um, -4 * um, 0, "js4"},
		{seat.Shaft, "4", "NTN-SNR", "size", "light or normal load", 0, -8 * um, 0, "h4"},
		{seat.Shaft, "4", "NTN-SNR", "size", "heavy load", 4 * um, -4 * um, 0, "js4"},
		{seat.Shaft, "4", "NSK", "size", "", 0, -5 * um, 0, ""},
		{seat.Shaft, "4", "NSK", "interference", "", 3 * um, 0, 0, ""},
		{seat.Shaft, "2", "SKF", "total radial run-out", "", 0, 0, 1 * um, ""},
		{seat.Shaft, "2", "SKF", "total axial run-out", "", 0, 0, 1200 * length.Nanometre, ""},
		{seat.Shaft, "2", "Timken", "roundness", "", 0, 0, 1200 * length.Nanometre, ""},
		{seat.Shaft, "2", "NTN-SNR", "form of seat", "", 0, 0, 1500 * length.Nanometre, ""},
		{seat.Shaft, "2", "NTN-SNR", "axial run-out to the seats", "", 0, 0, 2 * um, ""},
		{seat.Housing, "4", "SKF", "size", "fixed end", 7 * um, -1 * um, 0, ""},
		{seat.Housing, "4", "FAG", "size", "fixed end", 5 * um, -3 * um, 0, ""},
		{seat.Housing, "4", "NTN-SNR", "size", "fixed end, light or normal load", 6500 * length.Nanometre, -6500 * length.Nanometre, 0, "JS5"},
		{seat.Housing, "4", "NTN-SNR", "size", "fixed end, heavy load", 3 * um, -10 * um, 0, "K5"},
		{seat.Housing, "4", "NTN-SNR", "size", "floating end", 13 * um, 0, 0, "H5"},
		{seat.InnerSpacer, "4", "FAG", "parallelism of faces", "", 0, 0, 2 * um, ""},
		{seat.InnerSpacer, "4", "NTN-SNR", "parallelism of faces", "", 0, 0, 2 * um, ""},
		{seat.InnerSpacer, "4", "LYHY", "parallelism of faces", "", 0, 0, 2 * um, ""},
		{seat.InnerSpacer, "2", "NTN-SNR", "parallelism of faces", "", 0, 0, 1 * um, ""},
		{seat.InnerSpacer, "4", "NTN-SNR", "difference in length of the pair", "", 0, 0, 3 * um, ""},
		{seat.InnerSpacer, "2", "NTN-SNR", "difference in length of the pair", "", 0, 0, 2 * um, ""},
		{seat.Nut, "4", "NTN-SNR", "axial run-out of clamping face", "", 0, 0, 8 * um, ""},
	} {
		size := 60 * mm
		if c.part == seat.Housing {
			size = 80 * mm
		}
		all, err := seat.Propose(seat.Request{Part: c.part, Nominal: size, Class: c.class, SeatDistance: seatDistance})
		if err != nil {
			t.Errorf("%s %s class %s: %v", c.part, size, c.class, err)
			continue
		}
		found := 0
		for _, p := range all {
			if p.Maker != c.maker || p.Characteristic != c.what || p.Condition != c.condition {
				continue
			}
			found++
			if p.Upper != c.upper || p.Lower != c.lower || p.Max != c.greatest || p.ToleranceClass != c.toleranceClass || p.Open != "" {
				t.Errorf("%s %s class %s, %s %s %s: %s %s / %s, greatest %s, open %q; want %s %s / %s, greatest %s", c.part, size, c.class, c.maker, c.what, c.condition,
					p.ToleranceClass, p.Upper, p.Lower, p.Max, p.Open, c.toleranceClass, c.upper, c.lower, c.greatest)
			}
		}
		if found != 1 {
			t.Errorf("%s %s class %s: %d proposals of %s by %s, %q", c.part, size, c.class, found, c.what, c.maker, c.condition)
		}
	}
}

// With one maker a finer bearing class never asks for a wider form, shoulder, face or pair, and a larger part never for a finer one.
func TestFinerIsNeverWiderAndLargerNeverFiner(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.SampledFrom(seat.Parts()).Draw(t, "part")
		maker := rapid.SampledFrom(seat.Makers()).Draw(t, "maker")
		size := length.Length(rapid.Int64Range(1, int64(500*mm)).Draw(t, "size, pm"))
		larger := length.Length(rapid.Int64Range(int64(size), int64(500*mm)).Draw(t, "larger size, pm"))
		classes := []seat.BearingClass{"Normal", "6", "5", "4", seat.Class4S, "2"}
		coarse := rapid.IntRange(0, len(classes)-1).Draw(t, "class, 0 is Normal")
		fine := rapid.IntRange(coarse, len(classes)-1).Draw(t, "finer class")
		ask := func(size length.Length, class seat.BearingClass) []seat.Proposal {
			all, err := seat.Propose(seat.Request{Part: part, Nominal: size, Class: class, Maker: maker, Demand: seat.NormalDemand, SeatDistance: seatDistance})
			if err != nil && !errors.Is(err, seat.ErrNotDefined) {
				t.Fatal(err)
			}
			return all
		}
		here := ask(size, classes[coarse])
		for _, other := range []struct {
			list  []seat.Proposal
			wider bool
		}{{ask(size, classes[fine]), false}, {ask(larger, classes[coarse]), true}} {
			for _, p := range here {
				for _, o := range other.list {
					if p.Characteristic == "" || p.Open != "" || o.Open != "" || p.Characteristic != o.Characteristic || p.Limits || o.Limits {
						continue
					}
					compared++
					if other.wider && o.Max < p.Max || !other.wider && o.Max > p.Max {
						t.Fatalf("%s, %s %s: %s at %s class %s; %s at %s or class %s", maker, part, p.Characteristic, p.Max, size, classes[coarse], o.Max, larger, classes[fine])
					}
				}
			}
		}
	})
	if compared < 50 {
		t.Errorf("only %d pairs were compared", compared)
	}
}
