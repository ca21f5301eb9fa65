package engine

import (
	"fmt"

	"runtrue/internal/explain"
	"runtrue/internal/hold"
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
