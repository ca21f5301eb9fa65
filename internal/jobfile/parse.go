package jobfile

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// maxNesting is deeper than any part of a job file.
const maxNesting = 16

type kind byte

const (
	kindNull kind = iota
	kindBool
	kindNumber
	kindText
	kindList
	kindObject
	kindNotFinite // NaN, Infinity: no JSON, but what some programs write
)

func (k kind) String() string {
	return [...]string{"null", "true or false", "a number", "text", "a list", "an object", "a number that is not finite"}[k]
}

// node is one value of the file. Numbers keep their digits as written.
type node struct {
	kind         kind
	line, column int
	text         string // of a number or text; "true" or "false"
	keys         []string
	items        []node // of a list, or of an object in the order of keys
}

// parser reads JSON text. It keeps everything that decides whether a number is exact, and ends at the first fault of syntax.
type parser struct {
	s      string
	i      int
	line   int
	start  int // of the line
	fault  string
	failed bool
}

func newParser(s string) *parser {
	p := &parser{s: s, line: 1}
	if strings.HasPrefix(s, "\ufeff") {
		p.i = len("\ufeff")
	}
	return p
}

func (p *parser) fail(fact string) bool {
	if !p.failed {
		p.failed, p.fault = true, fact
	}
	return false
}

func (p *parser) column() int { return p.i - p.start + 1 }

func (p *parser) space() {
	for p.i < len(p.s) {
		switch p.s[p.i] {
		case '\n':
			p.line++
			p.start = p.i + 1
		case ' ', '\t', '\r':
		default:
			return
		}
		p.i++
	}
}

// peek skips white space and returns the next byte, 0 at the end.
func (p *parser) peek() byte {
	p.space()
	if p.i < len(p.s) {
		return p.s[p.i]
	}
	return 0
}

func (p *parser) expect(c byte, where string) bool {
	if p.peek() != c || p.i >= len(p.s) {
		if p.i >= len(p.s) {
			return p.fail("the file ends " + where + ", " + shown(string(c)) + " is expected")
		}
		return p.fail(shown(string(c)) + " is expected " + where + ", not " + p.next())
	}
	p.i++
	return true
}

// next quotes what stands here.
func (p *parser) next() string {
	r, n := utf8.DecodeRuneInString(p.s[p.i:])
	if r == utf8.RuneError && n <= 1 {
		return "a byte that is not UTF-8"
	}
	return shown(string(r))
}

// end refuses anything after the value.
func (p *parser) end() bool {
	if p.peek(); p.i < len(p.s) && !p.failed {
		return p.fail("the file goes on after its closing brace with " + p.next() + ": one file holds one job")
	}
	return !p.failed
}

func (p *parser) value(depth int) (n node, ok bool) {
	c := p.peek()
	n.line, n.column = p.line, p.column()
	switch {
	case depth > maxNesting:
		return n, p.fail("nested deeper than any part of a job file")
	case p.i >= len(p.s):
		return n, p.fail("the file ends where a value is expected")
	case c == '{':
		n.kind = kindObject
		return n, p.object(func(key string) bool {
			item, ok := p.value(depth + 1)
			n.keys, n.items = append(n.keys, key), append(n.items, item)
			return ok
		})
	case c == '[':
		n.kind = kindList
		return n, p.list(func(int) bool {
			item, ok := p.value(depth + 1)
			n.items = append(n.items, item)
			return ok
		})
	case c == '"':
		n.kind = kindText
		n.text, ok = p.str()
		return n, ok
	}
	for _, w := range []struct {
		word string
		kind kind
	}{{"true", kindBool}, {"false", kindBool}, {"null", kindNull}, {"NaN", kindNotFinite}, {"Infinity", kindNotFinite}, {"-Infinity", kindNotFinite}, {"-NaN", kindNotFinite}, {"+Infinity", kindNotFinite}} {
		if strings.HasPrefix(p.s[p.i:], w.word) {
			p.i += len(w.word)
			n.kind, n.text = w.kind, w.word
			return n, true
		}
	}
	n.kind = kindNumber
	size := numberLength(p.s[p.i:])
	if size == 0 {
		return n, p.fail("a value is expected, not " + p.next())
	}
	n.text = p.s[p.i : p.i+size]
	p.i += size
	return n, true
}

// numberLength returns how many bytes at the front are a number of JSON's grammar; 0: none.
func numberLength(s string) int {
	digits := func(i int) int {
		for i < len(s) && '0' <= s[i] && s[i] <= '9' {
			i++
		}
		return i
	}
	i := 0
	if strings.HasPrefix(s, "-") {
		i = 1
	}
	whole := digits(i)
	if whole == i || s[i] == '0' && whole > i+1 {
		return 0
	}
	i = whole
	if i < len(s) && s[i] == '.' {
		if end := digits(i + 1); end > i+1 {
			i = end
		} else {
			return 0
		}
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		at := i + 1
		if at < len(s) && (s[at] == '+' || s[at] == '-') {
			at++
		}
		end := digits(at)
		if end == at {
			return 0
		}
		i = end
	}
	if i < len(s) && (s[i] == '.' || s[i] == '_' || '0' <= s[i] && s[i] <= '9' || 'a' <= s[i]|0x20 && s[i]|0x20 <= 'z') {
		return 0
	}
	return i
}

// object calls member at each value, with its key.
func (p *parser) object(member func(key string) bool) bool {
	p.i++
	for first := true; p.peek() != '}'; first = false {
		if !first && (!p.expect(',', "between members") || p.peek() == '}' && !p.fail("a comma stands before the closing brace")) {
			return false
		}
		if p.peek() != '"' {
			if p.i >= len(p.s) {
				return p.fail("the file ends inside an object")
			}
			return p.fail("a key in quotation marks is expected, not " + p.next())
		}
		key, ok := p.str()
		if !ok || !p.expect(':', "after a key") || !member(key) {
			return false
		}
	}
	p.i++
	return true
}

// list calls item at each value.
func (p *parser) list(item func(i int) bool) bool {
	p.i++
	for i := 0; p.peek() != ']'; i++ {
		if i > 0 && (!p.expect(',', "between the items of a list") || p.peek() == ']' && !p.fail("a comma stands before the closing bracket")) {
			return false
		}
		if !item(i) {
			return false
		}
	}
	p.i++
	return true
}

// str reads a text and refuses what two readers could take differently: bytes that are not UTF-8, control characters, half surrogate pairs.
func (p *parser) str() (string, bool) {
	p.i++
	start := p.i
	var out []byte
	plain := true
	for p.i < len(p.s) {
		c := p.s[p.i]
		switch {
		case c == '"':
			text := p.s[start:p.i]
			if !plain {
				text = string(out)
			}
			p.i++
			return text, true
		case c < 0x20:
			return "", p.fail("a line break or another control character stands inside a text")
		case c == '\\':
			if plain {
				out, plain = append(out, p.s[start:p.i]...), false
			}
			r, ok := p.escape()
			if !ok {
				return "", false
			}
			out = utf8.AppendRune(out, r)
		default:
			r, n := utf8.DecodeRuneInString(p.s[p.i:])
			if r == utf8.RuneError && n <= 1 {
				return "", p.fail("a byte inside a text is not UTF-8")
			}
			if !plain {
				out = append(out, p.s[p.i:p.i+n]...)
			}
			p.i += n
		}
	}
	return "", p.fail("the file ends inside a text")
}

var escapes = map[byte]rune{'"': '"', '\\': '\\', '/': '/', 'b': '\b', 'f': '\f', 'n': '\n', 'r': '\r', 't': '\t'}

func (p *parser) escape() (rune, bool) {
	p.i++
	if p.i >= len(p.s) {
		return 0, p.fail("the file ends inside a text")
	}
	c := p.s[p.i]
	p.i++
	if r, ok := escapes[c]; ok {
		return r, true
	}
	if c != 'u' {
		return 0, p.fail("unknown escape " + shown(`\`+string(rune(c))) + " inside a text")
	}
	r, ok := p.hex4()
	if ok && utf16.IsSurrogate(r) {
		low := rune(0)
		if ok = strings.HasPrefix(p.s[p.i:], `\u`); ok {
			p.i += 2
			low, ok = p.hex4()
		}
		r = utf16.DecodeRune(r, low)
		if !ok || r == utf8.RuneError {
			return 0, p.fail("half a surrogate pair stands inside a text")
		}
	}
	return r, ok
}

func (p *parser) hex4() (rune, bool) {
	var r rune
	for n := 0; n < 4; n++ {
		digit := -1
		if p.i < len(p.s) {
			digit = strings.IndexByte("0123456789abcdef", p.s[p.i]|0x20)
			if c := p.s[p.i]; c < '0' { // |0x20 maps some controls onto digits
				digit = -1
			}
		}
		if digit < 0 {
			return 0, p.fail(`\u needs four hexadecimal digits`)
		}
		r = r<<4 | rune(digit)
		p.i++
	}
	return r, true
}
