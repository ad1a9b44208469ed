package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"damperdesk/internal/cluster"
	"damperdesk/internal/demo"
	"damperdesk/internal/mail"
)

const (
	demoFolder = "demo"
	demoMark   = "invented-shop.txt"
	demoWords  = "The data in this folder is invented. damperdesk demo --reset removes the whole folder.\n"
)

// demo serves the invented shop. It has a folder of its own inside the data
// folder, and leaves a configured database that holds anything else alone.
func (p *program) demo(ctx context.Context) error {
	c := p.Config
	c.Data = filepath.Join(p.Data, demoFolder)
	c.Mail = mail.Server{} // who is written to there is invented
	if p.reset {
		if err := p.resetDemo(ctx, c); err != nil {
			return err
		}
	}
	return p.serveShop(ctx, c, func(ctx context.Context, ready readied) (string, error) {
		if c.DatabaseURL == "" {
			if err := markDemo(c.Data); err != nil {
				return "", err
			}
		}
		shop, err := demo.Seed(ctx, ready.pool, ready.pictures, ready.key, time.Now())
		if err != nil {
			return "", err
		}
		return shop.Welcome(ready.address), nil
	})
}

// markDemo lets a later --reset know the folder from any other.
func markDemo(folder string) error {
	name := filepath.Join(folder, demoMark)
	if _, err := os.Stat(name); err == nil {
		return nil
	}
	if err := os.WriteFile(name, []byte(demoWords), 0o600); err != nil {
		return fmt.Errorf("mark the demo's folder: %w", err)
	}
	return nil
}

// resetDemo removes the demo's folder once nothing runs in it.
func (p *program) resetDemo(ctx context.Context, c Config) error {
	if c.DatabaseURL != "" {
		return misuse{"demo --reset: it removes the demo's own database only; one given by DATABASE_URL has to be emptied by hand"}
	}
	_, err := os.Stat(c.Data)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	words, err := os.ReadFile(filepath.Join(c.Data, demoMark))
	if err != nil || string(words) != demoWords {
		return fmt.Errorf("the folder %s does not say that it is a demo (the file %s in it is missing or another), so nothing was removed", c.Data, demoMark)
	}
	if err := p.stopOrphan(ctx, c.Data); err != nil {
		return err
	}
	if err := os.RemoveAll(c.Data); err != nil {
		return fmt.Errorf("remove the demo: %w", err)
	}
	return nil
}

// stopOrphan ends a database that a killed demo left running. One that cannot
// be started is not running.
func (p *program) stopOrphan(ctx context.Context, folder string) error {
	private, err := cluster.Start(ctx, cluster.Options{Dir: folder, Log: p.quiet()})
	for _, dead := range []error{cluster.ErrNotStarted, cluster.ErrOtherMajor, cluster.ErrNoBinaries} {
		if errors.Is(err, dead) {
			return nil
		}
	}
	if err != nil {
		return err
	}
	return database{private: private}.close(ctx)
}
