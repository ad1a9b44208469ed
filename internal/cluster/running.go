package cluster

import (
	"context"
	"errors"
	"path/filepath"
)

// ErrNotRunning says that no server answers for the data folder.
var ErrNotRunning = errors.New("the private PostgreSQL does not run")

// There reports whether dir holds a database, running or not. It makes nothing.
func There(dir string) (bool, error) {
	dir, err := resolve(dir)
	if err != nil {
		return false, err
	}
	major, err := versionOf(filepath.Join(dir, "postgres"))
	return major != 0, err
}

// Running returns the addresses of the server that another process of this
// program runs in dir, or has left there. It starts and changes nothing.
func Running(ctx context.Context, dir string) (serveURL, ownerURL string, err error) {
	dir, err = resolve(dir)
	if err != nil {
		return "", "", err
	}
	data := filepath.Join(dir, "postgres")
	p, err := readPidFile(data)
	if err != nil {
		return "", "", err
	}
	if !p.alive() || p.status != "ready" {
		return "", "", say(ErrNotRunning, "The private PostgreSQL in %s does not run. It runs while damperdesk serve does.", dir)
	}
	if err := p.serves(ctx, data); err != nil {
		return "", "", say(ErrNotRunning, "The private PostgreSQL in %s does not answer this account: %v", dir, err)
	}
	return socketURL(appRole, database, p.socket, p.port), socketURL(ownerRole, database, p.socket, p.port), nil
}
