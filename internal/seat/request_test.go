package seat_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/iso492"
	"runtrue/internal/length"
	"runtrue/internal/seat"
)

func TestParseBearingClass(t *testing.T) {
	for _, c := range []struct {
		text string
		want seat.BearingClass
		err  error
	}{
		{"4", "4", nil}, {"ABEC 7", "4", nil}, {"Normal", "Normal", nil}, {"P4S", seat.Class4S, nil}, {"p4s", seat.Class4S, nil}, {"4S", seat.Class4S, nil}, {"C", seat.ClassC, nil},
		{"P4A", "4", nil}, {"sp", "4", nil}, {"PA9A", "2", nil}, {"UP", "2", nil},
		{"", "", iso492.ErrMalformed}, {"4/2", "", iso492.ErrMalformed}, {"3", "", iso492.ErrNotDefined}, {"6X", "", iso492.ErrNotDefined},
	} {
		got, err := seat.ParseBearingClass(c.text)
		if got != c.want || !errors.Is(err, c.err) || c.err == nil && err != nil {
			t.Errorf("ParseBearingClass(%q) = %q, %v; want %q, %v", c.text, got, err, c.want, c.err)
		}
	}
}

func TestProposeSaysWhatIsWrong(t *testing.T) {
	good := seat.Request{Part: seat.Shaft, Nominal: 70 * mm, Class: "4"}
	for _, c := range []struct {
		change func(*seat.Request)
		want   error
		says   string
	}{
		{func(r *seat.Request) { r.Part = "" }, seat.ErrMalformed, "one of shaft, housing"},
		{func(r *seat.Request) { r.Part = "Shaft" }, seat.ErrMalformed, `part "Shaft"`},
		{func(r *seat.Request) { r.Class = "" }, seat.ErrMalformed, "bearing class"},
		{func(r *seat.Request) { r.Class = "P4" }, seat.ErrMalformed, "read by ParseBearingClass"},
		{func(r *seat.Request) { r.Type = "ball" }, seat.ErrMalformed, "angular-contact ball"},
		{func(r *seat.Request) { r.Rotating = "both" }, seat.ErrMalformed, "inner, outer"},
		{func(r *seat.Request) { r.Position = "front" }, seat.ErrMalformed, "fixed, floating"},
		{func(r *seat.Request) { r.Load = "medium" }, seat.ErrMalformed, "light, normal, heavy"},
		{func(r *seat.Request) { r.Demand = "top" }, seat.ErrMalformed, "normal, higher"},
		{func(r *seat.Request) { r.Maker = "Nobody" }, seat.ErrMalformed, "SKF"},
		{func(r *seat.Request) { r.Nominal = 0 }, seat.ErrOutOfRange, "above 0 mm up to and including 3150 mm"},
		{func(r *seat.Request) { r.Nominal = -70 * mm }, seat.ErrOutOfRange, "above 0 mm"},
		{func(r *seat.Request) { r.Nominal = 3150*mm + 1 }, seat.ErrOutOfRange, "3150 mm"},
		{func(r *seat.Request) { r.SeatDistance = -1 }, seat.ErrOutOfRange, "distance of the seats"},
		{func(r *seat.Request) { r.SeatDistance = 10*length.Metre + 1 }, seat.ErrOutOfRange, "10 m"},
		{func(r *seat.Request) { r.Part, r.Maker = seat.Housing, "Timken" }, seat.ErrNotDefined, "Timken's page on housings was not found"},
		{func(r *seat.Request) { r.Part, r.Maker = seat.Housing, "nsk" }, seat.ErrNotDefined, "not readable"},
		{func(r *seat.Request) { r.Class, r.Maker = "5", "Timken" }, seat.ErrNotDefined, "form figures are printed for class 2, 4, 4S only"},
		{func(r *seat.Request) { r.Part, r.Nominal = seat.Nut, 300*mm }, seat.ErrNotDefined, "printed for sizes from 10 mm up to 250 mm only"},
		{func(r *seat.Request) { r.Part, r.Type = seat.InnerSpacer, seat.TaperedRoller }, seat.ErrNotDefined, "no maker's table for the inner spacer of tapered roller bearings was read"},
	} {
		r := good
		c.change(&r)
		all, err := seat.Propose(r)
		if !errors.Is(err, c.want) || all != nil {
			t.Errorf("%+v: %d proposals, %v; want %v", r, len(all), err, c.want)
			continue
		}
		var facts *seat.RequestError
		if !strings.Contains(err.Error(), c.says) || !errors.As(err, &facts) || facts.Reason == "" {
			t.Errorf("%+v: message %q does not say %q", r, err, c.says)
		}
	}
}

// What a maker leaves open stands in the list with its reason, never with a value.
func TestGapsSayWhy(t *testing.T) {
	for _, c := range []struct {
		request seat.Request
		maker   string
		group   seat.Group
		says    string
	}{
		{seat.Request{Part: seat.Shaft, Nominal: 60 * mm, Class: "4"}, "SKF", seat.Coaxiality, "SKF prints no coaxiality"},
		{seat.Request{Part: seat.Shaft, Nominal: 60 * mm, Class: "4"}, "Timken", seat.Size, "were not found"},
		{seat.Request{Part: seat.Shaft, Nominal: 60 * mm, Class: "4"}, "NTN-SNR", seat.Coaxiality, "0.013 µm for each mm of distance between the seats: give the distance"},
		{seat.Request{Part: seat.Shaft, Nominal: 60 * mm, Class: "2"}, "FAG", seat.Form, "form figures are printed for class 4 only"},
		{seat.Request{Part: seat.Shaft, Nominal: 450 * mm, Class: "4"}, "SKF", seat.Size, "printed for sizes up to 400 mm only"},
		{seat.Request{Part: seat.Shaft, Nominal: 60 * mm, Class: "4", Rotating: seat.OuterTurns}, "FAG", seat.Size, "not for this turning ring"},
		{seat.Request{Part: seat.Shaft, Nominal: 600 * mm, Class: "2"}, "SKF", seat.Shoulder, "IT0 is given up to 500 mm only"},
		{seat.Request{Part: seat.Housing, Nominal: 90 * mm, Class: "4"}, "LYHY", seat.Shoulder, "4 µm from the housing shoulder to the bore axis"},
		{seat.Request{Part: seat.Housing, Nominal: 350 * mm, Class: "4"}, "NTN-SNR", seat.Form, "above 18 mm up to 315 mm only"},
		{seat.Request{Part: seat.InnerSpacer, Nominal: 60 * mm, Class: "4"}, "FAG", seat.Pair, "ground in one chucking"},
		{seat.Request{Part: seat.OuterSpacer, Nominal: 90 * mm, Class: "4"}, "NTN-SNR", seat.Pair, "ask for the inner spacer"},
	} {
		all, err := seat.Propose(c.request)
		if err != nil {
			t.Errorf("%+v: %v", c.request, err)
			continue
		}
		found := false
		for _, p := range all {
			if p.Maker != c.maker || p.Group != c.group || p.Open == "" {
				continue
			}
			found = true
			if !strings.Contains(p.Open, c.says) || p.Limits || p.Max != 0 || p.Upper != 0 || p.Lower != 0 || p.Fit != nil {
				t.Errorf("%+v: %s %s is open for %q with %s, %s / %s; want the reason %q and no value", c.request, c.maker, c.group, p.Open, p.Max, p.Upper, p.Lower, c.says)
			}
		}
		if !found {
			t.Errorf("%+v: %s %s is not open", c.request, c.maker, c.group)
		}
	}
}

// Every value of every answer carries its origin; without a maker every group lists makers side by side, with one there is no other.
func TestEveryProposalSaysWhereItIsFrom(t *testing.T) {
	values := 0
	for _, part := range seat.Parts() {
		for _, class := range []seat.BearingClass{"Normal", "6", "5", "4", seat.Class4S, "2", seat.ClassC} {
			for _, kind := range seat.BearingTypes() {
				for _, size := range []length.Length{5 * mm, 10 * mm, 70 * mm, 260 * mm, 480 * mm, 700 * mm} {
					for _, asked := range append(seat.Makers(), "") {
						all, err := seat.Propose(seat.Request{Part: part, Nominal: size, Class: class, Type: kind, Maker: strings.ToLower(asked), SeatDistance: seatDistance})
						if err != nil && !errors.Is(err, seat.ErrNotDefined) {
							t.Fatalf("%s %s %s %s %q: %v", part, size, class, kind, asked, err)
						}
						for _, p := range all {
							if p.Open != "" {
								continue
							}
							values++
							if asked != "" && p.Maker != asked || p.Part != part || p.Source == "" || p.Basis == "" || p.Characteristic == "" || p.Mark.InWords() == "" {
								t.Fatalf("%s %s %s %s %q: %+v", part, size, class, kind, asked, p)
							}
							if words := p.Words(); words != "proposed from "+p.Maker+", "+p.Source+", not from the drawing" {
								t.Fatalf("%+v says %q", p, words)
							}
							if p.Limits == (p.Max > 0) || p.Limits && p.Upper < p.Lower || p.Mark == seat.FromMemory && !strings.Contains(p.Note, "memory") && !strings.Contains(p.Note, "not readable") {
								t.Fatalf("%s %s %s %s: %+v", part, size, class, kind, p)
							}
						}
					}
				}
			}
		}
	}
	if values < 2000 {
		t.Errorf("only %d values were looked at", values)
	}
}

func FuzzPropose(f *testing.F) {
	f.Add("shaft", int64(70*mm), "4", "", "", "", "", "", "", int64(0))
	f.Add("housing", int64(110*mm), "2", "cylindrical roller", "outer", "floating", "heavy", "", "SKF", int64(100*mm))
	f.Add("nut", int64(-1), "P4S", "screw support", "inner", "fixed", "light", "higher", "fag", int64(10*length.Metre))
	f.Fuzz(func(t *testing.T, part string, nominal int64, class, kind, rotating, position, load, demand, maker string, distance int64) {
		parsed, classErr := seat.ParseBearingClass(class)
		all, err := seat.Propose(seat.Request{Part: seat.Part(part), Nominal: length.Length(nominal), Class: parsed, Type: seat.BearingType(kind), Rotating: seat.Rotation(rotating),
			Position: seat.Position(position), Load: seat.Load(load), Demand: seat.Demand(demand), Maker: maker, SeatDistance: length.Length(distance)})
		if err == nil {
			values := 0
			for _, p := range all {
				if p.Open == "" {
					values++
					if !p.Limits && p.Max < 0 || p.Limits && p.Upper < p.Lower {
						t.Fatalf("%+v", p)
					}
				}
			}
			if values == 0 || classErr != nil {
				t.Fatalf("%s %d pm %q: %d values, class %v", part, nominal, class, values, classErr)
			}
			return
		}
		kinds := 0
		for _, sentinel := range []error{seat.ErrMalformed, seat.ErrOutOfRange, seat.ErrNotDefined} {
			if errors.Is(err, sentinel) {
				kinds++
			}
		}
		if kinds != 1 || all != nil {
			t.Fatalf("%s %d pm %q: %v is %d of the kinds of error, with %d proposals", part, nominal, class, err, kinds, len(all))
		}
	})
}

func ExamplePropose() {
	all, err := seat.Propose(seat.Request{Part: seat.Shaft, Nominal: 70 * length.Millimetre, Class: "4", Maker: "SKF"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range all {
		switch {
		case p.Open != "":
			fmt.Println(p.Group, "open:", p.Open)
		case p.Group == seat.Size:
			fmt.Println(p.Upper, p.Lower, p.Words())
		}
	}
	// Output:
	// 2 µm −3 µm proposed from SKF, Diameter tolerances for bearing seats on steel shafts, super-precision classes, not from the drawing
	// coaxiality open: SKF prints no coaxiality of seats in what was read
	// roughness open: SKF prints no roughness of seats in what was read
}

func BenchmarkPropose(b *testing.B) {
	for b.Loop() {
		if _, err := seat.Propose(seat.Request{Part: seat.Shaft, Nominal: 70 * length.Millimetre, Class: "4"}); err != nil {
			b.Fatal(err)
		}
	}
}
