package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
)

// dist is the built front end. In a tree whose pages were never built it holds nothing but a note.
//
//go:embed all:dist
var dist embed.FS

// device is the program for the device, packed, with the script that starts it.
//
//go:embed all:device
var device embed.FS

// A file is one that is served as it is.
type file struct {
	kind   string
	plain  []byte // nil: only packed
	packed []byte // gzip; nil: packing gains nothing
	tag    string
	fixed  bool // its name changes with its content
}

// kinds are the types of files by their ending; what the computer knows of them may differ.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".json": "application/json", ".svg": "image/svg+xml",
	".webmanifest": "application/manifest+json", ".wasm": "application/wasm", ".woff2": "font/woff2", ".png": "image/png", ".ico": "image/x-icon", ".txt": "text/plain; charset=utf-8",
}

// collect reads the files that are served, by their path.
func collect() map[string]*file {
	out := map[string]*file{}
	add := func(files embed.FS, root string) {
		// The files are embedded: reading them cannot fail.
		_ = fs.WalkDir(files, root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := files.ReadFile(name)
			if at := strings.TrimPrefix(name, root); err == nil && !strings.HasPrefix(path.Base(at), ".") {
				out[strings.TrimSuffix(at, ".gz")] = fileOf(at, text)
			}
			return err
		})
	}
	add(dist, "dist")
	add(device, "device")
	if css, err := printFiles.ReadFile("print/print.css"); err == nil {
		out["/print/print.css"] = fileOf("/print/print.css", css)
	}
	return out
}

// leastPacked is the size from which packing pays.
const leastPacked = 512

func fileOf(name string, text []byte) *file {
	sum := sha256.Sum256(text)
	f := &file{tag: `"` + hex.EncodeToString(sum[:8]) + `"`, plain: text, fixed: strings.HasPrefix(name, "/assets/")}
	bare, isPacked := strings.CutSuffix(name, ".gz")
	f.kind = kinds[path.Ext(bare)]
	if f.kind == "" {
		f.kind = mime.TypeByExtension(path.Ext(bare))
	}
	switch ext := path.Ext(bare); {
	case isPacked:
		f.packed, f.plain = text, nil
	case len(text) >= leastPacked && ext != ".woff2" && ext != ".png" && ext != ".ico":
		f.packed = pack(text)
	}
	return f
}

// notBuilt is shown in the place of pages that were never built.
const notBuilt = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Threshday</title>
<h1>The pages are not in this program</h1>
<p>It was built from a tree whose front end was never built. In the folder web of the sources, npm ci and then npx vite build make it; then build the program again.</p>
<p>The data is there: <a href="/api/snapshot">/api/snapshot</a>, <a href="/print/day-sheet">the day sheet to print</a>, <a href="/print/loads">the loads to print</a>.</p></html>
`

// files serves the front end. A path that is no file is one of its pages, which it shows by itself.
func (s *Server) files() http.Handler {
	all := collect()
	index := all["/index.html"]
	if index == nil {
		index = fileOf("/index.html", []byte(notBuilt))
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		f := all[r.URL.Path]
		switch {
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			s.write(w, r, wrongMethod(r))
			return
		case f == nil && path.Ext(r.URL.Path) != "":
			w.Header().Set("Cache-Control", "no-store")
			s.write(w, r, noSuchPage())
			return
		case f == nil:
			f = index
		}
		f.serve(w, r)
	})
}

func (f *file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("ETag", f.tag)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if f.fixed {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if r.Header.Get("If-None-Match") == f.tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	body := f.plain
	switch {
	case f.packed != nil && takesGzip(r):
		h.Set("Content-Encoding", "gzip")
		body = f.packed
	case body == nil:
		body = unpack(f.packed)
	}
	if r.Method != http.MethodHead {
		_, _ = bytes.NewReader(body).WriteTo(w) // whoever asked may have gone
	}
}
