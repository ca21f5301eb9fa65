package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"runtrue/internal/access"
)

// running is a server started by Serve or ServeDemo, with what it printed.
type running struct {
	t     *testing.T
	base  string
	lines []string // up to and with the last code
	stop  func() error
}

// start runs serve on a free port and reads what it prints until the address and n codes are there.
func start(t *testing.T, n int, cfg ServeConfig, serve func(context.Context, ServeConfig, io.Writer) error) *running {
	t.Helper()
	cfg.Addr, cfg.Log = "127.0.0.1:0", slog.New(slog.DiscardHandler)
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	done := make(chan error, 1)
	go func() {
		err := serve(ctx, cfg, w)
		w.Close()
		done <- err
	}()
	out := &running{t: t, stop: func() error {
		cancel()
		return <-done
	}}
	sc := bufio.NewScanner(r)
	for links := 0; (out.base == "" || links < n) && sc.Scan(); {
		line := sc.Text()
		out.lines = append(out.lines, line)
		if base, ok := strings.CutPrefix(line, "runtrue serves on "); ok {
			out.base = base
		}
		if strings.Contains(line, "#enter=") {
			links++
		}
	}
	go io.Copy(io.Discard, r)
	if out.base == "" {
		t.Fatalf("no address was printed: %q, %v", out.lines, out.stop())
	}
	return out
}

func (r *running) codes() []string {
	var out []string
	for _, m := range regexp.MustCompile(`#enter=(\S+)`).FindAllStringSubmatch(strings.Join(r.lines, "\n"), -1) {
		out = append(out, m[1])
	}
	return out
}

// call makes a request and returns status and decoded answer.
func (r *running) call(method, path, token string, in any) (int, map[string]any) {
	r.t.Helper()
	var body []byte
	if in != nil {
		var err error
		if body, err = json.Marshal(in); err != nil {
			r.t.Fatal(err)
		}
	}
	req, err := http.NewRequest(method, r.base+path, bytes.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	var out map[string]any
	if strings.HasPrefix(resp.Header.Get("Content-Type"), "application/json") {
		if err := json.Unmarshal(raw, &out); err != nil {
			r.t.Fatalf("%s %s: %v in %s", method, path, err, raw)
		}
	}
	return resp.StatusCode, out
}

// An empty store: a code for the first admin, once; a restart before it is used prints another, a restart afterwards none, and the shop's record has one grant.
func TestServeLetsTheFirstAdminIn(t *testing.T) {
	dir := t.TempDir()
	cfg := ServeConfig{Data: dir, Admin: "admin"}
	first := start(t, 1, cfg, Serve)
	unused := first.codes()
	if err := first.stop(); err != nil || len(unused) != 1 {
		t.Fatalf("codes %v, stopped with %v", unused, err)
	}
	second := start(t, 1, cfg, Serve)
	codes := second.codes()
	if len(codes) != 1 || codes[0] == unused[0] {
		t.Fatalf("codes %v after %v, want a new one", codes, unused)
	}
	status, a := second.call("POST", "/api/v1/enrol", "", map[string]any{"code": codes[0], "device_name": "Office desk"})
	if status != 200 || a["person"] != "admin" {
		t.Fatalf("enrol: %d %v", status, a)
	}
	token, server := a["access"].(string), a["server"]
	if status, _ := second.call("POST", "/api/v1/enrol", "", map[string]any{"code": codes[0], "device_name": "Twice"}); status != 401 {
		t.Errorf("the code's second use: status %d, want 401", status)
	}
	status, a = second.call("POST", "/api/v1/codes", token, map[string]any{"person": "p1"})
	if status != 200 || a["code"] == "" {
		t.Errorf("the admin's code for somebody: %d %v", status, a)
	}
	status, a = second.call("GET", "/api/v1/jobs", token, nil)
	if jobs, ok := a["jobs"].([]any); status != 200 || !ok || len(jobs) != 1 || jobs[0].(map[string]any)["n"] != 1.0 {
		t.Errorf("jobs %v, want the shop's record with its one grant", a)
	}
	if err := second.stop(); err != nil {
		t.Fatal(err)
	}
	third := start(t, 0, cfg, Serve)
	status, a = third.call("GET", "/api/v1/me", token, nil)
	if status != 200 || a["server"] != server {
		t.Errorf("me after a restart: %d %v, want server %v", status, a, server)
	}
	if err := third.stop(); err != nil {
		t.Fatal(err)
	}
	if codes := third.codes(); len(codes) != 0 {
		t.Errorf("codes %v although an admin has entered", codes)
	}
}

func TestServeDemo(t *testing.T) {
	r := start(t, 7, ServeConfig{}, ServeDemo)
	defer func() {
		if err := r.stop(); err != nil {
			t.Error(err)
		}
	}()
	if codes := r.codes(); len(codes) != 7 {
		t.Fatalf("codes %v, want one for each of 7 people", codes)
	}
	for range 2 {
		status, a := r.call("POST", "/api/v1/enrol", "", map[string]any{"code": "cleo-demo", "device_name": "Tablet"})
		if roles, ok := a["roles"].([]any); status != 200 || !ok || len(roles) != 1 || roles[0].(map[string]any)["role"] != "inspector" {
			t.Fatalf("enrol: %d %v, want the inspector", status, a)
		}
		token := a["access"].(string)
		_, a = r.call("GET", "/api/v1/jobs", token, nil)
		jobs, ok := a["jobs"].([]any)
		if !ok || len(jobs) != 4 {
			t.Fatalf("jobs %v, want the shop and three spindles", a)
		}
		for _, j := range jobs {
			name := j.(map[string]any)["job"].(string)
			if name == "shop" {
				continue
			}
			for _, file := range []string{"list.html", "list.csv", "list.json", "job.json"} {
				if status, a := r.call("GET", "/api/v1/jobs/"+name+"/"+file, token, nil); status != 200 {
					t.Errorf("%s of %s: status %d %v", file, name, status, a)
				}
			}
		}
	}
}

func TestServeRefuses(t *testing.T) {
	for what, c := range map[string]struct {
		cfg   ServeConfig
		serve func(context.Context, ServeConfig, io.Writer) error
		words string
	}{
		"an address that others reach": {ServeConfig{Addr: "0.0.0.0:0", Data: t.TempDir()}, Serve, "plain HTTP"},
		"an address without a port":    {ServeConfig{Addr: "127.0.0.1", Data: t.TempDir()}, Serve, "HOST:PORT"},
		"a demonstration for others":   {ServeConfig{Addr: "0.0.0.0:0", Insecure: true}, ServeDemo, "this machine only"},
		"a person who is none":         {ServeConfig{Addr: "127.0.0.1:0", Data: t.TempDir(), Codes: []access.CodeFor{{Person: "No One", Lasts: time.Hour}}}, Serve, "No One"},
	} {
		c.cfg.Log = slog.New(slog.DiscardHandler)
		err := c.serve(context.Background(), c.cfg, io.Discard)
		if err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%s: error %v, want one with %q", what, err, c.words)
		}
	}
}
