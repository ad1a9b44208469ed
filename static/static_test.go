package static

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func get(t *testing.T, url string) *http.Response {
	t.Helper()
	w := httptest.NewRecorder()
	Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, url, nil))
	return w.Result()
}

func TestEveryFileIsServedUnderTheHashOfItsContent(t *testing.T) {
	// Types: RFC 2318 (css), RFC 9239 (javascript), the SVG 1.1 registration.
	types := map[string]string{"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
	names, err := fs.Glob(files, "*")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		content, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		stem, ext, _ := strings.Cut(name, ".")
		want := fmt.Sprintf("/static/%s.%x.%s", stem, sha256.Sum256(content), ext)
		want = want[:len("/static/"+stem+".")+10] + "." + ext
		if got := URL(name); got != want {
			t.Errorf("URL(%q) = %q, want %q", name, got, want)
		}
		res := get(t, want)
		var body bytes.Buffer
		if _, err := body.ReadFrom(res.Body); err != nil {
			t.Fatal(err)
		}
		if res.StatusCode != 200 || !bytes.Equal(body.Bytes(), content) {
			t.Errorf("GET %s: status %d, %d bytes; want 200, %d bytes", want, res.StatusCode, body.Len(), len(content))
		}
		if got := res.Header.Get("Content-Type"); !strings.HasPrefix(got, types[ext]) {
			t.Errorf("GET %s: type %q, want %q", want, got, types[ext])
		}
		// RFC 8246: immutable.
		if got := res.Header.Get("Cache-Control"); !strings.Contains(got, "immutable") {
			t.Errorf("GET %s: Cache-Control %q lets a browser ask again", want, got)
		}
	}
}

func TestAnyOtherPathIsNotFound(t *testing.T) {
	for _, url := range []string{"/static/", "/static/look.css", "/static/look.0000000000.css", "/static/static.go", "/look.css"} {
		res := get(t, url)
		if res.StatusCode != http.StatusNotFound {
			t.Errorf("GET %s: status %d, want 404", url, res.StatusCode)
		}
		if got := res.Header.Get("Cache-Control"); strings.Contains(got, "immutable") {
			t.Errorf("GET %s: a 404 is kept for ever (%q)", url, got)
		}
	}
}

func TestURLOfAMissingFilePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error(`URL("gone.js") did not panic`)
		}
	}()
	URL("gone.js")
}

// secureOnly are browser features that do not exist on a page served over
// plain HTTP from another machine (W3C Secure Contexts and the interface
// definitions marked [SecureContext]).
var secureOnly = regexp.MustCompile(`randomUUID|crypto\.subtle|navigator\.(locks|storage|mediaDevices|wakeLock|clipboard)|serviceWorker|\bcaches\b`)

func TestModulesRunOverPlainHTTP(t *testing.T) {
	names, err := fs.Glob(files, "*.js")
	if err != nil || len(names) == 0 {
		t.Fatalf("no modules: %v", err)
	}
	for _, name := range names {
		content, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		use := secureOnly.Find(content)
		asks := slices.Concat([]byte("&& "), use, []byte(") {")) // and is idle without it
		if use != nil && !bytes.Contains(content, asks) {
			t.Errorf("%s uses %s, which a page over plain HTTP does not have", name, use)
		}
		// The policy names no source for inline styles, eval or other hosts.
		for _, banned := range []string{"innerHTML", "eval(", "new Function", ".style.", "cssText", "http://", "https://", "import "} {
			if bytes.Contains(content, []byte(banned)) {
				t.Errorf("%s has %q", name, banned)
			}
		}
		if lines := bytes.Count(content, []byte("\n")); lines > 150 {
			t.Errorf("%s has %d lines, over 150", name, lines)
		}
	}
}

func TestTheStylesheetFetchesNothing(t *testing.T) {
	css, err := files.ReadFile("look.css")
	if err != nil {
		t.Fatal(err)
	}
	if m := regexp.MustCompile(`url\(|@import|@font-face`).Find(css); m != nil {
		t.Errorf("look.css has %s: a second request", m)
	}
}
