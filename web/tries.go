package web

import (
	"net/http"
	"net/netip"
	"strconv"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"damperdesk/templates"
)

// What one address may ask of customers' pages: so many at once, then one each so
// often. A page with its pictures is some tens; a token is never guessed, so that
// wrong ones are few unless somebody tries.
const (
	wrongAtOnce = 20
	wrongEach   = 30 * time.Second
	pagesAtOnce = 400
	pagesEach   = 100 * time.Millisecond
	// mostAddresses bounds what is remembered; an address forgotten early is only
	// let off.
	mostAddresses = 20_000
)

// tries is what each address has asked of customers' pages lately, on this server
// alone: several servers each let through as much.
type tries struct {
	mu sync.Mutex
	of map[netip.Addr]*tried
}

type tried struct {
	wrong, pages *rate.Limiter
	last         time.Time
}

// at is the entry of an address; the caller holds the lock.
func (t *tries) at(addr netip.Addr, now time.Time) *tried {
	if t.of == nil {
		t.of = map[netip.Addr]*tried{}
	}
	e := t.of[addr]
	if e == nil {
		if len(t.of) >= mostAddresses {
			t.forget(now)
		}
		e = &tried{wrong: rate.NewLimiter(rate.Every(wrongEach), wrongAtOnce), pages: rate.NewLimiter(rate.Every(pagesEach), pagesAtOnce)}
		t.of[addr] = e
	}
	e.last = now
	return e
}

// forget drops whoever has their tries back, and a quarter of the others where
// that is too little.
func (t *tries) forget(now time.Time) {
	for addr, e := range t.of {
		if now.Sub(e.last) >= wrongAtOnce*wrongEach {
			delete(t.of, addr)
		}
	}
	for addr := range t.of {
		if len(t.of) <= mostAddresses*3/4 {
			return
		}
		delete(t.of, addr)
	}
}

// ask counts a page asked for; wait is how long to wait where it was too many, or
// too many wrong ones before.
func (t *tries) ask(addr netip.Addr, now time.Time) (wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	e := t.at(addr, now)
	if left := e.wrong.TokensAt(now); left < 1 {
		return time.Duration((1 - left) * float64(wrongEach))
	}
	if !e.pages.AllowN(now, 1) {
		return pagesEach
	}
	return 0
}

// miss counts a token that leads nowhere.
func (t *tries) miss(addr netip.Addr, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.at(addr, now).wrong.AllowN(now, 1)
}

// asker is the address a request comes from, of IPv6 the network of one customer,
// 64 bits (RFC 6177 gives a site no less).
func asker(r *http.Request) netip.Addr {
	addr, err := netip.ParseAddr(r.RemoteAddr)
	if port, perr := netip.ParseAddrPort(r.RemoteAddr); perr == nil {
		addr, err = port.Addr(), nil
	}
	if err != nil {
		return netip.Addr{}
	}
	if addr = addr.Unmap().WithZone(""); addr.Is6() {
		network, _ := addr.Prefix(64)
		return network.Addr()
	}
	return addr
}

// tooMany asks to wait. It says nothing of the token.
func (a *App) tooMany(w http.ResponseWriter, r *http.Request, wait time.Duration) {
	base := a.bareBase(r)
	base.Person = templates.Person{}
	w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
	page := templates.ErrorPage{Base: base, Status: http.StatusTooManyRequests, Sentence: templates.TextTooMany, Customers: true}
	if err := render(w, r, page.Status, templates.Error(page)); err != nil {
		http.Error(w, page.Sentence, page.Status)
	}
}
