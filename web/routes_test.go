package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// filled puts ids of nothing into a pattern.
func filled(pattern string) string {
	parts := strings.Split(pattern, "/")
	for i, p := range parts {
		if strings.HasPrefix(p, "{") {
			parts[i] = "999999"
		}
	}
	return strings.Join(parts, "/")
}

// askedOf sends an empty form or a plain request, and closes streams at once.
func askedOf(b *browser, rt route) int {
	b.t.Helper()
	if rt.method == http.MethodPost {
		return b.post(filled(rt.pattern), "intent", uuid.NewString()).status
	}
	return b.get(filled(rt.pattern)).status
}

func TestEveryRouteIsForItsRolesAlone(t *testing.T) {
	s := server(t)
	browsers := map[string]*browser{desk: s.as(desk), mechanic: s.as(mechanic), owner: s.as(owner)}
	// Only routes that do not end the sign-in they are asked with.
	ends := []string{"/sign-out", "/me/sign-out-everywhere"}
	for _, rt := range routes {
		if slices.Contains(ends, rt.pattern) {
			continue
		}
		name := rt.method + " " + rt.pattern
		nobody := askedOf(s.anybody(), rt)
		if len(rt.roles) == 0 {
			if nobody == http.StatusForbidden || nobody == http.StatusInternalServerError {
				t.Errorf("%s is open, but answers %d to anybody", name, nobody)
			}
			continue
		}
		if nobody != http.StatusUnauthorized {
			t.Errorf("%s answers %d to somebody not signed in, want 401", name, nobody)
		}
		for role, b := range browsers {
			got := askedOf(b, rt)
			if may := slices.Contains(rt.roles, role); may == (got == http.StatusForbidden) || got == http.StatusUnauthorized {
				t.Errorf("%s answers %d to %s, who may: %v", name, got, role, may)
			} else if got == http.StatusInternalServerError {
				t.Errorf("%s answers %d to %s; the log says %s", name, got, role, s.log)
			}
		}
	}
}

func TestEveryRouteThatWritesIsAPost(t *testing.T) {
	for _, rt := range routes {
		if rt.method != http.MethodGet && rt.method != http.MethodPost {
			t.Errorf("%s %s: forms know GET and POST alone", rt.method, rt.pattern)
		}
	}
}

func TestAFormFromElsewhereIsRefused(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	for _, rt := range routes {
		if rt.method != http.MethodPost || rt.pattern == "/m/{token}" { // where a mail program posts for its reader: RFC 8058
			continue
		}
		req, err := http.NewRequest(http.MethodPost, s.url+filled(rt.pattern), strings.NewReader("intent="+uuid.NewString()))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", "http://elsewhere.example")
		req.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
		answer, err := b.client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusForbidden {
			t.Errorf("POST %s from another origin answers %d, want 403", rt.pattern, answer.StatusCode)
		}
	}
}

func TestEveryAnswerCarriesTheSecurityHeaders(t *testing.T) {
	s := server(t)
	for _, path := range []string{"/sign-in", "/me", "/no-such-page", "/healthz"} {
		answer, err := http.Get(s.url + path)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		for header, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff",
			"Referrer-Policy": "same-origin", "Cache-Control": "no-store",
		} {
			if got := answer.Header.Get(header); !strings.HasPrefix(got, want) {
				t.Errorf("%s: %s is %q, want %q", path, header, got, want)
			}
		}
		if csp := answer.Header.Get("Content-Security-Policy"); strings.Contains(csp, "unsafe") {
			t.Errorf("%s: %s", path, csp)
		}
	}
}
