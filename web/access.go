package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"slices"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5/middleware"

	"damperdesk/internal/fault"
	"damperdesk/internal/staff"
)

const (
	sessionStaff  = "staff"
	sessionEpoch  = "epoch"
	sessionDevice = "device" // the tablet it was made on
	sessionPIN    = "pin"    // it was made by PIN
)

// visitor is who makes a request, and on what.
type visitor struct {
	person staff.Person // zero: nobody is signed in
	device staff.Device // zero: no tablet of the shop
	byPIN  bool
}

type visitorKey struct{}

func visitorOf(r *http.Request) visitor {
	v, _ := r.Context().Value(visitorKey{}).(visitor)
	return v
}

// person is who is signed in; the zero Person is nobody.
func person(r *http.Request) staff.Person { return visitorOf(r).person }

// tablet is the enrolled one that asks; the zero Device is none.
func tablet(r *http.Request) staff.Device { return visitorOf(r).device }

// page wraps a route: whoever may not see it never reaches its handler.
func (a *App) page(rt route) http.Handler {
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r, err := a.withVisitor(r)
		r.Body = http.MaxBytesReader(w, r.Body, mostOf(r))
		if err == nil {
			giveTime(w, r)
			err = a.enter(rt, w, r)
		}
		if err != nil {
			a.fail(w, r, err)
		}
	})
	return a.sessions.LoadAndSave(h)
}

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
	case who.ID == 0 && tablet(r).ID != 0 && slices.Contains(rt.roles, screen):
	case who.ID == 0:
		return a.askSignIn(w, r)
	case !slices.ContainsFunc(rt.roles, func(role string) bool { return slices.Contains(who.Roles, role) }):
		return fault.Forbidden("This page is for other people of the shop.")
	case rt.phrase && visitorOf(r).byPIN:
		return a.askPhrase(w, r)
	default:
		if err := sentAs(r, who); err != nil {
			return err
		}
	}
	return rt.handle(a, w, r)
}

// sentAs refuses a form of a page that somebody else opened, such as one left
// in another tab: what they typed is not this person's to sign, nor to read.
func sentAs(r *http.Request, who staff.Person) error {
	if r.Method != http.MethodPost {
		return nil
	}
	if err := readBody(r); err != nil {
		return err
	}
	if as := r.PostForm.Get(asField); as != "" && as != strconv.FormatInt(who.ID, 10) {
		return fault.Conflict("Somebody else opened the page that was sent, and " + who.Name + " is signed in now. Nothing was stored: open the page again.")
	}
	return nil
}

// withVisitor reads who is signed in, and on which tablet. A raised epoch or a
// last day ends a sign-in; one that was made on a tablet ends too when the tablet
// is another one or was revoked.
func (a *App) withVisitor(r *http.Request) (*http.Request, error) {
	ctx := r.Context()
	var v visitor
	var err error
	if v.device, err = a.deviceOf(r); err != nil {
		return r, err
	}
	if id := a.sessions.GetInt64(ctx, sessionStaff); id != 0 {
		device := a.sessions.GetInt64(ctx, sessionDevice)
		p, err := staff.Get(ctx, a.pool, id)
		switch {
		case err != nil && !errors.As(err, new(fault.NotFound)):
			return r, err
		case err != nil || !p.StillIn(a.sessions.GetInt(ctx, sessionEpoch)) || device != 0 && device != v.device.ID:
			if err := a.sessions.Destroy(ctx); err != nil {
				return r, err
			}
		default:
			v.person, v.byPIN = p, a.sessions.GetBool(ctx, sessionPIN)
		}
	}
	return r.WithContext(context.WithValue(ctx, visitorKey{}, v)), nil
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
		ctx, cancel := context.WithTimeout(r.Context(), timeFor(r))
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
	if forCustomers(path) {
		return path[:3] + "..."
	}
	return path
}
