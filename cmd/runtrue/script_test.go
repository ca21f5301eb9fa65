package main

import (
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The test binary plays the program inside the scripts.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"runtrue": main})
}

// TestScripts runs every script under testdata/script, each in a folder of its own.
func TestScripts(t *testing.T) {
	scripts, err := filepath.Glob(filepath.Join("testdata", "script", "*.txtar"))
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts under testdata/script, %v", err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireUniqueNames:  true,
		RequireExplicitExec: true,
	})
}
