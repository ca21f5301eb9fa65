package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

const (
	engineDir = "build/engine"
	program   = "build/runtrue"
)

// buildAll builds what the program embeds first, then the program.
func buildAll(ctx context.Context) error {
	for _, step := range []func(context.Context) error{fetchPage, buildEngine, buildPage, buildProgram} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// fetchPage installs the page's packages when the lock file is newer than what is there.
func fetchPage(ctx context.Context) error {
	for _, tool := range []string{"node", "npm"} {
		if _, err := exec.LookPath(tool); err != nil {
			return fmt.Errorf("%s is not installed: the page is built with Node 20 or later and npm", tool)
		}
	}
	lock, err := os.ReadFile("pwa/package-lock.json")
	if err != nil {
		return err
	}
	const mark = "pwa/node_modules/.installed-lock"
	if done, err := os.ReadFile(mark); err == nil && bytes.Equal(done, lock) {
		return nil
	}
	if err := runIn(ctx, "pwa", nil, "npm", "ci", "--no-audit", "--no-fund"); err != nil {
		return err
	}
	return os.WriteFile(mark, lock, 0o644)
}

// engineFlags keep the engine small. Inlining makes it a seventh larger over the wire and hardly faster, so it stays on only where entries are hashed and read.
var engineFlags = []string{"-trimpath", "-ldflags=-s -w", "-gcflags=all=-l", "-gcflags=runtrue/internal/record=", "-gcflags=crypto/...="}

// buildEngine compiles the engine for the browser and lays Go's own start-up script beside it.
func buildEngine(ctx context.Context) error {
	if err := os.MkdirAll(engineDir, 0o755); err != nil {
		return err
	}
	if err := runIn(ctx, ".", []string{"GOOS=js", "GOARCH=wasm"}, "go", append(append([]string{"build"}, engineFlags...), "-o", engineDir+"/engine.wasm", "./cmd/engine")...); err != nil {
		return err
	}
	root, err := output(ctx, nil, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	return copyFile(filepath.Join(strings.TrimSpace(root), "lib", "wasm", "wasm_exec.js"), engineDir+"/wasm_exec.js")
}

func buildPage(ctx context.Context) error { return runIn(ctx, "pwa", nil, "npm", "run", "build") }

func buildProgram(ctx context.Context) error {
	return runIn(ctx, ".", nil, "go", "build", "-trimpath", "-o", program, "./cmd/runtrue")
}

// demo builds everything and runs the program's own demonstration, with any further arguments.
func demo(ctx context.Context, args []string) error {
	if err := buildAll(ctx); err != nil {
		return err
	}
	err := command(ctx, ".", nil, program, append([]string{"demo"}, args...)...).Run()
	if ctx.Err() != nil {
		return nil
	}
	return err
}
