package hold

import (
	"runtrue/internal/record"
	"runtrue/internal/verdict"
)

// InputOf returns what the verdict of a feature rests on: its specification, the readings that count with their set-ups, and the concessions that apply.
func InputOf(f *record.FeatureState) verdict.Input { return (&judge{}).input(f, f.Readings) }
