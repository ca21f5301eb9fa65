package engine

import (
	"encoding/json"
	"strings"
	"testing"

	"runtrue/internal/demo"
	"runtrue/internal/explain"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// shop returns an engine that holds the invented shop.
func shop(t testing.TB) *Engine {
	t.Helper()
	entries, err := demo.Shop(1_795_000_000_000)
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string][]string{}
	for _, e := range entries {
		texts[e.Job] = append(texts[e.Job], string(e.Bytes))
	}
	e := New()
	for job, list := range texts {
		answer := call[loadAnswer](t, e, "load", loadArgs{Job: job, Entries: list})
		if len(answer.Refused) > 0 || answer.Added != len(list) {
			t.Fatalf("%s: %d of %d entries taken, refused %+v", job, answer.Added, len(list), answer.Refused)
		}
	}
	return e
}

func call[R any](t testing.TB, e *Engine, method string, args any) R {
	t.Helper()
	text, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	var answer struct {
		OK    R      `json:"ok"`
		Error *Fault `json:"error"`
	}
	if err := json.Unmarshal([]byte(e.Call(method, string(text))), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Error != nil {
		t.Fatalf("%s: %+v", method, *answer.Error)
	}
	return answer.OK
}

// Every characteristic of every job of the shop can be opened, and says what its sheet says.
func TestExplainsWhatTheSheetSays(t *testing.T) {
	e, opened, told := shop(t), 0, map[verdict.Outcome]int{}
	for _, job := range []string{"lf-4071", "lf-4066", "lf-4075"} {
		s, err := e.build(jobArgs{Job: job})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Components {
			for _, f := range c.Features {
				all := call[explained](t, e, "explain", explainArgs{Job: job, Feature: f.Spec.Feature}).Explanations
				if len(all) != len(f.Verdict.Characteristics) {
					t.Errorf("%s %s: %d characteristics, %d explained", job, f.Spec.Feature, len(f.Verdict.Characteristics), len(all))
					continue
				}
				for i, k := range f.Verdict.Characteristics {
					x := all[i]
					if x.Characteristic != k.Name || x.Sentence != k.Sentence || x.Outcome != k.Outcome {
						t.Errorf("%s %s: %s %q is explained as %s %q", job, f.Spec.Feature, k.Name, k.Sentence, x.Characteristic, x.Sentence)
					}
					if len(k.Stations) > 0 && !has(x, "readings") {
						t.Errorf("%s %s %s: no readings in %+v", job, f.Spec.Feature, k.Name, x.Steps)
					}
					if k.Value != nil && !(has(x, "value") && has(x, "uncertainty") && has(x, "limits") && has(x, "decision")) {
						t.Errorf("%s %s %s: steps are missing: %+v", job, f.Spec.Feature, k.Name, x.Steps)
					}
					opened++
					told[k.Outcome]++
				}
			}
		}
	}
	t.Logf("%d characteristics opened: %v", opened, told)
	if opened == 0 || told[verdict.Conforms] == 0 || told[verdict.Fails] == 0 {
		t.Errorf("%d opened, %v: the shop shows too little", opened, told)
	}
	if answer := e.Call("explain", `{"job":"lf-4071","feature":"none"}`); !strings.Contains(answer, `"code":"input"`) {
		t.Errorf("a feature that is not there: %s", answer)
	}
}

func has(x explain.Explanation, key string) bool {
	for _, s := range x.Steps {
		if s.Key == key && len(s.Rows)+len(s.Words) > 0 {
			return true
		}
	}
	return false
}

// A slip is asked about from what the job knows; what was typed is kept as it was read.
func TestAsksAboutSlips(t *testing.T) {
	e := shop(t)
	l, err := e.get("lf-4066")
	if err != nil {
		t.Fatal(err)
	}
	var spec spindle.Specification
	var setup record.ID
	for _, c := range l.fold().Components {
		for _, f := range c.Features {
			for _, r := range f.Readings {
				if f.Spec().Geometry == spindle.Outside && r.Characteristic == spindle.Size && r.Status == record.ReadingCounts {
					spec, setup = f.Spec(), r.Setup.First.ID
				}
			}
		}
	}
	if spec.Feature == "" {
		t.Fatal("the shop has no measured journal")
	}
	ask := func(text, unit string, means spindle.Meaning) Understood {
		return call[Understood](t, e, "understand", understandArgs{Job: "lf-4066", Feature: spec.Feature, Characteristic: spindle.Size, Setup: setup, Text: text, Unit: unit, Means: means})
	}
	before := earlier(l.fold().Feature(spec.Feature), spindle.Size, setup)
	good := before[len(before)-1]
	if u := ask(strings.Replace(good.String(), "−", "-", 1), "µm", spindle.MeansFromNominal); !u.OK || u.Ask != "" {
		t.Errorf("%v again at %s: %+v", good, spec.Feature, u)
	}
	u := ask("1.5", "mm", spindle.MeansFromNominal)
	if !u.OK || u.Ask == "" || len(u.Questions) == 0 || u.Questions[0].Ask != u.Ask || u.Value == nil || u.Value.Millimetres() != 1.5 {
		t.Errorf("1.5 mm from nominal at %s: %+v", spec.Feature, u)
	}
	zero := func(text, unit string) Understood {
		return call[Understood](t, e, "understand", understandArgs{Job: "lf-4066", Feature: spindle.MasterFeature, Characteristic: spindle.ZeroCheck, Setup: setup, Text: text, Unit: unit, Means: spindle.MeansIndicator})
	}
	if u := zero("0.3", "µm"); !u.OK || u.Ask != "" {
		t.Errorf("0.3 µm on the master: %+v", u)
	}
	if u := zero("0.3", "mm"); !u.OK || u.Ask == "" {
		t.Errorf("0.3 mm on the master: %+v", u)
	}
	if u := ask("x", "mm", spindle.MeansFromNominal); u.OK || u.Ask != "" || u.Words == "" {
		t.Errorf("not a length: %+v", u)
	}
}
