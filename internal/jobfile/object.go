package jobfile

import (
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"strings"

	"runtrue/internal/spindle"
)

// object is one JSON object while it is read or written. The description of a format is one function that is run either way, so that what is written can be read and means the same.
//
// Reading, node is set: each method takes its key out of it. Writing, node is nil: each method adds a member.
type object struct {
	report  *report
	file    string
	node    *node
	up      *object
	key     string // under which it stands in up
	index   int    // in a list; -1: none
	known   []string
	members []string
	csv     bool // it is a line of a CSV: faults name line and column
	faulty  bool // a fault was reported in it
}

func (o *object) writing() bool { return o.node == nil }

// path names a member of the object; key "" the object itself.
func (o *object) path(key string) string {
	if o.csv {
		return key
	}
	words := ""
	if o.up != nil {
		words = o.up.path(o.key)
		if o.index >= 0 {
			words += "[" + strconv.Itoa(o.index) + "]"
		}
	}
	if key != "" && words != "" {
		words += "."
	}
	return words + key
}

// spot is the place of a member, or of the object where it has no such member.
func (o *object) spot(key string) spot {
	at := spot{file: o.file, path: o.path(key)}
	if o.node != nil {
		at.line = o.node.line
		if n := o.find(key); n != nil {
			at.line = n.line
			if o.csv {
				at.column = n.column
			}
		}
	}
	return at
}

// item is the place of a member of an object in a list.
func (o *object) item(list string, i int, key string) spot {
	at := o.spot(list)
	if n := o.find(list); n != nil && i < len(n.items) {
		at = (&object{report: o.report, file: o.file, node: &n.items[i], up: o, key: list, index: i}).spot(key)
	}
	return at
}

func (o *object) find(key string) *node {
	for i, k := range o.node.keys {
		if k == key {
			return &o.node.items[i]
		}
	}
	return nil
}

func (o *object) faultf(key string, sentinel error, format string, args ...any) {
	o.report.addf(o.spot(key), sentinel, format, args...)
}

// fault reports an error whose sentinel is wrapped and whose words already begin with it.
func (o *object) fault(key string, err error) {
	for _, sentinel := range []error{ErrTooFine, ErrOutOfRange} {
		if errors.Is(err, sentinel) {
			o.faultf(key, sentinel, "%s", strings.TrimPrefix(err.Error(), sentinel.Error()+": "))
			return
		}
	}
	o.faultf(key, ErrInvalid, "%s", strings.TrimPrefix(err.Error(), spindle.ErrInvalid.Error()+": "))
}

// take returns the value of the key if it is given and of the kind; a wrong kind is a fault.
func (o *object) take(key string, want kind, need bool) *node {
	o.known = append(o.known, key)
	n := o.find(key)
	switch {
	case n == nil || n.kind == kindNull:
		if need && !o.nearby(key) {
			o.faultf(key, ErrMissing, "write it")
		}
		return nil
	case n.kind == want:
		return n
	case n.kind == kindNotFinite:
		o.faultf(key, ErrNotFinite, "%s cannot be measured; leave the key out where nothing is known", n.text)
	case o.csv:
		o.faultf(key, ErrType, "%s is expected, this cell is %s", want, shown(n.text))
	case n.kind == kindText:
		o.faultf(key, ErrType, "%s is expected, this is the text %s", want, shown(n.text))
	default:
		o.faultf(key, ErrType, "%s is expected, this is %s", want, n.kind)
	}
	return nil
}

// nearby reports whether the object has the key with another unit or none: that is reported once, as what it is.
func (o *object) nearby(key string) bool {
	return slices.ContainsFunc(o.node.keys, func(k string) bool { return k != key && base(k) == base(key) && base(key) != key })
}

// units are the endings that a key's unit can have here, longest first.
var units = []string{"_ppm_per_k", "_degc", "_deg", "_um", "_mm", "_k"}

// foreignUnits are endings that people may try, to tell them which unit is wanted.
var foreignUnits = []string{"_micron", "_microns", "_inch", "_mdegc", "_mdeg", "_rad", "_µm", "_nm", "_pm", "_mk", "_in", "_°c", "_c", "_m"}

// base is a key without its unit.
func base(key string) string {
	for _, list := range [][]string{units, foreignUnits} {
		for _, u := range list {
			if b, ok := strings.CutSuffix(key, u); ok && b != "" {
				return b
			}
		}
	}
	return key
}

// close reports keys that nobody took and keys that stand twice.
func (o *object) close() {
	if o.writing() {
		return
	}
	for i, key := range o.node.keys {
		twice := slices.Contains(o.node.keys[:i], key)
		if !twice && slices.Contains(o.known, key) {
			continue
		}
		at := o.spot(key)
		at.line = o.node.items[i].line
		if o.csv {
			at.column = o.node.items[i].column
		}
		if twice {
			o.report.addf(at, ErrDuplicate, "the key stands twice; which of the two holds cannot be told")
			continue
		}
		var near []string
		for _, k := range o.known {
			if base(k) == base(key) && k != base(k) {
				near = append(near, k)
			}
		}
		switch {
		case len(near) > 0 && key == base(key):
			o.report.addf(at, ErrNoUnit, "the unit stands in the key: write %s", strings.Join(near, " or "))
		case len(near) > 0:
			o.report.addf(at, ErrUnknownKey, "this unit is not used here: write %s", strings.Join(near, " or "))
		default:
			o.report.addf(at, ErrUnknownKey, "known here are %s", strings.Join(o.known, ", "))
		}
	}
}

// put adds a member.
func (o *object) put(key, text string) { o.members = append(o.members, quote(key)+": "+text) }

func quote(s string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		panic("jobfile: a text cannot be written: " + err.Error()) // Encode writes every string
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// text is a string member. Left out and empty are the same, unless it is needed.
func (o *object) text(key string, v *string, need bool) {
	if o.writing() {
		if need || *v != "" {
			o.put(key, quote(*v))
		}
		return
	}
	if n := o.take(key, kindText, need); n != nil {
		*v = n.text
		if need && n.text == "" {
			o.faultf(key, ErrMissing, "it is empty")
		}
	}
}

// word is a text of one of our own string types.
func word[T ~string](o *object, key string, v *T, need bool) {
	s := string(*v)
	o.text(key, &s, need)
	*v = T(s)
}

// number is a decimal member kept as a whole multiple of 10^-places. Left out and 0 are the same, unless it is needed.
func number[T ~int64 | ~int](o *object, key string, places int, v *T, need bool) {
	if o.writing() {
		if need || *v != 0 {
			o.put(key, unscaled(int64(*v), places))
		}
		return
	}
	if n := o.take(key, kindNumber, need); n != nil {
		whole, err := scaled(n.text, places)
		if err == nil && int64(T(whole)) != whole { // an int of 32 bits, in the browser
			err = ErrOutOfRange
		}
		if err != nil {
			o.fault(key, err)
			return
		}
		*v = T(whole)
	}
}

// optional is a number that may be left out, which is not the same as 0.
func optional[T ~int64](o *object, key string, places int, v **T) {
	if o.writing() {
		if *v != nil {
			number(o, key, places, *v, true)
		}
		return
	}
	if n := o.find(key); n == nil || n.kind == kindNull {
		o.known = append(o.known, key)
		return
	}
	*v = new(T)
	number(o, key, places, *v, true)
}

// flag is a yes or no with a value that holds where it is left out.
func (o *object) flag(key string, v *bool, otherwise bool) {
	if o.writing() {
		if *v != otherwise {
			o.put(key, strconv.FormatBool(*v))
		}
		return
	}
	*v = otherwise
	if n := o.take(key, kindBool, false); n != nil {
		*v = n.text == "true"
	}
}

// each is a list member.
func each[T any](o *object, key string, list *[]T, need bool, fields func(*object, *T)) {
	if o.writing() {
		if need || len(*list) > 0 {
			var texts []string
			for i := range *list {
				item := &object{}
				fields(item, &(*list)[i])
				texts = append(texts, item.render())
			}
			o.put(key, bracket("[", texts, "]"))
		}
		return
	}
	n := o.take(key, kindList, need)
	if n == nil {
		return
	}
	for i := range n.items {
		var v T
		item := &object{report: o.report, file: o.file, node: &n.items[i], up: o, key: key, index: i}
		if n.items[i].kind != kindObject {
			o.report.addf(spot{file: o.file, line: n.items[i].line, path: item.path("")}, ErrType, "an object is expected, this is %s", n.items[i].kind)
			continue
		}
		before := o.report.count()
		fields(item, &v)
		item.close()
		item.faulty = o.report.count() > before
		*list = append(*list, v)
	}
}

// plain is a list of numbers or texts.
func plain[T any](o *object, key string, list *[]T, want kind, read func(n node) (T, error), write func(T) string) {
	if o.writing() {
		if len(*list) > 0 {
			texts := make([]string, len(*list))
			for i, v := range *list {
				texts[i] = write(v)
			}
			o.put(key, "["+strings.Join(texts, ", ")+"]")
		}
		return
	}
	n := o.take(key, kindList, false)
	if n == nil {
		return
	}
	for i, item := range n.items {
		at := key + "[" + strconv.Itoa(i) + "]"
		where := spot{file: o.file, line: item.line, path: o.path(at)}
		if item.kind != want {
			sentinel := ErrType
			if item.kind == kindNotFinite {
				sentinel = ErrNotFinite
			}
			o.report.addf(where, sentinel, "%s is expected, this is %s", want, item.kind)
			continue
		}
		v, err := read(item)
		if err != nil {
			sentinel := ErrTooFine
			if errors.Is(err, ErrOutOfRange) {
				sentinel = ErrOutOfRange
			}
			o.report.addf(where, sentinel, "%s", strings.TrimPrefix(err.Error(), sentinel.Error()+": "))
			continue
		}
		*list = append(*list, v)
	}
}

func (o *object) texts(key string, list *[]string) {
	plain(o, key, list, kindText, func(n node) (string, error) { return n.text, nil }, quote)
}

// angles are degrees in the file and thousandths of a degree in the program.
func (o *object) angles(key string, list *[]int64) {
	plain(o, key, list, kindNumber, func(n node) (int64, error) { return scaled(n.text, 3) }, func(v int64) string { return unscaled(v, 3) })
}

// child is a member that is an object. It reports whether it is there.
func (o *object) child(key string, present, need bool, fields func(*object)) bool {
	if o.writing() {
		if present {
			c := &object{}
			fields(c)
			o.put(key, c.render())
		}
		return present
	}
	n := o.take(key, kindObject, need)
	if n == nil {
		return false
	}
	c := &object{report: o.report, file: o.file, node: n, up: o, key: key, index: -1}
	fields(c)
	c.close()
	return true
}

// lineLimit is how long an object may be to stand on one line, in bytes.
const lineLimit = 150

func (o *object) render() string { return bracket("{", o.members, "}") }

func (o *object) oneLine() string { return "{" + strings.Join(o.members, ", ") + "}" }

// bracket sets members on one line if they fit, else on lines of their own.
func bracket(open string, members []string, closing string) string {
	size := 0
	for _, m := range members {
		size += len(m) + 2
		if strings.Contains(m, "\n") {
			size = lineLimit + 1
			break
		}
	}
	if size <= lineLimit {
		return open + strings.Join(members, ", ") + closing
	}
	var b strings.Builder
	b.WriteString(open)
	for i, m := range members {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString("\n  ")
		b.WriteString(strings.ReplaceAll(m, "\n", "\n  ")) // a text holds no line break: it is escaped
	}
	b.WriteString("\n" + closing)
	return b.String()
}
