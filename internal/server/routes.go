package server

import (
	"net"
	"slices"
	"strings"

	"runtrue/internal/spindle"
)

// need is what a route asks of the caller before its handler runs.
type need string

const (
	// anybody: no token is looked at.
	anybody need = "anybody"
	// session: a live session. Handing in what a device holds asks for no more, also from a person whose roles were taken back: nothing measured may be lost.
	session need = "session"
	// reader: a live session of somebody who has not lost every role. A person who was let in by a code and has no role yet may read.
	reader need = "reader"
	// admin: a live session of somebody who holds the role admin now.
	admin need = "admin"
)

type route struct {
	method string
	path   string // ":name" is one segment
	needs  need
	limit  int // bytes of the body
	// guess is set where secrets can be guessed: failures are counted, and too many of them from one address are turned away.
	guess  bool
	handle handler
}

// Bodies, in bytes.
const (
	maxSmallBody = 16 << 10
	maxJSONBody  = 4 << 20
	maxPhotoPart = 8 << 20
)

// routes is every route of the interface, version 1.
var routes = []route{
	{"POST", "/api/v1/enrol", anybody, maxSmallBody, true, (*Server).enrol},
	{"POST", "/api/v1/refresh", anybody, maxSmallBody, true, (*Server).refresh},
	{"GET", "/api/v1/me", session, 0, false, (*Server).me},
	{"POST", "/api/v1/push", session, maxJSONBody, false, (*Server).push},
	{"POST", "/api/v1/pull", reader, maxJSONBody, false, (*Server).pull},
	{"POST", "/api/v1/have", session, maxJSONBody, false, (*Server).have},
	{"GET", "/api/v1/live", reader, 0, false, (*Server).live},
	{"PUT", "/api/v1/photos/:hash", session, maxPhotoPart, false, (*Server).putPhoto},
	{"HEAD", "/api/v1/photos/:hash", session, 0, false, (*Server).headPhoto},
	{"GET", "/api/v1/photos/:hash", reader, 0, false, (*Server).getPhoto},
	{"GET", "/api/v1/jobs", reader, 0, false, (*Server).listJobs},
	{"GET", "/api/v1/jobs/:job/:file", reader, 0, false, (*Server).export},
	{"POST", "/api/v1/codes", admin, maxSmallBody, false, (*Server).newCode},
	{"GET", "/api/v1/devices", admin, 0, false, (*Server).listDevices},
	{"POST", "/api/v1/devices/:device/end", admin, maxSmallBody, false, (*Server).endDevice},
	{"GET", "/healthz", anybody, 0, false, (*Server).health},
}

// theRest is the page, and what is not there.
var theRest = route{"", "/*", anybody, maxPhotoPart, false, (*Server).page}

// guard checks what must hold before a handler runs. Its order matters: the host first, so that a page of another origin that was pointed here learns nothing.
func (s *Server) guard(rt route, r *request) error {
	if !s.hostAllowed(r.header["host"]) {
		return faultf(codeHost, "this server does not go by the name %.80q; open it by the address that it printed when it started, or start it with that name", r.header["host"])
	}
	if enc := r.header["content-encoding"]; enc != "" && enc != "identity" {
		return faultf(codeEncoding, "a body compressed by %.20q is not taken; send it as it is", enc)
	}
	if len(r.body) > rt.limit {
		return faultf(codeTooLarge, "the body has %d bytes, at most %d here; nothing of it was kept; send it in several", len(r.body), rt.limit)
	}
	if err := checkDigest(r); err != nil {
		return err
	}
	if rt.guess {
		if err := s.guesses.mayTry(r.addr); err != nil {
			return err
		}
	}
	if rt.needs == anybody {
		return nil
	}
	token, ok := bearer(r)
	if !ok {
		return faultf(codeToken, "no access token came with the request; enter a code first")
	}
	who, err := s.desk.Check(token)
	if err != nil {
		return err
	}
	r.who = who
	switch rt.needs {
	case reader:
		if s.desk.LostAllRoles(who.Person) {
			return faultf(codeForbidden, "every role of %s was withdrawn or has ended; what the device still holds can be handed in, nothing can be read; ask whoever runs the shop's record", s.desk.NameOf(who.Person))
		}
	case admin:
		if !s.desk.Holds(who.Person, spindle.Admin) {
			return faultf(codeForbidden, "this needs the role admin, which %s does not hold; ask somebody who does", s.desk.NameOf(who.Person))
		}
	}
	return nil
}

func bearer(r *request) (string, bool) {
	scheme, token, ok := strings.Cut(r.header["authorization"], " ")
	return token, ok && strings.EqualFold(scheme, "Bearer") && token != ""
}

// hostAllowed compares the name in the Host header, without its port, with the names that the server goes by. It stops a page of another origin whose name was made to
// resolve to this machine (DNS rebinding).
func (s *Server) hostAllowed(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	return slices.Contains(s.hosts, name)
}
