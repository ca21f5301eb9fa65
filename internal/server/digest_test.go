package server

import (
	"bytes"
	"encoding/json"
	"testing"

	"runtrue/internal/spindle"
)

// A digit that changed on the way makes another entry of a good one. Under its digest the push is turned away whole, and what was written comes in when it is sent again.
func TestAlteredOnTheWayUnderItsDigest(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	d := g.device("p1")
	one, two := d.entry("job-1", spindle.Technician, grantless, fact("4711")), d.entry("job-1", spindle.Technician, grantless, fact("another"))
	body, err := json.Marshal(map[string]any{"device_saved": 2, "entries": texts(d.held["job-1"])})
	if err != nil {
		t.Fatal(err)
	}
	altered := bytes.Replace(body, []byte("4711"), []byte("4712"), 1)
	for _, c := range []struct {
		what, digest string
		body         []byte
		status       int
		code         string
		held         int
	}{
		{"altered", digestOf(body), altered, 400, codeAltered, 0},
		{"cut", digestOf(body), body[:len(body)-1], 400, codeAltered, 0},
		{"second of two digests", "sha-512=:AAAA:, " + digestOf(body), altered, 400, codeAltered, 0},
		{"not a digest", "sha-256=4711", body, 400, codeAltered, 0},
		{"whole, with an algorithm not known here before it", "sha-512=:AAAA:,  " + digestOf(body), body, 200, "", 2},
		{"again, without one", "", body, 200, "", 2},
	} {
		resp, answer := g.send("POST", d.token, "/api/v1/push", c.body, "Content-Digest", c.digest)
		if resp.StatusCode != c.status {
			t.Errorf("%s: status %d, want %d: %s", c.what, resp.StatusCode, c.status, answer)
		}
		if c.code != "" && codeOf(t, answer) != c.code {
			t.Errorf("%s: %s, want code %q", c.what, answer, c.code)
		}
		if got := resp.Header.Get("Content-Digest"); got != digestOf(answer) {
			t.Errorf("%s: the answer's digest is %q, its body has %q", c.what, got, digestOf(answer))
		}
		if n := len(g.all("job-1")); n != c.held {
			t.Errorf("%s: the store holds %d entries, want %d", c.what, n, c.held)
		}
	}
	for _, e := range g.all("job-1") {
		if e.ID != one.ID && e.ID != two.ID {
			t.Errorf("entry %s in the store was written by nobody", e.ID.Short())
		}
	}
}
