package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/letter"
	"damperdesk/internal/live"
	"damperdesk/internal/message"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
	"damperdesk/internal/work"
	"damperdesk/web"
)

// farewell is how long requests and background work get to end after the
// signal to stop.
const farewell = 10 * time.Second

func (p *program) serve(ctx context.Context) error {
	return p.serveShop(ctx, p.Config, func(ctx context.Context, ready readied) (string, error) {
		return welcome(ctx, ready.pool, ready.address)
	})
}

// readied is what a server has once it can answer.
type readied struct {
	pool     *db.Pool
	pictures *picture.Folder
	key      []byte
	address  string
}

// prepare does the last things before the first request and returns what
// people read once the server listens.
type prepare func(ctx context.Context, ready readied) (string, error)

// serveShop runs a shop until ctx ends. A signal during the start is no error.
func (p *program) serveShop(ctx context.Context, c Config, prepare prepare) error {
	var at listeners
	var err error
	if at.shop, err = listen(ctx, c.Listen, "--listen"); err != nil {
		return err
	}
	defer at.shop.Close()
	if c.PublicListen != "" {
		if at.public, err = listen(ctx, c.PublicListen, "--public-listen"); err != nil {
			return err
		}
		defer at.public.Close()
	}
	d, err := openDatabase(ctx, c, p.log)
	if err == nil {
		err = p.serveOn(ctx, at, d, c, prepare)
		err = errors.Join(err, d.close(ctx))
	}
	if ctx.Err() != nil && errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

// listeners are where the server answers: with everything, and for customers alone
// (nil for nowhere).
type listeners struct{ shop, public net.Listener }

// listen comes first, so that a taken port is said before anything is made; flag is
// what chooses another one.
func listen(ctx context.Context, address, flag string) (net.Listener, error) {
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", address)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("another program listens on %s already; choose another port with %s, or 0 for any", address, flag)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("this account may not listen on %s; choose a port above 1023 with %s", address, flag)
	case err != nil:
		return nil, fmt.Errorf("listen on %s: %w", address, err)
	}
	return l, nil
}

// serveOn brings the database up to date and answers requests.
func (p *program) serveOn(ctx context.Context, at listeners, d database, c Config, prepare prepare) error {
	if err := db.Migrate(ctx, d.migrateURL); err != nil {
		return err
	}
	pool, err := db.Open(ctx, d.serveURL)
	if err != nil {
		return err
	}
	defer pool.Close()
	if err := customer.Rekey(ctx, pool); err != nil {
		return err
	}
	if err := systemAct(ctx, pool, "install what the program brings", installed(ctx)); err != nil {
		return err
	}
	key, err := linkKey(c)
	if err == nil {
		err = p.compareKey(ctx, pool, key)
	}
	if err != nil {
		return err
	}
	address := c.BaseURL
	if address == "" {
		address = "http://" + reachable(at.shop.Addr().String())
	}
	pictures, err := picture.Open(c.pictures())
	if err != nil {
		return err
	}
	defer pictures.Close()
	said, err := prepare(ctx, readied{pool, pictures, key, address})
	if err != nil {
		return err
	}
	fmt.Fprint(p.out, said)
	if at.public != nil {
		fmt.Fprintf(p.out, "Pages of customers alone are on http://%s\n", reachable(at.public.Addr().String()))
	}
	post := work.Post{Server: c.Mail, Key: key, BaseURL: address,
		Write: func(ctx context.Context, tx pgx.Tx, by history.By, m message.Message) (message.Letter, error) {
			return letter.Write(ctx, tx, by, key, address, m)
		}}
	shown := c.Mail
	shown.Password = "" // which pages have no use for
	return answer(ctx, at, pool, post, web.Config{BaseURL: c.BaseURL, LinkKey: key, Proxies: c.Proxies, Pictures: pictures, Version: versionText(), Log: p.log,
		Mail: shown, MailLinks: address})
}

func installed(ctx context.Context) func(pgx.Tx, history.By) error {
	return func(tx pgx.Tx, by history.By) error {
		if err := procedure.Install(ctx, tx, by); err != nil {
			return err
		}
		return interval.Install(ctx, tx, by)
	}
}

// welcome says where the shop is and, until it is set up, how the first owner
// gets in.
func welcome(ctx context.Context, pool *db.Pool, address string) (string, error) {
	said := "Damperdesk listens on " + address + "\n"
	_, err := shop.Get(ctx, pool)
	if !errors.As(err, new(fault.NotFound)) {
		return said, err
	}
	var code string
	err = db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
		code, err = staff.NewSetupCode(ctx, tx, time.Now().UTC())
		return err
	})
	if err != nil {
		return "", err
	}
	return said + "The shop is not set up yet. The first owner enters at " + address + "/setup with the code " + code + "\nA code that was printed before is void.\n", nil
}

// answer serves until ctx ends. Live streams end first, then requests and
// background work get their time, then what listens to the database.
func answer(ctx context.Context, at listeners, pool *db.Pool, post work.Post, cfg web.Config) error {
	background, cancel := context.WithCancel(context.WithoutCancel(ctx))
	var running sync.WaitGroup
	defer running.Wait()
	defer cancel()
	cfg.Stopping = ctx // before anything else reads it
	hub := live.NewHub()
	running.Go(func() { hub.Run(background, pool, cfg.Log) })
	crew, err := work.Start(background, pool, cfg.Pictures, post, cfg.Log)
	if err != nil {
		return err
	}
	cfg.Advise = func(ctx context.Context, tx pgx.Tx, run int64) error { return crew.Add(ctx, tx, work.Advise{Run: run}) }
	cfg.SendMail = func(ctx context.Context, tx pgx.Tx) error { return crew.Add(ctx, tx, work.Mail{}) }

	failed := make(chan error, 2)
	desk := newServer(web.New(pool, hub, cfg), cfg.Log)
	servers := []*http.Server{desk}
	running.Go(func() { failed <- desk.Serve(at.shop) })
	if at.public != nil {
		public := newServer(web.NewPublic(pool, hub, cfg), cfg.Log)
		servers = append(servers, public)
		running.Go(func() { failed <- public.Serve(at.public) })
	}
	select {
	case err = <-failed:
		err = fmt.Errorf("answer requests: %w", err)
	case <-ctx.Done():
		cfg.Log.Info("stopping")
	}
	leave(background, servers, crew, cfg.Log)
	return err
}

func newServer(handler http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second, // live streams lift this and the next
		WriteTimeout:      30 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// leave gives requests and background work the same time to end.
func leave(ctx context.Context, servers []*http.Server, crew *work.Crew, log *slog.Logger) {
	last, end := context.WithTimeout(ctx, farewell)
	defer end()
	var leaving sync.WaitGroup
	for _, srv := range servers {
		leaving.Go(func() {
			if err := srv.Shutdown(last); err != nil {
				log.Warn("requests were cut off", "error", err)
				srv.Close()
			}
		})
	}
	leaving.Go(func() {
		if err := crew.Stop(last); err != nil {
			log.Warn("background work was cut off", "error", err)
		}
	})
	leaving.Wait()
}
