package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/demo"
	"runtrue/internal/record"
	"runtrue/internal/server"
	"runtrue/internal/spindle"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/photos"
	"runtrue/pwa"
)

const serveUsage = `usage: runtrue serve [--addr HOST:PORT] [--data FOLDER] [--host NAME] [--code PERSON] [--demo]

Serves the page and keeps what the tablets send. On an empty store, and for as
long as nobody who may run the shop's record has entered, it prints a code for
one who does; the code is good once, for an hour.

  --addr      where to listen, 127.0.0.1:8377 if not given. Without HTTPS a
              tablet keeps no page for the time without network, and everything
              goes over the air in clear: put a proxy with HTTPS in front
  --data      folder of the store and the photos, made if there is none;
              runtrue-data if not given
  --host      a name by which the tablets reach the server through the proxy;
              may be given several times
  --admin     person id of the first admin, admin if not given
  --code      also print a code for this person, good once, for an hour
  --demo      an invented shop in a temporary folder; nothing is kept
  --page-off  call a faulty page back from every tablet that comes by; what was
              measured stays there
  --insecure  listen on an address that other machines reach, in clear
  --help      print this

`

// shutdownPatience is how long requests that are being answered may take after the signal to stop.
const shutdownPatience = 20 * time.Second

// runServe answers `runtrue serve`: it returns when the process is told to stop. Exit status: 0 stopped in good order; 1 it could not be started or not be stopped in good order; 2 wrong usage.
func runServe(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	cfg := ServeConfig{Log: slog.New(slog.NewTextHandler(stderr, nil))}
	flags := flag.NewFlagSet("serve", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // the messages are printed here, once
	flags.StringVar(&cfg.Addr, "addr", "127.0.0.1:8377", "")
	flags.StringVar(&cfg.Data, "data", "runtrue-data", "")
	flags.StringVar(&cfg.Admin, "admin", "admin", "")
	flags.Func("host", "", func(s string) error { cfg.Hosts = append(cfg.Hosts, s); return nil })
	flags.Func("code", "", func(s string) error {
		cfg.Codes = append(cfg.Codes, access.CodeFor{Person: s, Lasts: time.Hour})
		return nil
	})
	inMemory := flags.Bool("demo", false, "")
	flags.BoolVar(&cfg.PageOff, "page-off", false, "")
	flags.BoolVar(&cfg.Insecure, "insecure", false, "")
	err := flags.Parse(args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprint(stdout, serveUsage)
		return exitDone
	}
	if err == nil && flags.NArg() > 0 {
		err = fmt.Errorf("%q is one word too many", flags.Arg(0))
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue serve: %v\n\n%s", err, serveUsage)
		return exitUsage
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the process at once
	if *inMemory {
		err = ServeDemo(ctx, cfg, stdout)
	} else {
		err = Serve(ctx, cfg, stdout)
	}
	if err != nil {
		fmt.Fprintln(stderr, "runtrue serve:", err)
		return exitFault
	}
	return exitDone
}

// ServeConfig is what a server is started with.
type ServeConfig struct {
	Addr     string // HOST:PORT; port 0 takes any that is free
	Data     string // folder of the store and the photos
	Hosts    []string
	Admin    string // person id of the first admin; empty: no code for one is made
	Insecure bool   // listen on an address that other machines reach, without HTTPS
	PageOff  bool   // call the page back from the tablets
	Codes    []access.CodeFor
	Log      *slog.Logger
	// Store, if not nil, is served in place of the one in Data, and is closed at the end.
	Store store.Store
	// Now and Random are the clock and the source of keys and codes; nil: the machine's.
	Now    func() time.Time
	Random io.Reader
}

// Serve opens the store, prints the address and the codes to out, and serves until ctx ends. It returns nil when everything was then brought to its end in good order.
func Serve(ctx context.Context, cfg ServeConfig, out io.Writer) (err error) {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Random == nil {
		cfg.Random = rand.Reader
	}
	if err := checkAddress(cfg); err != nil {
		if cfg.Store != nil {
			err = errors.Join(err, cfg.Store.Close())
		}
		return err
	}
	st := cfg.Store
	if st == nil {
		if st, err = badgerstore.Open(filepath.Join(cfg.Data, "store"), badgerstore.Options{Random: cfg.Random, Log: cfg.Log}); err != nil {
			return fmt.Errorf("opening the store in %s: %w", cfg.Data, err)
		}
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	folder, err := photos.Open(filepath.Join(cfg.Data, "photos"), photos.Options{})
	if err != nil {
		return fmt.Errorf("opening the photos in %s: %w", cfg.Data, err)
	}
	desk, err := access.Open(ctx, access.Config{Tables: st, ServerID: st.ServerID(), Now: cfg.Now, Random: cfg.Random})
	if err != nil {
		return err
	}
	srv, err := server.New(ctx, server.Config{Store: st, Photos: folder, Desk: desk, Now: cfg.Now, Exporter: sheets{}, Page: pwa.Dist(), PageOff: cfg.PageOff, Hosts: cfg.Hosts, Log: cfg.Log})
	if err != nil {
		return err
	}
	ln, err := net.Listen("tcp", cfg.Addr)
	if err != nil {
		return fmt.Errorf("listening on %s: %w", cfg.Addr, err)
	}
	if err := welcome(ctx, cfg, desk, srv, ln.Addr(), out); err != nil {
		return errors.Join(err, ln.Close())
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(ln) }()
	select {
	case err := <-served:
		return errors.Join(errors.New("the server stopped by itself"), err)
	case <-ctx.Done():
	}
	fmt.Fprintln(out, "stopping; what is being written is written to its end")
	patience, cancel := context.WithTimeout(context.WithoutCancel(ctx), shutdownPatience)
	defer cancel()
	return errors.Join(srv.Shutdown(patience), <-served)
}

// welcome prints where the page is and the codes that are asked for.
func welcome(ctx context.Context, cfg ServeConfig, desk *access.Desk, srv *server.Server, addr net.Addr, out io.Writer) error {
	base := "http://" + addr.String()
	if len(cfg.Hosts) > 0 {
		base = "https://" + cfg.Hosts[0]
	}
	fmt.Fprintf(out, "runtrue serves on http://%s\n", addr)
	if !pwa.Built() {
		fmt.Fprintln(out, "this program was built without the page; only the interface for tablets is served")
	}
	show := func(what, code string, expires time.Time) {
		fmt.Fprintf(out, "%s: %s  (until %s)\n  %s/#enter=%s\n", what, code, expires.Format("2006-01-02 15:04"), base, code)
	}
	if cfg.Admin != "" && !desk.AnybodyIn(spindle.Admin) {
		code, expires, err := srv.FirstAdmin(ctx, cfg.Admin, time.Hour)
		if err != nil {
			return fmt.Errorf("a code for the first admin: %w", err)
		}
		show("code for "+cfg.Admin+", who may run the shop's record", code, expires)
	}
	for _, c := range cfg.Codes {
		code, expires, err := desk.NewCode(ctx, c)
		if err != nil {
			return fmt.Errorf("a code for %q: %w", c.Person, err)
		}
		var roles []string
		for _, held := range desk.RolesOf(c.Person) {
			roles = append(roles, string(held.Role))
		}
		show(fmt.Sprintf("code for %s (%s)", desk.NameOf(c.Person), strings.Join(roles, ", ")), code, expires)
	}
	return nil
}

// checkAddress refuses an address that other machines reach, unless that was asked for.
func checkAddress(cfg ServeConfig) error {
	host, _, err := net.SplitHostPort(cfg.Addr)
	if err != nil {
		return fmt.Errorf("address %q: %w; write HOST:PORT, 127.0.0.1:8377", cfg.Addr, err)
	}
	ip := net.ParseIP(host)
	if cfg.Insecure || host == "localhost" || ip != nil && ip.IsLoopback() {
		return nil
	}
	return fmt.Errorf("address %q is reached by other machines and this is plain HTTP: readings and tokens would go over the air in clear; listen on 127.0.0.1 behind a proxy with HTTPS, or add --insecure", cfg.Addr)
}

// ServeDemo serves an invented shop from a folder that is removed at the end. Its codes can be read on the screen and used any number of times, so it listens on this machine only.
func ServeDemo(ctx context.Context, cfg ServeConfig, out io.Writer) (err error) {
	if cfg.Insecure {
		return errors.New("the demonstration has codes that anybody can guess and listens on this machine only; leave --insecure away")
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	entries, err := demo.Shop(cfg.Now().UnixMilli())
	if err != nil {
		return fmt.Errorf("writing the invented shop: %w", err)
	}
	if cfg.Data, err = os.MkdirTemp("", "runtrue-demo-"); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(cfg.Data)) }()
	st, err := badgerstore.Open(filepath.Join(cfg.Data, "store"), badgerstore.Options{Log: cfg.Log})
	if err != nil {
		return fmt.Errorf("making a store in %s: %w", cfg.Data, err)
	}
	if err := preload(ctx, st, entries, cfg.Now().UnixMilli()); err != nil {
		return errors.Join(err, st.Close())
	}
	cfg.Store, cfg.Admin = st, ""
	for _, person := range []string{demo.Technician, demo.OtherTechnician, demo.Inspector, demo.OtherInspector, demo.Assembler, demo.Quality, demo.Office} {
		cfg.Codes = append(cfg.Codes, access.CodeFor{Person: person, Multi: true, Spelling: strings.ToUpper(person) + "-DEMO", Lasts: 30 * 24 * time.Hour})
	}
	return Serve(ctx, cfg, out)
}

// preload puts entries into an empty store, as if their own tablets had sent them.
func preload(ctx context.Context, st store.Store, entries []*record.Entry, nowMS int64) error {
	var batch []store.Incoming
	for _, e := range entries {
		batch = append(batch, store.Incoming{Entry: store.Entry{ID: store.ID(e.ID), Job: e.Job, Bytes: e.Bytes}, ReceivedMS: nowMS, Person: e.By, Device: e.Device})
	}
	for chunk := range slices.Chunk(batch, store.MaxBatchEntries) {
		if _, err := st.Put(ctx, chunk); err != nil {
			return fmt.Errorf("loading the invented shop: %w", err)
		}
	}
	return nil
}
