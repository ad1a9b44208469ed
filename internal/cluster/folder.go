package cluster

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// longestSocket is the room for a socket's path in bytes: 104 with the final
// zero on macOS, 108 on Linux.
const longestSocket = 103

// socketName is what PostgreSQL calls its socket; the number is only a name,
// nothing listens on a TCP port.
const (
	port       = "5432"
	socketName = ".s.PGSQL." + port
)

// resolve makes the name absolute and free of symbolic links as far as it
// exists.
func resolve(dir string) (string, error) {
	if dir == "" || strings.ContainsAny(dir, "\x00\r\n") {
		return "", fmt.Errorf("the data folder's name %q is empty or has a line break in it", dir)
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	there := existing(dir)
	real, err := filepath.EvalSymlinks(there)
	if errors.Is(err, fs.ErrPermission) {
		return dir, nil // checkOpen names what is closed
	}
	if err != nil {
		return "", err
	}
	return filepath.Join(real, strings.TrimPrefix(dir, there)), nil
}

// existing returns the longest part of the path that exists, or could not be
// looked at.
func existing(path string) string {
	for path != filepath.Dir(path) {
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return path
		}
		path = filepath.Dir(path)
	}
	return path
}

// makeDir makes the data folder. Made by root for another account it is
// root's, and that account may pass through but not list it.
func (a account) makeDir(ctx context.Context, dir string) error {
	there := existing(dir)
	if err := a.checkOpen(ctx, there); err != nil || there == dir {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return fmt.Errorf("make the folder for the data: %w", err)
	}
	mode := fs.FileMode(0o700)
	if a.other {
		mode = 0o711
	}
	if err := os.Mkdir(dir, mode); err != nil {
		return fmt.Errorf("make the data folder: %w", err)
	}
	if err := os.Chmod(dir, mode); err != nil { // whatever the umask is
		return err
	}
	return a.checkOpen(ctx, dir)
}

// ownFolder makes a folder only the account may enter, or checks that the one
// that is there is such a folder and no link to somewhere else.
func (a account) ownFolder(path string) error {
	err := os.Mkdir(path, 0o700)
	if err == nil && a.other {
		return os.Lchown(path, a.uid, a.gid)
	}
	if err == nil {
		return nil
	}
	info, lookErr := os.Lstat(path)
	if lookErr != nil {
		return err
	}
	if uid := int(info.Sys().(*syscall.Stat_t).Uid); !info.IsDir() || uid != a.uid {
		return say(ErrClosedFolder, "%s must be a folder of the account %s, which runs PostgreSQL, but it is of another kind or belongs to %s. Move it away and start again.",
			path, a.name, accountName(uid))
	}
	if info.Mode().Perm() != 0o700 {
		return os.Chmod(path, 0o700)
	}
	return nil
}

// socketFolder returns <dir>/run, or a folder named by hash under the
// temporary folder when the socket's path there would be too long or has a
// comma, which a URL takes for the end of a host.
func (a account) socketFolder(ctx context.Context, dir string) (string, error) {
	run := filepath.Join(dir, "run")
	if fitsSocket(run) {
		return run, a.ownFolder(run)
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %s", a.uid, dir))
	for _, temp := range []string{os.TempDir(), "/tmp"} {
		run = filepath.Join(temp, fmt.Sprintf("damperdesk-%x", sum[:8]))
		if !fitsSocket(run) {
			continue
		}
		if err := a.checkOpen(ctx, temp); err != nil {
			return "", err
		}
		return run, a.ownFolder(run)
	}
	return "", fmt.Errorf("the path %s is too long for a socket, or has a comma: choose another data folder", run)
}

func fitsSocket(folder string) bool {
	return len(filepath.Join(folder, socketName)) <= longestSocket && !strings.Contains(folder, ",")
}

// writeFile replaces a file in a folder of the account in one step, unless it
// says the same already. It never writes through a link that the account may
// have left there.
func (a account) writeFile(path, content string) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == content {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // gone after the rename
	_, err = f.WriteString(content)
	if a.other {
		err = errors.Join(err, f.Chown(a.uid, a.gid))
	}
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// lock takes the data folder for this process until the file is closed or the
// process ends in whatever way; a server left running does not hold it.
func lock(dir string) (*os.File, error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if err == nil {
		return f, nil
	}
	f.Close()
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, say(ErrLocked, "Damperdesk already runs with the data folder %s. Stop that one first, or give this one a folder of its own.", dir)
	}
	return nil, fmt.Errorf("lock the data folder %s: %w", dir, err)
}
