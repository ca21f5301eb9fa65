package server

import (
	"bufio"
	"context"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"runtrue/internal/spindle"
	"runtrue/internal/store"
)

// listen opens the live channel and hands its lines over one by one; the channel of lines is closed when the stream ends.
func (d *device) listen() (lines chan string) {
	d.g.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	d.g.t.Cleanup(cancel)
	req, err := http.NewRequestWithContext(ctx, "GET", d.g.base+"/api/v1/live", nil)
	if err != nil {
		d.g.t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+d.token)
	resp, err := (&http.Client{}).Do(req)
	if err != nil {
		d.g.t.Fatal(err)
	}
	if got := resp.Header.Get("Content-Type"); resp.StatusCode != 200 || !strings.HasPrefix(got, "text/event-stream") {
		d.g.t.Fatalf("live: status %d, type %q", resp.StatusCode, got)
	}
	lines = make(chan string, 1000)
	go func() {
		defer close(lines)
		defer resp.Body.Close()
		for sc := bufio.NewScanner(resp.Body); sc.Scan(); {
			lines <- sc.Text()
		}
	}()
	return lines
}

// await reads lines until one has the prefix; the test ends if the stream does.
func await(t *testing.T, lines chan string, prefix string) string {
	t.Helper()
	for line := range lines {
		if strings.HasPrefix(line, prefix) {
			return line
		}
	}
	t.Fatalf("the stream ended before a line %q", prefix)
	return ""
}

func TestLiveTellsOfNews(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		a, b := g.device("p1"), g.device("p2")
		lines := b.listen()
		await(t, lines, ": listening")
		e := a.entry("job-7", spindle.Technician, grantless, fact("x"))
		a.push(e)
		await(t, lines, "event: news")
		if got := await(t, lines, "data: "); got != `data: {"job":"job-7","n":1}` {
			t.Errorf("got %s", got)
		}
		await(t, lines, ": still here")
		a.push(e) // a repeat is no news
		a.push(a.entry("job-8", spindle.Technician, grantless, fact("x")))
		if got := await(t, lines, "data: "); got != `data: {"job":"job-8","n":1}` {
			t.Errorf("got %s", got)
		}
	})
}

func TestLiveEndsWithTokenSessionAndServer(t *testing.T) {
	for what, end := range map[string]func(g *rig, d *device){
		"token": func(g *rig, _ *device) { g.clock.pass(16 * time.Minute) },
		"session": func(g *rig, d *device) {
			if _, err := g.desk.EndDevice(ctx, d.id, "lost"); err != nil {
				g.t.Fatal(err)
			}
		},
		"server": func(g *rig, _ *device) { g.stop() },
	} {
		t.Run(what, func(t *testing.T) {
			g := newRig(t, engines["memory"](t), &clock{ms: startMS})
			d := g.device("p1")
			lines := d.listen()
			await(t, lines, ": still here")
			end(g, d)
			for range lines { // ends, or the request's own time limit makes the next line fail
			}
			g.srv.news.mu.Lock()
			defer g.srv.news.mu.Unlock()
			if n := len(g.srv.news.listeners); what == "server" && n != 0 {
				t.Errorf("%d listeners are still kept", n)
			}
		})
	}
}

// Shutting down in the middle of pushes: whatever was answered is in the store, whatever is in the store whole, and nothing hangs.
func TestStopWhilePushing(t *testing.T) {
	onBoth(t, func(t *testing.T, g *rig) {
		gate := &gated{Store: g.store, entered: make(chan struct{}), release: make(chan struct{})}
		g.srv.store, g.srv.jobs = gate, newJobs(gate)
		d := g.device("p1")
		e := d.entry("job-1", spindle.Technician, grantless, fact("x"))
		answered := make(chan pushAnswer, 1)
		go func() { answered <- d.push(e) }()
		<-gate.entered // the push is being written
		down := make(chan error, 1)
		go func() {
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
			defer cancel()
			down <- g.srv.Shutdown(ctx)
		}()
		<-g.srv.stopping
		select {
		case err := <-down:
			t.Fatalf("the server was down (%v) before the push was answered", err)
		default:
		}
		close(gate.release)
		if a := <-answered; len(a.Taken) != 1 {
			t.Errorf("the push was answered %+v, want it taken", a)
		}
		if err := <-down; err != nil {
			t.Errorf("shutdown: %v", err)
		}
		if err := <-g.done; err != nil {
			t.Errorf("serve: %v", err)
		}
		g.done <- nil
		if n := len(g.all("job-1")); n != 1 {
			t.Errorf("%d entries in the store, want 1", n)
		}
	})
}

type gated struct {
	store.Store
	entered, release chan struct{}
}

func (g *gated) Put(ctx context.Context, batch []store.Incoming) ([]store.Arrival, error) {
	close(g.entered)
	<-g.release
	return g.Store.Put(ctx, batch)
}

// A server that is told to stop before it has begun does not begin.
func TestStopBeforeStart(t *testing.T) {
	g := newRig(t, engines["memory"](t), &clock{ms: startMS})
	other, err := New(ctx, g.srv.cfg)
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Shutdown(ctx); err != nil {
		t.Errorf("shutdown: %v", err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Serve(ln); err != nil {
		t.Errorf("serve: %v, want nil and at once", err)
	}
	if c, err := net.Dial("tcp", ln.Addr().String()); err == nil {
		c.Close()
		t.Error("the address still answers")
	}
}
