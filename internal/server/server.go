package server

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"runtrue/internal/access"
	"runtrue/internal/store"
	"runtrue/internal/store/photos"
)

// Exporter renders one job for reading outside: format is html, csv, json or job; entries are the job's bytes in order of arrival.
type Exporter interface {
	Export(job string, entries [][]byte, format string) (name, contentType string, body []byte, err error)
}

// Config is what a Server is made from. Store, Photos, Desk and Now are needed.
type Config struct {
	Store    store.Store
	Photos   *photos.Folder
	Desk     *access.Desk
	Now      func() time.Time
	Exporter Exporter // nil: exports answer "not found"
	// Page is the built page, rooted where it is served; nil or without index.html: the page's address says that it was not built.
	Page fs.FS
	// PageOff answers the page's service worker with sw-off.js of the page: it removes the page from every device that comes by, and nothing that people measured. For the day when a faulty page must be called back.
	PageOff bool
	// Hosts are the names by which the server may be asked for, besides 127.0.0.1, ::1 and localhost: without port, in any case.
	Hosts []string
	// Beat is the pause between two signs of life on the live channel; 0: 15 s.
	Beat time.Duration
	Log  *slog.Logger // nil: none
}

// Server is the HTTP interface over one store. Make one with New, run it with Serve, stop it with Shutdown.
type Server struct {
	cfg   Config
	store store.Store
	desk  *access.Desk
	log   *slog.Logger
	hosts []string

	app      *fiber.App
	base     context.Context // ends when Shutdown loses its patience
	giveUp   context.CancelFunc
	stopping chan struct{} // closed when Shutdown begins
	stopOnce sync.Once

	jobs     *jobs
	news     *news
	guesses  *guesses
	damage   *damage
	restores *restores
	files    pageFiles
	coming   *coming
	shopMu   sync.Mutex // one reading of the shop's record at a time
}

// New reads the shop's record and finishes what a stopped process may have left undone (objections to what was done under a role withdrawn backwards).
func New(ctx context.Context, c Config) (*Server, error) {
	if c.Store == nil || c.Photos == nil || c.Desk == nil || c.Now == nil {
		return nil, errors.New("server: store, photos, desk and clock must be handed in")
	}
	if c.Beat == 0 {
		c.Beat = 15 * time.Second
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	files, err := loadPage(c.Page, c.PageOff)
	if err != nil {
		return nil, fmt.Errorf("server: the page: %w", err)
	}
	s := &Server{cfg: c, store: c.Store, desk: c.Desk, log: c.Log, stopping: make(chan struct{}), jobs: newJobs(c.Store),
		news: newNews(), guesses: &guesses{now: c.Now, until: map[string]time.Time{}}, damage: newDamage(), files: files, coming: newComing()}
	s.hosts = hostNames(c.Hosts)
	if s.restores, err = loadRestores(ctx, c.Store); err != nil {
		return nil, err
	}
	s.base, s.giveUp = context.WithCancel(context.Background())
	if err := s.learnShop(ctx); err != nil {
		return nil, err
	}
	s.app = s.newApp()
	return s, nil
}

// Serve answers requests on ln until Shutdown. It closes ln.
func (s *Server) Serve(ln net.Listener) error {
	d := newDoor(ln)
	go func() {
		<-s.stopping
		d.shutOut()
	}()
	return s.app.Listener(d)
}

// Shutdown stops taking requests, ends the live channels, and waits for the requests that are being answered, a push being written among them. When ctx ends first, they are broken off: what
// they would have said is then not known to their devices, which will send again. The store stays open; it belongs to whoever opened it.
func (s *Server) Shutdown(ctx context.Context) error {
	s.stopOnce.Do(func() { close(s.stopping) })
	err := s.app.ShutdownWithContext(ctx)
	s.giveUp()
	return err
}

// Routes lists method and path of every route, for documentation and for tests that must not forget one.
func Routes() [][2]string {
	var out [][2]string
	for _, rt := range routes {
		out = append(out, [2]string{rt.method, rt.path})
	}
	return out
}
