package server

import (
	"errors"

	"runtrue/internal/access"
)

// enrol spends a code. Sent under a live session, the device keeps its id: another person takes the tablet over.
func (s *Server) enrol(r *request) (answer, error) {
	var b enrolBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	same := ""
	if token, ok := bearer(r); ok {
		if who, err := s.desk.Check(token); err == nil {
			same = who.Device
		}
	}
	pair, err := s.desk.Enrol(r.ctx, b.Code, b.DeviceName, same)
	if err != nil {
		if errors.Is(err, access.ErrCode) || errors.Is(err, access.ErrMalformed) {
			s.guesses.failed(r.addr)
		}
		return answer{}, err
	}
	r.who = pair.Session // for the log
	a := s.person(pair.Session)
	a.Access, a.Refresh, a.ExpiresMS = pair.Access, pair.Refresh, pair.Expires.UnixMilli()
	return answer{value: a}, nil
}

func (s *Server) refresh(r *request) (answer, error) {
	var b refreshBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	pair, err := s.desk.Refresh(r.ctx, b.Refresh)
	if err != nil {
		if errors.Is(err, access.ErrToken) || errors.Is(err, access.ErrMalformed) {
			s.guesses.failed(r.addr)
		}
		return answer{}, err
	}
	r.who = pair.Session
	return answer{value: personAnswer{Access: pair.Access, Refresh: pair.Refresh, ExpiresMS: pair.Expires.UnixMilli(), TimeMS: s.nowMS(), Roles: s.desk.RolesOf(pair.Person)}}, nil
}

func (s *Server) me(r *request) (answer, error) { return answer{value: s.person(r.who)}, nil }

func (s *Server) person(who access.Session) personAnswer {
	return personAnswer{Server: s.store.ServerID(), Device: who.Device, Person: who.Person, Name: s.desk.NameOf(who.Person), Roles: s.desk.RolesOf(who.Person), TimeMS: s.nowMS()}
}

// newCode makes an enrolment code for a person. That the person is in the shop's record is not asked for: the code may be made first.
func (s *Server) newCode(r *request) (answer, error) {
	var b codeBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	if b.Person == serverName {
		return answer{}, faultf(codeMalformed, "person %q is the server itself; choose another id", serverName)
	}
	code, expires, err := s.desk.NewCode(r.ctx, access.CodeFor{Person: b.Person})
	if err != nil {
		return answer{}, err
	}
	return answer{value: map[string]any{"code": code, "person": b.Person, "expires_ms": expires.UnixMilli(), "time_ms": s.nowMS()}}, nil
}

func (s *Server) listDevices(*request) (answer, error) {
	return answer{value: map[string]any{"devices": s.desk.Devices(), "time_ms": s.nowMS()}}, nil
}

// endDevice ends the sessions of a device that was lost or is handed on.
func (s *Server) endDevice(r *request) (answer, error) {
	var b endBody
	if err := readBody(r, &b); err != nil {
		return answer{}, err
	}
	device := r.params["device"]
	if err := access.CheckName("device", device); err != nil {
		return answer{}, err
	}
	n, err := s.desk.EndDevice(r.ctx, device, b.Why)
	if err != nil {
		return answer{}, err
	}
	return answer{value: map[string]any{"ended": n, "time_ms": s.nowMS()}}, nil
}

func (s *Server) health(*request) (answer, error) {
	select {
	case <-s.stopping:
		return answer{}, faultf(codeStopping, "the server is stopping")
	default:
	}
	return answer{value: map[string]any{"ok": true, "server": s.store.ServerID(), "time_ms": s.nowMS(), "protocol": 1, "page": s.files.built()}}, nil
}
