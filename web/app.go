// Package web is the HTTP server: one route table, one way to write, one place
// that turns errors into pages. One file per noun.
package web

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/live"
	"damperdesk/internal/mail"
	"damperdesk/internal/picture"
	"damperdesk/internal/staff"
)

// Config is what the server needs to know beside its database.
type Config struct {
	// BaseURL is how customers reach the shop, without a slash at its end.
	// Empty: taken from each request.
	BaseURL string
	// LinkKey makes the tokens of customer links; at least 32 bytes.
	LinkKey []byte
	// Proxies are the networks of those whose X-Forwarded-For is believed.
	Proxies []netip.Prefix
	// Pictures is the folder of the shop's pictures.
	Pictures *picture.Folder
	Version  string
	Log      *slog.Logger
	// Now is the clock; nil is time.Now.
	Now func() time.Time
	// Stopping ends the live streams, so that a shutdown need not wait for them.
	Stopping context.Context
	// Advise hands the reckoning of what to order over to the background, in the
	// transaction that asks for it.
	Advise func(ctx context.Context, tx pgx.Tx, run int64) error
	// Mail is the server that messages go out by, and MailLinks what the links
	// in them begin with.
	Mail      mail.Server
	MailLinks string
	// SendMail has what waits in the outbox looked at soon after the transaction
	// that asks for it.
	SendMail func(ctx context.Context, tx pgx.Tx) error
}

// App is the server's handlers with what they share.
type App struct {
	Config
	pool     *db.Pool
	hub      *live.Hub
	sessions *scs.SessionManager
	usual    usualFigures
	tries    tries
	// public serves pages that customers open by a link, and nothing else.
	public bool
}

// New makes the server's handler. The hub must be running.
func New(pool *db.Pool, hub *live.Hub, cfg Config) http.Handler {
	return newApp(pool, hub, cfg).handler()
}

// NewPublic makes a handler for a listener that whoever has a customer's link may
// reach: it serves their pages with what those need, and for everything else,
// whoever asks, the answer to a link that leads nowhere.
func NewPublic(pool *db.Pool, hub *live.Hub, cfg Config) http.Handler {
	a := newApp(pool, hub, cfg)
	a.public = true
	return a.handler()
}

func newApp(pool *db.Pool, hub *live.Hub, cfg Config) *App {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Stopping == nil {
		cfg.Stopping = context.Background()
	}
	a := &App{Config: cfg, pool: pool, hub: hub, sessions: newSessions(pool, cfg.BaseURL)}
	a.sessions.ErrorFunc = a.fail
	return a
}

// shift is how long a sign-in lasts: a long working day. One by PIN, which is
// quickly given again, ends sooner, so that nobody finds the tablet in the
// morning as somebody left it at night.
const (
	shift    = 16 * time.Hour
	pinShift = 12 * time.Hour
)

// secure reports whether cookies go over HTTPS alone.
func secure(baseURL string) bool { return strings.HasPrefix(baseURL, "https://") }

func newSessions(pool *db.Pool, baseURL string) *scs.SessionManager {
	s := scs.New()
	s.Store = staff.SessionStore{Pool: pool}
	s.HashTokenInStore = true
	s.Lifetime = shift
	s.Cookie.Name = "desk"
	s.Cookie.HttpOnly = true
	s.Cookie.SameSite = http.SameSiteLaxMode
	s.Cookie.Secure = secure(baseURL)
	return s
}
