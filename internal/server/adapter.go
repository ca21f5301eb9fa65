package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"runtrue/internal/access"
)

// request is one request with everything copied that a handler may look at.
type request struct {
	ctx    context.Context
	method string
	path   string
	params map[string]string
	query  map[string]string
	header map[string]string // keys in lower case; of several values the first
	body   []byte
	addr   string         // the caller's network address without port
	who    access.Session // zero on routes that need no session
}

// answer is what a handler gives back. Exactly one of body, value and stream is used.
type answer struct {
	status int // 0: 200
	header [][2]string
	body   []byte
	value  any // written as JSON
	stream func(w *bufio.Writer, conn net.Conn)
}

type handler func(s *Server, r *request) (answer, error)

// Limits of the transport.
const (
	readTimeout  = 60 * time.Second // for one whole request: 8 MiB of a photo over a slow radio
	writeTimeout = 60 * time.Second
	idleTimeout  = 90 * time.Second
	workTimeout  = 30 * time.Second // for what a handler asks of the store
	maxHeader    = 8 << 10          // bytes of a request's head
	maxConns     = 2048
)

func (s *Server) newApp() *fiber.App {
	app := fiber.New(fiber.Config{
		DisableStartupMessage: true, StrictRouting: true, CaseSensitive: true,
		BodyLimit: maxPhotoPart, ReadBufferSize: maxHeader, Concurrency: maxConns,
		ReadTimeout: readTimeout, WriteTimeout: writeTimeout, IdleTimeout: idleTimeout,
		ErrorHandler: func(c *fiber.Ctx, err error) error { return s.write(c, answer{}, libraryFault(err)) },
	})
	for _, rt := range routes {
		app.Add(rt.method, rt.path, s.adapt(rt))
	}
	app.Use(s.adapt(theRest))
	return app
}

// libraryFault names what the HTTP library refuses before any handler runs.
func libraryFault(err error) error {
	var e *fiber.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code {
	case fiber.StatusRequestEntityTooLarge:
		return faultf(codeTooLarge, "the request is larger than %d bytes; nothing of it was kept; send it in several", maxPhotoPart)
	case fiber.StatusRequestHeaderFieldsTooLarge:
		return faultf(codeTooLarge, "the request's head is larger than %d bytes", maxHeader)
	case fiber.StatusRequestTimeout:
		return faultf(codeMalformed, "the request did not come to its end in %v; nothing of it was kept; send it again", readTimeout)
	case fiber.StatusNotFound:
		return faultf(codeNotFound, "there is nothing here")
	case fiber.StatusMethodNotAllowed:
		return faultf(codeMethod, "the method is not offered here")
	case fiber.StatusBadRequest, fiber.StatusBadGateway:
		return faultf(codeMalformed, "the request is not well-formed HTTP or was cut off; nothing of it was kept; send it again")
	}
	return err
}

// adapt wraps one route: copy, guard, handle, write, log. Nothing that belongs to the library leaves it.
func (s *Server) adapt(rt route) fiber.Handler {
	return func(c *fiber.Ctx) error {
		began := s.cfg.Now()
		r := copyRequest(c)
		ctx, cancel := context.WithTimeout(s.base, workTimeout)
		defer cancel()
		r.ctx = ctx
		a, err := s.handle(rt, r)
		werr := s.write(c, a, err)
		s.logRequest(c, rt, r, err, began)
		return werr
	}
}

func (s *Server) handle(rt route, r *request) (a answer, err error) {
	defer func() {
		if p := recover(); p != nil {
			a, err = answer{}, fmt.Errorf("panic in %s %s: %v", rt.method, rt.path, p)
		}
	}()
	if err := s.guard(rt, r); err != nil {
		return answer{}, err
	}
	return rt.handle(s, r)
}

func copyRequest(c *fiber.Ctx) *request {
	r := &request{method: strings.Clone(c.Method()), path: strings.Clone(c.Path()), params: map[string]string{}, query: map[string]string{}, header: map[string]string{}}
	for k, v := range c.AllParams() {
		r.params[strings.Clone(k)] = strings.Clone(v)
	}
	c.Context().QueryArgs().VisitAll(func(k, v []byte) {
		if _, ok := r.query[string(k)]; !ok {
			r.query[string(k)] = string(v)
		}
	})
	c.Request().Header.VisitAll(func(k, v []byte) {
		if name := strings.ToLower(string(k)); r.header[name] == "" {
			r.header[name] = string(v)
		}
	})
	// Not c.Body(), which unpacks compressed bodies without a limit.
	r.body = bytes.Clone(c.Request().Body())
	r.addr = c.Context().RemoteIP().String()
	return r
}

// write sends an answer, or the error in its place.
func (s *Server) write(c *fiber.Ctx, a answer, err error) error {
	h := &c.Response().Header
	for _, kv := range securityHeaders {
		h.Set(kv[0], kv[1])
	}
	h.Set("Cache-Control", "no-store")
	if err != nil {
		a = errorAnswer(faultOf(err))
	}
	body := a.body
	if a.value != nil {
		var buf bytes.Buffer
		enc := json.NewEncoder(&buf)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(a.value); err != nil {
			return fmt.Errorf("writing the answer: %w", err)
		}
		body = buf.Bytes()
		h.Set("Content-Type", "application/json; charset=utf-8")
		h.Set(digestField, digestOf(body))
	}
	for _, kv := range a.header {
		h.Set(kv[0], kv[1])
	}
	status := a.status
	if status == 0 {
		status = 200
	}
	c.Status(status)
	if a.stream != nil {
		conn, stream := c.Context().Conn(), a.stream
		c.Context().SetBodyStreamWriter(func(w *bufio.Writer) { stream(w, conn) })
		return nil
	}
	return c.Send(body)
}

// ErrorBody is the JSON form of an error.
type ErrorBody struct {
	Error struct {
		Code    string `json:"code"`
		Message string `json:"message"`
	} `json:"error"`
}

func errorAnswer(f *fault) answer {
	var b ErrorBody
	b.Error.Code, b.Error.Message = f.code, f.message
	a := answer{status: statusOf[f.code], value: b}
	switch f.code {
	case codeSlowDown, codeBusy, codeStopping:
		a.header = append(a.header, [2]string{"Retry-After", "10"})
	case codeToken, codeExpired, codeEnded:
		a.header = append(a.header, [2]string{"WWW-Authenticate", `Bearer realm="runtrue"`})
	}
	return a
}

// logRequest writes one line: the route's pattern and not the path, and neither query nor body nor token, so that no reading and no secret reaches the log.
func (s *Server) logRequest(c *fiber.Ctx, rt route, r *request, err error, began time.Time) {
	status := c.Response().StatusCode()
	attrs := []any{slog.String("method", r.method), slog.String("route", rt.path), slog.Int("status", status), slog.Int("bytes_in", len(r.body)),
		slog.Duration("took", s.cfg.Now().Sub(began)), slog.String("from", r.addr), slog.String("person", r.who.Person), slog.String("device", r.who.Device)}
	level := slog.LevelInfo
	if err != nil {
		f := faultOf(err)
		attrs = append(attrs, slog.String("code", f.code))
		if status >= 500 {
			level = slog.LevelError
			if f.cause != nil {
				attrs = append(attrs, slog.String("cause", f.cause.Error()))
			}
		}
	}
	s.log.Log(context.Background(), level, "request", attrs...)
}
