package access

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"runtrue/internal/store"
)

// Tables is what the desk needs of the store: its small side tables, durable on return, several rows all or nothing.
type Tables interface {
	PutMeta(ctx context.Context, rows []store.Meta) error
	ListMeta(ctx context.Context, prefix string) ([]store.Meta, error)
}

// Lifetimes of what the desk hands out. Zero fields take the value of DefaultLifetimes.
type Lifetimes struct {
	Access  time.Duration // of an access token
	Refresh time.Duration // of a refresh token: as long as a device may stay away and still come back without a code
	Code    time.Duration // of an enrolment code that states no lifetime of its own
}

// DefaultLifetimes: quarter of an hour, 90 days, 15 minutes. A tablet in a drawer over a long shutdown comes back without a code.
var DefaultLifetimes = Lifetimes{Access: 15 * time.Minute, Refresh: 90 * 24 * time.Hour, Code: 15 * time.Minute}

// Config is what a Desk is made from. All fields but Lifetimes are needed.
type Config struct {
	Tables    Tables
	ServerID  string
	Now       func() time.Time
	Random    io.Reader // cryptographic; read under the desk's own lock
	Lifetimes Lifetimes
}

// Desk is the register of sessions, devices and codes. Make one with Open.
type Desk struct {
	tables   Tables
	serverID string
	now      func() time.Time
	lasts    Lifetimes
	key      []byte

	randomMu sync.Mutex
	random   io.Reader

	codeMu sync.Mutex // one code is spent at a time

	mu       sync.RWMutex // guards the maps, not what they point to
	sessions map[string]*session
	devices  map[string]Device
	codes    map[string]codeRow // by row key

	shop shopCache
}

const (
	keyRow     = "access/key"
	sessionRow = "access/session/"
	deviceRow  = "access/device/"
	codesRow   = "access/code/"
)

// Open reads the tables, and makes the signing key if there is none yet. Rows that have outlived their use are deleted.
func Open(ctx context.Context, c Config) (*Desk, error) {
	if c.Tables == nil || c.ServerID == "" || c.Now == nil || c.Random == nil {
		return nil, errors.New("access: tables, server id, clock and randomness must be handed in")
	}
	d := &Desk{tables: c.Tables, serverID: c.ServerID, now: c.Now, random: c.Random, lasts: c.Lifetimes,
		sessions: map[string]*session{}, devices: map[string]Device{}, codes: map[string]codeRow{}}
	if d.lasts.Access == 0 {
		d.lasts.Access = DefaultLifetimes.Access
	}
	if d.lasts.Refresh == 0 {
		d.lasts.Refresh = DefaultLifetimes.Refresh
	}
	if d.lasts.Code == 0 {
		d.lasts.Code = DefaultLifetimes.Code
	}
	rows, err := c.Tables.ListMeta(ctx, "access/")
	if err != nil {
		return nil, fmt.Errorf("access: reading the tables: %w", err)
	}
	var stale []store.Meta
	now := d.now().UnixMilli()
	for _, r := range rows {
		keep, err := d.adopt(r, now)
		if err != nil {
			return nil, err
		}
		if !keep {
			stale = append(stale, store.Meta{Key: r.Key, Delete: true})
		}
	}
	if d.key == nil {
		if d.key, err = d.draw(32); err != nil {
			return nil, err
		}
		stale = append(stale, store.Meta{Key: keyRow, Value: d.key})
	}
	for len(stale) > 0 {
		n := min(len(stale), store.MaxMetaRows)
		if err := d.tables.PutMeta(ctx, stale[:n]); err != nil {
			return nil, fmt.Errorf("access: writing the tables: %w", err)
		}
		stale = stale[n:]
	}
	return d, nil
}

// adopt takes one row into memory; keep is false if it is of no more use.
func (d *Desk) adopt(r store.Meta, now int64) (keep bool, err error) {
	bad := func(err error) (bool, error) {
		return false, fmt.Errorf("access: row %q cannot be read: %w", r.Key, err)
	}
	switch {
	case r.Key == keyRow:
		if len(r.Value) != 32 {
			return bad(fmt.Errorf("the key has %d bytes, not 32", len(r.Value)))
		}
		d.key = append([]byte(nil), r.Value...)
	case strings.HasPrefix(r.Key, sessionRow):
		var s sessionState
		if err := json.Unmarshal(r.Value, &s); err != nil {
			return bad(err)
		}
		if s.LastMS+d.lasts.Refresh.Milliseconds() < now {
			return false, nil
		}
		d.sessions[s.ID] = &session{sessionState: s}
	case strings.HasPrefix(r.Key, deviceRow):
		var dev Device
		if err := json.Unmarshal(r.Value, &dev); err != nil {
			return bad(err)
		}
		d.devices[dev.ID] = dev
	case strings.HasPrefix(r.Key, codesRow):
		var c codeRow
		if err := json.Unmarshal(r.Value, &c); err != nil {
			return bad(err)
		}
		if c.ExpiresMS < now {
			return false, nil
		}
		d.codes[r.Key] = c
	}
	return true, nil
}

// draw reads n random bytes.
func (d *Desk) draw(n int) ([]byte, error) {
	d.randomMu.Lock()
	defer d.randomMu.Unlock()
	b := make([]byte, n)
	if _, err := io.ReadFull(d.random, b); err != nil {
		return nil, fmt.Errorf("access: no random bytes: %w", err)
	}
	return b, nil
}

// Seal is 16 bytes, as 32 hexadecimal digits, that only this store (its key and its server id) can make for these words, now or after a restore. It lets
// the server recognise later what it once said itself.
func (d *Desk) Seal(words ...string) string {
	h := hmac.New(sha256.New, d.key)
	for _, w := range append([]string{"seal", d.serverID}, words...) {
		fmt.Fprintf(h, "%d:%s", len(w), w) // a hash never fails to be written
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

func row(key string, v any) (store.Meta, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return store.Meta{}, fmt.Errorf("access: row %q: %w", key, err)
	}
	return store.Meta{Key: key, Value: b}, nil
}
