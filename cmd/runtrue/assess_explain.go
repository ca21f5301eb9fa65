package main

import (
	"bytes"

	"runtrue/internal/explain"
	"runtrue/internal/jobfile"
)

// writeExplained works every verdict out, in the order of the file: as text after the list of components, or as {"explanations":[…]} alone.
func writeExplained(out *bytes.Buffer, file *jobfile.File, result jobfile.Result, asJSON bool) error {
	all := []explain.Explanation{}
	for _, in := range file.Inputs() {
		for _, c := range in.Spec.Characteristics {
			e, err := explain.Of(in, c.Name)
			if err != nil {
				return err
			}
			all = append(all, e)
		}
	}
	if asJSON {
		out.Write(jobfile.Indented(struct {
			Explanations []explain.Explanation `json:"explanations"`
		}{all}))
		return nil
	}
	writeAssessed(out, result)
	for _, e := range all {
		out.WriteString("\n" + e.Text())
	}
	return nil
}
