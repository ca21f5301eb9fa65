package iso286

import (
	"fmt"

	"runtrue/internal/length"
)

// RuleOnlyRemark is what rule_only_classes.csv says of a class at a size; empty if nothing.
func RuleOnlyRemark(nominal length.Length, class string) string {
	c, err := ParseClass(class)
	if err != nil {
		return err.Error()
	}
	for _, r := range tables().ruleOnly {
		if r.step.contains(nominal) && (r.class == c.String() || r.class == c.Letters) {
			return r.remark
		}
	}
	return ""
}

// Cell is one number of the tables, for the coverage test.
type Cell struct {
	Name   string // table kind, letters or grade, grades, step; one name for each cell
	Mirror string // the name's beginning for the mirrored letter; empty for tolerances and increments
	Mark   string
}

func stepName(s Step) string {
	return fmt.Sprintf("%d-%d", s.Over/length.Millimetre, s.Upto/length.Millimetre)
}

func deviationName(letters string, row *deviationRow) string {
	name := "deviation " + letters + " " + stepName(row.step)
	for _, span := range row.grades {
		name += " " + span.from.String() + ".." + span.to.String()
	}
	return name
}

// AllCells lists every number of every table, in the tables' order.
func AllCells() []Cell {
	t := tables()
	var all []Cell
	for _, kind := range []struct {
		name string
		rows []gradeCells
	}{{"tolerance", t.tolerances}, {"delta", t.deltas}} {
		for _, row := range kind.rows {
			for _, g := range Grades() {
				if c := row.cells[g]; c.given {
					all = append(all, Cell{Name: kind.name + " " + g.String() + " " + stepName(row.step), Mark: c.mark})
				}
			}
		}
	}
	shafts, holes := ShaftLetters(), HoleLetters()
	for _, side := range [][2][]string{{shafts, holes}, {holes, shafts}} {
		for i, letters := range side[0] {
			for _, row := range t.deviations[letters] {
				all = append(all, Cell{Name: deviationName(letters, &row), Mirror: "deviation " + side[1][i] + " " + stepName(row.step), Mark: row.cell.mark})
			}
		}
	}
	return all
}

// CellsUsed lists the cells that make the limits of a class at a size.
func CellsUsed(nominal length.Length, class string) ([]string, error) {
	l, err := Lookup(nominal, class)
	if err != nil {
		return nil, err
	}
	row, err := tables().deviation(nominal, l.Class)
	if err != nil {
		return nil, err
	}
	used := []string{"tolerance " + l.Class.Grade.String() + " " + stepName(l.Provenance[0].Step), deviationName(l.Class.Letters, &row)}
	if row.addDelta {
		used = append(used, "delta "+l.Class.Grade.String()+" "+stepName(l.Provenance[2].Step))
	}
	return used, nil
}

// RowsFor counts the deviation rows that claim a class at a size; more than one would be a contradiction.
func RowsFor(nominal length.Length, c Class) int {
	n := 0
	for _, row := range tables().deviations[c.Letters] {
		if row.step.contains(nominal) && row.covers(c.Grade) {
			n++
		}
	}
	return n
}
