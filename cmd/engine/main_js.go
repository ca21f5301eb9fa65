//go:build js && wasm

// Command engine is package engine compiled for the browser. It puts runtrueEngine.call(method, json) on the global object of the worker that starts it, calls runtrueEngineReady, and stays.
package main

import (
	"syscall/js"

	"runtrue/internal/engine"
)

func main() {
	e := engine.New()
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 2 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
			return `{"error":{"code":"input","message":"call takes a method name and a JSON text"}}`
		}
		return e.Call(args[0].String(), args[1].String())
	})
	js.Global().Set("runtrueEngine", map[string]any{"call": call})
	if ready := js.Global().Get("runtrueEngineReady"); ready.Type() == js.TypeFunction {
		ready.Invoke()
	}
	select {}
}
