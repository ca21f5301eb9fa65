package record

import (
	"encoding"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// maxDepth bounds nesting; our deepest body has five levels.
const maxDepth = 12

// decodeStrict reads one JSON value into the struct that v points to. It is the only parser of entries, on every device and on the server, and refuses whatever two parsers could read differently:
// keys that differ in case, keys given twice, unknown keys, numbers that are not whole or do not fit, invalid UTF-8 or surrogates, text that is not NFC,
// white space between tokens, anything after the value.
func decodeStrict(b []byte, v any) error {
	d := decoder{b: b}
	rv := reflect.ValueOf(v)
	if err := d.value(rv.Elem(), 0); err != nil {
		return err
	}
	if d.i != len(b) {
		return d.errorf("something follows the entry")
	}
	return nil
}

type decoder struct {
	b []byte
	i int
}

func (d *decoder) errorf(format string, args ...any) error {
	return fmt.Errorf("%w: at byte %d: %s", ErrMalformed, d.i, fmt.Sprintf(format, args...))
}

func (d *decoder) peek() byte {
	if d.i < len(d.b) {
		return d.b[d.i]
	}
	return 0
}

func (d *decoder) expect(c byte) error {
	if d.peek() != c || d.i >= len(d.b) {
		return d.errorf("%q expected", c)
	}
	d.i++
	return nil
}

func (d *decoder) literal(s string) bool {
	if strings.HasPrefix(string(d.b[d.i:min(len(d.b), d.i+len(s))]), s) {
		d.i += len(s)
		return true
	}
	return false
}

// raw stands for a value whose type is not known to this program; it is checked for form and kept as bytes.
type raw []byte

var (
	textType = reflect.TypeOf((*encoding.TextUnmarshaler)(nil)).Elem()
	rawType  = reflect.TypeOf(raw(nil))
)

func (d *decoder) value(v reflect.Value, depth int) error {
	if depth > maxDepth {
		return d.errorf("nested deeper than %d", maxDepth)
	}
	if v.Type() == rawType {
		start := d.i
		if err := d.any(depth); err != nil {
			return err
		}
		v.SetBytes(append([]byte(nil), d.b[start:d.i]...))
		return nil
	}
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		return d.value(v.Elem(), depth)
	}
	if v.CanAddr() && v.Addr().Type().Implements(textType) {
		s, err := d.str()
		if err != nil {
			return err
		}
		return v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s))
	}
	switch v.Kind() {
	case reflect.String:
		s, err := d.str()
		if err != nil {
			return err
		}
		v.SetString(s)
	case reflect.Bool:
		switch {
		case d.literal("true"):
			v.SetBool(true)
		case d.literal("false"):
			v.SetBool(false)
		default:
			return d.errorf("true or false expected")
		}
	case reflect.Int, reflect.Int64:
		n, err := d.integer()
		if err != nil {
			return err
		}
		v.SetInt(n)
	case reflect.Slice:
		return d.slice(v, depth)
	case reflect.Struct:
		return d.object(v, depth)
	default:
		return d.errorf("a %s cannot stand in an entry", v.Type())
	}
	return nil
}

func (d *decoder) slice(v reflect.Value, depth int) error {
	if err := d.expect('['); err != nil {
		return err
	}
	out := reflect.MakeSlice(v.Type(), 0, 4)
	for d.peek() != ']' {
		if out.Len() > 0 {
			if err := d.expect(','); err != nil {
				return err
			}
		}
		e := reflect.New(v.Type().Elem()).Elem()
		if err := d.value(e, depth+1); err != nil {
			return err
		}
		out = reflect.Append(out, e)
	}
	d.i++
	v.Set(out)
	return nil
}

func (d *decoder) object(v reflect.Value, depth int) error {
	fields := fieldsOf(v.Type())
	if err := d.expect('{'); err != nil {
		return err
	}
	var seen uint64
	for first := true; d.peek() != '}'; first = false {
		if !first {
			if err := d.expect(','); err != nil {
				return err
			}
		}
		key, err := d.str()
		if err != nil {
			return err
		}
		n, ok := fields.index[key]
		if !ok {
			return d.errorf("unknown key %q", key)
		}
		if seen&(1<<n) != 0 {
			return d.errorf("key %q stands twice", key)
		}
		seen |= 1 << n
		if err := d.expect(':'); err != nil {
			return err
		}
		if err := d.value(v.FieldByIndex(fields.field[n]), depth+1); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	d.i++
	if missing := fields.required &^ seen; missing != 0 {
		for key, n := range fields.index {
			if missing&(1<<n) != 0 && (1<<n) == missing&-missing {
				return d.errorf("key %q is missing", key)
			}
		}
	}
	return nil
}

// fieldTable says which keys a struct has. Keys without omitempty or omitzero must be there. The keys of an embedded struct are keys of the outer one.
type fieldTable struct {
	index    map[string]int
	field    [][]int
	required uint64
}

var fieldTables sync.Map // reflect.Type → *fieldTable

func fieldsOf(t reflect.Type) *fieldTable {
	if f, ok := fieldTables.Load(t); ok {
		return f.(*fieldTable)
	}
	f := &fieldTable{index: map[string]int{}}
	f.add(t, nil)
	fieldTables.Store(t, f)
	return f
}

func (f *fieldTable) add(t reflect.Type, path []int) {
	for i := 0; i < t.NumField(); i++ {
		at := append(append([]int(nil), path...), i)
		name, options, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if t.Field(i).Anonymous && name == "" {
			f.add(t.Field(i).Type, at)
			continue
		}
		if name == "" || name == "-" {
			continue
		}
		n := len(f.field)
		if n >= 64 {
			panic("record: " + t.String() + " has more than 64 keys")
		}
		f.index[name] = n
		f.field = append(f.field, at)
		if options == "" {
			f.required |= 1 << n
		}
	}
}

func (d *decoder) integer() (int64, error) {
	start := d.i
	if d.peek() == '-' {
		d.i++
	}
	digits := d.i
	for c := d.peek(); c >= '0' && c <= '9'; c = d.peek() {
		d.i++
	}
	text := string(d.b[start:d.i])
	switch {
	case d.i == digits:
		return 0, d.errorf("a whole number expected")
	case d.b[digits] == '0' && d.i > digits+1, text == "-0":
		return 0, d.errorf("number %q has a leading zero or a signed zero", text)
	case d.peek() == '.' || d.peek() == 'e' || d.peek() == 'E':
		return 0, d.errorf("number %q… is not whole", text)
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0, d.errorf("number %q does not fit in 64 bits", text)
	}
	return n, nil
}

// str reads a string and refuses invalid UTF-8, lone surrogates, control characters and text that is not in NFC.
func (d *decoder) str() (string, error) {
	if err := d.expect('"'); err != nil {
		return "", err
	}
	start := d.i
	for d.i < len(d.b) && d.b[d.i] >= 0x20 && d.b[d.i] < utf8.RuneSelf && d.b[d.i] != '"' && d.b[d.i] != '\\' {
		d.i++
	}
	if d.peek() == '"' {
		s := string(d.b[start:d.i])
		d.i++
		return s, nil
	}
	out := append([]byte(nil), d.b[start:d.i]...)
	for {
		if d.i >= len(d.b) {
			return "", d.errorf("a string does not end")
		}
		c := d.b[d.i]
		switch {
		case c == '"':
			d.i++
			if !norm.NFC.IsNormal(out) {
				return "", d.errorf("text %q is not in Unicode form NFC", out)
			}
			return string(out), nil
		case c < 0x20:
			return "", d.errorf("a control character stands in a string")
		case c == '\\':
			r, err := d.escape()
			if err != nil {
				return "", err
			}
			out = utf8.AppendRune(out, r)
		default:
			r, n := utf8.DecodeRune(d.b[d.i:])
			if r == utf8.RuneError && n <= 1 {
				return "", d.errorf("a byte is not UTF-8")
			}
			out = append(out, d.b[d.i:d.i+n]...)
			d.i += n
		}
	}
}

func (d *decoder) escape() (rune, error) {
	d.i++
	c := d.peek()
	d.i++
	switch c {
	case '"', '\\', '/':
		return rune(c), nil
	case 'b':
		return '\b', nil
	case 'f':
		return '\f', nil
	case 'n':
		return '\n', nil
	case 'r':
		return '\r', nil
	case 't':
		return '\t', nil
	case 'u':
		r, err := d.hex4()
		if err != nil {
			return 0, err
		}
		if utf16.IsSurrogate(r) {
			if !d.literal(`\u`) {
				return 0, d.errorf("half a surrogate pair")
			}
			low, err := d.hex4()
			if err != nil {
				return 0, err
			}
			if r = utf16.DecodeRune(r, low); r == utf8.RuneError {
				return 0, d.errorf("half a surrogate pair")
			}
		}
		return r, nil
	}
	return 0, d.errorf("unknown escape \\%c", c)
}

func (d *decoder) hex4() (rune, error) {
	if d.i+4 > len(d.b) {
		return 0, d.errorf("\\u needs four digits")
	}
	n, err := strconv.ParseUint(string(d.b[d.i:d.i+4]), 16, 16)
	if err != nil {
		return 0, d.errorf("\\u needs four hex digits")
	}
	d.i += 4
	return rune(n), nil
}

// any checks the form of a value whose keys are not known here.
func (d *decoder) any(depth int) error {
	if depth > maxDepth {
		return d.errorf("nested deeper than %d", maxDepth)
	}
	switch c := d.peek(); {
	case c == '"':
		_, err := d.str()
		return err
	case c == '{':
		d.i++
		seen := map[string]bool{}
		for d.peek() != '}' {
			if len(seen) > 0 {
				if err := d.expect(','); err != nil {
					return err
				}
			}
			key, err := d.str()
			if err != nil {
				return err
			}
			if seen[key] {
				return d.errorf("key %q stands twice", key)
			}
			seen[key] = true
			if err := d.expect(':'); err != nil {
				return err
			}
			if err := d.any(depth + 1); err != nil {
				return err
			}
		}
		d.i++
		return nil
	case c == '[':
		d.i++
		for n := 0; d.peek() != ']'; n++ {
			if n > 0 {
				if err := d.expect(','); err != nil {
					return err
				}
			}
			if err := d.any(depth + 1); err != nil {
				return err
			}
		}
		d.i++
		return nil
	case d.literal("true"), d.literal("false"), d.literal("null"):
		return nil
	}
	_, err := d.integer()
	return err
}

// topLevel splits an object of which only some keys are known here into its values, all checked for form.
func topLevel(b []byte) (map[string]raw, bool) {
	d := decoder{b: b}
	if d.any(0) != nil || d.i != len(b) || b[0] != '{' {
		return nil, false
	}
	keys := map[string]raw{}
	for d.i = 1; d.peek() != '}'; {
		if len(keys) > 0 {
			d.i++ // the comma
		}
		key, err := d.str()
		if err != nil {
			return nil, false
		}
		d.i++ // the colon
		start := d.i
		if d.any(1) != nil {
			return nil, false
		}
		keys[key] = d.b[start:d.i]
	}
	return keys, true
}
