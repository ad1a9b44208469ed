package web

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
)

// Addresses are of the ranges for documentation (RFC 5737, RFC 3849). The order
// of the header is that of RFC 7239, section 4: the proxy nearest to the server
// stands last.
func TestOnlyAProxyIsBelievedAboutWhoAsks(t *testing.T) {
	proxies := []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24"), netip.MustParsePrefix("2001:db8::1/128")}
	for _, c := range []struct {
		name, remote string
		forwarded    []string
		want         string
	}{
		{"by the proxy", "192.0.2.1:4000", []string{"198.51.100.7"}, "198.51.100.7"},
		{"by a proxy with an IPv6 address", "[2001:db8::1]:4000", []string{"2001:db8:7::9"}, "2001:db8:7::9"},
		{"an IPv4 address in an IPv6 one", "[::ffff:192.0.2.1]:4000", []string{"::ffff:198.51.100.7"}, "198.51.100.7"},
		{"what the client wrote itself", "192.0.2.1:4000", []string{"203.0.113.5, 198.51.100.7"}, "198.51.100.7"},
		{"in a header of its own", "192.0.2.1:4000", []string{"203.0.113.5", "198.51.100.7"}, "198.51.100.7"},
		{"two proxies", "192.0.2.1:4000", []string{"198.51.100.7, 192.0.2.9"}, "198.51.100.7"},
		{"nobody but proxies", "192.0.2.1:4000", []string{"192.0.2.9"}, "192.0.2.1:4000"},
		{"nothing said", "192.0.2.1:4000", nil, "192.0.2.1:4000"},
		{"nonsense", "192.0.2.1:4000", []string{"198.51.100.7, somebody"}, "192.0.2.1:4000"},
		{"not by a proxy", "203.0.113.5:4000", []string{"198.51.100.7"}, "203.0.113.5:4000"},
	} {
		if got := whoAsks(c.remote, c.forwarded, proxies); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

func TestATryBehindAProxyCountsForWhoMadeIt(t *testing.T) {
	s := server(t)
	app := New(s.pool, nil, Config{Log: slog.New(slog.DiscardHandler), Proxies: []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24")}})
	r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader("name=Ada&passphrase=guessed")) // asked from 192.0.2.1
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("X-Forwarded-For", "198.51.100.7")
	app.ServeHTTP(httptest.NewRecorder(), r)
	var addr string
	if err := s.pool.QueryRow(t.Context(), "select addr from attempt").Scan(&addr); err != nil || addr != "198.51.100.7" {
		t.Errorf("the try counts for %q, %v; want 198.51.100.7", addr, err)
	}
}
