package server

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/go-playground/validator/v10"

	"runtrue/internal/access"
)

// The bodies of the interface. Validation here is of their shape only: whether an entry is valid is the record's own business. Numbers are pointers
// where leaving them out differs from zero.

type enrolBody struct {
	Code       string `json:"code" validate:"required,max=128"`
	DeviceName string `json:"device_name" validate:"required,max=256"`
}

type refreshBody struct {
	Refresh string `json:"refresh" validate:"required,max=2048"`
}

type pushBody struct {
	DeviceSaved *int64   `json:"device_saved" validate:"required,min=0"`
	Entries     []string `json:"entries" validate:"required,max=500"`
}

type pullBody struct {
	Cursors []cursor `json:"cursors" validate:"required,max=10000,dive"`
	Limit   int      `json:"limit" validate:"min=0"`
}

type cursor struct {
	Job  string `json:"job" validate:"required,max=64"`
	N    uint64 `json:"n"`
	Hash string `json:"hash" validate:"max=96"` // may be empty where n is 0
}

type haveBody struct {
	Job string   `json:"job" validate:"required,max=64"`
	IDs []string `json:"ids" validate:"required,max=50000"`
}

type codeBody struct {
	Person string `json:"person" validate:"required,max=64"`
}

type endBody struct {
	Why string `json:"why" validate:"required,max=200"`
}

type taken struct {
	ID     string `json:"id"`
	Job    string `json:"job"`
	N      uint64 `json:"n"`
	Hash   string `json:"hash"`
	Repeat bool   `json:"repeat"`
}

type refused struct {
	Index   int    `json:"index"`
	ID      string `json:"id"`
	Code    string `json:"code"`
	Message string `json:"message"`
}

type waiting struct {
	Index   int      `json:"index"`
	ID      string   `json:"id"`
	Missing []string `json:"missing"`
}

type pushAnswer struct {
	Server  string    `json:"server"`
	TimeMS  int64     `json:"time_ms"`
	Taken   []taken   `json:"taken"`
	Refused []refused `json:"refused"`
	Waiting []waiting `json:"waiting"`
}

type pulledJob struct {
	Job       string   `json:"job"`
	Continues bool     `json:"continues"`
	N         uint64   `json:"n"`
	Hash      string   `json:"hash"`
	HeadN     uint64   `json:"head_n"`
	HeadHash  string   `json:"head_hash"`
	BackedUp  uint64   `json:"backed_up_through"`
	Entries   []string `json:"entries"`
}

type pullAnswer struct {
	Server string      `json:"server"`
	TimeMS int64       `json:"time_ms"`
	Jobs   []pulledJob `json:"jobs"`
	More   bool        `json:"more"`
}

type jobHead struct {
	Job  string `json:"job"`
	N    uint64 `json:"n"`
	Hash string `json:"hash"`
}

type personAnswer struct {
	Server string        `json:"server,omitempty"`
	Device string        `json:"device,omitempty"`
	Person string        `json:"person,omitempty"`
	Name   string        `json:"name,omitempty"`
	Roles  []access.Held `json:"roles"`

	Access    string `json:"access,omitempty"`
	Refresh   string `json:"refresh,omitempty"`
	ExpiresMS int64  `json:"access_expires_ms,omitempty"`
	TimeMS    int64  `json:"time_ms"`
}

var shape = validator.New(validator.WithRequiredStructEnabled())

// readBody reads one JSON value into v and checks its shape. Keys that this version does not know are passed over, so that a newer device can speak to an older server.
func readBody(r *request, v any) error {
	if len(r.body) == 0 {
		return faultf(codeMalformed, "the request has no body; send one JSON object")
	}
	// Go's decoder would put U+FFFD in place of bytes that are not UTF-8, and an entry would be another one.
	if !utf8.Valid(r.body) {
		return faultf(codeMalformed, "the body is not valid UTF-8; nothing of it was kept")
	}
	dec := json.NewDecoder(bytes.NewReader(r.body))
	if err := dec.Decode(v); err != nil {
		return &fault{code: codeMalformed, message: "the body is not a whole JSON object of the form expected here, or was cut off; nothing of it was kept; send it again", cause: err}
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return faultf(codeMalformed, "something follows the JSON object; nothing of it was kept")
	}
	if err := shape.Struct(v); err != nil {
		var fields validator.ValidationErrors
		if !errors.As(err, &fields) {
			return fmt.Errorf("checking the shape of a body: %w", err)
		}
		var words []string
		for _, f := range fields {
			words = append(words, fmt.Sprintf("%s must satisfy %q", f.Namespace(), strings.TrimSuffix(f.Tag()+" "+f.Param(), " ")))
		}
		return faultf(codeMalformed, "%s; nothing of the request was kept", strings.Join(words, ", "))
	}
	return nil
}

// cursorHash writes the running hash of a job's arrivals up to n, with the seal that only this server can make.
func (s *Server) cursorHash(job string, n uint64, hash [32]byte) string {
	h := hex.EncodeToString(hash[:])
	return h + s.desk.Seal("arrival", job, strconv.FormatUint(n, 10), h)
}

// readCursor takes a cursor apart. sealed: the server itself once handed it out.
func (s *Server) readCursor(c cursor) (hash [32]byte, sealed bool, err error) {
	if err := access.CheckName("job", c.Job); err != nil {
		return hash, false, err
	}
	if c.N == 0 && c.Hash == "" {
		return hash, false, nil
	}
	if len(c.Hash) != 64 && len(c.Hash) != 96 {
		return hash, false, faultf(codeMalformed, "the cursor of job %q has a hash of %d digits; send the one that came with its entries", c.Job, len(c.Hash))
	}
	b, err := hex.DecodeString(c.Hash[:64])
	if err != nil {
		return hash, false, faultf(codeMalformed, "the cursor of job %q has a hash that is not hexadecimal; send the one that came with its entries", c.Job)
	}
	hash = [32]byte(b)
	return hash, c.Hash == s.cursorHash(c.Job, c.N, hash), nil
}
