package jobfile

import (
	"strings"

	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// ProgressStep is after how many readings [Reader.Progress] is called.
const ProgressStep = 100_000

// Reader reads job files. The zero value reads quietly.
type Reader struct {
	// Progress, where not nil, is called whenever another ProgressStep readings have been read, with the name of the file and how many it was so far.
	Progress func(name string, readings int)
}

// Read reads a job file. The name is for messages only. Of a file with an error nothing is returned.
//
// Errors: *[Errors], which names every fault with line and path.
func Read(name string, data []byte) (*File, error) { return Reader{}.Read(name, data) }

// ReadCSV reads readings from CSV into a copy of the file, behind those that it has. Errors as for [Read], with line and column.
func (f *File) ReadCSV(name string, data []byte) (*File, error) {
	return Reader{}.ReadCSV(f, name, data)
}

// Read is [Read] with progress.
func (r Reader) Read(name string, data []byte) (*File, error) {
	l := &loading{reader: r, file: &File{}, report: &report{}}
	l.json(name, string(data))
	if err := l.report.err(); err != nil {
		return nil, err
	}
	return l.file, nil
}

// loading is one file while it is read: parsed first, then held against itself.
type loading struct {
	reader   Reader
	report   *report
	file     *File
	readings []found
	features []*object // in the order of the file, to point back to
	parts    []*object
	setups   []*object
}

// json parses the file. Readings are taken in one by one, since there can be a million of them; all else is small.
func (l *loading) json(name, text string) {
	p := newParser(text)
	top := &object{report: l.report, file: name, node: &node{kind: kindObject, line: 1}, index: -1}
	broken := func() {
		l.report.add(Error{File: name, Line: p.line, Column: p.column(), Err: ErrSyntax, Fact: p.fault})
	}
	if p.peek() != '{' {
		p.fail("a job file is one JSON object, it begins with an opening brace")
		broken()
		return
	}
	top.node.line = p.line
	if !p.object(func(key string) bool { return l.member(p, top, key) }) || !p.end() {
		broken()
		return
	}
	l.fields(top)
	top.close()
	l.link(top)
}

func (l *loading) member(p *parser, top *object, key string) bool {
	if key != "readings" || p.peek() != '[' {
		n, ok := p.value(1)
		top.node.keys, top.node.items = append(top.node.keys, key), append(top.node.items, n)
		return ok
	}
	top.node.keys, top.node.items = append(top.node.keys, key), append(top.node.items, node{kind: kindList, line: p.line})
	return p.list(func(i int) bool {
		n, ok := p.value(2)
		if !ok {
			return false
		}
		o := &object{report: l.report, file: top.file, node: &n, up: top, key: key, index: i}
		if n.kind != kindObject {
			l.report.addf(spot{file: top.file, line: n.line, path: o.path("")}, ErrType, "an object is expected, this is %s", n.kind)
			return true
		}
		l.reading(o)
		return true
	})
}

func (l *loading) reading(o *object) {
	var r found
	before := l.report.count()
	readingFields(o, &r)
	o.close()
	if l.report.count() == before {
		// A reading with a fault of its own is not held against the rest as well.
		r.spot = spot{file: o.file, line: o.node.line, path: o.path("")}
		l.readings = append(l.readings, r)
	}
	if n := len(l.readings); n%ProgressStep == 0 && n > 0 && l.reader.Progress != nil {
		l.reader.Progress(o.file, n)
	}
}

// fields describes the file but for its readings.
func (l *loading) fields(o *object) {
	f := l.file
	headFields(o, f)
	each(o, "setups", &f.Setups, false, func(o *object, s *verdict.SetupState) {
		l.setups = append(l.setups, o)
		setupFields(o, s)
	})
	each(o, "components", &f.Components, true, func(o *object, c *Component) {
		l.parts = append(l.parts, o)
		componentFields(o, c, func(o *object, _ *Feature) { l.features = append(l.features, o) })
	})
	o.take("readings", kindList, false)
}

func headFields(o *object, f *File) {
	version := Version
	number(o, "runtrue_job", 0, &version, true)
	if !o.writing() && version != Version {
		o.faultf("runtrue_job", ErrInvalid, "this is version %d of the format, version %d is read", version, Version)
	}
	o.text("job", &f.Job, false)
	o.text("note", &f.Note, false)
	each(o, "facts", &f.Facts, false, func(o *object, v *Fact) {
		o.text("field", &v.Field, true)
		o.text("value", &v.Value, false)
	})
	d := &f.Defaults
	o.child("defaults", *d != Defaults{}, false, func(o *object) {
		o.text("setup", &d.Setup, false)
		o.text("person", &d.Person, false)
		word(o, "purpose", &d.Purpose, false)
	})
}

// JSON writes the file so that [Read] gives the same again.
func (f *File) JSON() []byte {
	o := &object{}
	headFields(o, f)
	each(o, "setups", &f.Setups, false, setupFields)
	each(o, "components", &f.Components, true, func(o *object, c *Component) { componentFields(o, c, nil) })
	persons := map[string]string{}
	for _, s := range f.Setups {
		persons[s.ID] = s.Person
	}
	var lines []string
	for _, r := range f.Readings {
		item := found{Observation: r}
		if r.Person == persons[r.Reading.Setup] && r.Reading.Setup != "" {
			item.Person = ""
		}
		if r.Reading.Purpose == spindle.ForInspection && f.Defaults.Purpose == "" {
			item.Reading.Purpose = ""
		}
		line := &object{}
		readingFields(line, &item)
		lines = append(lines, line.oneLine())
	}
	if len(lines) > 0 {
		o.put("readings", "[\n  "+strings.Join(lines, ",\n  ")+"\n]")
	}
	return []byte(bracket("{", o.members, "}") + "\n")
}
