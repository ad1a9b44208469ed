// Package cluster finds, makes, adopts, runs and stops a private PostgreSQL
// that only this program uses.
//
// The data folder holds
//
//	postgres/  the data; damperdesk.conf in it is written at every start,
//	           local.conf in it, if there, is the shop's own and wins
//	log/       start.log and one log for each day of the week
//	run/       the socket, unless its path would be longer than 103 bytes
//
// The server has no TCP port. It lets in root and the system account it runs
// as, told by the kernel (peer authentication), through a socket in a folder
// closed to others.
//
// It runs in a session of its own and outlives a program that is killed: the
// next start adopts it. A service manager should therefore stop this program
// first and the rest later (systemd: KillMode=mixed).
package cluster

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// Options of a cluster.
type Options struct {
	Dir string       // the data folder; made when missing
	Log *slog.Logger // nil: silent
	Bin string       // the folder of initdb and postgres; empty: look for them

	patience time.Duration // 0: 15 s
}

// Cluster is a running server. Its methods are for one goroutine.
type Cluster struct {
	log      *slog.Logger
	account  account
	bin      programs
	lock     *os.File
	data     string
	logs     string
	socket   string
	patience time.Duration

	server  postmaster
	adopted bool
	child   *child // nil when adopted
}

// Start returns when the server takes connections and the roles and the
// database are there. Errors a person can act on are of one of the kinds of
// this package and say what to do. When ctx ends first the server is stopped.
func Start(ctx context.Context, opt Options) (*Cluster, error) {
	dir, err := resolve(opt.Dir)
	if err != nil {
		return nil, err
	}
	c := &Cluster{log: opt.Log, data: filepath.Join(dir, "postgres"), logs: filepath.Join(dir, "log"), patience: opt.patience}
	if c.log == nil {
		c.log = slog.New(slog.DiscardHandler)
	}
	if c.patience == 0 {
		c.patience = 15 * time.Second
	}
	if c.account, err = chooseAccount(c.data); err != nil {
		return nil, err
	}
	if err := c.account.makeDir(ctx, dir); err != nil {
		return nil, err
	}
	if c.lock, err = lock(dir); err != nil {
		return nil, err
	}
	if err := c.start(ctx, dir, opt.Bin); err != nil {
		c.lock.Close()
		return nil, err
	}
	return c, nil
}

// start adopts before it looks for programs, which takes longer.
func (c *Cluster) start(ctx context.Context, dir, bin string) error {
	major, err := versionOf(c.data)
	if err != nil {
		return err
	}
	if !c.adopt(ctx) {
		if err := c.prepare(ctx, dir, bin, major); err != nil {
			return err
		}
		if err := c.runOrAdopt(ctx); err != nil {
			return err
		}
	}
	return c.greet(ctx)
}

// prepare finds the programs for data of version major and the folders, and
// makes the data when major is 0.
func (c *Cluster) prepare(ctx context.Context, dir, bin string, major int) (err error) {
	folders := []string{bin}
	if bin == "" {
		folders = searched()
	}
	if c.bin, err = choose(programsIn(folders), c.data, major); err != nil {
		return err
	}
	if err := c.account.checkOpen(ctx, c.bin.folder); err != nil {
		return err
	}
	if err := c.account.ownFolder(c.logs); err != nil {
		return err
	}
	if c.socket, err = c.account.socketFolder(ctx, dir); err != nil {
		return err
	}
	if major == 0 {
		c.log.Info("making the database", "folder", c.data, "version", c.bin.major, "account", c.account.name)
		if err := c.account.initdb(ctx, c.bin, c.data); err != nil {
			return err
		}
	}
	return c.account.configure(c.data)
}

func (c *Cluster) greet(ctx context.Context) error {
	if err := ensureRoles(ctx, c.server.adminURL()); err != nil {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), farewell)
		defer cancel()
		return errors.Join(err, c.end(ctx))
	}
	c.log.Info("the database is ready", "pid", c.server.pid, "adopted", c.adopted, "socket", c.server.socket)
	return nil
}

// OwnerURL is for migrations: its role owns the database and may grant
// damperdesk_serve to others. It is no superuser.
func (c *Cluster) OwnerURL() string {
	return socketURL(ownerRole, database, c.server.socket, c.server.port)
}

// ServeURL is for the running program: its login damperdesk_app acts as
// damperdesk_serve from the first statement on (alter role ... set role).
func (c *Cluster) ServeURL() string {
	return socketURL(appRole, database, c.server.socket, c.server.port)
}

// Adopted reports whether the server ran already when Start found it.
func (c *Cluster) Adopted() bool { return c.adopted }

// Stop shuts the server down fast: open transactions are rolled back, what
// was committed is written. When ctx ends before the server does, the server
// finishes alone, and the next start waits for it. A second call does nothing.
func (c *Cluster) Stop(ctx context.Context) error {
	if c.lock == nil {
		return nil
	}
	err := c.end(ctx)
	err = errors.Join(err, c.lock.Close())
	c.lock = nil
	return err
}

func (c *Cluster) end(ctx context.Context) error {
	if c.gone() {
		return nil
	}
	if err := c.interrupt(); err != nil {
		return fmt.Errorf("stop the database: %w", err)
	}
	tick := time.NewTicker(poll)
	defer tick.Stop()
	for !c.gone() {
		select {
		case <-ctx.Done():
			return fmt.Errorf("the database (process %d) is still stopping: %w", c.server.pid, ctx.Err())
		case <-tick.C:
		}
	}
	c.log.Info("the database has stopped", "pid", c.server.pid)
	return nil
}

func (c *Cluster) interrupt() error {
	if c.child != nil {
		return c.child.interrupt()
	}
	if err := syscall.Kill(c.server.pid, syscall.SIGINT); !errors.Is(err, syscall.ESRCH) {
		return err
	}
	return nil
}

// gone reports whether the server has ended. An adopted one is not our child;
// taking its file away is the last thing it does.
func (c *Cluster) gone() bool {
	if c.child != nil {
		return c.child.ended()
	}
	p, err := readPidFile(c.data)
	return err == nil && p.pid != c.server.pid || !c.server.alive()
}
