// Package static holds the files a browser fetches: one stylesheet, the script
// modules and the mark. They are served under names that carry a hash of their
// content, so that a browser may keep each for ever.
package static

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

// Prefix is the path the handler is mounted at.
const Prefix = "/static/"

//go:embed *.css *.js *.svg
var files embed.FS

// contentTypes is fixed here because the system's own table may differ from
// machine to machine, and a wrong type stops a module from running.
var contentTypes = map[string]string{
	".css": "text/css; charset=utf-8",
	".js":  "text/javascript; charset=utf-8",
	".svg": "image/svg+xml",
}

type file struct {
	url     string
	kind    string
	content []byte
}

var byName, byURL = load(files)

func load(from fs.FS) (byName, byURL map[string]file) {
	byName, byURL = map[string]file{}, map[string]file{}
	names, err := fs.Glob(from, "*")
	if err != nil {
		panic(err)
	}
	for _, name := range names {
		content, err := fs.ReadFile(from, name)
		if err != nil {
			panic(err)
		}
		ext := path.Ext(name)
		sum := sha256.Sum256(content)
		url := Prefix + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:])[:10] + ext
		f := file{url: url, kind: contentTypes[ext], content: content}
		byName[name], byURL[url] = f, f
	}
	return byName, byURL
}

// URL is the address of a file: URL("look.css") is "/static/look.<hash>.css".
// A name that is not there is a mistake in a template, and panics.
func URL(name string) string {
	f, ok := byName[name]
	if !ok {
		panic(fmt.Sprintf("static: there is no file %q", name))
	}
	return f.url
}

// Handler serves the files at their addresses and nothing else.
func Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		f, ok := byURL[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", f.kind)
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(f.content))
	})
}
