package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
)

const demoUsage = `usage: runtrue demo [--addr HOST:PORT]

Serves an invented shop with three invented spindles from a store of its own in
a temporary folder, and prints how to enter as each of its people. The folder is
removed at the end. It listens on this machine only.

  --addr   where to listen, 127.0.0.1:8377 if not given
  --help   print this

`

// runDemo answers `runtrue demo`. Exit status as runServe.
func runDemo(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	cfg := ServeConfig{Log: slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))}
	flags := flag.NewFlagSet("demo", flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	flags.StringVar(&cfg.Addr, "addr", "127.0.0.1:8377", "")
	err := flags.Parse(args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprint(stdout, demoUsage)
		return exitDone
	}
	if err == nil && flags.NArg() > 0 {
		err = fmt.Errorf("%q is one word too many", flags.Arg(0))
	}
	if err != nil {
		fmt.Fprintf(stderr, "runtrue demo: %v\n\n%s", err, demoUsage)
		return exitUsage
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the process at once
	if err := ServeDemo(ctx, cfg, stdout); err != nil {
		fmt.Fprintln(stderr, "runtrue demo:", err)
		return exitFault
	}
	return exitDone
}
