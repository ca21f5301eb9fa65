package access_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"pgregory.net/rapid"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
	"runtrue/internal/store/memstore"
)

var ctx = context.Background()

type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

type bench struct {
	*access.Desk
	tables *memstore.Store
	clock  *clock
}

func open(t testing.TB, tables *memstore.Store, c *clock) bench {
	t.Helper()
	d, err := access.Open(ctx, access.Config{Tables: tables, ServerID: tables.ServerID(), Now: c.now, Random: rand.NewChaCha8([32]byte{7})})
	if err != nil {
		t.Fatal(err)
	}
	return bench{d, tables, c}
}

func fresh(t testing.TB) bench {
	return open(t, memstore.New("server-one"), &clock{t: time.UnixMilli(1_760_000_000_000)})
}

func (b bench) enrol(t testing.TB, person string) access.Pair {
	t.Helper()
	code, _, err := b.NewCode(ctx, access.CodeFor{Person: person})
	if err != nil {
		t.Fatal(err)
	}
	p, err := b.Enrol(ctx, code, "Bench tablet", "")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func wants(t *testing.T, what string, got, want error) {
	t.Helper()
	if !errors.Is(got, want) {
		t.Errorf("%s: got error %v, want one that is %v", what, got, want)
	}
}

func TestCodeIsGoodOnceAndForMinutes(t *testing.T) {
	b := fresh(t)
	code, expires, err := b.NewCode(ctx, access.CodeFor{Person: "p1"})
	if err != nil {
		t.Fatal(err)
	}
	if want := b.clock.now().Add(15 * time.Minute); !expires.Equal(want) {
		t.Errorf("expires %v, want %v", expires, want)
	}
	// As hands type it: lower case, no hyphens, o for 0, l for 1.
	typed := strings.NewReplacer("-", " ", "0", "o", "1", "l").Replace(strings.ToLower(code))
	pair, err := b.Enrol(ctx, typed, "  Tablet №3 ", "")
	if err != nil {
		t.Fatalf("code %q typed as %q: %v", code, typed, err)
	}
	if pair.Person != "p1" || access.CheckName("device", pair.Device) != nil || !strings.HasPrefix(pair.Device, "tablet-3-") {
		t.Errorf("person %q on device %q; want p1 on tablet-3-…", pair.Person, pair.Device)
	}
	_, err = b.Enrol(ctx, code, "Another", "")
	wants(t, "second use", err, access.ErrCode)

	code, _, _ = b.NewCode(ctx, access.CodeFor{Person: "p1"})
	b.clock.pass(15*time.Minute + time.Millisecond)
	_, err = b.Enrol(ctx, code, "Late", "")
	wants(t, "late use", err, access.ErrCode)
	_, err = b.Enrol(ctx, "0000-0000-0000", "Guess", "")
	wants(t, "guess", err, access.ErrCode)
	_, err = b.Enrol(ctx, "../../etc", "Odd", "")
	wants(t, "odd letters", err, access.ErrMalformed)
	_, err = b.Enrol(ctx, code, strings.Repeat("x", 65), "")
	wants(t, "long name", err, access.ErrName)
	_, _, err = b.NewCode(ctx, access.CodeFor{Person: "P 1"})
	wants(t, "person's form", err, access.ErrName)
	_, _, err = b.NewCode(ctx, access.CodeFor{Person: "p1", Spelling: "CHOSEN"})
	wants(t, "chosen single-use code", err, access.ErrMalformed)
}

func TestCodeSpentByManyAtOnceBuysOneSession(t *testing.T) {
	b := fresh(t)
	code, _, _ := b.NewCode(ctx, access.CodeFor{Person: "p1"})
	var wg sync.WaitGroup
	errs := make([]error, 16)
	for i := range errs {
		wg.Add(1)
		go func() { defer wg.Done(); _, errs[i] = b.Enrol(ctx, code, fmt.Sprint("d", i), "") }()
	}
	wg.Wait()
	in := 0
	for _, err := range errs {
		if err == nil {
			in++
		} else {
			wants(t, "the others", err, access.ErrCode)
		}
	}
	if in != 1 {
		t.Errorf("%d of %d came in on one code, want 1", in, len(errs))
	}
}

func TestDemonstrationCodeIsGoodOften(t *testing.T) {
	b := fresh(t)
	code, _, err := b.NewCode(ctx, access.CodeFor{Person: "p3", Multi: true, Spelling: "DEMO-INSPECTOR", Lasts: time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		if _, err := b.Enrol(ctx, code, "tablet", ""); err != nil {
			t.Errorf("use %d: %v", i+1, err)
		}
	}
}

func TestTakingOverATabletKeepsItsID(t *testing.T) {
	b := fresh(t)
	first := b.enrol(t, "p1")
	code, _, _ := b.NewCode(ctx, access.CodeFor{Person: "p2"})
	second, err := b.Enrol(ctx, code, "Bench tablet", first.Device)
	if err != nil {
		t.Fatal(err)
	}
	if second.Device != first.Device || second.Person != "p2" || second.ID == first.ID {
		t.Errorf("second session %+v; want another session, person p2, on device %s", second.Session, first.Device)
	}
	if n := len(b.Devices()); n != 1 {
		t.Errorf("%d devices, want 1", n)
	}
}

func TestAccessToken(t *testing.T) {
	b := fresh(t)
	pair := b.enrol(t, "p1")
	s, err := b.Check(pair.Access)
	if err != nil || s.Person != "p1" || s.Device != pair.Device || s.ID != pair.ID {
		t.Fatalf("fresh token: session %+v, error %v", s, err)
	}
	_, err = b.Check(pair.Refresh)
	wants(t, "a refresh token as access token", err, access.ErrToken)
	_, err = b.Check("nonsense")
	wants(t, "nonsense", err, access.ErrMalformed)
	_, err = b.Check(strings.Repeat("x", 3000) + ".a.b")
	wants(t, "very long", err, access.ErrMalformed)

	other := open(t, memstore.New("server-two"), b.clock)
	_, err = other.Check(pair.Access)
	wants(t, "at another server", err, access.ErrToken)

	flipped := []byte(pair.Access)
	flipped[len(flipped)-5] ^= 1
	_, err = b.Check(string(flipped))
	wants(t, "one bit of the signature flipped", err, access.ErrToken)

	b.clock.pass(15*time.Minute + time.Second)
	_, err = b.Check(pair.Access)
	wants(t, "after quarter of an hour", err, access.ErrExpired)
}

// Tokens that a careless verifier would take: no algorithm, another algorithm under the right key, no expiry, wrong issuer, wrong audience.
func TestForgedTokens(t *testing.T) {
	b := fresh(t)
	pair := b.enrol(t, "p1")
	key, ok, err := b.tables.GetMeta(ctx, "access/key")
	if err != nil || !ok {
		t.Fatal("no key row", err)
	}
	base := func() jwt.MapClaims {
		return jwt.MapClaims{"iss": "runtrue", "aud": "access@server-one", "sub": "p1", "sid": pair.ID, "dev": pair.Device,
			"exp": b.clock.now().Add(time.Minute).Unix(), "iat": b.clock.now().Unix()}
	}
	sign := func(m jwt.SigningMethod, k any, c jwt.MapClaims) string {
		s, err := jwt.NewWithClaims(m, c).SignedString(k)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if _, err := b.Check(sign(jwt.SigningMethodHS256, key, base())); err != nil {
		t.Fatalf("the honest one among the forged must pass, or this test proves nothing: %v", err)
	}
	without := func(k string) jwt.MapClaims { c := base(); delete(c, k); return c }
	with := func(k string, v any) jwt.MapClaims { c := base(); c[k] = v; return c }
	for name, token := range map[string]string{
		"none":           sign(jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, base()),
		"HS512":          sign(jwt.SigningMethodHS512, key, base()),
		"no expiry":      sign(jwt.SigningMethodHS256, key, without("exp")),
		"no issuer":      sign(jwt.SigningMethodHS256, key, without("iss")),
		"wrong issuer":   sign(jwt.SigningMethodHS256, key, with("iss", "elsewhere")),
		"no audience":    sign(jwt.SigningMethodHS256, key, without("aud")),
		"wrong audience": sign(jwt.SigningMethodHS256, key, with("aud", "access@server-two")),
		"no session":     sign(jwt.SigningMethodHS256, key, without("sid")),
		"empty key":      sign(jwt.SigningMethodHS256, []byte{}, base()),
	} {
		if _, err := b.Check(token); !errors.Is(err, access.ErrToken) {
			t.Errorf("%s: got error %v, want ErrToken", name, err)
		}
	}
}

func TestRefreshRotatesAndToleratesALostAnswer(t *testing.T) {
	b := fresh(t)
	p0 := b.enrol(t, "p1")
	p1, err := b.Refresh(ctx, p0.Refresh)
	if err != nil {
		t.Fatal(err)
	}
	// The answer with p1 is lost: the device uses p0 again.
	p1b, err := b.Refresh(ctx, p0.Refresh)
	if err != nil {
		t.Fatalf("the old token before the new one was used: %v", err)
	}
	if _, err := b.Check(p1b.Access); err != nil {
		t.Errorf("access token of the second answer: %v", err)
	}
	p2, err := b.Refresh(ctx, p1b.Refresh)
	if err != nil {
		t.Fatal(err)
	}
	// p1 was never used by the device; whoever has it now is somebody else.
	_, err = b.Refresh(ctx, p1.Refresh)
	wants(t, "a sibling of the token used", err, access.ErrSessionEnded)
	_, err = b.Refresh(ctx, p2.Refresh)
	wants(t, "the session after that", err, access.ErrSessionEnded)
	_, err = b.Check(p2.Access)
	wants(t, "its access token, not yet expired", err, access.ErrSessionEnded)
}

func TestSpentTokenEndsTheSession(t *testing.T) {
	b := fresh(t)
	p0 := b.enrol(t, "p1")
	p1, _ := b.Refresh(ctx, p0.Refresh)
	if _, err := b.Refresh(ctx, p1.Refresh); err != nil {
		t.Fatal(err)
	}
	_, err := b.Refresh(ctx, p0.Refresh)
	wants(t, "a token two generations old", err, access.ErrSessionEnded)
	again := open(t, b.tables, b.clock)
	_, err = again.Check(p1.Access)
	wants(t, "after the server was started again", err, access.ErrSessionEnded)
}

func TestWeekInADrawer(t *testing.T) {
	b := fresh(t)
	p0 := b.enrol(t, "p1")
	b.clock.pass(7 * 24 * time.Hour)
	if _, err := b.Refresh(ctx, p0.Refresh); err != nil {
		t.Errorf("after a week: %v", err)
	}
	p0 = b.enrol(t, "p1")
	b.clock.pass(90*24*time.Hour + time.Second)
	_, err := b.Refresh(ctx, p0.Refresh)
	wants(t, "after 90 days and a second", err, access.ErrExpired)
}

// A store restored from a backup knows an earlier generation than the devices hold, and has never heard of sessions begun since.
func TestRestoredStoreBelievesItsOwnLaterTokens(t *testing.T) {
	b := fresh(t)
	p0 := b.enrol(t, "p1")
	backup, err := b.tables.ListMeta(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	p1, _ := b.Refresh(ctx, p0.Refresh)
	p2, _ := b.Refresh(ctx, p1.Refresh)
	later := b.enrol(t, "p2")

	for round := range 2 {
		tables := memstore.New("server-one")
		if err := tables.PutMeta(ctx, backup); err != nil {
			t.Fatal(err)
		}
		r := open(t, tables, b.clock)
		p3, err := r.Refresh(ctx, p2.Refresh)
		if err != nil {
			t.Fatalf("restore %d: a token of a later generation: %v", round+1, err)
		}
		if _, err = r.Refresh(ctx, p3.Refresh); err != nil {
			t.Errorf("restore %d: and on: %v", round+1, err)
		}
		_, err = r.Check(later.Access)
		wants(t, "access token of a session begun since", err, access.ErrExpired)
		l2, err := r.Refresh(ctx, later.Refresh)
		if err != nil || l2.Person != "p2" || l2.Device != later.Device {
			t.Errorf("restore %d: a session begun since: %+v, error %v", round+1, l2.Session, err)
		}
		_, err = r.Refresh(ctx, p1.Refresh)
		wants(t, "a spent token", err, access.ErrSessionEnded)
	}
}

type failing struct{ access.Tables }

func (failing) PutMeta(context.Context, []store.Meta) error { return store.ErrFull }

// What could not be kept was not done.
func TestNothingChangesWhenTheStoreIsFull(t *testing.T) {
	b := fresh(t)
	p0 := b.enrol(t, "p1")
	code, _, _ := b.NewCode(ctx, access.CodeFor{Person: "p2"})
	d, err := access.Open(ctx, access.Config{Tables: failing{b.tables}, ServerID: "server-one", Now: b.clock.now, Random: rand.NewChaCha8([32]byte{9})})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		_, err = d.Refresh(ctx, p0.Refresh)
		wants(t, "refresh on a full disk", err, store.ErrFull)
		_, err = d.Enrol(ctx, code, "tablet", "")
		wants(t, "enrol on a full disk, code not spent", err, store.ErrFull)
	}
	if _, err := b.Enrol(ctx, code, "tablet", ""); err != nil {
		t.Errorf("once there is room: %v", err)
	}
}

func TestEndDevice(t *testing.T) {
	b := fresh(t)
	lost, kept := b.enrol(t, "p1"), b.enrol(t, "p1")
	if n, err := b.EndDevice(ctx, lost.Device, "the tablet was reported lost"); n != 1 || err != nil {
		t.Fatalf("ended %d, error %v; want 1", n, err)
	}
	_, err := b.Refresh(ctx, lost.Refresh)
	wants(t, "lost tablet", err, access.ErrSessionEnded)
	if err == nil || !strings.Contains(err.Error(), "reported lost") {
		t.Errorf("message %v does not give the reason", err)
	}
	if _, err := b.Check(kept.Access); err != nil {
		t.Errorf("the other tablet: %v", err)
	}
}

func TestSavedCountThatShrank(t *testing.T) {
	b := fresh(t)
	p := b.enrol(t, "p1")
	for _, c := range []struct{ says, lost int64 }{{212, 0}, {212, 0}, {180, 32}, {181, 0}} {
		if lost, err := b.Saved(ctx, p.Device, c.says); lost != c.lost || err != nil {
			t.Errorf("device says %d entries: %d lost, error %v; want %d", c.says, lost, err, c.lost)
		}
	}
	if got := open(t, b.tables, b.clock).Devices()[0].Saved; got != 181 {
		t.Errorf("after a restart the device had %d, want 181", got)
	}
}

func TestStandingOfAClaim(t *testing.T) {
	b := fresh(t)
	now := b.clock.now().UnixMilli()
	id := func(n byte) record.ID { return record.ID{n} }
	b.Learn(access.Staff{Names: map[string]string{"p3": "Ines Vogt"}, Grants: []access.Grant{
		{ID: id(1), Person: "p3", Role: spindle.Inspector, FromMS: now - 1000},
		{ID: id(2), Person: "p4", Role: spindle.Inspector, FromMS: now - 1000, WithdrawnBy: id(9)},
		{ID: id(3), Person: "p5", Role: spindle.Quality, FromMS: now - 1000, UntilMS: now - 100},
		{ID: id(4), Person: "p6", Role: spindle.Quality, FromMS: now + 1000},
		{ID: id(5), Person: "p4", Role: spindle.Technician, FromMS: now - 1000},
		{ID: id(6), Person: "p7", Role: spindle.Inspector, FromMS: now - 1000, WithdrawnBy: id(8), IncludingEarlier: true},
	}})
	for _, c := range []struct {
		what    string
		person  string
		as      spindle.Role
		grant   record.ID
		written int64
		want    access.Standing
	}{
		{"holds it", "p3", spindle.Inspector, id(1), now, access.Good},
		{"role taken back", "p4", spindle.Inspector, id(2), now - 500, access.Withdrawn},
		{"another's grant", "p1", spindle.Inspector, id(1), now, access.Never},
		{"grant of another role", "p3", spindle.Quality, id(1), now, access.Never},
		{"no grant", "p3", spindle.Inspector, record.ID{}, now, access.Never},
		{"made while it lasted", "p5", spindle.Quality, id(3), now - 200, access.Good},
		{"made after its end", "p5", spindle.Quality, id(3), now - 50, access.Lapsed},
		{"clock a year ahead", "p5", spindle.Quality, id(3), now + 365*86_400_000, access.Lapsed},
		{"not in force yet", "p6", spindle.Quality, id(4), now, access.NotYet},
		{"other role stands", "p4", spindle.Technician, id(5), now, access.Good},
	} {
		if got, _ := b.StandingOf(access.Claim{Person: c.person, As: c.as, Grant: c.grant, WrittenMS: c.written, ArrivedMS: now}); got != c.want {
			t.Errorf("%s (%s as %s, written %d ms, arrived %d ms): %q, want %q", c.what, c.person, c.as, c.written, now, got, c.want)
		}
	}
	if got := b.RolesOf("p4"); len(got) != 1 || got[0].Role != spindle.Technician || got[0].Grant != id(5) {
		t.Errorf("roles of p4: %v, want technician only", got)
	}
	if got := b.FallenBackwards(); len(got) != 1 || got[0].ID != id(6) {
		t.Errorf("withdrawn including earlier: %v, want the grant of p7", got)
	}
	if b.NameOf("p3") != "Ines Vogt" || b.NameOf("p9") != "p9" || !b.Anybody(spindle.Inspector) || b.Anybody(spindle.Admin) || b.Holds("p5", spindle.Quality) {
		t.Error("names or roles are off")
	}
}

// Whatever tokens are used in whatever order, a session whose device uses only the newest token it has seen, or the one before it, is never ended by it; and a token older than that always ends it.
func TestRotationProperty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := fresh(t)
		p := b.enrol(t, "p1")
		have, spent := p.Refresh, []string(nil)
		for range rapid.IntRange(1, 8).Draw(rt, "refreshes") {
			for range rapid.IntRange(0, 3).Draw(rt, "lost answers") {
				if _, err := b.Refresh(ctx, have); err != nil {
					rt.Fatalf("lost answer: %v", err)
				}
			}
			next, err := b.Refresh(ctx, have)
			if err != nil {
				rt.Fatalf("refresh: %v", err)
			}
			spent, have = append(spent, have), next.Refresh
		}
		if len(spent) < 2 {
			return
		}
		old := spent[rapid.IntRange(0, len(spent)-2).Draw(rt, "stolen")]
		if _, err := b.Refresh(ctx, old); !errors.Is(err, access.ErrSessionEnded) {
			rt.Fatalf("a spent token: %v", err)
		}
		if _, err := b.Refresh(ctx, have); !errors.Is(err, access.ErrSessionEnded) {
			rt.Fatalf("the newest one afterwards: %v", err)
		}
	})
}

func TestSealsAreOfThisStoreAndTheseWords(t *testing.T) {
	b := fresh(t)
	a := b.Seal("cursor", "job-1", "12")
	if len(a) != 32 || a != open(t, b.tables, b.clock).Seal("cursor", "job-1", "12") {
		t.Errorf("seal %q does not outlive a restart", a)
	}
	for _, other := range []string{b.Seal("cursor", "job-1", "13"), b.Seal("cursor", "job-11", "2"), b.Seal("cursorjob-1", "12"), open(t, memstore.New("server-two"), b.clock).Seal("cursor", "job-1", "12")} {
		if other == a {
			t.Errorf("seal %q stands for other words too", a)
		}
	}
}
