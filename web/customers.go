package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
)

// forCustomers reports whether an address is that of a page that a customer opens
// by a link.
func forCustomers(path string) bool {
	return strings.HasPrefix(path, "/c/") || strings.HasPrefix(path, "/b/") || strings.HasPrefix(path, "/m/")
}

// byLink wraps a page that a customer opens by a link: it bounds what one address
// asks, and counts tokens that lead nowhere. Nobody is signed in here on the
// listener for customers alone, whatever cookie comes along.
func (a *App) byLink(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if wait := a.tries.ask(asker(r), a.Now()); wait > 0 {
			a.tooMany(w, r, wait)
			return
		}
		w.Header().Set("X-Robots-Tag", "noindex, nofollow")
		next.ServeHTTP(w, r)
	})
}

// publicPage is page for the listener that serves customers alone: it reads no
// cookie.
func (a *App) publicPage(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		if err := a.enter(rt, w, r); err != nil {
			a.fail(w, r, err)
		}
	})
}

// nowhere answers what no route is for. Where customers ask it is bounded as their
// pages are: it costs as much as a page.
func (a *App) nowhere() http.HandlerFunc {
	bounded := limited(a.byLink(http.HandlerFunc(a.notFound)))
	return func(w http.ResponseWriter, r *http.Request) {
		if a.public || forCustomers(r.URL.Path) {
			bounded.ServeHTTP(w, r)
			return
		}
		a.notFound(w, r)
	}
}

// gone is the one answer to whatever a customer's link does not lead to: the same
// body and status for a token that is unknown, ended or of something else.
func (a *App) gone(r *http.Request, err error) error {
	if errors.Is(err, link.ErrGone) || errors.Is(err, message.ErrNoToken) {
		a.tries.miss(asker(r), a.Now())
	}
	return link.ErrGone
}

// looks reports whether a request may be somebody opening a page: nobody of the shop,
// and no browser or program that fetches ahead of anybody, as far as those tell.
// Browsers say in Sec-Fetch-Dest (W3C Fetch Metadata) that somebody goes to a page,
// over TLS always and without it on loopback alone; messengers that make a preview
// send no such header. So it must not say otherwise, and where customers come over
// TLS it must be there.
func (a *App) looks(r *http.Request) bool {
	ahead := func(name string) bool {
		value := strings.ToLower(r.Header.Get(name))
		return strings.Contains(value, "prefetch") || strings.Contains(value, "prerender") || strings.Contains(value, "preview")
	}
	goes := r.Header.Get("Sec-Fetch-Dest")
	if goes == "" && r.TLS == nil && !secure(a.BaseURL) {
		goes = "document"
	}
	return r.Method == http.MethodGet && goes == "document" && person(r).ID == 0 && !ahead("Sec-Purpose") && !ahead("Purpose") && !ahead("X-Purpose") && !ahead("X-Moz")
}

// viewed counts that a customer's page was opened, after it was sent, by whom or what
// nobody knows for sure: one that cannot be counted is in the log and nobody's trouble. That looking changes
// nothing is meant of the work: no event, no act, no version comes of it.
func (a *App) viewed(r *http.Request, token string, now time.Time, zone *time.Location) {
	if !a.looks(r) {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), time.Second)
	defer cancel()
	err := db.Write(ctx, a.pool, func(tx pgx.Tx) error {
		return link.View(ctx, tx, token, interval.Day(now, zone))
	})
	if err != nil {
		a.Log.Warn("a view was not counted", "error", err)
	}
}
