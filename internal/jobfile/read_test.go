package jobfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// small is a job file in which one thing at a time is made wrong.
const small = `{
  "runtrue_job": 1,
  "defaults": {"setup": "a"},
  "setups": [
    {"id": "a", "person": "ana", "gauge": {"id": "cmp-1", "u_cal_um": 0.5},
     "master": {"id": "r70", "certified_mm": 70.0002, "u_um": 0.25}, "t_part_degc": 20.5, "t_master_degc": 20, "zero_before_um": 0, "zero_after_um": 0.1}
  ],
  "components": [
    {"component": "shaft", "type": "shaft", "features": [
      {"feature": "J1", "geometry": "outside", "nominal_mm": 70,
       "characteristics": [{"characteristic": "size", "class": "k4"}],
       "plan": {"planes": [{"plane": "1", "z_mm": 12.5}], "angles_deg": [0, 60, 120]}}
    ]}
  ],
  "readings": [
    {"feature": "J1", "angle_deg": 0, "value_um": 4.0},
    {"feature": "J1", "angle_deg": 60, "value_um": 5.08}
  ]
}
`

func TestDefaultsAreFilledIn(t *testing.T) {
	f, err := Read("small.json", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	r := f.Readings[1]
	if r.Person != "ana" || r.Reading.Setup != "a" || r.Reading.Plane != "1" || r.Reading.Characteristic != spindle.Size || r.Reading.Means != spindle.MeansFromMaster ||
		r.Reading.Purpose != spindle.ForInspection || *r.Reading.Value != 5_080_000 || r.Reading.Angle != 60_000 {
		t.Errorf("reading 1 is %+v", r)
	}
	s := f.Setups[0]
	if s.Mode != spindle.ModeMaster || s.Master.Certified != 70_000_200_000 || *s.TPart != 20_500 || s.Gauge.UCal != 500_000 || len(s.Checks) != 2 || !s.Checks[1].After || s.Checks[1].Value != 100_000 {
		t.Errorf("set-up is %+v", s)
	}
	c := f.Components[0]
	if c.Name != "shaft" || c.Origin != spindle.Removed || !c.RunBefore || !c.Features[0].Characteristics[0].Required || c.Features[0].Source != spindle.FromDrawing {
		t.Errorf("component is %+v", c)
	}
	v := f.Assess().Components[0].Features[0].Characteristics[0]
	if v.Outcome != verdict.Incomplete || v.Have != 2 || v.Need != 3 {
		t.Errorf("two of three stations are %s, %d of %d", v.Outcome, v.Have, v.Need)
	}
}

func TestEveryFaultIsNamedWithItsPlace(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		err            error
		message        string // what the error must begin with
	}{
		{"unknown key", `"person": "ana"`, `"persn": "ana"`, ErrUnknownKey, `small.json:5: setups[0].persn: unknown key: known here are id, person, gauge`},
		{"unknown key at the top", `"runtrue_job": 1,`, `"runtrue_job": 1, "machine": "x",`, ErrUnknownKey, `small.json:2: machine: unknown key`},
		{"unknown key in a reading", `"angle_deg": 60`, `"angel_deg": 60`, ErrUnknownKey, `small.json:17: readings[1].angel_deg: unknown key`},
		{"no unit", `"nominal_mm": 70`, `"nominal": 70`, ErrNoUnit, `small.json:10: components[0].features[0].nominal: no unit: the unit stands in the key: write nominal_mm`},
		{"no unit of a temperature", `"t_part_degc"`, `"t_part"`, ErrNoUnit, `small.json:6: setups[0].t_part: no unit: the unit stands in the key: write t_part_degc`},
		{"no unit of a needed key", `"u_cal_um": 0.5`, `"u_cal": 0.5`, ErrNoUnit, `small.json:5: setups[0].gauge.u_cal: no unit`},
		{"no unit of a limit", `"class": "k4"`, `"upper": 3, "lower": -2`, ErrNoUnit, `small.json:11: components[0].features[0].characteristics[0].lower: no unit: write lower_um for a length`},
		{"no unit of a value", `"value_um": 5.08`, `"value": 5.08`, ErrNoUnit, `small.json:17: readings[1].value: no unit: write value_um for a length`},
		{"a unit that is not used", `"nominal_mm": 70`, `"nominal_in": 2.7559`, ErrUnknownKey, `small.json:10: components[0].features[0].nominal_in: unknown key: this unit is not used here: write nominal_mm`},
		{"unknown feature", `"feature": "J1", "angle_deg": 60`, `"feature": "J2", "angle_deg": 60`, ErrUnknown, `small.json:17: readings[1]: not in this file: no feature is called "J2"; features are J1`},
		{"unknown set-up", `"angle_deg": 60`, `"setup": "b", "angle_deg": 60`, ErrUnknown, `small.json:17: readings[1]: not in this file: no set-up has the id "b"; set-ups are a`},
		{"unknown default", `"defaults": {"setup": "a"}`, `"defaults": {"setup": "z"}`, ErrUnknown, `small.json:3: defaults.setup: not in this file: no set-up has the id "z"`},
		{"no set-up", `"defaults": {"setup": "a"},`, ``, ErrMissing, `small.json:16: readings[0]: missing: the reading names no set-up, and the file has no default`},
		{"a reading of nothing specified", `"angle_deg": 60`, `"characteristic": "roundness", "angle_deg": 60`, ErrUnknown, `small.json:17: readings[1]: not in this file: J1 has no characteristic "roundness"`},
		{"unknown datum", `"class": "k4"`, `"class": "k4", "datum": ["J9"]`, ErrUnknown, `small.json:11: components[0].features[0].characteristics[0].datum: not in this file: datum "J9" of size is no feature`},
		{"conceding what is not specified", `"plan": {`, `"concessions": [{"characteristic": "taper", "upper_um": 3, "by": "customer"}], "plan": {`, ErrUnknown, `small.json:12: components[0].features[0].concessions[0].characteristic: not in this file`},
		{"a set-up twice", `"setups": [`, `"setups": [{"id": "a", "gauge": {"id": "g", "u_cal_um": 1}, "mode": "absolute"},`, ErrDuplicate, `small.json:5: setups[1].id: given twice: a set-up "a" stands at line 4 already`},
		{"a component twice", `"components": [`, `"components": [{"component": "shaft", "type": "nut"},`, ErrDuplicate, `small.json:9: components[1].component: given twice: a component "shaft" stands at line 8 already`},
		{"a feature twice", `"components": [`, `"components": [{"component": "nut", "type": "nut", "features": [{"feature": "J1", "geometry": "attribute", "characteristics": [{"characteristic": "attribute"}]}]},`, ErrDuplicate,
			`small.json:10: components[1].features[0].feature: given twice: a feature "J1" stands at line 8 already`},
		{"a reading twice", `"angle_deg": 60`, `"angle_deg": 0`, ErrDuplicate, `small.json:17: readings[1]: given twice: J1 has a reading at this station with this set-up, person and repeat already, at small.json:16`},
		{"a reading's id twice", `{"feature": "J1", "angle_deg"`, `{"id": "r", "feature": "J1", "angle_deg"`, ErrDuplicate, `small.json:17: readings[1]: given twice: the id "r" stands at small.json:16 already`},
		{"a key twice", `"nominal_mm": 70`, `"nominal_mm": 70, "nominal_mm": 71`, ErrDuplicate, `small.json:10: components[0].features[0].nominal_mm: given twice: the key stands twice`},
		{"a key twice in a reading", `"value_um": 5.08`, `"value_um": 5.08, "value_um": 5.09`, ErrDuplicate, `small.json:17: readings[1].value_um: given twice`},
		{"a key twice at the top", `"runtrue_job": 1,`, `"runtrue_job": 1, "readings": [],`, ErrDuplicate, `small.json:15: readings: given twice`},
		{"NaN", `"value_um": 5.08`, `"value_um": NaN`, ErrNotFinite, `small.json:17: readings[1].value_um: not a finite number: NaN cannot be measured`},
		{"infinity", `"nominal_mm": 70`, `"nominal_mm": -Infinity`, ErrNotFinite, `small.json:10: components[0].features[0].nominal_mm: not a finite number`},
		{"NaN in a list", `[0, 60, 120]`, `[0, NaN, 120]`, ErrNotFinite, `small.json:12: components[0].features[0].plan.angles_deg[1]: not a finite number`},
		{"too large", `"value_um": 5.08`, `"value_um": 1e999`, ErrOutOfRange, `small.json:17: readings[1].value_um: out of range: 1e999 is too large`},
		{"too fine", `"value_um": 5.08`, `"value_um": 5.0800000001`, ErrTooFine, `small.json:17: readings[1].value_um: too fine: 5.0800000001 needs rounding; at most 6 decimals`},
		{"an angle beyond the circle", `"angle_deg": 60`, `"angle_deg": 360`, ErrInvalid, `small.json:17: readings[1]: not valid: reading of J1: angle 360000 mdeg is outside`},
		{"a number as text", `"nominal_mm": 70`, `"nominal_mm": "70"`, ErrType, `small.json:10: components[0].features[0].nominal_mm: wrong type: a number is expected, this is the text "70"`},
		{"text as a number", `"feature": "J1", "geometry"`, `"feature": 1, "geometry"`, ErrType, `small.json:10: components[0].features[0].feature: wrong type: text is expected, this is a number`},
		{"an object as a list", `"angles_deg": [0, 60, 120]`, `"angles_deg": {"a": 0}`, ErrType, `small.json:12: components[0].features[0].plan.angles_deg: wrong type: a list is expected, this is an object`},
		{"a reading that is none", `{"feature": "J1", "angle_deg": 60, "value_um": 5.08}`, `7`, ErrType, `small.json:17: readings[1]: wrong type: an object is expected, this is a number`},
		{"readings that are none", `"readings": [`, `"readings": {}, "r": [`, ErrType, `small.json:15: readings: wrong type: a list is expected`},
		{"no version", `"runtrue_job": 1,`, ``, ErrMissing, `small.json:1: runtrue_job: missing`},
		{"another version", `"runtrue_job": 1`, `"runtrue_job": 2`, ErrInvalid, `small.json:2: runtrue_job: not valid: this is version 2 of the format, version 1 is read`},
		{"nothing specified", `"characteristics": [{"characteristic": "size", "class": "k4"}]`, `"characteristics": []`, ErrInvalid, `small.json:10: components[0].features[0]: not valid: specification of J1 has no characteristic`},
		{"two kinds of limit", `"class": "k4"`, `"class": "k4", "max_um": 3`, ErrInvalid, `small.json:10: components[0].features[0]: not valid: J1 size: give exactly one of`},
		{"a class that is none", `"class": "k4"`, `"class": "k"`, ErrInvalid, `small.json:11: components[0].features[0].characteristics[0].class: not valid: class "k" is not a tolerance class`},
		{"two values", `"value_um": 5.08`, `"value_um": 5.08, "size_mm": 70.00508`, ErrInvalid, `small.json:17: readings[1].size_mm: not valid: the reading has value_um already`},
		{"no value", `, "value_um": 5.08`, ``, ErrMissing, `small.json:17: readings[1]: missing: the reading has no value`},
		{"a meaning that does not fit", `"value_um": 5.08`, `"size_mm": 70, "means": "from master"`, ErrInvalid, `small.json:17: readings[1].means: not valid`},
		{"a zero check among the readings", `"feature": "J1", "angle_deg": 60`, `"feature": "master", "angle_deg": 60`, ErrInvalid, `small.json:17: readings[1]: not valid: a zero check stands in its set-up`},
		{"trailing garbage", "]\n}\n", "]\n}\n}", ErrSyntax, `small.json:20:1: not readable as JSON or CSV: the file goes on after its closing brace`},
		{"a comma too many", `"value_um": 5.08}`, `"value_um": 5.08},`, ErrSyntax, `small.json:18:3: not readable as JSON or CSV: a comma stands before the closing bracket`},
		{"a cut file", "]\n}\n", "", ErrSyntax, `small.json:18:3: not readable as JSON or CSV: the file ends`},
		{"a broken number", `5.08`, `05.08`, ErrSyntax, `small.json:17:52: not readable as JSON or CSV: a value is expected, not "0"`},
		{"an empty file", small, ``, ErrSyntax, `small.json:1:1: not readable as JSON or CSV: a job file is one JSON object`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(small, c.old) == 0 {
				t.Fatalf("the sample has no %s", c.old)
			}
			text := small
			if at := strings.LastIndex(small, c.old); at >= 0 && strings.Contains(c.old, "value_um") {
				text = small[:at] + strings.Replace(small[at:], c.old, c.new, 1)
			} else {
				text = strings.ReplaceAll(small, c.old, c.new)
			}
			f, err := Read("small.json", []byte(text))
			if f != nil || !errors.Is(err, c.err) {
				t.Fatalf("error %v; want %v\n%s", err, c.err, text)
			}
			for _, line := range strings.Split(err.Error(), "\n") {
				if strings.HasPrefix(line, c.message) {
					return
				}
			}
			t.Errorf("no error begins with\n  %s\nbut there are\n%v", c.message, err)
		})
	}
}

func TestErrorsAreReportedTogether(t *testing.T) {
	text := strings.ReplaceAll(small, `"nominal_mm": 70`, `"nominal": 70`)
	text = strings.Replace(text, `"value_um": 4.0`, `"value_um": NaN`, 1)
	text = strings.Replace(text, `"feature": "J1", "angle_deg": 60`, `"feature": "J7", "angle_deg": 60`, 1)
	_, err := Read("small.json", []byte(text))
	for _, want := range []error{ErrNoUnit, ErrNotFinite, ErrUnknown} {
		if !errors.Is(err, want) {
			t.Errorf("%v is not among\n%v", want, err)
		}
	}
	var many strings.Builder
	for i := range 50 {
		fmt.Fprintf(&many, `, {"feature": "X%d", "value_um": 1}`, i)
	}
	_, err = Read("small.json", []byte(strings.Replace(small, `"value_um": 5.08}`, `"value_um": 5.08}`+many.String(), 1)))
	var all *Errors
	if !errors.As(err, &all) || len(all.List) != MaxErrors || all.More != 30 || !strings.HasSuffix(err.Error(), "\nand 30 more") {
		t.Errorf("fifty faults are reported as %v", err)
	}
}

func TestProgressIsToldOfLongInput(t *testing.T) {
	var b strings.Builder
	b.WriteString("feature,angle_deg,repeat,value_um\n")
	for i := range 250_000 {
		fmt.Fprintf(&b, "J1,60,%d,4.%d\n", i+1, i%10)
	}
	f, err := Read("small.json", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	var told []int
	f, err = Reader{Progress: func(name string, n int) { told = append(told, n) }}.ReadCSV(f, "long.csv", []byte(b.String()))
	if err != nil || len(f.Readings) != 250_002 || fmt.Sprint(told) != "[100000 200000]" {
		t.Fatalf("%d readings, told at %v, %v", len(f.Readings), told, err)
	}
}

func TestARowOfZeroChecksKeepsItsOrder(t *testing.T) {
	text := strings.Replace(small, `"zero_before_um": 0, "zero_after_um": 0.1`, `"zero_checks": [{"when": "before", "value_um": 0}, {"when": "after", "value_um": 1.5}, {"when": "before", "value_um": 0}, {"when": "after", "value_um": 0}]`, 1)
	text = strings.Replace(text, `[0, 60, 120]`, `[0, 60]`, 1)
	f, err := Read("row.json", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	again, err := Read("again.json", f.JSON())
	if err != nil {
		t.Fatalf("%v\n%s", err, f.JSON())
	}
	for _, file := range []*File{f, again} {
		var row []string
		for _, c := range file.Setups[0].Checks {
			row = append(row, fmt.Sprintf("%v %s", c.After, c.Value))
		}
		if got := strings.Join(row, ", "); got != "false 0 µm, true 1.5 µm, false 0 µm, true 0 µm" {
			t.Errorf("zero checks are %s", got)
		}
		if k := file.Assess().Components[0].Features[0].Characteristics[0]; !strings.HasPrefix(k.Doubtful, "zero moved by +1.5 µm") {
			t.Errorf("a zero that moved and was set again is %s, doubt %q", k.Outcome, k.Doubtful)
		}
	}
	for old, want := range map[string]error{`"when": "after", "value_um": 1.5`: ErrInvalid, `"zero_checks": [`: ErrDuplicate} {
		bad := map[string]string{`"when": "after", "value_um": 1.5`: `"when": "later", "value_um": 1.5`, `"zero_checks": [`: `"zero_after_um": 0, "zero_checks": [`}[old]
		if _, err := Read("bad.json", []byte(strings.Replace(text, old, bad, 1))); !errors.Is(err, want) {
			t.Errorf("%s: %v; want %v", bad, err, want)
		}
	}
}

func TestConcessionsThatConcedeNothing(t *testing.T) {
	for concession, want := range map[string]error{
		`{"characteristic": "size", "by": "customer"}`:                                    ErrMissing,
		`{"characteristic": "size", "lower_um": 4, "upper_um": 1, "by": "customer"}`:      ErrInvalid,
		`{"characteristic": "size", "lower_um": 0.5}`:                                     ErrMissing,
		`{"characteristic": "attribute", "lower_um": 4, "upper_um": 9, "by": "customer"}`: ErrInvalid,
	} {
		text := strings.Replace(small, `"plan": {`, `"concessions": [`+concession+`], "plan": {`, 1)
		text = strings.Replace(text, `"class": "k4"}]`, `"class": "k4"}, {"characteristic": "attribute", "ask": "Free of rust?"}]`, 1)
		if _, err := Read("c.json", []byte(text)); !errors.Is(err, want) {
			t.Errorf("%s: %v; want %v", concession, err, want)
		}
	}
}

func TestTextsAreReadAsJSONHasThem(t *testing.T) {
	text := strings.Replace(small, `"person": "ana"`, `"person": "\u00c5sa \ud83d\ude00 \"\\\/\n"`, 1)
	f, err := Read("t.json", []byte("\ufeff"+text))
	if err != nil || f.Setups[0].Person != "Åsa 😀 \"\\/\n" {
		t.Fatalf("person %q, %v", f.Setups[0].Person, err)
	}
	for _, bad := range []string{`"\ud83d"`, `"\ud83d\u0041"`, `"\x41"`, `"\u12g4"`, "\"a\nb\"", "\"\xff\"", `"`, `"\`, `nul`, `{"a" 1}`, `{a: 1}`, `[1 2]`, `1.`, `-`, `.5`, `1e`, `0x10`, `1_0`} {
		_, err := Read("t.json", []byte(strings.Replace(small, `"ana"`, bad, 1)))
		var all *Errors
		if !errors.Is(err, ErrSyntax) || !errors.As(err, &all) || all.List[0].Line != 5 && all.List[0].Line != 6 {
			t.Errorf("%s: %v; want broken syntax at line 5", bad, err)
		}
	}
	if _, err := Read("t.json", []byte(strings.Repeat("[", 100_000))); !errors.Is(err, ErrSyntax) {
		t.Errorf("deep nesting: %v", err)
	}
	if _, err := Read("t.json", []byte(`{"job": `+strings.Repeat("[", 100_000))); !errors.Is(err, ErrSyntax) {
		t.Errorf("deep nesting: %v", err)
	}
}
