// Command dev builds the page and the engine, runs the demonstration, and runs every check. It is for whoever works on the program and for a fresh machine:
//
//	go run ./cmd/dev demo       build everything, start the server with an invented shop, print the address
//	go run ./cmd/dev check      run every test there is
//	go run ./cmd/dev build      engine, page and program, into build/ and pwa/dist/
//	go run ./cmd/dev pictures   screenshots of every screen, into pwa/pictures/
//	go run ./cmd/dev soak       weeks of devices, a bad network and a dying server, seed after seed; -seeds N, -first SEED, -for 10m, -print
//	go run ./cmd/dev measure    sizes over the wire, cold start, time from reading to verdict, pushes per second
//
// It needs Go, and Node with npm; check also wants a Chromium (set CHROMIUM to its path if it is not /usr/bin/chromium).
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"
)

var commands = map[string]func(ctx context.Context, args []string) error{
	"build":    func(ctx context.Context, _ []string) error { return buildAll(ctx) },
	"demo":     demo,
	"check":    check,
	"pictures": pictures,
	"measure":  measure,
	"soak":     soak,
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := enterRoot(); err != nil {
		fail(err)
	}
	if len(os.Args) < 2 || commands[os.Args[1]] == nil {
		fmt.Fprintln(os.Stderr, "usage: go run ./cmd/dev demo | check | build | pictures | measure | soak")
		os.Exit(2)
	}
	if err := commands[os.Args[1]](ctx, os.Args[2:]); err != nil {
		fail(err)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "dev:", err)
	os.Exit(1)
}

// enterRoot makes the folder of go.mod the working folder, so that the command can be given from anywhere inside.
func enterRoot() error {
	dir, err := os.Getwd()
	if err != nil {
		return err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return os.Chdir(dir)
		}
		if filepath.Dir(dir) == dir {
			return fmt.Errorf("no go.mod in this folder or above: run it inside the repository")
		}
		dir = filepath.Dir(dir)
	}
}

// command prepares a program with its output on ours; it is stopped politely when ctx ends, so that a server can close its store.
func command(ctx context.Context, dir string, env []string, name string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, name, args...)
	c.Dir = dir
	c.Env = append(os.Environ(), env...)
	c.Stdout, c.Stderr = os.Stdout, os.Stderr
	c.Cancel = func() error { return c.Process.Signal(syscall.SIGTERM) }
	c.WaitDelay = 10 * time.Second
	return c
}

func runIn(ctx context.Context, dir string, env []string, name string, args ...string) error {
	if err := command(ctx, dir, env, name, args...).Run(); err != nil {
		return fmt.Errorf("%s %v in %s: %w", name, args, dir, err)
	}
	return nil
}

// output runs a program and returns what it printed.
func output(ctx context.Context, env []string, name string, args ...string) (string, error) {
	c := exec.CommandContext(ctx, name, args...)
	c.Env = append(os.Environ(), env...)
	c.Stderr = os.Stderr
	b, err := c.Output()
	return string(b), err
}

// copyFile copies a small file.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		out.Close()
		return err
	}
	return out.Close()
}
