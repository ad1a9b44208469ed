package picture

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"damperdesk/internal/fault"
)

// mostAtOnce is how many pictures are decoded at a time; others wait.
const mostAtOnce = 2

// Folder is where the files lie. Nothing outside it can be reached through it,
// by whatever name.
type Folder struct {
	root *os.Root // nil: there is no such folder, so that every file is missing
	busy chan struct{}
}

// Open opens the folder, which is made where it is not there.
func Open(dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of pictures: %w", err)
	}
	return Look(dir)
}

// Look is Open for looking alone: it makes nothing.
func Look(dir string) (*Folder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("open the folder of pictures: %w", err)
	}
	return &Folder{root: root, busy: make(chan struct{}, mostAtOnce)}, nil
}

// Close gives the folder back.
func (f *Folder) Close() error {
	if f.root == nil {
		return nil
	}
	return f.root.Close()
}

// Make is the function Make, at most two at a time.
func (f *Folder) Make(ctx context.Context, data []byte) (Made, error) {
	select {
	case f.busy <- struct{}{}:
		defer func() { <-f.busy }()
		return Make(data)
	case <-ctx.Done():
		return Made{}, ctx.Err()
	}
}

// fileName is what the file of that content is called.
func fileName(sha string) string { return sha + ".jpg" }

// keep writes a file under the hash of its content, whole or not at all. One
// that is there already is written anew, which mends it and makes it young
// again, so that no sweep takes it for an old one.
func (f *Folder) keep(content []byte) (sha string, err error) {
	sum := sha256.Sum256(content)
	sha = hex.EncodeToString(sum[:])
	part := "part-" + rand.Text()
	file, err := f.root.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", fmt.Errorf("keep picture: %w", err)
	}
	_, err = file.Write(content)
	if err = errors.Join(err, file.Sync(), file.Close()); err == nil {
		err = f.root.Rename(part, fileName(sha))
	}
	if err != nil {
		f.root.Remove(part)
		return "", fmt.Errorf("keep picture: %w", err)
	}
	return sha, f.sync()
}

// sync makes sure that a name in the folder outlives a loss of power.
func (f *Folder) sync() error {
	dir, err := f.root.Open(".")
	if err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	defer dir.Close()
	if err := dir.Sync(); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	return nil
}

// errMissing is for a row whose file is not there.
var errMissing = fault.NotFound("This picture is missing: its file is not in the shop’s folder of pictures.")

// File opens the file of that content; it is the caller's to close.
func (f *Folder) File(sha string) (*os.File, error) {
	if f.root == nil {
		return nil, errMissing
	}
	file, err := f.root.Open(fileName(sha))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errMissing
	}
	if err != nil {
		return nil, fmt.Errorf("open picture: %w", err)
	}
	return file, nil
}

// whole says what is wrong with the file of that content; empty for nothing.
func (f *Folder) whole(sha string) (string, error) {
	file, err := f.File(sha)
	if errors.Is(err, errMissing) {
		return "is missing", nil
	}
	if err != nil {
		return "", err
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return "", fmt.Errorf("read picture: %w", err)
	}
	if hex.EncodeToString(h.Sum(nil)) != sha {
		return "is not what was stored", nil
	}
	return "", nil
}
