package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
)

const (
	linkKeyBytes = 32
	linkKeyFile  = "link.key"
)

// linkKey is the configured key, else the one in the data folder, which is
// made once. Without it the links that customers hold can still be opened but
// not shown again, so it belongs into every backup.
func linkKey(c Config) ([]byte, error) {
	if c.LinkKey != nil {
		return c.LinkKey, nil
	}
	name := filepath.Join(c.Data, linkKeyFile)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return makeLinkKey(name)
	}
	if err != nil {
		return nil, fmt.Errorf("read the link key: %w", err)
	}
	key, err := parseKey(strings.TrimSpace(string(text)))
	if err != nil {
		return nil, fmt.Errorf("the file %s holds no link key (%w); bring back its copy, or move it away to begin with a new one", name, err)
	}
	return key, nil
}

// makeLinkKey never leaves half a key under its name, and never overwrites one
// that another process made meanwhile.
func makeLinkKey(name string) ([]byte, error) {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return nil, fmt.Errorf("make the link key: %w", err)
	}
	key := make([]byte, linkKeyBytes)
	rand.Read(key)
	f, err := os.CreateTemp(filepath.Dir(name), ".link-*") // mode 0600
	if err != nil {
		return nil, fmt.Errorf("make the link key: %w", err)
	}
	defer os.Remove(f.Name())
	_, err = f.WriteString(hex.EncodeToString(key) + "\n")
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return nil, fmt.Errorf("make the link key: %w", err)
	}
	err = os.Link(f.Name(), name)
	if errors.Is(err, fs.ErrExist) {
		return linkKey(Config{Data: filepath.Dir(name)})
	}
	if err != nil {
		return nil, fmt.Errorf("make the link key: %w", err)
	}
	return key, nil
}

// compareKey warns of a key that is not the shop's: another server has a key
// of its own, or the data was brought back without its key.
func (p *program) compareKey(ctx context.Context, pool *db.Pool, key []byte) error {
	var same bool
	err := db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
		same, err = link.IsShops(ctx, tx, key)
		return err
	})
	if err == nil && !same {
		p.log.Warn("this server's link key is not the shop's: customers' links that were made under the shop's key open here but cannot be shown again. " +
			"Give every server of the shop the same key, by DAMPERDESK_LINK_KEY_FILE or a copy of " + linkKeyFile + "; if the shop's is lost: damperdesk link-key adopt")
	}
	return err
}

func (p *program) linkKeyAdopt(ctx context.Context) error {
	key, err := linkKey(p.Config)
	if err != nil {
		return err
	}
	return p.withPool(ctx, func(pool *db.Pool) error {
		err := systemAct(ctx, pool, "link key by command", func(tx pgx.Tx, by history.By) error { return link.Adopt(ctx, tx, by, key) })
		if err == nil {
			_, err = fmt.Fprintln(p.out, "This server's link key is the shop's from now on. Give it to every other server of the shop, and keep a copy beside the backups.")
		}
		return err
	})
}
