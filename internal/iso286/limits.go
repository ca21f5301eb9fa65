package iso286

import (
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/length"
)

// Limits is what a tolerance class allows at a nominal size. Deviations are from the nominal size, positive larger; the part's size must
// lie from Nominal+Lower to Nominal+Upper, both included.
type Limits struct {
	Nominal     length.Length `json:"nominal_pm"` // pm, above 0, at most 3150 mm
	Class       Class         `json:"class"`
	Upper       length.Length `json:"upper_pm"`          // pm, es or ES
	Lower       length.Length `json:"lower_pm"`          // pm, ei or EI
	Tolerance   length.Length `json:"tolerance_pm"`      // pm, Upper − Lower, above 0
	Fundamental length.Length `json:"fundamental_pm"`    // pm, the deviation nearer to the zero line, delta included; for js and JS the upper, +IT/2
	Which       string        `json:"which"`             // which deviation Fundamental is: "es", "ei", "ES" or "EI"
	Provenance  []Provenance  `json:"provenance"`        // every number used, the standard tolerance first
	Status      Status        `json:"status"`            // the worst of Provenance and Remarks
	Remarks     []string      `json:"remarks,omitempty"` // what a reader should know besides; often none
}

// UpperSize is the upper limit of size in pm.
func (l Limits) UpperSize() length.Length { return l.Nominal + l.Upper }

// LowerSize is the lower limit of size in pm.
func (l Limits) LowerSize() length.Length { return l.Nominal + l.Lower }

// Lookup is LimitsOf for a class in text, such as "k4". Errors: those of ParseClass and of LimitsOf.
func Lookup(nominal length.Length, class string) (Limits, error) {
	c, err := ParseClass(class)
	if err != nil {
		return Limits{}, err
	}
	return LimitsOf(nominal, c)
}

// LimitsOf returns the limits of a class at a nominal size in pm.
//
// Errors: ErrMalformed for the zero class; ErrNotDefined if the standard has no such letters or grade, or leaves them blank at this size;
// ErrOutOfRange unless 0 < nominal ≤ 3150 mm. Source: ISO 286-1:2010, Tables 1 to 5 and the rules in the package comment.
func LimitsOf(nominal length.Length, c Class) (Limits, error) {
	if err := c.check(); err != nil {
		return Limits{}, err
	}
	if err := checkNominal(nominal, c.String()); err != nil {
		return Limits{}, err
	}
	t := tables()
	tolerance, err := t.tolerance(nominal, c.Grade, c.String())
	if err != nil {
		return Limits{}, err
	}
	row, err := t.deviation(nominal, c)
	if err != nil {
		return Limits{}, err
	}
	l := Limits{Nominal: nominal, Class: c, Tolerance: tolerance.Value, Which: row.which, Provenance: []Provenance{tolerance}}
	printed := row.cell
	what := row.which + " of " + c.Letters
	switch {
	case row.half:
		printed.value = tolerance.Value / 2 // every standard tolerance is an even number of picometres
		printed.mark, printed.sources = "definition", nil
		what = "half of " + c.Grade.String() + ", " + what
	case strings.EqualFold(c.Letters, "h"):
		printed.mark = "definition" // h and H are the letters whose deviation is nothing
	}
	l.Provenance = append(l.Provenance, t.provenance(what, row.table, row.step, printed))
	l.Fundamental = printed.value
	if row.addDelta {
		delta, err := t.delta(nominal, c)
		if err != nil {
			return Limits{}, err
		}
		l.Provenance = append(l.Provenance, delta)
		l.Fundamental += delta.Value
	}
	if strings.EqualFold(row.which, "es") {
		l.Upper, l.Lower = l.Fundamental, l.Fundamental-l.Tolerance
	} else {
		l.Upper, l.Lower = l.Fundamental+l.Tolerance, l.Fundamental
	}
	l.Status = Confirmed
	for _, p := range l.Provenance {
		l.Status = worse(l.Status, p.Status)
		if p.Status == Unconfirmed {
			l.Remarks = append(l.Remarks, p.What+", "+p.Step.String()+": "+p.Confirmed)
		}
	}
	for _, r := range t.ruleOnly {
		if r.step.contains(nominal) && (r.class == c.String() || r.class == c.Letters) {
			l.Status = worse(l.Status, RuleOnly)
			l.Remarks = append(l.Remarks, r.remark)
		}
	}
	return l, nil
}

// StandardTolerance returns the standard tolerance of a grade at a nominal size, both in pm; the result is above 0. Errors: ErrNotDefined for
// a number that is no grade, IT01 and IT0 above 500 mm, IT14 to IT18 up to 1 mm; ErrOutOfRange unless 0 < nominal ≤ 3150 mm.
// Source: ISO 286-1:2010, Table 1.
func StandardTolerance(nominal length.Length, g Grade) (length.Length, error) {
	if err := g.check(); err != nil {
		return 0, err
	}
	if err := checkNominal(nominal, g.String()); err != nil {
		return 0, err
	}
	p, err := tables().tolerance(nominal, g, g.String())
	return p.Value, err
}

// Steps returns the main steps of nominal size, in order, of the standard tolerances. Some letters divide them further.
func Steps() []Step {
	var steps []Step
	for _, row := range tables().tolerances {
		steps = append(steps, row.step)
	}
	return steps
}

// smallSizes is the size up to and including which some cells of the first step are not used, by footnotes of Tables 1 to 5: grades from
// IT14, letters a, b, A and B, and hole N above IT8 (the last from memory).
const smallSizes = 1 * length.Millimetre

// tolerance finds the standard tolerance; asked is the question for the error.
func (t *tableSet) tolerance(nominal length.Length, g Grade, asked string) (Provenance, error) {
	if g >= 14 && nominal <= smallSizes {
		return Provenance{}, notDefined(nominal, asked, "IT14 to IT18 are not used for nominal sizes up to and including 1 mm")
	}
	for _, row := range t.tolerances {
		if c := row.cells[g]; row.step.contains(nominal) && c.given {
			return t.provenance(g.String(), tolerancesTable, row.step, c), nil
		}
	}
	var given []Step
	for _, row := range t.tolerances {
		if row.cells[g].given {
			given = append(given, row.step)
		}
	}
	return Provenance{}, notDefined(nominal, asked, fmt.Sprintf("%s is given %s only", g, stepsInWords(given)))
}

// delta finds the increment for a hole whose row asks for it.
func (t *tableSet) delta(nominal length.Length, c Class) (Provenance, error) {
	for _, row := range t.deltas {
		if printed := row.cells[c.Grade]; row.step.contains(nominal) && printed.given {
			printed.mark = "difference" // printed or not, it is no weaker than the two tolerances it comes from
			return t.provenance("delta of "+c.Grade.String(), holesNToZCTable, row.step, printed), nil
		}
	}
	return Provenance{}, notDefined(nominal, c.String(), fmt.Sprintf("%s here needs the increment delta, which the standard gives for IT3 to IT8 only", c.Letters))
}

// deviation finds the one row for the letters, the grade and the size.
func (t *tableSet) deviation(nominal length.Length, c Class) (deviationRow, error) {
	if nominal <= smallSizes {
		switch {
		case slices.Contains([]string{"a", "b", "A", "B"}, c.Letters):
			return deviationRow{}, notDefined(nominal, c.String(), c.Letters+" is not used for nominal sizes up to and including 1 mm")
		case c.Letters == "N" && c.Grade > 8:
			return deviationRow{}, notDefined(nominal, c.String(), "N above IT8 is not used for nominal sizes up to and including 1 mm")
		}
	}
	rows := t.deviations[c.Letters]
	for _, row := range rows {
		if row.step.contains(nominal) && row.covers(c.Grade) {
			return row, nil
		}
	}
	var stepsOfGrade, stepsOfLetter []Step
	var gradesHere []Grade
	for _, row := range rows {
		stepsOfLetter = append(stepsOfLetter, row.step)
		if row.covers(c.Grade) {
			stepsOfGrade = append(stepsOfGrade, row.step)
		}
		if row.step.contains(nominal) {
			for _, g := range Grades() {
				if row.covers(g) && (!row.addDelta || (g >= 3 && g <= 8)) {
					gradesHere = append(gradesHere, g)
				}
			}
		}
	}
	switch {
	case len(gradesHere) > 0:
		return deviationRow{}, notDefined(nominal, c.String(), fmt.Sprintf("at this size %s is given for %s only", c.Letters, gradesInWords(gradesHere)))
	case len(stepsOfGrade) > 0:
		return deviationRow{}, notDefined(nominal, c.String(), fmt.Sprintf("%s is given %s only", c.Letters, stepsInWords(stepsOfGrade)))
	}
	return deviationRow{}, notDefined(nominal, c.String(), fmt.Sprintf("%s is given %s only, and there not for %s", c.Letters, stepsInWords(stepsOfLetter), c.Grade))
}

func notDefined(nominal length.Length, asked, reason string) error {
	return &ClassError{Err: ErrNotDefined, Class: asked, Nominal: nominal, Reason: reason}
}

// stepsInWords joins steps that touch: "above 24 mm up to 3150 mm". The steps need not be in order.
func stepsInWords(steps []Step) string {
	steps = slices.Clone(steps)
	slices.SortFunc(steps, func(a, b Step) int {
		if a.Over != b.Over {
			return int(max(min(a.Over-b.Over, 1), -1))
		}
		return int(max(min(a.Upto-b.Upto, 1), -1))
	})
	var joined []Step
	for _, s := range steps {
		if last := len(joined) - 1; last >= 0 && s.Over <= joined[last].Upto {
			joined[last].Upto = max(joined[last].Upto, s.Upto)
			continue
		}
		joined = append(joined, s)
	}
	words := make([]string, len(joined))
	for i, s := range joined {
		words[i] = s.String()
	}
	return strings.Join(words, " and ")
}

// gradesInWords joins grades that follow each other: "IT5 to IT7".
func gradesInWords(grades []Grade) string {
	slices.Sort(grades)
	grades = slices.Compact(grades)
	var words []string
	for i := 0; i < len(grades); {
		j := i
		for j+1 < len(grades) && grades[j+1] == grades[j]+1 {
			j++
		}
		if i == j {
			words = append(words, grades[i].String())
		} else {
			words = append(words, grades[i].String()+" to "+grades[j].String())
		}
		i = j + 1
	}
	return strings.Join(words, " and ")
}
