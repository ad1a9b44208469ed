package cluster

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

const (
	poll      = 10 * time.Millisecond
	pause     = 250 * time.Millisecond // between attempts to start
	farewell  = 10 * time.Second       // for a server that is told to stop
	connectIn = 2 * time.Second
)

// postmaster is what the server writes into postmaster.pid about itself.
type postmaster struct {
	pid    int
	socket string
	port   string
	status string // starting, ready, stopping
}

// readPidFile returns the zero value when there is no file, and what there is
// of one that is still being written.
func readPidFile(data string) (postmaster, error) {
	text, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if errors.Is(err, fs.ErrNotExist) {
		return postmaster{}, nil
	}
	if err != nil {
		return postmaster{}, err
	}
	// pid, data folder, start time, port, socket folder, address, memory key, status
	lines := append(strings.Split(string(text), "\n"), make([]string, 8)...)
	pid, _ := strconv.Atoi(strings.TrimSpace(lines[0])) // 0 until it is written
	return postmaster{pid: pid, port: lines[3], socket: lines[4], status: strings.TrimSpace(lines[7])}, nil
}

// alive counts a process that nobody has waited for yet as alive, as
// PostgreSQL does.
func (p postmaster) alive() bool {
	return p.pid > 0 && syscall.Kill(p.pid, 0) == nil
}

func (p postmaster) changing() bool {
	return p.alive() && (p.status == "starting" || p.status == "stopping")
}

func (p postmaster) adminURL() string {
	return socketURL(adminRole, "postgres", p.socket, p.port)
}

// serves reports nil when the server of the file answers on its socket and
// serves this data folder; the file alone proves nothing.
func (p postmaster) serves(ctx context.Context, data string) error {
	ctx, cancel := context.WithTimeout(ctx, connectIn)
	defer cancel()
	conn, err := pgx.Connect(ctx, p.adminURL())
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var serves string
	if err := conn.QueryRow(ctx, "show data_directory").Scan(&serves); err != nil {
		return err
	}
	mine, err := os.Stat(data)
	if err != nil {
		return err
	}
	theirs, err := os.Stat(serves)
	if err != nil {
		return err
	}
	if !os.SameFile(mine, theirs) {
		return fmt.Errorf("the server at %s serves %s", p.socket, serves)
	}
	return nil
}

// adopt takes over a server that an earlier run of the program left. Old
// settings are no reason to leave it.
func (c *Cluster) adopt(ctx context.Context) bool {
	p, err := readPidFile(c.data)
	if err != nil || !p.alive() || p.status != "ready" {
		return false
	}
	if err := p.serves(ctx, c.data); err != nil {
		c.log.Warn("the process in postmaster.pid does not answer", "pid", p.pid, "error", err)
		return false
	}
	err = c.account.configure(c.data)
	if err == nil {
		err = syscall.Kill(p.pid, syscall.SIGHUP) // read them again
	}
	if err != nil {
		c.log.Warn("the database keeps its old settings", "pid", p.pid, "error", err)
	}
	c.server, c.adopted = p, true
	return true
}

// errHeld says that a process of an earlier server is in the way.
var errHeld = errors.New("held by an earlier server")

// runOrAdopt ends with a server that is ready. What is in the way gets the
// patience to go (an ended server can stay in the process table for seconds),
// or eight times that while it says that it starts or stops.
func (c *Cluster) runOrAdopt(ctx context.Context) error {
	short, long := time.After(c.patience), time.After(8*c.patience)
	late, tooLate := false, false
	for {
		if c.adopt(ctx) {
			return nil
		}
		err := c.spawn(ctx)
		if !errors.Is(err, errHeld) {
			return err
		}
		p, _ := readPidFile(c.data) // the zero value is not changing
		if tooLate || late && !p.changing() {
			return c.blocked(p)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-short:
			late = true
		case <-long:
			tooLate = true
		case <-time.After(pause):
		}
	}
}

func (c *Cluster) blocked(p postmaster) error {
	if p.alive() {
		return say(ErrBlocked, "The process %s holds the database in %s and does not answer. If it is PostgreSQL, stop it with: kill -INT %d. If it is something else, restart the machine. Leave the file postmaster.pid where it is.",
			processName(p.pid), c.data, p.pid)
	}
	return say(ErrBlocked, "Processes of an earlier PostgreSQL still work on %s. Stop those that are named postgres and belong to this folder, or restart the machine. Leave the file postmaster.pid where it is.", c.data)
}

func processName(pid int) string {
	line, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid))
	if err != nil || len(line) == 0 {
		line, _ = exec.Command("ps", "-o", "args=", "-p", strconv.Itoa(pid)).Output() // the number must do without it
	}
	return strings.TrimSpace(fmt.Sprintf("%d %s", pid, bytes.TrimSpace(bytes.ReplaceAll(line, []byte{0}, []byte{' '}))))
}

// spawn runs a server and waits until it is ready, however long it takes to
// recover. There is no signal on the death of this process: the server goes
// on, and the next start adopts it.
func (c *Cluster) spawn(ctx context.Context) error {
	out, err := c.account.startLog(c.logs)
	if err != nil {
		return err
	}
	defer out.Close()
	args := append(fixed(c.data, c.socket), "-c", "log_directory="+c.logs)
	cmd := c.account.command(context.WithoutCancel(ctx), filepath.Join(c.bin.folder, "postgres"), args...)
	cmd.Stdout, cmd.Stderr = out, out
	server, err := startChild(cmd)
	if err != nil {
		return fmt.Errorf("run PostgreSQL: %w", err)
	}
	if err := c.awaitReady(ctx, server); err != nil {
		return err
	}
	c.child = server
	return nil
}

// awaitReady believes postmaster.pid only when it names the child: it can be
// that of an earlier server.
func (c *Cluster) awaitReady(ctx context.Context, server *child) error {
	tick, slow := time.NewTicker(poll), time.After(5*time.Second)
	defer tick.Stop()
	for {
		select {
		case <-server.done:
			return c.whyEnded()
		case <-ctx.Done():
			server.interrupt() // best effort
			select {
			case <-server.done:
			case <-time.After(farewell):
			}
			return ctx.Err()
		case <-slow:
			c.log.Info("the database takes its time: it may be recovering", "log", c.logs)
		case <-tick.C:
			if p, err := readPidFile(c.data); err == nil && p.pid == server.process.Pid && p.status == "ready" {
				c.server = p
				return nil
			}
		}
	}
}

// whyEnded reads what the server said before it ended. It speaks English then,
// as command sees to it.
func (c *Cluster) whyEnded() error {
	said := tail(filepath.Join(c.logs, startLog))
	for _, held := range []string{`lock file "postmaster.pid" already exists`, "pre-existing shared memory block"} {
		if strings.Contains(said, held) {
			return errHeld
		}
	}
	return say(ErrNotStarted, "PostgreSQL did not start with the data in %s. The folder %s has its log; it said last:\n%s", c.data, c.logs, said)
}

const startLog = "start.log"

// startLog takes what the server says before its own log is open.
func (a account) startLog(logs string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(logs, startLog), os.O_CREATE|os.O_TRUNC|os.O_WRONLY|syscall.O_NOFOLLOW, 0o600)
	if err != nil {
		return nil, err
	}
	if a.other {
		if err := f.Chown(a.uid, a.gid); err != nil {
			f.Close()
			return nil, err
		}
	}
	return f, nil
}

// tail returns the last 2000 bytes of a log, or why they cannot be had.
func tail(path string) string {
	text, err := os.ReadFile(path)
	if err != nil {
		return err.Error()
	}
	return strings.TrimSpace(string(text[max(0, len(text)-2000):]))
}
