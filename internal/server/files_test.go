package server

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
)

func spindleLength(micrometres int64) length.Length {
	return length.Length(micrometres) * length.Micrometre
}

func photo(size int) (name string, body []byte) {
	body = append([]byte("\x89PNG\r\n\x1a\n"), bytes.Repeat([]byte{7}, size-8)...)
	sum := sha256.Sum256(body)
	return fmt.Sprintf("%x", sum), body
}

func TestPhotoInPartsResumed(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	name, body := photo(100_000)
	at := "/api/v1/photos/" + name
	head := func(size, complete string) {
		t.Helper()
		resp, _ := g.send("HEAD", d.token, at, nil)
		if resp.StatusCode != 200 || resp.Header.Get("X-Runtrue-Size") != size || resp.Header.Get("X-Runtrue-Complete") != complete {
			t.Errorf("HEAD: status %d, size %q, complete %q; want %s, %s", resp.StatusCode, resp.Header.Get("X-Runtrue-Size"), resp.Header.Get("X-Runtrue-Complete"), size, complete)
		}
	}
	put := func(offset int, part []byte, status int) []byte {
		t.Helper()
		resp, out := g.send("PUT", d.token, fmt.Sprintf("%s?offset=%d", at, offset), part)
		if resp.StatusCode != status {
			t.Fatalf("PUT at %d: status %d, want %d: %s", offset, resp.StatusCode, status, out)
		}
		return out
	}
	head("0", "false")
	g.get(d.token, at, 404)
	put(0, body[:40_000], 200)
	head("40000", "false")
	g.get(d.token, at, 404) // nothing half-written is handed out
	if code := codeOf(t, put(50_000, body[50_000:], 409)); code != codeOffset {
		t.Errorf("a hole: code %q", code)
	}
	put(40_000, body[40_000:70_000], 200)
	if got := string(put(70_000, body[70_000:], 200)); !strings.Contains(got, `"size":100000`) || !strings.Contains(got, `"complete":true`) {
		t.Errorf("the last part: %s", got)
	}
	head("100000", "true")
	put(0, body[:10], 200) // once it is complete, a late part is answered and changes nothing
	resp, out := g.send("GET", d.token, at, nil)
	if !bytes.Equal(out, body) || resp.Header.Get("Content-Type") != "image/png" || !strings.Contains(resp.Header.Get("Content-Security-Policy"), "sandbox") {
		t.Errorf("GET: %d bytes of %q, policy %q", len(out), resp.Header.Get("Content-Type"), resp.Header.Get("Content-Security-Policy"))
	}
}

// The server is started again between two parts: what it has is not known by hash, so if the next part is not the last the photo begins anew, and nothing wrong is kept.
func TestPhotoAcrossARestart(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	name, body := photo(90_000)
	at := "/api/v1/photos/" + name
	send := func(from, to int) int {
		resp, _ := g.send("PUT", d.token, fmt.Sprintf("%s?offset=%d", at, from), body[from:to])
		return resp.StatusCode
	}
	send(0, 30_000)
	g.srv.coming = newComing()
	if got := send(30_000, 60_000); got != 422 {
		t.Errorf("a middle part after the restart: status %d, want 422", got)
	}
	for from := 0; from < 90_000; from += 30_000 {
		if got := send(from, from+30_000); got != 200 {
			t.Errorf("part at %d: status %d, want 200", from, got)
		}
	}
	name, body = photo(80_000)
	at = "/api/v1/photos/" + name
	send(0, 30_000)
	g.srv.coming = newComing()
	if got := send(30_000, 80_000); got != 200 {
		t.Errorf("the last part after the restart: status %d, want 200", got)
	}
	if out := g.get(d.token, at, 200); !bytes.Equal(out, body) {
		t.Errorf("got %d bytes, want %d", len(out), len(body))
	}
}

func TestBadPhotos(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	name, body := photo(1000)
	wrong := strings.Repeat("12", 32)
	for _, c := range []struct {
		what, path string
		body       []byte
		status     int
	}{
		{"name too short", "/api/v1/photos/abcd", body, 400},
		{"capitals", "/api/v1/photos/" + strings.ToUpper(name), body, 400},
		{"path for a name", "/api/v1/photos/..%2f..%2fetc%2fpasswd", body, 400},
		{"negative offset", "/api/v1/photos/" + name + "?offset=-1", body, 400},
		{"offset is no number", "/api/v1/photos/" + name + "?offset=x", body, 400},
		{"offset beyond the beginning", "/api/v1/photos/" + name + "?offset=5", body, 409},
	} {
		if resp, out := g.send("PUT", d.token, c.path, c.body); resp.StatusCode != c.status {
			t.Errorf("%s: status %d, want %d: %s", c.what, resp.StatusCode, c.status, out)
		}
	}
	// Bytes under a wrong name never become a photo: not in one part, and not when they are ended by a part that claims to be the last.
	for offset := 0; offset <= 1000; offset += 1000 {
		g.send("PUT", d.token, fmt.Sprintf("/api/v1/photos/%s?offset=%d", wrong, offset), body)
		g.get(d.token, "/api/v1/photos/"+wrong, 404)
	}
	g.get(d.token, "/api/v1/photos/"+strings.Repeat("cd", 32), 404)
}

func TestNoPathLeadsOut(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	for _, p := range []string{"/../server.go", "/%2e%2e/%2e%2e/etc/passwd", "/assets/../../etc/passwd", "/assets/..%2f..%2fgo.mod", "//etc/passwd", "/index.html.br", "/.git/config", "/assets/", "/assets",
		"/api/v1/jobs/..%2f..%2fetc/list.csv", "/api/v1/jobs/%2e%2e/list.csv", "/api/v1/jobs/job-1/..%2f..%2fpasswd"} {
		req, err := http.NewRequest("GET", g.base, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.URL.Opaque = strings.TrimPrefix(g.base, "http:") + p // as written, not cleaned
		req.Header.Set("Authorization", "Bearer "+d.token)
		resp, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		var body bytes.Buffer
		if _, err := body.ReadFrom(resp.Body); err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode != 404 && resp.StatusCode != 400 || !strings.Contains(body.String(), `"error"`) {
			t.Errorf("%s: status %d: %.80s", p, resp.StatusCode, body.String())
		}
	}
}

func TestPage(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	for _, c := range []struct {
		path, accept, body, kind, cache, encoding string
	}{
		{"/", "gzip, br", "brotli of index", "text/html; charset=utf-8", "no-cache", "br"},
		{"/", "gzip", "<!doctype html><title>runtrue</title>", "text/html; charset=utf-8", "no-cache", ""},
		{"/index.html", "br;q=0", "<!doctype html><title>runtrue</title>", "text/html; charset=utf-8", "no-cache", ""},
		{"/index.html", "br;q=0.5", "brotli of index", "text/html; charset=utf-8", "no-cache", "br"},
		{"/sw.js", "br", "// worker", "text/javascript; charset=utf-8", "no-cache", ""},
		{"/engine.wasm", "identity", "\x00asm", "application/wasm", "no-cache", ""},
		{"/assets/index-Bx3kPq9z.js", "br", "brotli of js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable", "br"},
	} {
		resp, body := g.send("GET", "", c.path, nil, "Accept-Encoding", c.accept)
		h := resp.Header
		if resp.StatusCode != 200 || string(body) != c.body || h.Get("Content-Type") != c.kind || h.Get("Cache-Control") != c.cache || h.Get("Content-Encoding") != c.encoding || h.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s accepting %q: %d %q, head %v", c.path, c.accept, resp.StatusCode, body, h)
		}
		again, rest := g.send("GET", "", c.path, nil, "Accept-Encoding", c.accept, "If-None-Match", "W/\"x\", "+h.Get("ETag"))
		if again.StatusCode != 304 || len(rest) != 0 {
			t.Errorf("%s with its tag %s: status %d, %d bytes; want 304, 0", c.path, h.Get("ETag"), again.StatusCode, len(rest))
		}
	}
	a, _ := g.send("GET", "", "/", nil, "Accept-Encoding", "br")
	b, _ := g.send("GET", "", "/", nil, "Accept-Encoding", "identity")
	if a.Header.Get("ETag") == b.Header.Get("ETag") {
		t.Error("both forms of the page have one tag")
	}

	bare := newRig(t, engines["memory"](t), &clock{ms: startMS}, func(c *Config) { c.Page = fstest.MapFS{"README.txt": {Data: []byte("not built")}} })
	if code := codeOf(t, bare.get("", "/", 503)); code != codeNoPage {
		t.Errorf("code %q of a page that was not built", code)
	}
	if _, err := loadPage(fstest.MapFS{"index.html": {}, "odd.exe": {}}, false); err == nil {
		t.Error("a file of unknown type was taken into the page")
	}
	if _, err := loadPage(testPage(), true); err == nil {
		t.Error("a page without sw-off.js cannot be called back, and nobody was told")
	}
	called := newRig(t, engines["memory"](t), &clock{ms: startMS}, func(c *Config) {
		page := testPage()
		page["sw-off.js"] = &fstest.MapFile{Data: []byte("// remove all")}
		c.Page, c.PageOff = page, true
	})
	if got := string(called.get("", "/sw.js", 200)); got != "// remove all" {
		t.Errorf("the worker of a page called back is %q", got)
	}
}

func TestExports(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	d.push(d.entry("job-1", spindle.Technician, grantless, fact("x")), d.entry("broken", spindle.Technician, grantless, fact("x")))
	for file, want := range map[string]string{"list.html": "job-1 html 1", "list.csv": "job-1 csv 1", "list.json": "job-1 json 1", "job.json": "job-1 job 1"} {
		resp, body := g.send("GET", d.token, "/api/v1/jobs/job-1/"+file, nil)
		if resp.StatusCode != 200 || string(body) != want || !strings.Contains(resp.Header.Get("Content-Security-Policy"), "sandbox") || !strings.Contains(resp.Header.Get("Content-Disposition"), "job-1-list.") {
			t.Errorf("%s: %d %q, head %v", file, resp.StatusCode, body, resp.Header)
		}
	}
	g.get(d.token, "/api/v1/jobs/job-1/list.pdf", 404)
	g.get(d.token, "/api/v1/jobs/job-2/list.csv", 404)
	g.get(d.token, "/api/v1/jobs/JOB/list.csv", 400)
	if body := g.get(d.token, "/api/v1/jobs/broken/list.csv", 500); bytes.Contains(body, []byte("internal words")) {
		t.Errorf("internals leak: %s", body)
	}
	if got := string(g.get(d.token, "/api/v1/jobs", 200)); !strings.Contains(got, `"job":"broken"`) || !strings.Contains(got, `"n":1`) {
		t.Errorf("jobs: %s", got)
	}
}

func TestPanicIsAnAnswer(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	_, err := g.srv.handle(route{"GET", "/x", anybody, 0, false, func(*Server, *request) (answer, error) {
		var p *runtime.MemStats
		return answer{status: int(p.Alloc)}, nil
	}}, &request{header: map[string]string{"host": "localhost"}})
	if f := faultOf(err); err == nil || f.code != codeInternal || strings.Contains(f.message, "nil pointer") {
		t.Errorf("a panic became %v", err)
	}
}
