package server

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"path"
	"regexp"
	"slices"
	"strings"
)

// securityHeaders go with every answer. The policy lets the page run its own scripts and its WebAssembly and talk to its own server, nothing else: no inline script or style, no frame, no other origin.
var securityHeaders = [][2]string{
	{"Content-Security-Policy", "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; connect-src 'self'; img-src 'self' blob: data:; worker-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"},
	{"X-Content-Type-Options", "nosniff"},
	{"Referrer-Policy", "no-referrer"},
	{"Cross-Origin-Opener-Policy", "same-origin"},
	{"Cross-Origin-Resource-Policy", "same-origin"},
	{"Permissions-Policy", "camera=(self), microphone=(), geolocation=()"},
}

// contentTypes by ending; the operating system's own table is not asked, since it differs from machine to machine.
var contentTypes = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".wasm": "application/wasm",
	".json": "application/json; charset=utf-8", ".webmanifest": "application/manifest+json", ".svg": "image/svg+xml", ".png": "image/png", ".ico": "image/x-icon",
	".woff2": "font/woff2", ".txt": "text/plain; charset=utf-8",
}

type pageFile struct {
	body, brotli []byte // brotli is nil if there is no copy compressed at build time
	etag         string // of the uncompressed bytes
	contentType  string
	immutable    bool
}

// pageFiles by address. Only what is in this map can be asked for, so there is no path to walk.
type pageFiles map[string]pageFile

func (p pageFiles) built() bool { _, ok := p["/"]; return ok }

// hashed names carry the hash of their content: eight characters or more after the last hyphen.
var hashed = regexp.MustCompile(`^assets/.*-[A-Za-z0-9_-]{8,}\.[a-z0-9]+$`)

// loadPage reads the built page. A file whose type is not known is an error: it would be served as something to save.
func loadPage(files fs.FS, off bool) (pageFiles, error) {
	out := pageFiles{}
	if files == nil {
		return out, nil
	}
	if _, err := fs.Stat(files, "index.html"); errors.Is(err, fs.ErrNotExist) {
		return out, nil
	}
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) == ".br" || strings.HasPrefix(path.Base(name), ".") {
			return err
		}
		kind, ok := contentTypes[path.Ext(name)]
		if !ok {
			return fmt.Errorf("%s: no content type is known for %q; add it to the table", name, path.Ext(name))
		}
		f := pageFile{contentType: kind, immutable: hashed.MatchString(name)}
		if f.body, err = fs.ReadFile(files, name); err != nil {
			return err
		}
		if f.brotli, err = fs.ReadFile(files, name+".br"); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		sum := sha256.Sum256(f.body)
		f.etag = hex.EncodeToString(sum[:8])
		out["/"+name] = f
		if name == "index.html" {
			out["/"] = f
		}
		return nil
	})
	if err == nil && off {
		f, ok := out["/sw-off.js"]
		if !ok {
			return nil, errors.New("the page is to be called back, and has no sw-off.js to do it with")
		}
		out["/sw.js"] = f
	}
	return out, err
}

// page serves the built page, and says what is wrong with every other address.
func (s *Server) page(r *request) (answer, error) {
	if strings.HasPrefix(r.path, "/api/") || r.path == "/healthz" {
		return answer{}, unknownRoute(r)
	}
	if r.method != "GET" && r.method != "HEAD" {
		return answer{}, faultf(codeMethod, "only GET and HEAD are offered here")
	}
	f, ok := s.files[r.path]
	if !ok {
		if !s.files.built() && r.path == "/" {
			return answer{}, faultf(codeNoPage, "this program was built without the page; build it with: go run ./cmd/dev build")
		}
		return answer{}, faultf(codeNotFound, "there is nothing at this address; the page is at /")
	}
	compressed := f.brotli != nil && accepts(r.header["accept-encoding"], "br")
	tag := `"` + f.etag + `"`
	cache := "no-cache"
	if f.immutable {
		cache = "public, max-age=31536000, immutable"
	}
	a := answer{header: [][2]string{{"Cache-Control", cache}, {"Content-Type", f.contentType}, {"Vary", "Accept-Encoding"}}}
	if compressed {
		tag = `"` + f.etag + `-br"` // another representation, another tag (RFC 9110, 8.8.3)
		a.header = append(a.header, [2]string{"Content-Encoding", "br"})
	}
	a.header = append(a.header, [2]string{"ETag", tag})
	if slices.Contains(tags(r.header["if-none-match"]), tag) {
		a.status = 304
		return a, nil
	}
	a.body = f.body
	if compressed {
		a.body = f.brotli
	}
	return a, nil
}

func unknownRoute(r *request) error {
	for _, rt := range routes {
		if samePath(rt.path, r.path) {
			return faultf(codeMethod, "%s is not offered at this address", r.method)
		}
	}
	return faultf(codeNotFound, "there is no such address in version 1 of the interface")
}

func samePath(pattern, got string) bool {
	a, b := strings.Split(pattern, "/"), strings.Split(got, "/")
	return slices.EqualFunc(a, b, func(p, g string) bool { return p == g || strings.HasPrefix(p, ":") && g != "" })
}

// accepts reads an Accept-Encoding header: the coding is named, and not with the weight zero.
func accepts(header, coding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, weight, _ := strings.Cut(part, ";")
		if strings.EqualFold(strings.TrimSpace(name), coding) {
			weight = strings.ReplaceAll(strings.TrimSpace(weight), " ", "")
			return strings.Trim(weight, "q=0.") != "" || weight == ""
		}
	}
	return false
}

// tags splits an If-None-Match header; weak tags count like strong ones there.
func tags(header string) []string {
	var out []string
	for t := range strings.SplitSeq(header, ",") {
		out = append(out, strings.TrimPrefix(strings.TrimSpace(t), "W/"))
	}
	return out
}

// hostNames are the names by which the server may be asked for: its own machine's, and those given.
func hostNames(more []string) []string {
	out := []string{"127.0.0.1", "::1", "localhost"}
	for _, h := range more {
		if host, _, err := net.SplitHostPort(h); err == nil {
			h = host
		}
		if h = strings.ToLower(strings.Trim(h, "[]")); h != "" && !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	return out
}
