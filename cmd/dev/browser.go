package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// chromium is the browser that the page is driven in.
func chromium() (string, error) {
	path := os.Getenv("CHROMIUM")
	if path == "" {
		path = "/usr/bin/chromium"
	}
	if _, err := os.Stat(path); err != nil {
		return "", fmt.Errorf("no Chromium at %s (Debian: chromium); set CHROMIUM to its path", path)
	}
	return path, nil
}

// drive runs one of the page's scripts against the built program.
func drive(ctx context.Context, script string, more ...string) error {
	path, err := chromium()
	if err != nil {
		return err
	}
	absolute, err := filepath.Abs(program)
	if err != nil {
		return err
	}
	return runIn(ctx, "pwa", []string{"CHROMIUM=" + path, "RUNTRUE=" + absolute}, "npm", append([]string{"run", script, "--"}, more...)...)
}

func browserTests(ctx context.Context) error { return drive(ctx, "e2e") }

func pictures(ctx context.Context, args []string) error {
	if err := buildAll(ctx); err != nil {
		return err
	}
	return drive(ctx, "pictures", args...)
}

// measure prints the figures that the README states.
func measure(ctx context.Context, _ []string) error {
	if err := buildAll(ctx); err != nil {
		return err
	}
	if err := sizes(ctx); err != nil {
		return err
	}
	if err := drive(ctx, "measure"); err != nil {
		return err
	}
	return runIn(ctx, ".", nil, "go", "test", "-run", "^$", "-bench", ".", "./internal/store/...", "./internal/record", "./internal/verdict")
}

// pageSize adds up the compressed files that the page fetches, without the engine and its start-up script, source maps and pictures.
func pageSize() (int, error) {
	total := 0
	err := filepath.WalkDir("pwa/dist", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		switch filepath.Ext(name) {
		case ".html", ".js", ".css":
		default:
			return nil
		}
		if strings.Contains(name, "wasm_exec") {
			return nil
		}
		n, err := brotliSize(name)
		total += n
		return err
	})
	return total, err
}
