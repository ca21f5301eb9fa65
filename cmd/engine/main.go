//go:build !(js && wasm)

// Command engine is compiled for the browser only; see main_js.go.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "engine: this command runs in the browser; build it with GOOS=js GOARCH=wasm, or by: go run ./cmd/dev build")
	os.Exit(2)
}
