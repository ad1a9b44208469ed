package cluster

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
)

// checkShutOff looks at how a server of ours is kept from others.
func checkShutOff(t *testing.T, c *Cluster) {
	t.Helper()
	for _, folder := range []string{c.data, c.logs, c.socket} {
		info, err := os.Stat(folder)
		if err != nil {
			t.Fatal(err)
		}
		uid := int(info.Sys().(*syscall.Stat_t).Uid)
		if info.Mode().Perm() != 0o700 || uid != c.account.uid || uid == 0 {
			t.Errorf("%s: got mode %v of uid %d, want 0700 of %d, not root", folder, info.Mode(), uid, c.account.uid)
		}
	}
	if got, err := syscall.Getpgid(c.server.pid); err != nil || got != c.server.pid {
		t.Errorf("the server is in process group %d (%v): Ctrl-C would reach it", got, err)
	}
	for _, role := range []string{"postgres", "damperdesk_serve"} {
		if conn, err := pgx.Connect(t.Context(), socketURL(role, database, c.socket, port)); err == nil {
			conn.Close(t.Context())
			t.Errorf("may log in as %s", role)
		}
	}
	if os.Geteuid() == 0 {
		nobody := account{name: "nobody", uid: 65534, gid: 65534, other: true}
		wantKind(t, nobody.checkOpen(t.Context(), c.socket), ErrClosedFolder, c.socket)
	}
	logs, err := filepath.Glob(filepath.Join(c.logs, "postgres-*.log"))
	if err != nil || len(logs) != 1 {
		t.Errorf("got logs %v, %v, want one of today", logs, err)
	}
}

// The folder's name is too long for a socket besides.
func TestHalfMadeDataIsNotTakenForData(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(openDir(t), strings.Repeat("long,", 20))
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	half := filepath.Join(dir, initPrefix+"123")
	if err := os.Mkdir(half, 0o700); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Start(ctx, Options{Dir: dir}); err == nil {
		t.Fatal("started under an ended context")
	}
	if _, err := os.Stat(filepath.Join(dir, "postgres")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("data of a start that was broken off: %v", err)
	}
	c := start(t, Options{Dir: dir})
	if left, err := filepath.Glob(filepath.Join(dir, initPrefix+"*")); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	checkShutOff(t, c)
	checkSocketMoved(t, c)
}

func checkSocketMoved(t *testing.T, c *Cluster) {
	t.Helper()
	t.Cleanup(func() {
		stop(t, c)
		if err := os.Remove(c.socket); err != nil {
			t.Errorf("the socket's folder is not empty: %v", err)
		}
	})
	if got := filepath.Join(c.socket, socketName); len(got) > 103 || filepath.Dir(c.socket) != filepath.Clean(os.TempDir()) {
		t.Errorf("socket %s (%d bytes): want at most 103 under %s", got, len(got), os.TempDir())
	}
	if got := ask(t, connect(t, c.ServeURL()), "select 'here'"); got != "here" {
		t.Errorf("got %q", got)
	}
}

func TestForeignSocketFolderIsRefused(t *testing.T) {
	t.Parallel()
	a := serverAccount(t)
	link := filepath.Join(openDir(t), "run")
	if err := os.Symlink(openDir(t), link); err != nil {
		t.Fatal(err)
	}
	wantKind(t, a.ownFolder(link), ErrClosedFolder, link, a.name)
}

func TestSocketPathLimit(t *testing.T) {
	t.Parallel()
	folder := "/" + strings.Repeat("x", 103-len("//.s.PGSQL.5432"))
	if !fitsSocket(folder) {
		t.Error("103 bytes do not fit")
	}
	if fitsSocket(folder + "x") {
		t.Error("104 bytes fit")
	}
	if fitsSocket("/a,b") {
		t.Error("a comma fits")
	}
}
