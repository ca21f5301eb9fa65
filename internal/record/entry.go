package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"

	"golang.org/x/text/unicode/norm"

	"runtrue/internal/spindle"
)

// Entry is one entry: the envelope, the decoded body and the bytes that both came from.
type Entry struct {
	ID      ID
	V       int
	Job     string
	Parents []ID
	By      string       // person
	As      spindle.Role // the role in which it was made
	Grant   ID           // the grant that gave the role, an entry of the shop's record; zero: none
	Device  string
	WallMS  int64  // the device's clock
	OffMS   *int64 // what to add to it to get the server's, where the device ever learnt it
	Kind    string
	Body    Body // nil if Unread
	// Unread is why the body could not be read by this program: a newer version or an unknown kind. Such an entry is kept, passed on and holds the job.
	Unread string
	// Bytes are what was hashed. They must not be changed.
	Bytes []byte
}

// TimeMS is the display time of the entry, and whether the device's clock had been checked against the server's. No rule depends on it but overdue, which can only hold.
func (e *Entry) TimeMS() (ms int64, clocked bool) {
	if e.OffMS == nil {
		return e.WallMS, false
	}
	return e.WallMS + *e.OffMS, true
}

// envelope is the written form, in the order of its keys.
type envelope struct {
	V       int          `json:"v"`
	Job     string       `json:"job"`
	Salt    string       `json:"salt"`
	Parents []ID         `json:"parents"`
	By      string       `json:"by"`
	As      spindle.Role `json:"as"`
	Grant   ID           `json:"grant"`
	Device  string       `json:"device"`
	WallMS  int64        `json:"wall_ms"`
	OffMS   *int64       `json:"off_ms,omitempty"`
	Kind    string       `json:"kind"`
	Body    raw          `json:"body"`
}

// MarshalJSON writes the bytes as they are.
func (r raw) MarshalJSON() ([]byte, error) { return r, nil }

// Decode reads one entry strictly. The errors wrap [ErrMalformed] or [ErrTooLarge]. An entry of a newer version or an unknown kind is no error: see [Entry.Unread].
func Decode(b []byte) (*Entry, error) {
	if len(b) > MaxEntry {
		return nil, fmt.Errorf("%w: %d bytes, at most %d", ErrTooLarge, len(b), MaxEntry)
	}
	var env envelope
	if err := decodeStrict(b, &env); err != nil {
		if newer, ok := decodeNewer(b); ok {
			return newer, nil
		}
		return nil, err
	}
	if err := env.check(); err != nil {
		return nil, err
	}
	e := &Entry{ID: Sum(b), V: env.V, Job: env.Job, Parents: env.Parents, By: env.By, As: env.As, Grant: env.Grant, Device: env.Device,
		WallMS: env.WallMS, OffMS: env.OffMS, Kind: env.Kind, Bytes: b}
	kind, known := kindTable[env.Kind]
	switch {
	case env.V > Version:
		e.Unread = newerVersion(env.V)
	case !known:
		e.Unread = fmt.Sprintf("its kind %q is not known to this program", env.Kind)
	default:
		body := kind.new()
		if err := decodeStrict(env.Body, body); err != nil {
			return nil, fmt.Errorf("body of %s: %w", env.Kind, err)
		}
		if err := body.Check(); err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrMalformed, env.Kind, err)
		}
		e.Body = body
	}
	return e, nil
}

// decodeNewer reads what must be known of an entry of a later version, whose envelope may have keys that this program does not know: job, parents and version.
func decodeNewer(b []byte) (*Entry, bool) {
	keys, ok := topLevel(b)
	if !ok {
		return nil, false
	}
	e := &Entry{ID: Sum(b), Bytes: b}
	for _, k := range []struct {
		name string
		into any
	}{{"v", &e.V}, {"job", &e.Job}, {"parents", &e.Parents}, {"by", &e.By}, {"kind", &e.Kind}} {
		if decodeStrict(keys[k.name], k.into) != nil {
			return nil, false
		}
	}
	if e.V <= Version || CheckName(e.Job) != nil || len(e.Parents) > MaxParents || slices.Contains(e.Parents, ID{}) {
		return nil, false
	}
	e.Unread = newerVersion(e.V)
	return e, true
}

func newerVersion(v int) string {
	return fmt.Sprintf("it is of version %d, this program reads up to %d", v, Version)
}

func (env *envelope) check() error {
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%w: %s", ErrMalformed, fmt.Sprintf(format, args...))
	}
	switch {
	case env.V < 1:
		return bad("version %d; versions count from 1", env.V)
	case len(env.Salt) != 32 || !isHex(env.Salt):
		return bad("salt %q is not 32 hex digits", env.Salt)
	case len(env.Parents) > MaxParents:
		return bad("%d parents, at most %d; gather them first", len(env.Parents), MaxParents)
	case env.Kind == "":
		return bad("an entry names its kind")
	}
	for i, p := range env.Parents {
		if p.IsZero() || i > 0 && env.Parents[i-1].Compare(p) >= 0 {
			return bad("parents are not in rising order without repetition")
		}
	}
	for _, name := range []string{env.Job, env.By, env.Device} {
		if err := CheckName(name); err != nil {
			return err
		}
	}
	return nil
}

func isHex(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; !(c >= '0' && c <= '9' || c >= 'a' && c <= 'f') {
			return false
		}
	}
	return true
}

// CheckName says what is wrong with the name of a job, person or device: 1 to 64 of a–z, 0–9 and the hyphen.
func CheckName(s string) error {
	ok := len(s) >= 1 && len(s) <= 64
	for i := 0; ok && i < len(s); i++ {
		c := s[i]
		ok = c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-'
	}
	if !ok {
		return fmt.Errorf("%w: name %q is not 1 to 64 of a–z, 0–9 and -", ErrMalformed, s)
	}
	return nil
}

// Draft is what is needed to make an entry. Salt must be 16 fresh random bytes: it keeps a legitimate repeat apart from a repeated push.
type Draft struct {
	Job     string
	Salt    [16]byte
	Parents []ID // in any order, repetition allowed
	By      string
	As      spindle.Role
	Grant   ID
	Device  string
	WallMS  int64
	OffMS   *int64
	Body    Body
}

// Make writes an entry and reads it back, so that what is saved is what every other device will accept.
func Make(d Draft) (*Entry, error) {
	if d.Body == nil {
		return nil, fmt.Errorf("%w: a draft has no body", ErrMalformed)
	}
	if err := d.Body.Check(); err != nil {
		return nil, err
	}
	body, err := encode(d.Body)
	if err != nil {
		return nil, err
	}
	b, err := encode(envelope{V: Version, Job: d.Job, Salt: fmt.Sprintf("%x", d.Salt), Parents: sortedIDs(d.Parents), By: d.By, As: d.As, Grant: d.Grant, Device: d.Device,
		WallMS: d.WallMS, OffMS: d.OffMS, Kind: d.Body.Kind(), Body: body})
	if err != nil {
		return nil, err
	}
	return Decode(b)
}

// ReadBody reads a body that the page wrote, by the kind's name. Unknown keys and kinds are refused; keys left out stand for their zero value.
func ReadBody(kind string, b []byte) (Body, error) {
	k, ok := kindTable[kind]
	if !ok {
		return nil, fmt.Errorf("%w: no kind %q", ErrMalformed, kind)
	}
	body := k.new()
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(body); err != nil {
		return nil, fmt.Errorf("%w: body of %s: %v", ErrMalformed, kind, err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, fmt.Errorf("%w: something follows the body of %s", ErrMalformed, kind)
	}
	if err := body.Check(); err != nil {
		return nil, err
	}
	return body, nil
}

func sortedIDs(ids []ID) []ID {
	out := make([]ID, 0, len(ids))
	out = append(out, ids...)
	sortIDs(out)
	n := 0
	for i, id := range out {
		if i == 0 || id != out[n-1] {
			out[n] = id
			n++
		}
	}
	return out[:n]
}

// encode writes JSON without escaping < > &, empty lists as [], never null, and text in NFC, whatever form a keyboard gave it in.
func encode(v any) ([]byte, error) {
	rv := reflect.New(reflect.TypeOf(v)).Elem()
	rv.Set(reflect.ValueOf(v))
	if rv.Kind() == reflect.Pointer {
		copied := reflect.New(rv.Type().Elem())
		copied.Elem().Set(rv.Elem())
		rv = copied.Elem()
	}
	normalise(rv)
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(rv.Interface()); err != nil {
		return nil, errors.Join(ErrMalformed, err)
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte("\n")), nil
}

// normalise replaces nil slices by empty ones and text by its NFC. Slices and pointers inside are copied before they are changed, so the caller's value stays as it is.
func normalise(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		if s := v.String(); !norm.NFC.IsNormalString(s) {
			v.SetString(norm.NFC.String(s))
		}
	case reflect.Struct:
		for i := 0; i < v.NumField(); i++ {
			if v.Type().Field(i).IsExported() {
				normalise(v.Field(i))
			}
		}
	case reflect.Pointer:
		if !v.IsNil() {
			copied := reflect.New(v.Type().Elem())
			copied.Elem().Set(v.Elem())
			normalise(copied.Elem())
			v.Set(copied)
		}
	case reflect.Slice:
		if v.Type() == rawType {
			return
		}
		copied := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		reflect.Copy(copied, v)
		for i := 0; i < copied.Len(); i++ {
			normalise(copied.Index(i))
		}
		v.Set(copied)
	}
}
