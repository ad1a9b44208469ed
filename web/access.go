package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5/middleware"

	"damperdesk/internal/fault"
	"damperdesk/internal/staff"
)

const (
	sessionStaff = "staff"
	sessionEpoch = "epoch"
)

type personKey struct{}

// person is who is signed in; the zero Person is nobody.
func person(r *http.Request) staff.Person {
	p, _ := r.Context().Value(personKey{}).(staff.Person)
	return p
}

// page wraps a route: whoever may not see it never reaches its handler.
func (a *App) page(rt route) http.Handler {
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		r, err := a.withPerson(r)
		if err == nil {
			err = a.enter(rt, w, r)
		}
		if err != nil {
			a.fail(w, r, err)
		}
	})
	return a.sessions.LoadAndSave(h)
}

// maxBody is the most a form may hold.
const maxBody = 1 << 20

// enter lets in whoever the route is for. A handler that panics has failed like
// any other: pages are made in memory, so nothing has been sent.
func (a *App) enter(rt route, w http.ResponseWriter, r *http.Request) (err error) {
	defer func() {
		switch v := recover(); v {
		case nil:
		case http.ErrAbortHandler:
			panic(v)
		default:
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	who := person(r)
	switch {
	case len(rt.roles) == 0:
	case who.ID == 0:
		return a.askSignIn(w, r)
	case !slices.ContainsFunc(rt.roles, func(role string) bool { return slices.Contains(who.Roles, role) }):
		return fault.Forbidden("This page is for other people of the shop.")
	}
	return rt.handle(a, w, r)
}

// withPerson reads who is signed in. A raised epoch or a last day ends it.
func (a *App) withPerson(r *http.Request) (*http.Request, error) {
	ctx := r.Context()
	id := a.sessions.GetInt64(ctx, sessionStaff)
	if id == 0 {
		return r, nil
	}
	p, err := staff.Get(ctx, a.pool, id)
	var gone fault.NotFound
	switch {
	case errors.As(err, &gone):
		return r, a.sessions.Destroy(ctx)
	case err != nil:
		return r, err
	case !p.StillIn(a.sessions.GetInt(ctx, sessionEpoch)):
		return r, a.sessions.Destroy(ctx)
	}
	return r.WithContext(context.WithValue(ctx, personKey{}, p)), nil
}

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "+
			"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		// no-referrer would make the browser post "Origin: null", which the
		// cross-origin check refuses.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

func limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), pageTime)
		defer cancel()
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// logged writes a line per request; addresses of customer links are cut, for
// whoever reads them could open the page.
func (a *App) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		rec := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		next.ServeHTTP(rec, r)
		a.Log.Debug("request", "method", r.Method, "path", loggedPath(r.URL.Path), "status", rec.Status(),
			"bytes", rec.BytesWritten(), "took", time.Since(start))
	})
}

func loggedPath(path string) string {
	if strings.HasPrefix(path, "/c/") {
		return "/c/..."
	}
	return path
}
