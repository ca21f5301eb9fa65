package access

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"runtrue/internal/store"
)

// CodeFor says what an enrolment code is good for.
type CodeFor struct {
	Person string
	Lasts  time.Duration // 0: Lifetimes.Code
	// Multi lets the code be used any number of times until it expires. For a demonstration only: whoever reads it over a shoulder is in.
	Multi bool
	// Spelling, with Multi only, sets the code instead of drawing it: something that fits on a demonstration's first screen.
	Spelling string
}

type codeRow struct {
	Person    string `json:"person"`
	ExpiresMS int64  `json:"expires_ms"`
	Multi     bool   `json:"multi,omitempty"`
	UsedMS    int64  `json:"used_ms,omitempty"`
	Device    string `json:"device,omitempty"`
}

// NewCode makes an enrolment code and returns it as it is to be shown, with its time of expiry.
func (d *Desk) NewCode(ctx context.Context, f CodeFor) (code string, expires time.Time, err error) {
	if err := CheckName("person", f.Person); err != nil {
		return "", time.Time{}, err
	}
	if f.Spelling != "" && !f.Multi {
		return "", time.Time{}, fmt.Errorf("%w: only a code for many uses can be chosen; leave the spelling empty", ErrMalformed)
	}
	code = f.Spelling
	if code == "" {
		b, err := d.draw(12)
		if err != nil {
			return "", time.Time{}, err
		}
		code = spell([12]byte(b))
	}
	plain, err := plainCode(code)
	if err != nil {
		return "", time.Time{}, err
	}
	lasts := f.Lasts
	if lasts <= 0 {
		lasts = d.lasts.Code
	}
	expires = d.now().Add(lasts)
	key := d.codeKey(plain)
	c := codeRow{Person: f.Person, ExpiresMS: expires.UnixMilli(), Multi: f.Multi}
	r, err := row(key, c)
	if err != nil {
		return "", time.Time{}, err
	}

	d.codeMu.Lock()
	defer d.codeMu.Unlock()
	if err := d.tables.PutMeta(ctx, []store.Meta{r}); err != nil {
		return "", time.Time{}, fmt.Errorf("access: keeping the code: %w", err)
	}
	d.mu.Lock()
	d.codes[key] = c
	d.mu.Unlock()
	return code, expires, nil
}

func (d *Desk) codeKey(plain string) string {
	h := hmac.New(sha256.New, d.key)
	h.Write([]byte("code:" + plain)) // a hash never fails to be written
	return codesRow + hex.EncodeToString(h.Sum(nil))
}

// Enrol spends a code and begins a session on a device. deviceName is what the person calls the device: 1 to 64 characters. If the request came under a live session
// of the same device (another person takes over the tablet), sameDevice names that device, and it keeps its id; else it is empty.
func (d *Desk) Enrol(ctx context.Context, code, deviceName, sameDevice string) (Pair, error) {
	deviceName = strings.TrimSpace(deviceName)
	if n := utf8.RuneCountInString(deviceName); n == 0 || n > MaxName || !utf8.ValidString(deviceName) {
		return Pair{}, fmt.Errorf("%w: the device's name has %d characters; write 1 to %d", ErrName, n, MaxName)
	}
	plain, err := plainCode(code)
	if err != nil {
		return Pair{}, err
	}
	key := d.codeKey(plain)

	d.codeMu.Lock()
	defer d.codeMu.Unlock()
	now := d.now().UnixMilli()
	d.mu.RLock()
	c, known := d.codes[key]
	dev, same := d.devices[sameDevice]
	d.mu.RUnlock()
	switch {
	case !known:
		return Pair{}, fmt.Errorf("%w: nobody made it, or it has expired; ask for a new one", ErrCode)
	case c.ExpiresMS < now:
		return Pair{}, fmt.Errorf("%w: it has expired; ask for a new one", ErrCode)
	case c.UsedMS != 0 && !c.Multi:
		return Pair{}, fmt.Errorf("%w: it was used already; if that was not you, tell whoever gave it to you; ask for a new one", ErrCode)
	}

	salt, err := d.draw(5)
	if err != nil {
		return Pair{}, err
	}
	if !same {
		dev = Device{ID: deviceID(deviceName, salt), FirstMS: now}
	}
	dev.Name, dev.LastMS = deviceName, now
	c.UsedMS, c.Device = now, dev.ID
	sid, err := d.draw(16)
	if err != nil {
		return Pair{}, err
	}
	s := &session{sessionState: sessionState{ID: hex.EncodeToString(sid), Person: c.Person, Device: dev.ID, StartedMS: now, LastMS: now}}
	pair, err := d.mint(s.sessionState)
	if err != nil {
		return Pair{}, err
	}
	rows, err := rowsOf(key, c, deviceRow+dev.ID, dev, sessionRow+s.ID, s.sessionState)
	if err != nil {
		return Pair{}, err
	}
	if err := d.tables.PutMeta(ctx, rows); err != nil {
		return Pair{}, fmt.Errorf("access: keeping the session: %w", err)
	}
	d.mu.Lock()
	d.codes[key], d.devices[dev.ID], d.sessions[s.ID] = c, dev, s
	d.mu.Unlock()
	return pair, nil
}

// rowsOf takes key, value, key, value …
func rowsOf(pairs ...any) ([]store.Meta, error) {
	var rows []store.Meta
	for i := 0; i < len(pairs); i += 2 {
		r, err := row(pairs[i].(string), pairs[i+1])
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
	return rows, nil
}
