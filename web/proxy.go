package web

import (
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// throughProxies puts the address of who asks in the place of the proxy's that
// passed it on, so that tries to sign in count for whoever makes them.
func (a *App) throughProxies(next http.Handler) http.Handler {
	if len(a.Proxies) == 0 {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = whoAsks(r.RemoteAddr, r.Header.Values("X-Forwarded-For"), a.Proxies)
		next.ServeHTTP(w, r)
	})
}

// whoAsks is the last address that none of the proxies has. Each of them adds,
// at the end, whom it was asked by; what stands before that anybody can have
// written. Without such an address it is remote.
func whoAsks(remote string, forwarded []string, proxies []netip.Prefix) string {
	from, err := netip.ParseAddrPort(remote)
	if err != nil || !isProxy(from.Addr(), proxies) {
		return remote
	}
	for _, text := range slices.Backward(strings.Split(strings.Join(forwarded, ","), ",")) {
		addr, err := netip.ParseAddr(strings.TrimSpace(text))
		switch {
		case err != nil:
			return remote
		case !isProxy(addr, proxies):
			return addr.Unmap().String()
		}
	}
	return remote
}

func isProxy(addr netip.Addr, proxies []netip.Prefix) bool {
	return slices.ContainsFunc(proxies, func(p netip.Prefix) bool { return p.Contains(addr.Unmap()) })
}
