package syncsim

import (
	"bufio"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log/slog"
	mathrand "math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/server"
	"runtrue/internal/spindle"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/photos"
)

// aloneIn names the folder in which this program, started again, is nothing but a server: so that its memory can be measured apart from that of the devices.
const aloneIn = "SYNCSIM_SERVER_FOLDER"

// serveAlone runs the server on a folder until its standard input ends. Its first line is its address and a code for the admin.
func serveAlone(folder string) (err error) {
	ctx := context.Background()
	st, err := badgerstore.Open(filepath.Join(folder, "store"), badgerstore.Options{ServerID: serverID, Reserve: reserve})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	desk, err := access.Open(ctx, access.Config{Tables: st, ServerID: serverID, Now: time.Now, Random: rand.Reader})
	if err != nil {
		return err
	}
	pictures, err := photos.Open(filepath.Join(folder, "photos"), photos.Options{Reserve: reserve})
	if err != nil {
		return err
	}
	srv, err := server.New(ctx, server.Config{Store: st, Photos: pictures, Desk: desk, Now: time.Now, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	code, _, err := srv.FirstAdmin(ctx, admin, time.Hour)
	if err != nil {
		return err
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	serving := make(chan error, 1)
	go func() { serving <- srv.Serve(ln) }()
	fmt.Println(ln.Addr(), code)
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	return errors.Join(srv.Shutdown(ctx), <-serving)
}

// comeback is what was measured.
type comeback struct {
	push, pull         []time.Duration // each request, rising
	pushing, pulling   time.Duration   // all of them together, from the first to the last device
	entries            int             // pushed
	rested, peak, left int             // KiB of memory of the server's process: before, at most, and when all was over; 0 where the system does not tell
}

// comeBack enrols so many devices, lets each write so many entries without a network, and lets all of them come back at the same moment.
func comeBack(tb testing.TB, devices, each, jobs int) comeback {
	tb.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), aloneIn+"="+tb.TempDir())
	cmd.Stderr = os.Stderr
	hold, err := cmd.StdinPipe()
	fatal(tb, err)
	said, err := cmd.StdoutPipe()
	fatal(tb, err)
	fatal(tb, cmd.Start())
	defer func() {
		if err := errors.Join(hold.Close(), cmd.Wait()); err != nil {
			tb.Errorf("the server's process: %v", err)
		}
	}()
	line, err := bufio.NewReader(said).ReadString('\n')
	fatal(tb, err)
	addr, code, _ := strings.Cut(strings.TrimSpace(line), " ")

	w := &world{schedule: &schedule{}, ledger: newLedger(), ctx: context.Background(), digest: sha256.New(), mostPushed: 500, mostPulled: 1000, random: mathrand.New(mathrand.NewPCG(1, 1)), grants: map[string]record.ID{}}
	w.ms.Store(time.Now().UnixMilli())
	w.house = &house{w: w, up: true, addr: addr, client: &http.Client{Timeout: time.Minute, Transport: &http.Transport{DisableCompression: true, MaxIdleConnsPerHost: 2 * devices}}}
	defer w.house.client.CloseIdleConnections()
	office := w.newDevice("office", admin)
	desk := office.page(func(int64) {}, true)
	fatal(tb, desk.enterBy(code))
	fatal(tb, errOf(desk.round()))
	var pages []*page
	for i := range devices {
		d := w.newDevice(fmt.Sprint("t", i), fmt.Sprint("p", i))
		p := d.page(func(int64) {}, true)
		var made struct{ Code string }
		fatal(tb, desk.with(func(token string) error {
			_, err := desk.ask("POST", "/api/v1/codes", token, map[string]any{"person": d.person}, &made)
			return err
		}))
		fatal(tb, p.enterBy(made.Code))
		if i < jobs {
			fatal(tb, p.begin(fmt.Sprint("job-", i)))
			fatal(tb, errOf(p.round()))
		}
		pages = append(pages, p)
	}
	for i, p := range pages {
		fatal(tb, errOf(p.round()))
		for len(p.dev.disk.rows.outbox) < each {
			job := fmt.Sprint("job-", (i+p.dev.random.IntN(4))%jobs)
			fatal(tb, p.measure(job, spindle.Technician))
		}
	}
	for _, p := range pages {
		p.replicas = nil // pages are closed at the end of the week
	}
	runtime.GC()

	c := comeback{rested: residentKiB(cmd.Process.Pid, "VmRSS")}
	var mu sync.Mutex
	w.watch = func(path string, took time.Duration) {
		mu.Lock()
		defer mu.Unlock()
		switch path {
		case "/api/v1/push":
			c.push = append(c.push, took)
		case "/api/v1/pull":
			c.pull = append(c.pull, took)
		}
	}
	all := func(work func(p *page) error) time.Duration {
		began := time.Now()
		var running sync.WaitGroup
		for _, p := range pages {
			running.Go(func() {
				if err := work(p); err != nil {
					tb.Errorf("%s: %v", p.dev.name, err)
				}
			})
		}
		running.Wait()
		return time.Since(began)
	}
	c.pushing = all(func(p *page) error {
		n, err := p.pushAll()
		mu.Lock()
		defer mu.Unlock()
		c.entries += n
		return err
	})
	c.pulling = all(func(p *page) error { return errOf2(p.pullAll()) })
	c.peak, c.left = residentKiB(cmd.Process.Pid, "VmHWM"), residentKiB(cmd.Process.Pid, "VmRSS")
	slices.Sort(c.push)
	slices.Sort(c.pull)
	want := len(pages[0].dev.disk.rows.order)
	for _, p := range pages {
		r := p.dev.disk.rows
		if len(r.order) != want || len(r.outbox) > 0 || len(r.refused) > 0 {
			tb.Errorf("%s holds %d entries, %d unsent and %d refused; want %d, 0 and 0", p.dev.name, len(r.order), len(r.outbox), len(r.refused), want)
		}
	}
	if c.entries < devices*each {
		tb.Errorf("%d entries were taken, want at least %d", c.entries, devices*each)
	}
	return c
}

func fatal(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}

// residentKiB reads a line of /proc/PID/status.
func residentKiB(pid int, what string) int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) == 3 && f[0] == what+":" {
			n, err := strconv.Atoi(f[1])
			if err != nil {
				return 0
			}
			return n
		}
	}
	return 0
}

func at(sorted []time.Duration, percent int) time.Duration {
	return sorted[(len(sorted)-1)*percent/100]
}

// Many devices that come back at once all get through, small enough for every day.
func TestManyComeBackAtOnce(t *testing.T) {
	c := comeBack(t, 24, 40, 6)
	t.Logf("24 devices: %d entries in %v; a push p50 %v, p99 %v; then pulled by all in %v, a pull p50 %v, p99 %v; server's memory %d, at most %d MiB",
		c.entries, c.pushing, at(c.push, 50), at(c.push, 99), c.pulling, at(c.pull, 50), at(c.pull, 99), c.rested>>10, c.peak>>10)
}

// A hundred devices come back with a week's work at once, 200 entries each, push it, and fetch everybody else's.
func BenchmarkHundredDevicesWithAWeeksWork(b *testing.B) {
	for range b.N {
		c := comeBack(b, 100, 200, 25)
		ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
		b.ReportMetric(float64(c.entries), "entries")
		b.ReportMetric(c.pushing.Seconds(), "s-all-pushed")
		b.ReportMetric(ms(at(c.push, 50)), "ms-p50/push")
		b.ReportMetric(ms(at(c.push, 99)), "ms-p99/push")
		b.ReportMetric(c.pulling.Seconds(), "s-all-pulled")
		b.ReportMetric(ms(at(c.pull, 50)), "ms-p50/pull")
		b.ReportMetric(ms(at(c.pull, 99)), "ms-p99/pull")
		b.ReportMetric(float64(c.rested)/1024, "MiB-server-before")
		b.ReportMetric(float64(c.peak)/1024, "MiB-server-most")
		b.ReportMetric(float64(c.left)/1024, "MiB-server-after")
	}
}
