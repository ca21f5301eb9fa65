package access

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"runtrue/internal/store"
)

// Session is who is asking, proved by an access token.
type Session struct {
	ID      string
	Person  string
	Device  string
	Expires time.Time // of the access token
}

// Pair is a fresh access token with the refresh token that buys the next pair.
type Pair struct {
	Session
	Access  string
	Refresh string
}

// Device is a tablet, phone or desk that has been enrolled.
type Device struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	FirstMS int64  `json:"first_ms"`
	LastMS  int64  `json:"last_ms"`
	// Saved is the greatest number of entries of its own that the device ever said it had saved.
	Saved int64 `json:"saved"`
}

type sessionState struct {
	ID        string `json:"id"`
	Person    string `json:"person"`
	Device    string `json:"device"`
	StartedMS int64  `json:"started_ms"`
	LastMS    int64  `json:"last_ms"`
	EndedMS   int64  `json:"ended_ms,omitempty"`
	Why       string `json:"why,omitempty"`
	// Generation and Token name the refresh token that was used last; 0 and "" while none was.
	Generation int64  `json:"generation"`
	Token      string `json:"token,omitempty"`
}

type session struct {
	mu sync.Mutex // held while a change is written
	sessionState
}

func (s *session) state() sessionState {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sessionState
}

// claims of both kinds of token. Generation is 0 in an access token.
type claims struct {
	jwt.RegisteredClaims
	Session    string `json:"sid"`
	Device     string `json:"dev"`
	Generation int64  `json:"gen,omitempty"`
}

const issuer = "runtrue"

var method = jwt.SigningMethodHS256

func (d *Desk) audience(use string) string { return use + "@" + d.serverID }

// mint signs a pair for s: the refresh token is of the generation after the one used last.
func (d *Desk) mint(s sessionState) (Pair, error) {
	now := d.now()
	sign := func(use string, lasts time.Duration, generation int64) (string, time.Time, error) {
		id, err := d.draw(16)
		if err != nil {
			return "", time.Time{}, err
		}
		expires := now.Add(lasts).Truncate(time.Second) // the token's own resolution
		t, err := jwt.NewWithClaims(method, claims{Session: s.ID, Device: s.Device, Generation: generation, RegisteredClaims: jwt.RegisteredClaims{
			Issuer: issuer, Subject: s.Person, Audience: jwt.ClaimStrings{d.audience(use)}, ID: hex.EncodeToString(id),
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(expires)}}).SignedString(d.key)
		if err != nil {
			return "", time.Time{}, fmt.Errorf("access: signing: %w", err)
		}
		return t, expires, nil
	}
	access, expires, err := sign("access", d.lasts.Access, 0)
	if err != nil {
		return Pair{}, err
	}
	refresh, _, err := sign("refresh", d.lasts.Refresh, s.Generation+1)
	if err != nil {
		return Pair{}, err
	}
	return Pair{Session: Session{ID: s.ID, Person: s.Person, Device: s.Device, Expires: expires}, Access: access, Refresh: refresh}, nil
}

// read verifies a token. Whether its session still lives is for the caller.
func (d *Desk) read(token, use string) (claims, error) {
	var c claims
	if len(token) > 2048 || strings.Count(token, ".") != 2 {
		return c, fmt.Errorf("%w: it has not the form of one", ErrMalformed)
	}
	_, err := jwt.ParseWithClaims(token, &c, func(*jwt.Token) (any, error) { return d.key, nil },
		jwt.WithValidMethods([]string{method.Alg()}), jwt.WithExpirationRequired(), jwt.WithIssuer(issuer),
		jwt.WithAudience(d.audience(use)), jwt.WithTimeFunc(d.now), jwt.WithStrictDecoding())
	switch {
	case errors.Is(err, jwt.ErrTokenSignatureInvalid):
		return c, fmt.Errorf("%w: it was not signed here; enter a new code", ErrToken)
	case errors.Is(err, jwt.ErrTokenExpired):
		return c, fmt.Errorf("%w: ask for a new one", ErrExpired)
	case err != nil:
		return c, fmt.Errorf("%w: made for another use or another server; enter a new code", ErrToken)
	case c.Session == "" || c.Subject == "" || c.Device == "":
		return c, fmt.Errorf("%w: it names no session", ErrToken)
	}
	return c, nil
}

// Check says whose session an access token proves. Errors: ErrMalformed, ErrToken, ErrExpired, ErrSessionEnded.
func (d *Desk) Check(accessToken string) (Session, error) {
	c, err := d.read(accessToken, "access")
	if err != nil {
		return Session{}, err
	}
	s := d.find(c.Session)
	if s == nil {
		return Session{}, fmt.Errorf("%w: its session is not known here; refresh it", ErrExpired)
	}
	if st := s.state(); st.EndedMS != 0 {
		return Session{}, ended(st)
	}
	return Session{ID: c.Session, Person: c.Subject, Device: c.Device, Expires: c.ExpiresAt.Time}, nil
}

func ended(s sessionState) error {
	return fmt.Errorf("%w: %s; what is unsent stays on the device; enter a new code to send it", ErrSessionEnded, s.Why)
}

func (d *Desk) find(id string) *session {
	d.mu.RLock()
	defer d.mu.RUnlock()
	return d.sessions[id]
}

// Refresh spends a refresh token; the package comment gives the rule. Errors: ErrMalformed, ErrToken, ErrExpired, ErrSessionEnded.
func (d *Desk) Refresh(ctx context.Context, refreshToken string) (Pair, error) {
	c, err := d.read(refreshToken, "refresh")
	if err != nil {
		return Pair{}, err
	}
	s := d.findOrRevive(c)
	s.mu.Lock()
	defer s.mu.Unlock()
	next := s.sessionState
	next.LastMS = d.now().UnixMilli()
	switch {
	case s.EndedMS != 0:
		return Pair{}, ended(s.sessionState)
	case c.Generation > s.Generation:
		next.Generation, next.Token = c.Generation, c.ID
	case c.Generation == s.Generation && c.ID == s.Token:
	default:
		next.EndedMS, next.Why = next.LastMS, "a refresh token was used that had been replaced, so somebody may have a copy of it"
		if err := d.keep(ctx, s, next); err != nil {
			return Pair{}, err
		}
		return Pair{}, ended(next)
	}
	pair, err := d.mint(next)
	if err != nil {
		return Pair{}, err
	}
	if err := d.keep(ctx, s, next); err != nil {
		return Pair{}, err
	}
	return pair, nil
}

// findOrRevive returns the token's session. One that the store has never heard of was begun after the backup that the store was restored from.
func (d *Desk) findOrRevive(c claims) *session {
	d.mu.Lock()
	defer d.mu.Unlock()
	s := d.sessions[c.Session]
	if s == nil {
		s = &session{sessionState: sessionState{ID: c.Session, Person: c.Subject, Device: c.Device, StartedMS: c.IssuedAt.UnixMilli()}}
		d.sessions[c.Session] = s
		if _, ok := d.devices[c.Device]; !ok {
			d.devices[c.Device] = Device{ID: c.Device, Name: c.Device, FirstMS: s.StartedMS}
		}
	}
	return s
}

// keep writes next and, once it is durable, makes it the session's state. s.mu is held.
func (d *Desk) keep(ctx context.Context, s *session, next sessionState) error {
	r, err := row(sessionRow+next.ID, next)
	if err != nil {
		return err
	}
	if err := d.tables.PutMeta(ctx, []store.Meta{r}); err != nil {
		return fmt.Errorf("access: keeping the session: %w", err)
	}
	s.sessionState = next
	return nil
}

// EndDevice ends every live session of a device, for the reason given, and returns how many there were: a tablet is lost, or handed on.
func (d *Desk) EndDevice(ctx context.Context, device, why string) (int, error) {
	d.mu.RLock()
	var all []*session
	for _, s := range d.sessions {
		all = append(all, s)
	}
	d.mu.RUnlock()
	n := 0
	for _, s := range all {
		err := func() error {
			s.mu.Lock()
			defer s.mu.Unlock()
			if s.Device != device || s.EndedMS != 0 {
				return nil
			}
			next := s.sessionState
			next.EndedMS, next.Why = d.now().UnixMilli(), why
			n++
			return d.keep(ctx, s, next)
		}()
		if err != nil {
			return n, err
		}
	}
	return n, nil
}

// Devices lists the enrolled devices by id.
func (d *Desk) Devices() []Device {
	d.mu.RLock()
	defer d.mu.RUnlock()
	out := make([]Device, 0, len(d.devices))
	for _, dev := range d.devices {
		out = append(out, dev)
	}
	slices.SortFunc(out, func(a, b Device) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// Saved notes how many entries a device says it has saved. A number smaller than an earlier one means that the device's storage was put back or
// emptied: lost is by how much, else 0. Unsent work may be gone with it, and nobody but its author can know.
func (d *Desk) Saved(ctx context.Context, device string, saved int64) (lost int64, err error) {
	now := d.now().UnixMilli()
	d.mu.Lock()
	dev, ok := d.devices[device]
	if !ok {
		dev = Device{ID: device, Name: device, FirstMS: now}
	}
	lost = max(0, dev.Saved-saved)
	changed := dev.Saved != saved
	dev.Saved, dev.LastMS = saved, now
	d.devices[device] = dev
	d.mu.Unlock()
	if !changed {
		return lost, nil
	}
	r, err := row(deviceRow+device, dev)
	if err != nil {
		return lost, err
	}
	if err := d.tables.PutMeta(ctx, []store.Meta{r}); err != nil {
		return lost, fmt.Errorf("access: keeping the device's count: %w", err)
	}
	return lost, nil
}
