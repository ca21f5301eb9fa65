package iso492

// Cell is one value of the tables, for the coverage and rules tests.
type Cell struct {
	Ring  Ring
	Class Class
	Value
}

// Name is one name for each cell.
func (c Cell) Name() string {
	name := string(c.Ring) + " " + string(c.Class) + " " + c.Symbol + " [" + c.Series + "]"
	if c.Edition != "any" {
		name += " " + c.Edition
	}
	return name + ", " + c.Step.String()
}

// AllCells lists every value of both tables, in the tables' order.
func AllCells() []Cell {
	var all []Cell
	for _, ring := range []Ring{Inner, Outer} {
		for _, r := range tables().rings[ring] {
			all = append(all, Cell{ring, r.class, r.value})
		}
	}
	return all
}
