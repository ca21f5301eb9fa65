package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/memstore"
	"runtrue/internal/store/photos"
)

// rigs counts, so that no two desks draw the same key.
var rigs atomic.Int32

const startMS = 1_760_000_000_000

type clock struct {
	mu sync.Mutex
	ms int64
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return time.UnixMilli(c.ms)
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.ms += d.Milliseconds()
}

// rig is a server on a real socket, with the store and the clock that the test holds.
type rig struct {
	t     testing.TB
	store store.Store
	desk  *access.Desk
	clock *clock
	srv   *Server
	base  string
	logs  *bytes.Buffer
	done  chan error
	stop  func()
}

type rigOption func(*Config)

// engines are the stores that behaviour is tested on.
var engines = map[string]func(t testing.TB) store.Store{
	"memory": func(testing.TB) store.Store { return memstore.New("server-one") },
	"badger": func(t testing.TB) store.Store {
		s, err := badgerstore.Open(t.TempDir(), badgerstore.Options{ServerID: "server-one", Reserve: 1 << 20})
		if err != nil {
			t.Fatal(err)
		}
		return s
	},
}

func onBoth(t *testing.T, test func(t *testing.T, g *rig)) {
	for name, open := range engines {
		t.Run(name, func(t *testing.T) { test(t, newRig(t, open(t), &clock{ms: startMS})) })
	}
}

type syncBuffer struct {
	mu sync.Mutex
	b  *bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

type textExporter struct{}

func (textExporter) Export(job string, entries [][]byte, format string) (string, string, []byte, error) {
	if job == "broken" {
		return "", "", nil, errors.New("internal words that must stay inside")
	}
	kinds := map[string]string{"html": "text/html; charset=utf-8", "csv": "text/csv; charset=utf-8", "json": "application/json", "job": "application/json"}
	return job + " list." + format, kinds[format], fmt.Appendf(nil, "%s %s %d", job, format, len(entries)), nil
}

func newRig(t testing.TB, st store.Store, c *clock, options ...rigOption) *rig {
	t.Helper()
	g := &rig{t: t, store: st, clock: c, logs: &bytes.Buffer{}, done: make(chan error, 1)}
	var err error
	if g.desk, err = access.Open(ctx, access.Config{Tables: st, ServerID: st.ServerID(), Now: c.now, Random: rand.NewChaCha8([32]byte{byte(rigs.Add(1))})}); err != nil {
		t.Fatal(err)
	}
	folder, err := photos.Open(t.TempDir(), photos.Options{Reserve: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	cfg := Config{Store: st, Photos: folder, Desk: g.desk, Now: c.now, Exporter: textExporter{}, Page: testPage(), Beat: 20 * time.Millisecond, Log: newTestLog(&syncBuffer{b: g.logs})}
	for _, o := range options {
		o(&cfg)
	}
	if g.srv, err = New(ctx, cfg); err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	g.base = "http://" + ln.Addr().String()
	go func() { g.done <- g.srv.Serve(ln) }()
	g.get("", "/healthz", 200) // it is listening once this is answered
	var once sync.Once
	g.stop = func() {
		once.Do(func() {
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
			defer cancel()
			if err := g.srv.Shutdown(ctx); err != nil {
				t.Errorf("shutdown: %v", err)
			}
			if err := <-g.done; err != nil {
				t.Errorf("serve: %v", err)
			}
			if err := st.Close(); err != nil && !errors.Is(err, store.ErrClosed) {
				t.Errorf("close: %v", err)
			}
		})
	}
	t.Cleanup(g.stop)
	return g
}

func testPage() fstest.MapFS {
	return fstest.MapFS{
		"index.html": {Data: []byte("<!doctype html><title>runtrue</title>")}, "index.html.br": {Data: []byte("brotli of index")},
		"sw.js":                    {Data: []byte("// worker")},
		"engine.wasm":              {Data: []byte("\x00asm")},
		"assets/index-Bx3kPq9z.js": {Data: []byte("let a")}, "assets/index-Bx3kPq9z.js.br": {Data: []byte("brotli of js")},
	}
}

var ctx = context.Background()

// client keeps connections to itself, so that no test waits for another's.
var client = &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 128}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

// send makes one request and returns status, head and body.
func (g *rig) send(method, token, path string, body []byte, header ...string) (*http.Response, []byte) {
	g.t.Helper()
	req, err := http.NewRequest(method, g.base+path, bytes.NewReader(body))
	if err != nil {
		g.t.Fatal(err)
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
		if header[i] == "Host" {
			req.Host = header[i+1]
		}
	}
	resp, err := client.Do(req)
	if err != nil {
		g.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer resp.Body.Close()
	out, err := io.ReadAll(resp.Body)
	if err != nil {
		g.t.Fatalf("%s %s: reading the answer: %v", method, path, err)
	}
	return resp, out
}

func (g *rig) get(token, path string, want int) []byte {
	g.t.Helper()
	resp, body := g.send("GET", token, path, nil)
	if resp.StatusCode != want {
		g.t.Fatalf("GET %s: status %d, want %d: %s", path, resp.StatusCode, want, body)
	}
	return body
}

// post sends a JSON body, wants a status and decodes the answer into out (may be nil).
func (g *rig) post(token, path string, in any, want int, out any) []byte {
	g.t.Helper()
	b, err := json.Marshal(in)
	if err != nil {
		g.t.Fatal(err)
	}
	resp, body := g.send("POST", token, path, b)
	if resp.StatusCode != want {
		g.t.Fatalf("POST %s: status %d, want %d: %s", path, resp.StatusCode, want, body)
	}
	if out != nil {
		if err := json.Unmarshal(body, out); err != nil {
			g.t.Fatalf("POST %s: %v in %s", path, err, body)
		}
	}
	return body
}

func codeOf(t testing.TB, body []byte) string {
	t.Helper()
	var e ErrorBody
	if err := json.Unmarshal(body, &e); err != nil || e.Error.Message == "" {
		t.Fatalf("not an error with code and message: %s (%v)", body, err)
	}
	return e.Error.Code
}

// device is a tablet as the server sees it: a session, what it holds, its cursors.
type device struct {
	g      *rig
	person string
	id     string
	token  string
	fresh  string // refresh token
	made   byte
	held   map[string][]*record.Entry // by job
	cursor map[string]cursor
}

func (g *rig) device(person string) *device {
	g.t.Helper()
	code, _, err := g.desk.NewCode(ctx, access.CodeFor{Person: person})
	if err != nil {
		g.t.Fatal(err)
	}
	var a personAnswer
	g.post("", "/api/v1/enrol", map[string]any{"code": code, "device_name": "Tablet of " + person}, 200, &a)
	return &device{g: g, person: person, id: a.Device, token: a.Access, fresh: a.Refresh, held: map[string][]*record.Entry{}, cursor: map[string]cursor{}}
}

// renew buys a new access token.
func (d *device) renew() {
	d.g.t.Helper()
	var a personAnswer
	d.g.post("", "/api/v1/refresh", map[string]any{"refresh": d.fresh}, 200, &a)
	d.token, d.fresh = a.Access, a.Refresh
}

// entry authors one on the heads of what the device holds, by its own person, and holds it.
func (d *device) entry(job string, as spindle.Role, grant record.ID, body record.Body) *record.Entry {
	return d.entryBy(d.person, d.id, job, as, grant, body)
}

func (d *device) entryBy(by, deviceID, job string, as spindle.Role, grant record.ID, body record.Body) *record.Entry {
	d.g.t.Helper()
	off := int64(0)
	d.made++
	e, err := record.Make(record.Draft{Job: job, Salt: saltOf(d.id, d.made), Parents: d.heads(job), By: by, As: as, Grant: grant, Device: deviceID, WallMS: d.g.clock.now().UnixMilli(), OffMS: &off, Body: body})
	if err != nil {
		d.g.t.Fatal(err)
	}
	d.held[job] = append(d.held[job], e)
	return e
}

func saltOf(device string, n byte) (salt [16]byte) {
	copy(salt[:], device[max(0, len(device)-15):])
	salt[15] = n
	return salt
}

func (d *device) heads(job string) []record.ID {
	heads := map[record.ID]bool{}
	for _, e := range d.held[job] {
		heads[e.ID] = true
	}
	for _, e := range d.held[job] {
		for _, p := range e.Parents {
			delete(heads, p)
		}
	}
	var out []record.ID
	for id := range heads {
		out = append(out, id)
	}
	slices.SortFunc(out, record.ID.Compare)
	return out
}

func texts(entries []*record.Entry) []string {
	out := []string{}
	for _, e := range entries {
		out = append(out, string(e.Bytes))
	}
	return out
}

func (d *device) push(entries ...*record.Entry) pushAnswer {
	d.g.t.Helper()
	var a pushAnswer
	d.g.post(d.token, "/api/v1/push", map[string]any{"device_saved": len(entries), "entries": texts(entries)}, 200, &a)
	return a
}

// pull asks until there is no more, takes what comes into what it holds, and reports the jobs that the server does not continue.
func (d *device) pull() (restart []string) {
	d.g.t.Helper()
	for range 100 {
		var cursors []cursor
		for _, c := range d.cursor {
			cursors = append(cursors, c)
		}
		if cursors == nil {
			cursors = []cursor{}
		}
		var a pullAnswer
		d.g.post(d.token, "/api/v1/pull", map[string]any{"cursors": cursors, "limit": 7}, 200, &a)
		for _, j := range a.Jobs {
			if !j.Continues {
				restart = append(restart, j.Job)
			}
			d.cursor[j.Job] = cursor{Job: j.Job, N: j.N, Hash: j.Hash}
			for _, text := range j.Entries {
				e, err := record.Decode([]byte(text))
				if err != nil {
					d.g.t.Fatalf("pulled entry: %v", err)
				}
				if !slices.ContainsFunc(d.held[j.Job], func(h *record.Entry) bool { return h.ID == e.ID }) {
					d.held[j.Job] = append(d.held[j.Job], e)
				}
			}
		}
		if !a.More {
			return restart
		}
	}
	d.g.t.Fatal("pull never came to an end")
	return nil
}

// offer does what a device does when the server does not continue its history: asks what is missing of all it holds, pushes that, pulls from the beginning.
func (d *device) offer(job string) pushAnswer {
	d.g.t.Helper()
	var ids []string
	for _, e := range d.held[job] {
		ids = append(ids, e.ID.String())
	}
	var a struct {
		Missing []string `json:"missing"`
	}
	d.g.post(d.token, "/api/v1/have", map[string]any{"job": job, "ids": ids}, 200, &a)
	var give []*record.Entry
	for _, e := range d.held[job] {
		if slices.Contains(a.Missing, e.ID.String()) {
			give = append(give, e)
		}
	}
	out := d.push(give...)
	d.pull()
	return out
}

func fact(value string) record.Body {
	return &record.Fact{Subject: "job", Field: "customer", Value: value}
}

func decision(outcome string) record.Body {
	return &record.Decision{Subject: "shaft", Outcome: outcome, Reason: "all seats conform", Engine: record.Engine}
}

// all returns what the store holds of a job, in order, decoded.
func (g *rig) all(job string) []*record.Entry {
	g.t.Helper()
	run, err := g.store.Since(ctx, job, 0, 4000)
	if err != nil {
		g.t.Fatal(err)
	}
	var out []*record.Entry
	for _, st := range run {
		if st.Bytes == nil {
			continue
		}
		e, err := record.Decode(st.Bytes)
		if err != nil {
			g.t.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}

// objections returns the reasons of the server's objections in a job, each with the number of its targets.
func (g *rig) objections(job string) map[string]int {
	g.t.Helper()
	out := map[string]int{}
	j := record.NewJob(job)
	all := g.all(job)
	if _, err := j.AddAll(all); err != nil {
		g.t.Fatal(err)
	}
	if ids, missing := j.Waiting(); len(ids) > 0 {
		g.t.Fatalf("the job is not closed: %v wait for %v", ids, missing)
	}
	for _, e := range all {
		o, ok := e.Body.(*record.Objection)
		if !ok || e.As != spindle.Machine {
			continue
		}
		if e.By != "server" || e.Device != "server" || o.From != "server" {
			g.t.Errorf("objection by %q on %q from %q, want all to be the server", e.By, e.Device, o.From)
		}
		for _, target := range o.Targets {
			if !j.Saw(e.ID, target) {
				g.t.Errorf("objection %s has not its target %s in its past", e.ID.Short(), target.Short())
			}
		}
		out[o.Reason] += len(o.Targets)
	}
	return out
}

// shop makes an admin with a device, and grants roles to others through the shop's record.
type shopRig struct {
	*rig
	admin *device
	grant record.ID // the admin's own
}

func (g *rig) shop() *shopRig {
	g.t.Helper()
	code, _, err := g.srv.FirstAdmin(ctx, "boss", time.Hour)
	if err != nil {
		g.t.Fatal(err)
	}
	var a personAnswer
	g.post("", "/api/v1/enrol", map[string]any{"code": code, "device_name": "Office desk"}, 200, &a)
	if len(a.Roles) != 1 || a.Roles[0].Role != spindle.Admin {
		g.t.Fatalf("first admin holds %v, want admin", a.Roles)
	}
	d := &device{g: g, person: "boss", id: a.Device, token: a.Access, fresh: a.Refresh, held: map[string][]*record.Entry{}, cursor: map[string]cursor{}}
	d.pull()
	return &shopRig{rig: g, admin: d, grant: a.Roles[0].Grant}
}

func (s *shopRig) give(person string, role spindle.Role) record.ID {
	s.t.Helper()
	e := s.admin.entry(record.ShopJob, spindle.Admin, s.grant, &record.Grant{Person: person, Role: role, From: s.clock.now().UnixMilli()})
	if a := s.admin.push(e); len(a.Taken) != 1 {
		s.t.Fatalf("grant not taken: %+v", a)
	}
	return e.ID
}

func (s *shopRig) withdraw(person string, role spindle.Role, grant record.ID, includingEarlier bool) {
	s.t.Helper()
	e := s.admin.entry(record.ShopJob, spindle.Admin, s.grant, &record.Grant{Person: person, Role: role, From: s.clock.now().UnixMilli(), Withdraws: grant, IncludingEarlier: includingEarlier})
	if a := s.admin.push(e); len(a.Taken) != 1 {
		s.t.Fatalf("withdrawal not taken: %+v", a)
	}
}

func wantReasons(t testing.TB, got, want map[string]int) {
	t.Helper()
	ok := len(got) == len(want)
	for r, n := range want {
		ok = ok && got[r] == n
	}
	if !ok {
		var lines []string
		for r, n := range got {
			lines = append(lines, fmt.Sprintf("%d × %q", n, r))
		}
		slices.Sort(lines)
		t.Errorf("objections (targets × reason):\n got %s\nwant %v", strings.Join(lines, "\n     "), want)
	}
}
