package main

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// The invented jobs under testdata/jobs, with results worked out by hand: p_c = Φ((y−T_L)/u), and so on.
func TestScenariosWorkedByHand(t *testing.T) {
	type row struct {
		feature, characteristic, outcome string
		value                            float64 // µm, ±0.01
		u                                float64 // expanded, µm, ±0.01
		pc                               float64 // ±0.003
	}
	visited := map[string]bool{}
	for _, c := range []struct {
		file      string
		proposals string
		rows      []row
		reason    string // stands in the reason of the first component
	}{
		{"scenario-01-conforms", "reuse", []row{{"J1", "size", "conforms", 4, 1, 0.99997}}, "70 k4: +2 … +10 µm"},
		{"scenario-02-cannot-be-told", "measure", []row{{"J1", "size", "cannot be told", 2.5, 1, 0.841}}, "needs u ≤ 0.304 µm, U ≤ 0.61 µm"},
		{"scenario-02-micrometer", "measure", []row{{"J1", "size", "cannot be told", 6, 4.6, 0.918}}, "U ≤ 4.08 µm"},
		{"scenario-03-fails", "rework replace rework", []row{{"J1", "size", "fails", 0.5, 1, 0.0013}, {"J2", "size", "fails", 0.5, 1, 0.0013}, {"B1", "size", "fails", -9, 1.6, 0.030}}, "2.3 … 7.7 µm on the diameter, aim 5.0 µm"},
		{"scenario-04-half-micrometre", "measure", []row{{"B1", "size", "cannot be told", 6.5, 1.6, 0.894}}, "−7.5 … +7.5 µm"},
		{"scenario-05-hot", "measure", []row{{"J1", "size", "cannot be told", 3.145, 2.13, 0.859}}, "let it soak"},
		// u² = 0.5² + (70 000 µm · 11.5·10⁻⁶ · 0.2)², and the expansion coefficients' ±1·10⁻⁶ at 1 K: 0.527
		{"scenario-05-soaked", "reuse", []row{{"J1", "size", "conforms", 3.1, 1.06, 0.982}}, ""},
		{"scenario-07-drift", "measure reuse", []row{{"J1", "size", "cannot be told", 3.25, 1.323, math.NaN()}, {"B1", "size", "conforms", 3.25, 1.82, 1}}, "zero moved by +1.5 µm"},
		{"scenario-08-three-lobes", "replace", []row{{"J4", "circular run-out", "conforms", 6, math.NaN(), 1}, {"J4", "roundness", "cannot be told", math.NaN(), math.NaN(), math.NaN()},
			{"J8", "circular run-out", "conforms", 6, math.NaN(), 1}, {"J8", "roundness", "fails", 6, math.NaN(), 0}}, "roundness is 3.5 µm above its limit"},
		{"scenario-09-wedge", "replace replace", []row{{"P4", "parallelism", "fails", 3.96, math.NaN(), 0}, {"P8", "parallelism", "fails", 4, math.NaN(), 0}}, "max − min 2.80 µm, wedge 3.96 µm at 45°"},
		{"scenario-16-without", "measure", []row{{"J1", "size", "cannot be told", 1.4, 1, 0.115}}, ""},
		{"scenario-16-concession", "reuse", []row{{"J1", "size", "conforms", 1.4, 1, 0.964}}, "by concession of customer, ref. 4711"},
		{"scenario-16-assembly", "measure", []row{{"J1", "size", "cannot be told", 0.8, 1, 0.726}}, ""},
	} {
		t.Run(c.file, func(t *testing.T) {
			visited[c.file+".json"] = true
			var stdout, stderr bytes.Buffer
			if status := runAssess([]string{filepath.Join("..", "..", "testdata", "jobs", c.file+".json"), "--json"}, nil, &stdout, &stderr); status != exitDone || stderr.Len() > 0 {
				t.Fatalf("exit %d: %s", status, stderr.String())
			}
			var answer struct {
				Components []struct {
					Proposal, Reason string
					Features         []struct {
						Feature, Characteristic, Outcome string
						Value                            *float64 `json:"value_um"`
						U                                *float64 `json:"u_um"`
						PC                               *float64 `json:"p_c"`
					}
				}
			}
			if err := json.Unmarshal(stdout.Bytes(), &answer); err != nil {
				t.Fatalf("%v\n%s", err, stdout.String())
			}
			var proposals []string
			var got []row
			none := func(v *float64) float64 {
				if v == nil {
					return math.NaN()
				}
				return *v
			}
			for _, k := range answer.Components {
				proposals = append(proposals, k.Proposal)
				for _, f := range k.Features {
					got = append(got, row{f.Feature, f.Characteristic, f.Outcome, none(f.Value), none(f.U), none(f.PC)})
				}
			}
			if words := strings.Join(proposals, " "); words != c.proposals {
				t.Errorf("proposals are %s; want %s", words, c.proposals)
			}
			if !strings.Contains(answer.Components[0].Reason, c.reason) {
				t.Errorf("the reason %q does not say %q", answer.Components[0].Reason, c.reason)
			}
			if len(got) != len(c.rows) {
				t.Fatalf("%d characteristics, want %d:\n%s", len(got), len(c.rows), stdout.String())
			}
			for i, want := range c.rows {
				g := got[i]
				if g.feature != want.feature || g.characteristic != want.characteristic || g.outcome != want.outcome {
					t.Errorf("%s %s is %s; want %s %s %s", g.feature, g.characteristic, g.outcome, want.feature, want.characteristic, want.outcome)
				}
				for _, n := range []struct {
					name           string
					got, want, tol float64
				}{{"value µm", g.value, want.value, 0.01}, {"U µm", g.u, want.u, 0.01}, {"p_c", g.pc, want.pc, 0.003}} {
					// NaN: not worked out by hand.
					if !math.IsNaN(n.want) && !(math.Abs(n.got-n.want) <= n.tol) {
						t.Errorf("%s %s: %s is %v; want %v ± %v", g.feature, g.characteristic, n.name, n.got, n.want, n.tol)
					}
				}
			}
		})
	}
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "jobs", "scenario-*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenarios found, %v", err)
	}
	for _, f := range files {
		if !visited[filepath.Base(f)] {
			t.Errorf("%s is assessed by nobody", f)
		}
	}
}
