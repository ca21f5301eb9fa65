package engine

import (
	"fmt"

	"runtrue/internal/explain"
	"runtrue/internal/hold"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

type explainArgs struct {
	Job     string `json:"job"`
	Feature string `json:"feature"`
	// Characteristic is the one to explain; empty: all of the feature.
	Characteristic string `json:"characteristic"`
}

type explained struct {
	Explanations []explain.Explanation `json:"explanations"`
}

// explain opens the verdict of a feature up to readings, formulas and sources.
func (e *Engine) explain(a explainArgs) (explained, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return explained{}, err
	}
	f := l.fold().Feature(a.Feature)
	if f == nil || len(f.Specs) == 0 {
		return explained{}, fmt.Errorf("%w: the job has no feature %s", errInput, a.Feature)
	}
	in := hold.InputOf(f)
	out := explained{Explanations: []explain.Explanation{}}
	for _, c := range in.Spec.Characteristics {
		if a.Characteristic != "" && c.Name != a.Characteristic {
			continue
		}
		one, err := explain.Of(in, c.Name)
		if err != nil {
			return explained{}, err
		}
		out.Explanations = append(out.Explanations, one)
	}
	if len(out.Explanations) == 0 {
		return explained{}, fmt.Errorf("%w: the specification of %s says nothing of %s", errInput, a.Feature, a.Characteristic)
	}
	return out, nil
}

type soakArgs struct {
	Job     string        `json:"job"`
	Feature string        `json:"feature"`
	Setup   spindle.Setup `json:"setup"`
	// Two temperatures of the part, the second ApartMS after the first.
	First   int64 `json:"first_mdegc"`
	Later   int64 `json:"later_mdegc"`
	ApartMS int64 `json:"apart_ms"`
}

type soaked struct {
	Minutes float64 `json:"minutes"` // from the second temperature on
	Words   string  `json:"words"`
}

// soak says how long a warm part must still lie beside its master.
func (e *Engine) soak(a soakArgs) (soaked, error) {
	l, err := e.get(a.Job)
	if err != nil {
		return soaked{}, err
	}
	f := l.fold().Feature(a.Feature)
	if f == nil || len(f.Specs) == 0 {
		return soaked{}, fmt.Errorf("%w: the job has no feature %s", errInput, a.Feature)
	}
	minutes, words, err := verdict.SoakWait(f.Spec(), a.Setup, a.First, a.Later, float64(a.ApartMS)/60_000)
	return soaked{Minutes: minutes, Words: words}, err
}
