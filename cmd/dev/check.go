package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"

	"github.com/andybalholm/brotli"
)

// Limits of size over the wire, in bytes after brotli.
const (
	engineLimit = 1_250_000
	pageLimit   = 120_000
)

type step struct {
	name string
	run  func(context.Context) error
}

// purePackages run in the browser too; their tests run under WebAssembly as well.
var purePackages = []string{"./internal/length", "./internal/portablemath", "./internal/form", "./internal/uncertainty", "./internal/iso286", "./internal/iso492", "./internal/seat", "./internal/verdict", "./internal/explain", "./internal/slip", "./internal/record", "./internal/hold", "./internal/sheet"}

// check runs every test there is, in an order that finds the cheap faults first. It goes on after a failure and says at the end what failed.
func check(ctx context.Context, _ []string) error {
	steps := []step{
		{"go files are formatted", formatted},
		{"go vet", func(ctx context.Context) error { return runIn(ctx, ".", nil, "go", "vet", "./...") }},
		{"page: packages", fetchPage},
		{"page: types", func(ctx context.Context) error { return runIn(ctx, "pwa", nil, "npm", "run", "check") }},
		{"page: unit tests", func(ctx context.Context) error { return runIn(ctx, "pwa", nil, "npm", "test") }},
		{"engine builds", buildEngine},
		{"page builds", buildPage},
		{"program builds", buildProgram},
		{"sizes over the wire", sizes},
		{"go test ./...", func(ctx context.Context) error { return runIn(ctx, ".", nil, "go", "test", "./...") }},
		{"pure packages under WebAssembly", wasmTests},
		{"exact bits on arm64", armTests},
		{"page driven in Chromium", browserTests},
	}
	passed, failed := 0, []string{}
	for _, s := range steps {
		fmt.Printf("\n=== %s\n", s.name)
		start := time.Now()
		err := s.run(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			fmt.Printf("--- FAILED %s (%.0f s): %v\n", s.name, time.Since(start).Seconds(), err)
			failed = append(failed, s.name)
			continue
		}
		fmt.Printf("--- passed %s (%.0f s)\n", s.name, time.Since(start).Seconds())
		passed++
	}
	fmt.Printf("\n%d passed, %d failed\n", passed, len(failed))
	if len(failed) > 0 {
		return fmt.Errorf("failed: %s", strings.Join(failed, ", "))
	}
	return nil
}

func formatted(ctx context.Context) error {
	out, err := output(ctx, nil, "gofmt", "-l", "cmd", "internal", "pwa/embed.go")
	if err != nil {
		return err
	}
	if out != "" {
		return fmt.Errorf("not formatted: %s", strings.Fields(out))
	}
	return nil
}

// sizes measures what a device must fetch, compressed as the server sends it.
func sizes(context.Context) error {
	engine, err := brotliSize(engineDir + "/engine.wasm")
	if err != nil {
		return err
	}
	page, err := pageSize()
	if err != nil {
		return err
	}
	fmt.Printf("engine %d bytes of at most %d, page without engine %d of at most %d\n", engine, engineLimit, page, pageLimit)
	if engine > engineLimit || page > pageLimit {
		return errors.New("larger than the limit")
	}
	return nil
}

func brotliSize(name string) (int, error) {
	b, err := os.ReadFile(name)
	if err != nil {
		return 0, err
	}
	var n counter
	w := brotli.NewWriterLevel(&n, brotli.BestCompression)
	if _, err := w.Write(b); err != nil {
		return 0, err
	}
	return int(n), errors.Join(w.Close())
}

type counter int

func (c *counter) Write(b []byte) (int, error) {
	*c += counter(len(b))
	return len(b), nil
}

func wasmTests(ctx context.Context) error {
	root, err := output(ctx, nil, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	args := append([]string{"test", "-exec", strings.TrimSpace(root) + "/lib/wasm/go_js_wasm_exec"}, purePackages...)
	return runIn(ctx, ".", []string{"GOOS=js", "GOARCH=wasm"}, "go", args...)
}

// armTests run the bit-equality vectors under emulation. They need qemu's user emulation; where it is missing the step fails and says how to get it.
func armTests(ctx context.Context) error {
	qemu, err := exec.LookPath("qemu-aarch64-static")
	if err != nil {
		return errors.New("qemu-aarch64-static is not installed (Debian: qemu-user-static)")
	}
	return runIn(ctx, ".", []string{"GOARCH=arm64", "CGO_ENABLED=0"}, "go", "test", "-exec", qemu, "./internal/portablemath")
}
