package main

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
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
