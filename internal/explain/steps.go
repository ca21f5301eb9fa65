package explain

import (
	"strconv"
	"strings"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// um prints micrometres to a thousandth, without trailing noughts.
func um(x float64) string {
	s := strconv.FormatFloat(x, 'f', 3, 64)
	s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		s = "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

func signed(x float64) string {
	s := um(x)
	if s != "0" && !strings.HasPrefix(s, "−") {
		s = "+" + s
	}
	return s
}

func lengthUm(l *length.Length) string {
	if l == nil {
		return ""
	}
	return um(l.Micrometres())
}

func degrees(mdeg int64) string { return um(float64(mdeg)/1000) + "°" }

// place names a station; a part read at one place only has none.
func place(plane string, mdeg int64) string {
	if plane == "" {
		return degrees(mdeg)
	}
	return plane + ", " + degrees(mdeg)
}

// short keeps the beginning of an id that is a hash, so that a table stays readable; the rows carry the whole.
func short(id string) string {
	if len(id) > 12 {
		return id[:8]
	}
	return id
}

func readings(t verdict.Trace) Step {
	s := Step{Key: "readings", Title: "What was read", Head: []string{"station", "read", "meaning", "set-up", "gauge", "by"}}
	for _, r := range t.Readings {
		read := r.Reading
		what := read.Typed
		if what != "" && read.Unit != "" {
			what += " " + read.Unit
		}
		switch {
		case what != "":
		case read.Value != nil:
			what = read.Value.String()
		case read.Yes != nil && *read.Yes:
			what = "yes"
		case read.Yes != nil:
			what = "no"
		}
		means := string(read.Means)
		if read.Purpose == spindle.ForMarked {
			means += ", marked on the ring"
		}
		if read.Closing {
			means += ", closing the sweep"
		}
		where := place(read.Plane, read.Angle)
		if read.Repeat > 0 {
			where += ", again " + strconv.Itoa(read.Repeat)
		}
		if r.Doubt != "" {
			means += " (does not count: " + r.Doubt + ")"
		}
		s.Rows = append(s.Rows, Row{Cells: []string{where, what, means, short(read.Setup), r.Gauge, r.Person}, IDs: []string{r.ID}})
	}
	s.Words = t.Faults
	if len(t.Missing) > 0 {
		s.Words = append(s.Words, strconv.Itoa(len(t.Missing))+" of "+strconv.Itoa(t.Need)+" stations are not read")
	}
	return s
}

// corrections lists once what a set-up adds to all its readings, and then what each reading comes to.
func corrections(t verdict.Trace) Step {
	s := Step{Key: "corrections", Title: "What it means at 20 °C", Formula: "value = reading + corrections, µm from nominal", Head: []string{"station", "reading", "corrections", "value"}}
	seen := map[string]bool{}
	for _, r := range t.Readings {
		if r.Corrections == nil {
			continue
		}
		sum := 0.0
		for _, c := range r.Corrections {
			sum += c.Um
			words := "set-up " + short(r.Reading.Setup) + ": " + signed(c.Um) + " µm, " + c.What + " (" + c.Formula + "; " + c.Source + ")"
			if !seen[words] {
				seen[words] = true
				s.Words = append(s.Words, words)
			}
		}
		s.Rows = append(s.Rows, Row{Cells: []string{place(r.Reading.Plane, r.Reading.Angle), signed(r.ReadUm), signed(sum), signed(r.ValueUm)}, IDs: []string{r.ID}})
	}
	return s
}

func stations(t verdict.Trace) Step {
	s := Step{Key: "stations", Title: "Station by station", Formula: "mean of the repeats under each set-up, then of the set-ups", Source: "common practice, no source", Head: []string{"station", "readings", "value, µm", "u, µm", "p_c", "outcome"}}
	if spindle.IsSweep(t.Name) {
		s.Formula, s.Source = "mean of the readings at each station, from the indicator's zero; p_c and outcome are those of the whole plane", ""
	}
	for _, st := range t.Stations {
		if t.Quantity != nil || t.Name == spindle.AttributeChar || t.Name == spindle.QuantityChar {
			continue // what was read is all there is
		}
		s.Rows = append(s.Rows, Row{IDs: st.IDs, Cells: []string{place(st.Plane, st.Angle), strconv.Itoa(st.N), signed(st.Value.Micrometres()), um(st.U.Micrometres()),
			strconv.FormatFloat(st.PC, 'f', 6, 64), string(st.Outcome)}})
	}
	return s
}

// rule is how the value of a characteristic follows from its stations.
type rule struct{ formula, source string }

// ruleOf names the formula and where it is written. The numbers of standards are from memory.
func ruleOf(name string, g spindle.Geometry) rule {
	switch name {
	case spindle.Size:
		return rule{"every local size must lie within the limits; the worst one decides: gravest outcome, then least p_c, then least margin", "ISO 14405-1, two-point size as default"}
	case spindle.SizeVariation:
		return rule{"largest local size − smallest local size", "ISO 14405-1, range of sizes"}
	case spindle.TaperChar:
		return rule{"mean size of the plane nearest the nose − mean size of the plane furthest from it", "definition"}
	case spindle.CircularRunOut:
		return rule{"largest − smallest reading of one turn, plane by plane; the worst plane decides", "ISO 1101, circular run-out"}
	case spindle.AxialRunOut:
		return rule{"largest − smallest axial reading of one turn", "ISO 1101, circular run-out in the axial direction"}
	case spindle.TotalRunOut:
		return rule{"largest − smallest reading over all planes under one indicator zero", "ISO 1101, total run-out"}
	case spindle.Roundness:
		return rule{"peak to valley of y − ȳ − a·cos θ − b·sin θ, with a = (2/N)Σ y cos θ, b = (2/N)Σ y sin θ", "ISO 12181-1, reference circle by least squares"}
	case spindle.Perpendicular:
		return rule{"the larger of max − min and the tilt 2·C₁, C₁ = √(a² + b²), a = (2/N)Σ y cos θ, b = (2/N)Σ y sin θ", "ISO 1101; first harmonic by least squares"}
	case spindle.Parallelism:
		if g == spindle.Thickness {
			return rule{"the larger of max − min and the wedge 2·C₁, C₁ = √(a² + b²), a = (2/N)Σ t cos θ, b = (2/N)Σ t sin θ", "ISO 1101, by thickness; first harmonic by least squares"}
		}
		return rule{"the larger of max − min and the tilt 2·C₁", "ISO 1101; first harmonic by least squares"}
	case spindle.QuantityChar:
		return rule{"every value must lie within the limits; the one with the least room decides", "definition"}
	}
	return rule{"yes is good", "definition"}
}

func value(t verdict.Trace) Step {
	r := ruleOf(t.Name, t.Spec.Geometry)
	s := Step{Key: "value", Title: "The value", Formula: r.formula, Source: r.source}
	for _, f := range t.Figures {
		s.Rows = append(s.Rows, Row{Cells: []string{f.Name, um(f.Value) + " " + f.Unit, f.Note}})
	}
	switch {
	case t.Value != nil:
		s.Words = append(s.Words, "value "+signedFor(t.Name, t.Value.Micrometres())+" µm")
	case t.Quantity != nil:
		s.Words = append(s.Words, "see what was read")
	case t.Name == spindle.AttributeChar && len(t.Stations) > 0:
		s.Words = append(s.Words, "see what was answered")
	}
	return s
}

func signedFor(name string, x float64) string {
	if name == spindle.Size || name == spindle.TaperChar {
		return signed(x)
	}
	return um(x)
}

// per is the unit of a sensitivity: nothing for a length.
func per(unit string) string {
	switch {
	case unit == "µm":
		return ""
	case strings.Contains(unit, "/"):
		return " µm/(" + unit + ")"
	}
	return " µm/" + unit
}

func budget(t verdict.Trace) Step {
	s := Step{Key: "uncertainty", Title: "How sure", Formula: "u = √Σ(c·u)², U = 2u", Source: "JCGM 100:2008, 5.1; inputs of one origin are added with their signs first, 5.2",
		Head: []string{"source", "as given", "distribution", "u of it", "sensitivity c", "c·u, µm", "share", "ν"}}
	for _, l := range t.Budget {
		nu := "∞"
		if l.Nu > 0 {
			nu = strconv.Itoa(l.Nu)
		}
		s.Rows = append(s.Rows, Row{Cells: []string{l.Source, l.Value, l.Distribution, um(l.UInput) + " " + l.Unit, um(l.Sensitivity) + per(l.Unit), um(l.UUm), um(100*l.Share) + " %", nu}})
	}
	if t.U != nil && len(s.Rows) > 0 {
		s.Words = append(s.Words, "u = "+um(t.U.Micrometres()/2)+" µm, U = 2u = "+lengthUm(t.U)+" µm")
	}
	if t.NuEff != nil && len(s.Rows) > 0 {
		s.Words = append(s.Words, "ν_eff = "+um(*t.NuEff)+", U for 95 % by Student's t = "+lengthUm(t.U95)+" µm (Welch–Satterthwaite, JCGM 100:2008, G.4)")
	}
	return s
}
