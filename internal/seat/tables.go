package seat

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/csv"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"runtrue/internal/iso286"
	"runtrue/internal/length"
)

// Each file but sources.csv and gaps.csv is one printed page of a maker, with its own head comment; its name begins with the source id.
//
//go:embed tables/*.csv
var tableFiles embed.FS

// source is one printed page.
type source struct{ id, maker, title string }

// rule is one row of a table: where it applies and what it gives.
type rule struct {
	source         source
	part           Part
	group          Group
	characteristic string
	classes        []string // none: any
	kind           BearingType
	rotating       Rotation
	position       Position
	loads          []string // none: any
	demand         Demand
	span           span

	grade        iso286.Grade // with byGrade: the standard tolerance at the size …
	half         bool         // … or half of it
	byGrade      bool
	toleranced   string // a tolerance class
	perMM        bool   // greatest is for each millimetre of distance between the seats
	limits       bool   // upper and lower are given
	upper, lower length.Length
	greatest     length.Length
	mark         Mark
	note         string
}

// span is a span of nominal size in pm: above over, or from it where it is included, up to and including upto; upto 0 is no upper bound.
type span struct {
	over, upto length.Length
	included   bool
}

func (s span) contains(size length.Length) bool {
	return (size > s.over || s.included && size == s.over) && (s.upto == 0 || size <= s.upto)
}

// inWords joins spans that touch: "above 18 mm up to 250 mm".
func inWords(spans []span) string {
	spans = slices.Clone(spans)
	slices.SortFunc(spans, func(a, b span) int { return cmp.Compare(a.over, b.over) })
	var words []string
	for i := 0; i < len(spans); {
		s := spans[i]
		for i++; i < len(spans) && s.upto != 0 && spans[i].over <= s.upto; i++ {
			if spans[i].upto == 0 || spans[i].upto > s.upto {
				s.upto = spans[i].upto
			}
		}
		begins := "above "
		if s.included {
			begins = "from "
		}
		switch {
		case s.over == 0 && s.upto == 0:
			words = append(words, "every size")
		case s.upto == 0:
			words = append(words, begins+s.over.String())
		case s.over == 0:
			words = append(words, "up to "+s.upto.String())
		default:
			words = append(words, begins+s.over.String()+" up to "+s.upto.String())
		}
	}
	return strings.Join(words, " and ")
}

// gap is what is known to be missing, and why. An empty group stands for every group of the part.
type gap struct {
	maker  string
	part   Part
	group  Group
	reason string
}

type tableSet struct {
	makers []string
	rules  []rule
	gaps   []gap
}

// tables reads the embedded files once. A fault in them is a fault in the program, found by any test that proposes anything; hence the panic.
var tables = sync.OnceValue(func() *tableSet {
	t, err := readTables()
	if err != nil {
		panic("seat: " + err.Error())
	}
	return t
})

func readTables() (*tableSet, error) {
	t := &tableSet{}
	var sources []source
	err := eachRow("sources.csv", func(cells map[string]string) error {
		s := source{cells["id"], cells["maker"], cells["title"]}
		sources = append(sources, s)
		if !slices.Contains(t.makers, s.maker) {
			t.makers = append(t.makers, s.maker)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = eachRow("gaps.csv", func(cells map[string]string) error {
		t.gaps = append(t.gaps, gap{cells["maker"], Part(cells["part"]), Group(cells["group"]), cells["reason"]})
		return nil
	})
	if err != nil {
		return nil, err
	}
	files, err := tableFiles.ReadDir("tables")
	if err != nil {
		return nil, err
	}
	for _, s := range sources { // in their order, which is that of the answers
		i := slices.IndexFunc(files, func(f fs.DirEntry) bool { return strings.HasPrefix(f.Name(), s.id+"_") })
		if i < 0 {
			return nil, fmt.Errorf("source %s has no table", s.id)
		}
		err := eachRow(files[i].Name(), func(cells map[string]string) error {
			r, err := readRule(s, cells)
			t.rules = append(t.rules, r)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	if len(files) != len(sources)+2 {
		return nil, fmt.Errorf("%d files for %d sources", len(files), len(sources))
	}
	return t, nil
}

func readRule(s source, cells map[string]string) (rule, error) {
	r := rule{source: s, part: Part(cells["part"]), group: Group(cells["group"]), characteristic: cells["characteristic"],
		classes: strings.Fields(cells["class"]), kind: BearingType(cells["type"]), rotating: Rotation(cells["rotating"]), position: Position(cells["position"]),
		loads: strings.Fields(cells["load"]), demand: Demand(cells["demand"]), mark: Mark(cells["mark"]), note: cells["note"]}
	var err error
	read := func(column string, unit length.Unit) length.Length {
		if cells[column] == "" || err != nil {
			return 0
		}
		var l length.Length
		l, err = length.ParseIn(cells[column], unit)
		return l
	}
	r.span = span{over: read("over_mm", length.Millimetres), upto: read("upto_mm", length.Millimetres)}
	if cells["from_mm"] != "" {
		r.span.over, r.span.included = read("from_mm", length.Millimetres), true
	}
	r.limits = cells["upper_um"] != ""
	r.upper, r.lower = read("upper_um", length.Micrometres), read("lower_um", length.Micrometres)
	r.greatest = read("max_um", length.Micrometres)
	if err != nil {
		return r, err
	}
	switch give := cells["give"]; {
	case give == "":
	case give == "per mm":
		r.perMM = true
	case strings.HasPrefix(give, "IT"):
		grade, half := strings.CutSuffix(give, "/2")
		i := slices.IndexFunc(iso286.Grades(), func(g iso286.Grade) bool { return g.String() == grade })
		if i < 0 {
			return r, fmt.Errorf("%q is no standard tolerance", give)
		}
		r.byGrade, r.half, r.grade = true, half, iso286.Grades()[i]
	default:
		r.toleranced = give
		if _, err := iso286.ParseClass(give); err != nil {
			return r, err
		}
	}
	given := 0
	for _, b := range []bool{r.byGrade, r.toleranced != "", r.limits, r.greatest > 0} {
		if b {
			given++
		}
	}
	switch {
	case given != 1:
		return r, fmt.Errorf("%s gives %d values, want one", r.characteristic, given)
	case !slices.Contains(Parts(), r.part) || !slices.Contains(Groups(), r.group):
		return r, fmt.Errorf("part %q or group %q is unknown", r.part, r.group)
	case r.mark != Read && r.mark != FromMemory:
		return r, fmt.Errorf("mark %q is unknown", r.mark)
	}
	return r, nil
}

// eachRow calls read for every row of an embedded file, by column names; the first row names the columns and lines beginning with # are
// comment.
func eachRow(name string, read func(map[string]string) error) error {
	text, err := tableFiles.ReadFile("tables/" + name)
	if err != nil {
		return err
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	for i, record := range records[1:] {
		cells := map[string]string{}
		for j, column := range records[0] {
			cells[column] = record[j]
		}
		if err := read(cells); err != nil {
			return fmt.Errorf("%s, row %d: %w", name, i+1, err)
		}
	}
	return nil
}
