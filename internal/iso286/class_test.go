package iso286_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

const mm, um = length.Millimetre, length.Micrometre

func TestParseClass(t *testing.T) {
	for _, c := range []struct {
		text string
		want iso286.Class
		hole bool
	}{
		{"k4", iso286.Class{Letters: "k", Grade: 4}, false},
		{"JS5", iso286.Class{Letters: "JS", Grade: 5}, true},
		{"h01", iso286.Class{Letters: "h", Grade: iso286.IT01}, false},
		{"H0", iso286.Class{Letters: "H", Grade: 0}, true},
		{"zc18", iso286.Class{Letters: "zc", Grade: 18}, false},
	} {
		got, err := iso286.ParseClass(c.text)
		if err != nil || got != c.want || got.Hole() != c.hole || got.String() != c.text {
			t.Errorf("ParseClass(%q) = %+v (hole %t, %q), %v; want %+v (hole %t)", c.text, got, got.Hole(), got, err, c.want, c.hole)
		}
	}
	for _, letters := range allLetters() {
		for _, g := range iso286.Grades() {
			c := iso286.Class{Letters: letters, Grade: g}
			if got, err := iso286.ParseClass(c.String()); err != nil || got != c {
				t.Errorf("ParseClass(%q) = %+v, %v; want %+v", c.String(), got, err, c)
			}
		}
	}
}

func TestClassStandsInJSONAsItsText(t *testing.T) {
	got, err := json.Marshal(iso286.Class{Letters: "js", Grade: 4})
	if err != nil || string(got) != `"js4"` {
		t.Errorf("js4 is %s in JSON, %v", got, err)
	}
	var back iso286.Class
	if err := json.Unmarshal([]byte(`"JS5"`), &back); err != nil || back.String() != "JS5" {
		t.Errorf("JS5 read from JSON is %s, %v", back, err)
	}
	if err := json.Unmarshal([]byte(`"q5"`), &back); !errors.Is(err, iso286.ErrNotDefined) || back.String() != "JS5" {
		t.Errorf("q5 read from JSON: %v, and the class is now %s; want ErrNotDefined and JS5 kept", err, back)
	}
	if _, err := json.Marshal(iso286.Class{}); !errors.Is(err, iso286.ErrMalformed) {
		t.Errorf("no class in JSON: %v; want ErrMalformed", err)
	}
}

func TestLookupSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		nominal length.Length
		class   string
		want    error
		says    string // part of the message
	}{
		{70 * mm, "", iso286.ErrMalformed, "must begin with a letter"},
		{70 * mm, "4k", iso286.ErrMalformed, "must begin with a letter"},
		{70 * mm, "k", iso286.ErrMalformed, "grade is missing"},
		{70 * mm, "k 4", iso286.ErrMalformed, "only digits may follow"},
		{70 * mm, " k4", iso286.ErrMalformed, "must begin with a letter"},
		{70 * mm, "k4.5", iso286.ErrMalformed, "only digits may follow"},
		{70 * mm, "k-4", iso286.ErrMalformed, "only digits may follow"},
		{70 * mm, "k4/K5", iso286.ErrMalformed, "only digits may follow"},
		{70 * mm, "k04", iso286.ErrMalformed, "no leading zero"},
		{70 * mm, "h00", iso286.ErrMalformed, "no leading zero"},
		{70 * mm, "Js5", iso286.ErrMalformed, "all capitals for a hole or all small"},
		{70 * mm, "κ4", iso286.ErrMalformed, "must begin with a letter"}, // Greek kappa
		{70 * mm, "q5", iso286.ErrNotDefined, "the letters are a b c cd"},
		{70 * mm, "kk4", iso286.ErrNotDefined, "the letters are a b c cd"},
		{70 * mm, "h19", iso286.ErrNotDefined, "IT01, IT0 and IT1 to IT18"},
		{70 * mm, "h99999999999999999999", iso286.ErrNotDefined, "IT01, IT0 and IT1 to IT18"},
		{0, "h6", iso286.ErrOutOfRange, "this one is 0 mm"},
		{-70 * mm, "h6", iso286.ErrOutOfRange, "above 0 mm up to and including 3150 mm"},
		{3150*mm + 1, "h6", iso286.ErrOutOfRange, "up to and including 3150 mm"},
		{4000 * mm, "k4", iso286.ErrOutOfRange, "k4 at 4000 mm"},
		{24 * mm, "t6", iso286.ErrNotDefined, "t is given above 24 mm up to 3150 mm only"},
		{14 * mm, "v6", iso286.ErrNotDefined, "v is given above 14 mm up to 500 mm only"},
		{18 * mm, "Y7", iso286.ErrNotDefined, "Y is given above 18 mm up to 500 mm only"},
		{10*mm + 1, "cd8", iso286.ErrNotDefined, "cd is given up to 10 mm only"},
		{11 * mm, "EF8", iso286.ErrNotDefined, "EF is given up to 10 mm only"},
		{501 * mm, "a11", iso286.ErrNotDefined, "a is given up to 500 mm only"},
		{501 * mm, "zc8", iso286.ErrNotDefined, "zc is given up to 500 mm only"},
		{501 * mm, "j6", iso286.ErrNotDefined, "j is given up to 500 mm only"},
		{501 * mm, "h01", iso286.ErrNotDefined, "IT01 is given up to 500 mm only"},
		{501 * mm, "js0", iso286.ErrNotDefined, "IT0 is given up to 500 mm only"},
		{1 * mm, "a11", iso286.ErrNotDefined, "a is not used for nominal sizes up to and including 1 mm"},
		{1 * mm, "B11", iso286.ErrNotDefined, "B is not used for nominal sizes up to and including 1 mm"},
		{1 * mm, "h14", iso286.ErrNotDefined, "IT14 to IT18 are not used for nominal sizes up to and including 1 mm"},
		{1 * mm, "N9", iso286.ErrNotDefined, "N above IT8 is not used"},
		{10 * mm, "j8", iso286.ErrNotDefined, "at this size j is given for IT5 to IT7 only"},
		{70 * mm, "j4", iso286.ErrNotDefined, "at this size j is given for IT5 to IT7 only"},
		{70 * mm, "J5", iso286.ErrNotDefined, "at this size J is given for IT6 to IT8 only"},
		{70 * mm, "J9", iso286.ErrNotDefined, "at this size J is given for IT6 to IT8 only"},
		{70 * mm, "K9", iso286.ErrNotDefined, "at this size K is given for IT3 to IT8 only"},
		{70 * mm, "K2", iso286.ErrNotDefined, "increment delta, which the standard gives for IT3 to IT8 only"},
		{70 * mm, "P01", iso286.ErrNotDefined, "increment delta"},
	} {
		l, err := iso286.Lookup(c.nominal, c.class)
		if !errors.Is(err, c.want) || len(l.Provenance) != 0 {
			t.Errorf("%s at %s: %s / %s, %v; want %v", c.class, c.nominal, l.Upper, l.Lower, err, c.want)
			continue
		}
		if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s at %s: message %q does not say %q", c.class, c.nominal, err, c.says)
		}
		var facts *iso286.ClassError
		if !errors.As(err, &facts) || facts.Reason == "" {
			t.Errorf("%s at %s: error %#v carries no reason", c.class, c.nominal, err)
		}
	}
	// A class that was not parsed is checked all the same.
	for _, c := range []struct {
		class iso286.Class
		want  error
	}{
		{iso286.Class{}, iso286.ErrMalformed},
		{iso286.Class{Letters: "Js", Grade: 5}, iso286.ErrNotDefined},
		{iso286.Class{Letters: "h", Grade: 19}, iso286.ErrNotDefined},
		{iso286.Class{Letters: "h", Grade: -2}, iso286.ErrNotDefined},
	} {
		if _, err := iso286.LimitsOf(70*mm, c.class); !errors.Is(err, c.want) {
			t.Errorf("LimitsOf(70 mm, %+v): %v; want %v", c.class, err, c.want)
		}
	}
	if _, err := iso286.StandardTolerance(70*mm, 19); !errors.Is(err, iso286.ErrNotDefined) {
		t.Errorf("IT19 at 70 mm: %v; want ErrNotDefined", err)
	}
	if _, err := iso286.StandardTolerance(0, 6); !errors.Is(err, iso286.ErrOutOfRange) {
		t.Errorf("IT6 at 0 mm: %v; want ErrOutOfRange", err)
	}
}

// Values that spindle seats turn on, and those where copies in circulation are known to be wrong.
func TestLimitsAndHowWellTheyAreConfirmed(t *testing.T) {
	for _, c := range []struct {
		nominal      length.Length
		class        string
		upper, lower length.Length // pm
		status       iso286.Status
		remark       string // part of the remarks; empty for none
	}{
		{70 * mm, "k4", 10 * um, 2 * um, iso286.Confirmed, ""},
		{70 * mm, "js4", 4 * um, -4 * um, iso286.Confirmed, ""},
		{30 * mm, "JS5", 4500 * length.Nanometre, -4500 * length.Nanometre, iso286.Confirmed, ""}, // half micrometres stay
		{30 * mm, "h6", 0, -13 * um, iso286.Confirmed, ""},
		{30*mm + 1, "h6", 0, -16 * um, iso286.Confirmed, ""},
		{2 * mm, "js01", 150 * length.Nanometre, -150 * length.Nanometre, iso286.Confirmed, ""},
		{70 * mm, "k3", 5 * um, 0, iso286.RuleOnly, "no printed limit read"}, // zero, not +2: IT3 and finer
		{200 * mm, "k4", 18 * um, 4 * um, iso286.RuleOnly, "no printed limit read"},
		{30 * mm, "M5", -5 * um, -14 * um, iso286.Confirmed, ""}, // often misprinted −4
		{300 * mm, "M6", -9 * um, -41 * um, iso286.Unconfirmed, "rests on one printed footnote"},
		{300 * mm, "M7", 0, -52 * um, iso286.Confirmed, ""},        // the footnote is for M6 alone
		{225 * mm, "u6", 287 * um, 258 * um, iso286.OneSource, ""}, // one book prints 256
		{380 * mm, "x6", 696 * um, 660 * um, iso286.Unconfirmed, "one book prints 650"},
		{600 * mm, "h5", 0, -32 * um, iso286.Unconfirmed, "printed tables differ here"},
		{600 * mm, "k4", 22 * um, 0, iso286.Unconfirmed, "printed tables differ here"},
		{600 * mm, "h6", 0, -44 * um, iso286.Confirmed, ""},
		{3150 * mm, "h18", 0, -33_000 * um, iso286.OneSource, ""},
	} {
		l, err := iso286.Lookup(c.nominal, c.class)
		if err != nil || l.Upper != c.upper || l.Lower != c.lower {
			t.Errorf("%s at %s: %s / %s, %v; want %s / %s", c.class, c.nominal, l.Upper, l.Lower, err, c.upper, c.lower)
		}
		remarks := strings.Join(l.Remarks, "; ")
		if l.Status != c.status || !strings.Contains(remarks, c.remark) || (c.remark == "") != (remarks == "") {
			t.Errorf("%s at %s: status %q, remarks %q; want %q, saying %q", c.class, c.nominal, l.Status, remarks, c.status, c.remark)
		}
		if l.UpperSize()-l.Nominal != c.upper || l.LowerSize()-l.Nominal != c.lower {
			t.Errorf("%s at %s: sizes %s to %s", c.class, c.nominal, l.LowerSize(), l.UpperSize())
		}
	}
}

// An unknown mark in a table would show as unconfirmed; no cell has one, and every source that a cell cites has a title.
func TestEveryNumberIsAccountedFor(t *testing.T) {
	for _, nominal := range everySize() {
		for _, letters := range allLetters() {
			for _, g := range iso286.Grades() {
				l, ok := limitsOrNotDefined(t, nominal, iso286.Class{Letters: letters, Grade: g})
				if !ok {
					continue
				}
				for _, p := range l.Provenance {
					if strings.Contains(p.Confirmed, "unknown mark") || p.Table == "" || p.What == "" || p.Step.Over >= nominal || p.Step.Upto < nominal {
						t.Errorf("%s at %s: %+v", l.Class, nominal, p)
					}
					for _, title := range p.Sources {
						if title == "" || strings.HasPrefix(title, " (") {
							t.Errorf("%s at %s: %s cites a source without title", l.Class, nominal, p.What)
						}
					}
				}
			}
		}
	}
}

func FuzzLookup(f *testing.F) {
	for _, s := range []string{"k4", "JS5", "h01", "M6", "t6", "q5", "k04", "", "K\xff4", "zc18"} {
		f.Add(int64(70*mm), s)
	}
	f.Add(int64(-1), "h6")
	f.Fuzz(func(t *testing.T, nominal int64, class string) {
		c, parseErr := iso286.ParseClass(class)
		if parseErr == nil && c.String() != class {
			t.Fatalf("ParseClass(%q) prints as %q", class, c)
		}
		l, err := iso286.Lookup(length.Length(nominal), class)
		if err == nil {
			if parseErr != nil || l.Upper-l.Lower != l.Tolerance || l.Tolerance <= 0 {
				t.Fatalf("%q at %d pm: %+v, though parsing says %v", class, nominal, l, parseErr)
			}
			return
		}
		kinds := 0
		for _, kind := range []error{iso286.ErrMalformed, iso286.ErrOutOfRange, iso286.ErrNotDefined} {
			if errors.Is(err, kind) {
				kinds++
			}
		}
		if kinds != 1 {
			t.Fatalf("%q at %d pm: %v is %d of the kinds of error; want exactly one", class, nominal, err, kinds)
		}
	})
}
