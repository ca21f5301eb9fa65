// Package pwa carries the built offline page inside the Go program.
//
// The page is built by Node into the folder dist (npm run build), beside it the engine (engine.wasm, wasm_exec.js) and, for every text or
// WebAssembly file, a copy compressed by Brotli with the ending .br. A bare clone has only a note there, so that the program builds without
// Node; [Built] tells the two apart, and a server of an unbuilt page should say so in words and not answer "not found".
//
// Names: files under assets/ carry the hash of their content and never change; all others (index.html, sw.js, engine.wasm, wasm_exec.js,
// manifest.webmanifest, icons) keep their name and must be asked for again each time ("no-cache").
// sw-off.js is the service worker of last resort: answered in place of sw.js it removes the page's caches and itself from every device that
// comes by. It never touches what people have measured.
package pwa

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var files embed.FS

// Dist answers the files of the built page, rooted where the page is served ("index.html", "sw.js", "assets/…").
func Dist() fs.FS {
	dist, err := fs.Sub(files, "dist")
	if err != nil {
		// fs.Sub fails on an invalid path only, and this one is a constant of this file.
		panic("pwa: " + err.Error())
	}
	return dist
}

// Built says whether the page had been built when the program was.
func Built() bool {
	_, err := fs.Stat(files, "dist/index.html")
	return err == nil
}
