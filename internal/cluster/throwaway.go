package cluster

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"
)

// keeper runs the server and removes its folders when it has ended. It ends
// the server when file 3 does, a pipe whose other end only the test process
// holds: the system closes it however that process dies, kill -9 included.
const keeper = `top=$1 socket=$2; shift 2
"$@" </dev/null & server=$!
{ read -r _; kill -QUIT $server; } <&3 & watch=$!
wait $server
kill $watch 2>/dev/null
rm -rf "$top" "$socket"`

// StartThrowaway runs a server for tests in a new folder inside dir, best in
// memory such as /dev/shm, and returns the URL of a superuser. It does not
// care for the data: nothing is flushed, nothing is vacuumed. It takes 200
// connections, through a socket only. As root it runs under the account that
// Start would use.
//
// stop ends it and removes the folder; so does the end of this process, in
// whatever way. ctx is for the start alone.
func StartThrowaway(ctx context.Context, dir string) (url string, stop func() error, err error) {
	found := newest(programsIn(searched()))
	if found.major < oldest {
		return "", nil, noBinaries()
	}
	return startThrowaway(ctx, dir, found)
}

func startThrowaway(ctx context.Context, dir string, bin programs) (string, func() error, error) {
	dir, err := resolve(dir)
	if err != nil {
		return "", nil, err
	}
	a, err := chooseAccount("")
	if err != nil {
		return "", nil, err
	}
	if err := errors.Join(a.checkOpen(ctx, dir), a.checkOpen(ctx, bin.folder)); err != nil {
		return "", nil, err
	}
	sweep(dir)
	top, err := os.MkdirTemp(dir, fmt.Sprintf("%s%d-", testPrefix, os.Getpid()))
	if err != nil {
		return "", nil, err
	}
	server, stop, err := a.runThrowaway(ctx, top, bin)
	if err != nil {
		return "", nil, errors.Join(err, os.RemoveAll(top))
	}
	return server.adminURL(), stop, nil
}

const testPrefix = "damperdesk-test-"

// sweep removes what a test process left that died before its keeper was up.
// Where a server still runs, its keeper does it.
func sweep(dir string) {
	left, _ := filepath.Glob(filepath.Join(quoteGlob(dir), testPrefix+"*")) // fails only on a bad pattern
	for _, top := range left {
		name, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(top), testPrefix), "-")
		pid, err := strconv.Atoi(name)
		if err != nil || !errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			continue
		}
		if p, err := readPidFile(filepath.Join(top, "postgres")); err == nil && !p.alive() {
			os.RemoveAll(top) // best effort: only room is lost
		}
	}
}

func (a account) runThrowaway(ctx context.Context, top string, bin programs) (postmaster, func() error, error) {
	if a.other {
		if err := os.Lchown(top, a.uid, a.gid); err != nil {
			return postmaster{}, nil, err
		}
	}
	socket, err := a.socketFolder(ctx, top)
	if err != nil {
		return postmaster{}, nil, err
	}
	data := filepath.Join(top, "postgres")
	if err := a.runInitdb(ctx, bin, data, "--no-sync"); err != nil {
		return postmaster{}, nil, err
	}
	if err := a.letIn(data); err != nil {
		return postmaster{}, nil, err
	}
	out, err := os.CreateTemp(top, "log-")
	if err != nil {
		return postmaster{}, nil, err
	}
	defer out.Close()
	return a.keep(ctx, top, data, socket, bin, out)
}

// keep starts the keeper with its server and waits until that is ready.
func (a account) keep(ctx context.Context, top, data, socket string, bin programs, out *os.File) (postmaster, func() error, error) {
	r, w, err := os.Pipe() // other children of this process do not inherit it
	if err != nil {
		return postmaster{}, nil, err
	}
	defer r.Close()
	args := []string{"-c", keeper, "sh", top, socket, filepath.Join(bin.folder, "postgres")}
	args = append(append(args, fixed(data, socket)...), careless...)
	cmd := a.command(context.WithoutCancel(ctx), "/bin/sh", args...)
	cmd.ExtraFiles = []*os.File{r}
	cmd.Stdout, cmd.Stderr = out, out
	sh, err := startChild(cmd)
	if err != nil {
		return postmaster{}, nil, errors.Join(err, w.Close())
	}
	stop := sync.OnceValue(func() error {
		err := w.Close()
		<-sh.done
		return errors.Join(err, os.RemoveAll(top)) // its parent may be closed to the account
	})
	server, err := awaitThrowaway(ctx, data, sh, out)
	if err != nil {
		return postmaster{}, nil, errors.Join(err, stop())
	}
	return server, stop, nil
}

var careless = []string{
	"-c", "fsync=off",
	"-c", "synchronous_commit=off",
	"-c", "full_page_writes=off",
	"-c", "wal_level=minimal",
	"-c", "max_wal_senders=0",
	"-c", "autovacuum=off",
	"-c", "max_connections=200",
	"-c", "shared_buffers=64MB",
	"-c", "jit=off",
	"-c", "timezone=UTC",
	"-c", "lc_messages=C",
	"-c", "client_connection_check_interval=1s",
}

func awaitThrowaway(ctx context.Context, data string, sh *child, out io.ReaderAt) (postmaster, error) {
	tick := time.NewTicker(poll)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return postmaster{}, ctx.Err()
		case <-sh.done: // the log has no name any more, but is still open
			said, err := io.ReadAll(io.NewSectionReader(out, 0, 1<<16))
			return postmaster{}, errors.Join(fmt.Errorf("the test server ended: %s", said), err)
		case <-tick.C:
			if p, err := readPidFile(data); err == nil && p.status == "ready" {
				return p, nil
			}
		}
	}
}
