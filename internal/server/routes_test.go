package server

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/spindle"
)

func newTestLog(w io.Writer) *slog.Logger {
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: slog.LevelDebug}))
}

func concrete(path string) string {
	return strings.NewReplacer(":hash", strings.Repeat("ab", 32), ":job", "job-1", ":file", "list.csv", ":device", "tablet-1").Replace(path)
}

// Every route of the table, under every kind of caller. A route added to the table is in this test by itself.
func TestWhoMayUseWhichRoute(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	shop := g.shop()
	gone := g.device("p4")
	grant := shop.give("p4", spindle.Inspector)
	shop.withdraw("p4", spindle.Inspector, grant, false)
	bench, newcomer := g.device("p1"), g.device("p9")
	shop.give("p1", spindle.Technician)
	lost := g.device("p1")
	if _, err := g.desk.EndDevice(ctx, lost.id, "lost"); err != nil {
		t.Fatal(err)
	}
	expired := g.device("p1")
	other := newRig(t, engines["memory"](t), &clock{ms: startMS}) // same server id, another key
	foreign := other.device("p1")

	const passes = 0 // anything but an answer of the guard
	callers := []struct {
		name  string
		token string
		want  map[need]int
		code  string // with 401
	}{
		{"nobody", "", map[need]int{session: 401, reader: 401, admin: 401}, codeToken},
		{"nonsense", "a.b.c", map[need]int{session: 401, reader: 401, admin: 401}, codeToken},
		{"a refresh token", bench.fresh, map[need]int{session: 401, reader: 401, admin: 401}, codeToken},
		{"another server's", foreign.token, map[need]int{session: 401, reader: 401, admin: 401}, codeToken},
		{"ended session", lost.token, map[need]int{session: 401, reader: 401, admin: 401}, codeEnded},
		{"person without a role yet", newcomer.token, map[need]int{session: passes, reader: passes, admin: 403}, ""},
		{"person who lost every role", gone.token, map[need]int{session: passes, reader: 403, admin: 403}, ""},
		{"technician", bench.token, map[need]int{session: passes, reader: passes, admin: 403}, ""},
		{"admin", shop.admin.token, map[need]int{session: passes, reader: passes, admin: passes}, ""},
	}
	check := func(t *testing.T, rt route, token string, want int, code string) {
		t.Helper()
		if rt.path == "/api/v1/live" && want == passes {
			return // never ends by itself; tested by itself
		}
		resp, body := g.send(rt.method, token, concrete(rt.path), nil)
		refusedByGuard := resp.StatusCode == 401 || resp.StatusCode == 403
		if want == passes && refusedByGuard || want != passes && resp.StatusCode != want {
			t.Errorf("%s %s: status %d, want %d (0: let in): %s", rt.method, rt.path, resp.StatusCode, want, body)
		}
		if code != "" && want == 401 && rt.method != "HEAD" && codeOf(t, body) != code {
			t.Errorf("%s %s: code %q, want %q", rt.method, rt.path, codeOf(t, body), code)
		}
	}
	guarded := 0
	for _, rt := range routes {
		if rt.needs == anybody {
			continue
		}
		guarded++
		for _, c := range callers {
			t.Run(fmt.Sprintf("%s %s by %s", rt.method, rt.path, c.name), func(t *testing.T) { check(t, rt, c.token, c.want[rt.needs], c.code) })
		}
	}
	if guarded < 13 {
		t.Errorf("only %d routes ask for a session", guarded)
	}
	g.clock.pass(16 * time.Minute)
	for _, rt := range routes {
		if rt.needs != anybody {
			check(t, rt, expired.token, 401, codeExpired)
		}
	}
}

func TestEveryCodeHasAStatus(t *testing.T) {
	for _, k := range known {
		if statusOf[k.code] == 0 {
			t.Errorf("error %v has code %q, which has no status", k.err, k.code)
		}
		if got := faultOf(fmt.Errorf("wrapped: %w", k.err)); got.code != k.code {
			t.Errorf("error %v: code %q, want %q", k.err, got.code, k.code)
		}
	}
	secret := faultOf(fmt.Errorf("badger: /var/data broke"))
	if secret.code != codeInternal || strings.Contains(secret.message, "badger") {
		t.Errorf("an unknown error is shown as %q: %s", secret.code, secret.message)
	}
}

func TestSecurityHeadersOnEveryAnswer(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	for _, c := range []struct{ method, path, token string }{
		{"GET", "/", ""}, {"GET", "/nothing", ""}, {"GET", "/api/v1/me", ""}, {"GET", "/api/v1/me", d.token}, {"GET", "/healthz", ""}, {"POST", "/api/v1/push", d.token}, {"DELETE", "/", ""},
	} {
		resp, _ := g.send(c.method, c.token, c.path, nil)
		csp := resp.Header.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'self'", "script-src 'self' 'wasm-unsafe-eval'", "connect-src 'self'", "img-src 'self' blob: data:", "worker-src 'self'", "base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"} {
			if !strings.Contains(csp, part) {
				t.Errorf("%s %s: policy %q lacks %q", c.method, c.path, csp, part)
			}
		}
		if strings.Contains(csp, "unsafe-inline") || strings.Contains(csp, "*") {
			t.Errorf("%s %s: policy %q is too wide", c.method, c.path, csp)
		}
		for h, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin", "Access-Control-Allow-Origin": "", "Server": ""} {
			if got := resp.Header.Get(h); got != want {
				t.Errorf("%s %s: %s is %q, want %q", c.method, c.path, h, got, want)
			}
		}
		if strings.HasPrefix(c.path, "/api") && resp.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s %s may be kept in a cache: %q", c.method, c.path, resp.Header.Get("Cache-Control"))
		}
	}
}

func TestBadRequests(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	big := `{"device_saved":0,"entries":["` + strings.Repeat("x", maxJSONBody) + `"]}`
	many := `{"device_saved":0,"entries":[` + strings.Repeat(`"",`, 500) + `""]}`
	for _, c := range []struct {
		what, method, path, body string
		header                   []string
		status                   int
		code                     string
	}{
		{"no body", "POST", "/api/v1/push", "", nil, 400, codeMalformed},
		{"cut body", "POST", "/api/v1/push", `{"device_saved":1,"entries":["{\"v\":1`, nil, 400, codeMalformed},
		{"no list", "POST", "/api/v1/push", `{"device_saved":1}`, nil, 400, codeMalformed},
		{"no count", "POST", "/api/v1/push", `{"entries":[]}`, nil, 400, codeMalformed},
		{"negative count", "POST", "/api/v1/push", `{"device_saved":-1,"entries":[]}`, nil, 400, codeMalformed},
		{"count zero is a count", "POST", "/api/v1/push", `{"device_saved":0,"entries":[]}`, nil, 200, ""},
		{"unknown keys are for newer versions", "POST", "/api/v1/push", `{"device_saved":0,"entries":[],"more":1}`, nil, 200, ""},
		{"two values", "POST", "/api/v1/push", `{"device_saved":0,"entries":[]}{}`, nil, 400, codeMalformed},
		{"not UTF-8", "POST", "/api/v1/push", "{\"device_saved\":0,\"entries\":[\"\xff\"]}", nil, 400, codeMalformed},
		{"501 entries", "POST", "/api/v1/push", many, nil, 400, codeMalformed},
		{"body over 4 MiB", "POST", "/api/v1/push", big, nil, 413, codeTooLarge},
		{"compressed body", "POST", "/api/v1/push", `{"device_saved":0,"entries":[]}`, []string{"Content-Encoding", "gzip"}, 415, codeEncoding},
		{"another host's name", "GET", "/api/v1/me", "", []string{"Host", "evil.example"}, 421, codeHost},
		{"another host's name for the page", "GET", "/", "", []string{"Host", "evil.example:80"}, 421, codeHost},
		{"localhost with a port", "GET", "/api/v1/me", "", []string{"Host", "localhost:8377"}, 200, ""},
		{"wrong method", "GET", "/api/v1/push", "", nil, 405, codeMethod},
		{"wrong method with a parameter", "DELETE", "/api/v1/photos/" + strings.Repeat("ab", 32), "", nil, 405, codeMethod},
		{"no such route", "GET", "/api/v2/push", "", nil, 404, codeNotFound},
		{"cursor's job", "POST", "/api/v1/pull", `{"cursors":[{"job":"../x","n":0,"hash":""}]}`, nil, 400, codeMalformed},
		{"cursor's hash", "POST", "/api/v1/pull", `{"cursors":[{"job":"x","n":1,"hash":"12"}]}`, nil, 400, codeMalformed},
		{"cursor's hash, no hex", "POST", "/api/v1/pull", `{"cursors":[{"job":"x","n":1,"hash":"` + strings.Repeat("g", 64) + `"}]}`, nil, 400, codeMalformed},
		{"two cursors", "POST", "/api/v1/pull", `{"cursors":[{"job":"x","n":0},{"job":"x","n":0}]}`, nil, 400, codeMalformed},
		{"negative n", "POST", "/api/v1/pull", `{"cursors":[{"job":"x","n":-1,"hash":""}]}`, nil, 400, codeMalformed},
		{"id", "POST", "/api/v1/have", `{"job":"x","ids":["zz"]}`, nil, 400, codeMalformed},
		{"job's name", "POST", "/api/v1/have", `{"job":"X","ids":[]}`, nil, 400, codeMalformed},
	} {
		resp, body := g.send(c.method, d.token, c.path, []byte(c.body), c.header...)
		if resp.StatusCode != c.status {
			t.Errorf("%s: status %d, want %d: %.200s", c.what, resp.StatusCode, c.status, body)
			continue
		}
		if c.code != "" && codeOf(t, body) != c.code {
			t.Errorf("%s: code %q, want %q", c.what, codeOf(t, body), c.code)
		}
	}
}

// A body that is announced longer than anything taken is refused before it is read, whatever the route.
func TestOversizeIsRefusedAtTheDoor(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	conn, err := net.Dial("tcp", strings.TrimPrefix(g.base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST /api/v1/push HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: %d\r\n\r\n", 100<<20)
	resp, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != 413 || codeOf(t, body) != codeTooLarge {
		t.Errorf("status %d, want 413: %s (%v)", resp.StatusCode, body, err)
	}
}

func TestRequestCutInTheMiddleChangesNothing(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		d := g.device("p1")
		e := d.entry("job-1", spindle.Technician, grantless, fact("cut"))
		whole := fmt.Sprintf(`{"device_saved":1,"entries":[%q]}`, e.Bytes)
		conn, err := net.Dial("tcp", strings.TrimPrefix(g.base, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "POST /api/v1/push HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer %s\r\nContent-Length: %d\r\n\r\n%s", d.token, len(whole), whole[:len(whole)/2])
		if err := conn.(*net.TCPConn).CloseWrite(); err != nil {
			t.Fatal(err)
		}
		if _, err := io.ReadAll(conn); err != nil { // until the server has closed its side: it is done with the request
			t.Fatal(err)
		}
		conn.Close()
		if n := len(g.all("job-1")); n != 0 {
			t.Fatalf("%d entries after half a request, want 0", n)
		}
		if a := d.push(e); len(a.Taken) != 1 || a.Taken[0].Repeat {
			t.Errorf("the whole push after that: %+v, want it taken for the first time", a)
		}
	})
}

func TestTooManyGuesses(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	for i := range guessBurst {
		g.post("", "/api/v1/enrol", map[string]any{"code": fmt.Sprintf("0000-0000-%04d", i), "device_name": "x"}, 401, nil)
	}
	for _, body := range []struct {
		path string
		in   any
	}{{"/api/v1/enrol", map[string]any{"code": "1111-1111-1111", "device_name": "x"}}, {"/api/v1/refresh", map[string]any{"refresh": "a.b.c"}}} {
		out := g.post("", body.path, body.in, 429, nil)
		if codeOf(t, out) != codeSlowDown {
			t.Errorf("%s: %s, want %q", body.path, out, codeSlowDown)
		}
	}
	g.clock.pass(guessForgive)
	g.post("", "/api/v1/enrol", map[string]any{"code": "1111-1111-1111", "device_name": "x"}, 401, nil)
	g.post("", "/api/v1/enrol", map[string]any{"code": "1111-1111-1111", "device_name": "x"}, 429, nil)
	g.clock.pass(2 * guessForgive)
	g.device("p1") // good codes pass
}

func TestEnrolRefreshMe(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		shop := g.shop()
		grant := shop.give("p3", spindle.Inspector)
		d := g.device("p3")
		var me personAnswer
		body := g.get(d.token, "/api/v1/me", 200)
		decode(t, body, &me)
		if me.Person != "p3" || me.Device != d.id || me.Server != "server-one" || me.TimeMS != startMS || len(me.Roles) != 1 || me.Roles[0] != (access.Held{Role: spindle.Inspector, Grant: grant}) {
			t.Errorf("me: %s", body)
		}
		var r1, r1b, r2 personAnswer
		g.post("", "/api/v1/refresh", map[string]any{"refresh": d.fresh}, 200, &r1)
		g.post("", "/api/v1/refresh", map[string]any{"refresh": d.fresh}, 200, &r1b) // the first answer was lost
		g.post("", "/api/v1/refresh", map[string]any{"refresh": r1b.Refresh}, 200, &r2)
		if r2.ExpiresMS != startMS+15*60_000 || len(r2.Roles) != 1 {
			t.Errorf("refreshed: %+v", r2)
		}
		out := g.post("", "/api/v1/refresh", map[string]any{"refresh": r1.Refresh}, 401, nil)
		if codeOf(t, out) != codeEnded {
			t.Errorf("a spent token: %s, want %q", out, codeEnded)
		}
		g.get(r2.Access, "/api/v1/me", 401)
	})
}

func TestAdminMakesCodesAndEndsDevices(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	shop := g.shop()
	var code struct {
		Code string `json:"code"`
	}
	g.post(shop.admin.token, "/api/v1/codes", map[string]any{"person": "p7"}, 200, &code)
	g.post(shop.admin.token, "/api/v1/codes", map[string]any{"person": "server"}, 400, nil)
	var a personAnswer
	g.post("", "/api/v1/enrol", map[string]any{"code": code.Code, "device_name": "Phone"}, 200, &a)
	if !strings.Contains(string(g.get(shop.admin.token, "/api/v1/devices", 200)), a.Device) {
		t.Errorf("device %s is not listed", a.Device)
	}
	g.post(shop.admin.token, "/api/v1/devices/"+a.Device+"/end", map[string]any{"why": "handed on"}, 200, nil)
	g.get(a.Access, "/api/v1/me", 401)
	// Another person takes over a tablet: the device keeps its id.
	d := g.device("p1")
	g.post(shop.admin.token, "/api/v1/codes", map[string]any{"person": "p2"}, 200, &code)
	var second personAnswer
	g.post(d.token, "/api/v1/enrol", map[string]any{"code": code.Code, "device_name": "Phone"}, 200, &second)
	if second.Device != d.id || second.Person != "p2" {
		t.Errorf("taken over: %+v, want device %s with p2", second, d.id)
	}
}

func TestLogHoldsNoSecretsAndNoReadings(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	code, _, err := g.desk.NewCode(ctx, access.CodeFor{Person: "p1"})
	if err != nil {
		t.Fatal(err)
	}
	var a personAnswer
	g.post("", "/api/v1/enrol", map[string]any{"code": code, "device_name": "x"}, 200, &a)
	d := &device{g: g, person: "p1", id: a.Device, token: a.Access, fresh: a.Refresh, held: nil, cursor: nil}
	g.send("POST", d.token, "/api/v1/push?secret=in-the-query", []byte(`{"device_saved":1,"entries":["a reading of 4.5"]}`))
	g.stop()
	log := g.logs.String()
	if !strings.Contains(log, "route=/api/v1/push") || !strings.Contains(log, "person=p1") {
		t.Fatalf("the log lacks the push: %s", log)
	}
	for _, secret := range []string{code, a.Access, a.Refresh, "in-the-query", "a reading of"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %q", secret)
		}
	}
}

func decode(t testing.TB, b []byte, v any) {
	t.Helper()
	if err := jsonDecode(bytes.NewReader(b), v); err != nil {
		t.Fatalf("%v in %s", err, b)
	}
}
