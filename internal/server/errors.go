package server

import (
	"context"
	"errors"
	"fmt"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/store"
	"runtrue/internal/store/photos"
)

// Codes of errors as they stand on the wire. Programs look at the code; the message is for people.
const (
	codeMalformed = "malformed"     // the request, or an entry in it, has not the form it must have
	codeAltered   = "altered"       // the body does not agree with its digest
	codeToken     = "token"         // no token, or not a good one
	codeExpired   = "expired"       // a good token that has run out
	codeEnded     = "session ended" // on purpose, or because a spent token was used again
	codeBadCode   = "code"          // an enrolment code that is unknown, spent or expired
	codeForbidden = "forbidden"     // a good session whose person may not do this
	codeNotFound  = "not found"
	codeMethod    = "method"
	codeOffset    = "offset" // a photo's part does not begin where the part kept ends
	codeTooLarge  = "too large"
	codeEncoding  = "encoding"
	codeHost      = "host" // asked for under a name that is not the server's
	codeHash      = "hash" // a photo's bytes do not hash to its name
	codeSlowDown  = "slow down"
	codeInternal  = "internal"
	codeDamaged   = "damaged" // stored bytes are not what was written
	codeBusy      = "busy"
	codeStopping  = "stopping"
	codeNoPage    = "page not built"
	codeFull      = "full" // no room on the server's disk
)

// statusOf is the only place where a code becomes an HTTP status.
var statusOf = map[string]int{
	codeMalformed: 400, codeAltered: 400,
	codeToken: 401, codeExpired: 401, codeEnded: 401, codeBadCode: 401,
	codeForbidden: 403,
	codeNotFound:  404,
	codeMethod:    405,
	codeOffset:    409,
	codeTooLarge:  413,
	codeEncoding:  415,
	codeHost:      421,
	codeHash:      422,
	codeSlowDown:  429,
	codeInternal:  500, codeDamaged: 500,
	codeBusy: 503, codeStopping: 503, codeNoPage: 503,
	codeFull: 507,
}

// fault is an error that may be shown: its message says what was wrong, what was kept, and what to do, and gives nothing away.
type fault struct {
	code    string
	message string
	cause   error // for the log; may be nil
}

func (f *fault) Error() string { return f.code + ": " + f.message }
func (f *fault) Unwrap() error { return f.cause }

func faultf(code, format string, args ...any) *fault {
	return &fault{code: code, message: fmt.Sprintf(format, args...)}
}

// known are the errors of other packages that have a code of their own; the first that matches counts. Those without words pass the error's own message on.
var known = []struct {
	err   error
	code  string
	words string
}{
	{access.ErrMalformed, codeMalformed, ""},
	{access.ErrName, codeMalformed, ""},
	{access.ErrToken, codeToken, ""},
	{access.ErrExpired, codeExpired, ""},
	{access.ErrSessionEnded, codeEnded, ""},
	{access.ErrCode, codeBadCode, ""},
	{record.ErrTooLarge, codeTooLarge, ""},
	{record.ErrMalformed, codeMalformed, ""},
	{store.ErrFull, codeFull, "the server's disk is full; nothing of this request was kept; keep it on the device, send it again later, and tell whoever looks after the server"},
	{store.ErrClosed, codeStopping, "the server is stopping; nothing of this request was kept for certain; send it again later"},
	{store.ErrFailed, codeStopping, "the server's store failed and must be opened again; whether this request was kept is not known; send it again later, it does no harm twice"},
	{store.ErrCorrupt, codeDamaged, "the server found damage in what it had stored and does not pass it on; nothing on the device is touched; tell whoever looks after the server"},
	{photos.ErrOffset, codeOffset, ""},
	{photos.ErrAbsent, codeNotFound, "the photo is not on the server, or not all of it; the device that took it may not have sent it yet"},
	{photos.ErrBusy, codeBusy, "the photo is being received already; ask again"},
	{store.ErrHash, codeHash, ""},
	{store.ErrTooLarge, codeTooLarge, ""},
	{context.DeadlineExceeded, codeBusy, "the server was too busy; nothing of this request was kept for certain; send it again"},
	{context.Canceled, codeStopping, "the server is stopping; nothing of this request was kept for certain; send it again later"},
}

// faultOf turns any error into one that may be shown. What it does not know is internal, and its words stay in the log.
func faultOf(err error) *fault {
	var f *fault
	if errors.As(err, &f) {
		return f
	}
	for _, k := range known {
		if errors.Is(err, k.err) {
			words := k.words
			if words == "" {
				words = err.Error()
			}
			return &fault{code: k.code, message: words, cause: err}
		}
	}
	return &fault{code: codeInternal, message: "something went wrong on the server, not on the device; nothing of this request was kept for certain; send it again, it does no harm twice", cause: err}
}
