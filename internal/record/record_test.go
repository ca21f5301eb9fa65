package record

import (
	"errors"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

// bench writes entries as several devices would; the salt counts, so a run repeats itself.
type author struct {
	t    *testing.T
	job  string
	salt byte
}

func (a *author) make(by string, as spindle.Role, parents []ID, body Body) *Entry {
	a.t.Helper()
	a.salt++
	d := Draft{Job: a.job, Parents: parents, By: by, As: as, Grant: ID{1}, Device: "tablet-1", WallMS: 1_700_000_000_000, Body: body}
	d.Salt[15] = a.salt
	e, err := Make(d)
	if err != nil {
		a.t.Fatalf("make %s: %v", body.Kind(), err)
	}
	return e
}

func um(v float64) *length.Length {
	l := length.Length(v * 1e6)
	return &l
}

func TestMakeReadsBackWhatItWrote(t *testing.T) {
	a := &author{t: t, job: "job-1"}
	bodies := []Body{
		&Fact{Subject: "job", Field: "customer", Value: "Häberle & Söhne <Werk 2>"},
		&Component{TemplateID: "shaft", Component: spindle.Component{Type: spindle.Shaft, Name: "shaft", Origin: spindle.Removed}},
		&Specification{spindle.Specification{Feature: "J1", Component: "shaft", Geometry: spindle.Outside, Nominal: 70 * length.Millimetre, Source: spindle.FromDrawing,
			Characteristics: []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}}}},
		&Setup{spindle.Setup{Gauge: spindle.Gauge{ID: "g1"}, Mode: spindle.ModeAbsolute}},
		&Reading{spindle.Reading{Setup: strings.Repeat("ab", 32), Feature: "J1", Characteristic: spindle.Size, Means: spindle.MeansFromNominal, Value: um(0), Purpose: spindle.ForInspection}},
		&Gather{},
	}
	for _, body := range bodies {
		e := a.make("ana", spindle.Technician, nil, body)
		again, err := Decode(e.Bytes)
		if err != nil {
			t.Fatalf("%s: %v\n%s", body.Kind(), err, e.Bytes)
		}
		if again.ID != e.ID || again.Kind != body.Kind() {
			t.Errorf("%s came back as %s %s", body.Kind(), again.Kind, again.ID)
		}
		if strings.Contains(string(e.Bytes), "null") {
			t.Errorf("null stands in %s", e.Bytes)
		}
	}
}

func TestDecodeRefusesWhatTwoParsersCouldReadDifferently(t *testing.T) {
	a := &author{t: t, job: "job-1"}
	good := string(a.make("ana", spindle.Technician, nil, &Fact{Subject: "job", Field: "customer", Value: "Mühle"}).Bytes)
	if _, err := Decode([]byte(good)); err != nil {
		t.Fatal(err)
	}
	change := func(old, new string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("%q is not in %s", old, good)
		}
		return strings.Replace(good, old, new, 1)
	}
	for name, text := range map[string]string{
		"other case":        change(`"job":`, `"Job":`),
		"key twice":         change(`"v":1,`, `"v":1,"v":1,`),
		"unknown key":       change(`"v":1,`, `"v":1,"w":1,`),
		"unknown body key":  change(`"field":`, `"x":1,"field":`),
		"missing key":       change(`"device":"tablet-1",`, ``),
		"float":             change(`"wall_ms":1700000000000`, `"wall_ms":1700000000000.0`),
		"exponent":          change(`"wall_ms":1700000000000`, `"wall_ms":17e11`),
		"leading zero":      change(`"v":1`, `"v":01`),
		"minus zero":        change(`"wall_ms":1700000000000`, `"wall_ms":-0`),
		"too big":           change(`"wall_ms":1700000000000`, `"wall_ms":99999999999999999999`),
		"white space":       change(`"v":1`, `"v": 1`),
		"new line at end":   good + "\n",
		"null":              change(`"wall_ms":1700000000000`, `"wall_ms":1700000000000,"off_ms":null`),
		"not NFC":           change("ü", "u\u0308"),
		"not UTF-8":         change("ü", "\xff"),
		"lone surrogate":    change("ü", `\ud800`),
		"control character": change("ü", "\x01"),
		"bad name":          change(`"by":"ana"`, `"by":"Ana"`),
		"short salt":        change(`"salt":"00`, `"salt":"`),
		"empty kind":        change(`"kind":"fact"`, `"kind":""`),
		"cut":               good[:len(good)-3],
		"empty":             "",
		"array":             "[]",
		"subject missing":   change(`"subject":"job"`, `"subject":""`),
	} {
		if _, err := Decode([]byte(text)); !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: error %v, want malformed\n%s", name, err, text)
		}
	}
	if _, err := Decode([]byte(strings.Repeat(" ", MaxEntry+1))); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too large: %v", err)
	}
}

func TestNewerEntriesAreKeptUnread(t *testing.T) {
	a := &author{t: t, job: "job-1"}
	good := string(a.make("ana", spindle.Technician, nil, &Fact{Subject: "job", Field: "customer", Value: "x"}).Bytes)
	for _, text := range []string{
		strings.Replace(good, `"kind":"fact"`, `"kind":"verse"`, 1),
		strings.Replace(good, `"v":1`, `"v":2,"mood":"blue"`, 1),
	} {
		e, err := Decode([]byte(text))
		if err != nil || e.Unread == "" || e.Job != "job-1" {
			t.Errorf("%s: %v %+v", text, err, e)
		}
	}
}
