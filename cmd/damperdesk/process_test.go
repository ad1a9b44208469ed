package main

import (
	"bufio"
	"bytes"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/check"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/staff"
)

// TestMain lets the test binary be the program for tests that need a process.
func TestMain(m *testing.M) {
	staff.Thrifty()
	if os.Getenv("DAMPERDESK_TEST_AS_PROGRAM") != "" {
		main()
		return
	}
	dbtest.Main(m)
}

// command is the program as a process without settings but those given.
func (env environ) command(args ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append([]string{"DAMPERDESK_TEST_AS_PROGRAM=1", "PATH=" + os.Getenv("PATH"), "HOME=/nowhere",
		"GORACE=atexit_sleep_ms=0"}, env...) // the race detector would wait a second at each exit
	return cmd
}

type environ []string

// running is a server that has said where it listens.
type running struct {
	cmd     *exec.Cmd
	address string
	out     *bufio.Reader
	errOut  *bytes.Buffer
}

// startServer is a server with a data folder of its own, once it listens.
func startServer(t *testing.T, dir string, args ...string) running {
	t.Helper()
	r := launch(t, environ{"DAMPERDESK_DATA=" + dir}, args...)
	r.await(t)
	return r
}

// launch starts a server and does not wait for it.
func launch(t *testing.T, env environ, args ...string) running {
	t.Helper()
	cmd := env.command(append(args, "--listen", "127.0.0.1:0")...)
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	r := running{cmd: cmd, out: bufio.NewReader(pipe), errOut: &bytes.Buffer{}}
	cmd.Stderr = r.errOut
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if cmd.ProcessState == nil {
			cmd.Process.Signal(syscall.SIGTERM) // so that it stops its database too
			cmd.Wait()
		}
	})
	return r
}

// await reads the first line, "Damperdesk listens on http://...".
func (r *running) await(t *testing.T) {
	t.Helper()
	line, err := r.out.ReadString('\n')
	_, r.address, _ = strings.Cut(strings.TrimSpace(line), " on ")
	if err != nil || r.address == "" {
		r.cmd.Wait()
		t.Fatalf("the server said %q and ended: %v\n%s", line, err, r.errOut)
	}
}

// get is the status and body of a page, or the error.
func (r running) get(path string) string {
	client := http.Client{Timeout: 10 * time.Second}
	res, err := client.Get(r.address + path)
	if err != nil {
		return err.Error()
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		return err.Error()
	}
	return res.Status + " " + string(body)
}

// end sends the signal and returns the process's exit code.
func (r running) end(t *testing.T, s os.Signal) int {
	t.Helper()
	if err := r.cmd.Process.Signal(s); err != nil {
		t.Fatal(err)
	}
	io.Copy(io.Discard, r.out) // until the process has closed it
	r.cmd.Wait()
	return r.cmd.ProcessState.ExitCode()
}

// dataFolder is one that the account of the private PostgreSQL can enter.
func dataFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Chmod(filepath.Dir(dir), 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "desk")
}

func TestServeAnswersRefusesASecondAndEndsCleanly(t *testing.T) {
	dir := dataFolder(t)
	r := startServer(t, dir, "serve")
	line, err := r.out.ReadString('\n')
	if err != nil || !strings.Contains(line, r.address+"/setup with the code ") {
		t.Errorf("nothing about the first owner: %q, %v", line, err)
	}
	for path, want := range map[string]string{"/healthz": "200 OK ok\n", "/readyz": "200 OK ready\n"} {
		if got := r.get(path); got != want {
			t.Errorf("%s: got %q, want %q", path, got, want)
		}
	}
	out, err := environ{"DAMPERDESK_DATA=" + dir}.command("serve", "--listen", "127.0.0.1:0").CombinedOutput()
	if err == nil || !strings.Contains(string(out), "already runs with the data folder "+dir) {
		t.Errorf("a second server: %v, %s", err, out)
	}
	besideAServer(t, dir)
	if code := r.end(t, syscall.SIGTERM); code != 0 {
		t.Errorf("after SIGTERM: code %d\n%s", code, r.errOut)
	}
	if _, err := os.Stat(filepath.Join(dir, "postgres", "postmaster.pid")); !os.IsNotExist(err) {
		t.Errorf("the private PostgreSQL was left running: %v", err)
	}
}

// besideAServer runs the commands that people use while the shop is open.
func besideAServer(t *testing.T, dir string) {
	t.Helper()
	for _, c := range []struct {
		args  []string
		stdin string
		want  string
	}{
		{[]string{"staff", "add", "--name", "Ada", "--roles", "desk,owner"}, "", "The pass-phrase of Ada, shown this once: "},
		{[]string{"staff", "reset", "Ada", "--stdin"}, "blue spoke over gravel\n", ""},
		{[]string{"db-url"}, "", "postgres://damperdesk_app@/damperdesk?host="},
		{[]string{"db-url", "--owner"}, "", "postgres://damperdesk_owner@/damperdesk?host="},
		{[]string{"config"}, "", "no right to change append-only tables; triggers guard them too"},
		{[]string{"migrate", "status"}, "", "have schema "},
		{[]string{"check"}, "", "clean\nhead of the history: "},
	} {
		cmd := environ{"DAMPERDESK_DATA=" + dir}.command(c.args...)
		cmd.Stdin = strings.NewReader(c.stdin)
		out, err := cmd.CombinedOutput()
		if err != nil || !strings.Contains(string(out), c.want) {
			t.Errorf("%v: %v, want %q in\n%s", c.args, err, c.want, out)
		}
	}
}

func TestKilledServersDatabaseIsAdopted(t *testing.T) {
	dir := dataFolder(t)
	startServer(t, dir, "serve").end(t, syscall.SIGKILL)
	r := startServer(t, dir, "serve")
	if got := r.get("/readyz"); got != "200 OK ready\n" {
		t.Errorf("after kill -9: %q", got)
	}
	if code := r.end(t, os.Interrupt); code != 0 || !strings.Contains(r.errOut.String(), "adopted=true") {
		t.Errorf("code %d; the log does not tell of an adopted database:\n%s", code, r.errOut)
	}
}

func TestATakenPortIsSaidBeforeAnythingIsMade(t *testing.T) {
	r := startServer(t, dataFolder(t), "serve")
	dir := dataFolder(t)
	taken := strings.TrimPrefix(r.address, "http://")
	out, err := environ{"DAMPERDESK_DATA=" + dir}.command("serve", "--listen", taken).CombinedOutput()
	if err == nil || !strings.Contains(string(out), "another program listens on "+taken) {
		t.Errorf("got %v, %s", err, out)
	}
	if _, err := os.Stat(dir); !os.IsNotExist(err) {
		t.Errorf("the data folder was made: %v", err)
	}
}

// Whatever only looks makes nothing, and says what it did not find.
func TestWhereThereIsNoDatabaseNoneIsMadeByLooking(t *testing.T) {
	dir := dataFolder(t)
	for _, args := range [][]string{{"check"}, {"migrate", "status"}, {"migrate", "down"}, {"staff", "add", "--name", "Ada", "--roles", "desk"}} {
		for range 2 { // without the folder, and in an empty one
			out, err := environ{}.command(append(args, "--data", dir)...).CombinedOutput()
			if err == nil || !strings.Contains(string(out), "there is no database in the data folder "+dir) {
				t.Errorf("%v: %v, %s", args, err, out)
			}
			if list, err := os.ReadDir(dir); len(list) > 0 {
				t.Fatalf("%v made %v, %v", args, list, err)
			}
			if err := os.MkdirAll(dir, 0o700); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Remove(dir); err != nil {
			t.Fatal(err)
		}
	}
}

func TestEightMigrationsAtOnce(t *testing.T) {
	env := environ{"DATABASE_URL=" + dbtest.EmptyURL(t)}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if out, err := env.command("migrate", "up").CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	wg.Wait()
	wantClean(t, env)
}

func TestMigrationsKilledHalfWayAreFinishedByTheNext(t *testing.T) {
	env := environ{"DATABASE_URL=" + dbtest.EmptyURL(t)}
	begin := time.Now()
	if err := env.command("version").Run(); err != nil {
		t.Fatal(err)
	}
	starting := time.Since(begin)
	for range 5 {
		cmd := env.command("migrate", "up")
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		wait := starting + rand.N(150*time.Millisecond)
		time.Sleep(wait)
		t.Logf("killed after %v", wait)
		cmd.Process.Kill()
		cmd.Wait()
	}
	if out, err := env.command("migrate", "up").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	wantClean(t, env)
}

// wantClean checks the data by the program itself and, beside it, by a
// connection of the test's.
func wantClean(t *testing.T, env environ) {
	t.Helper()
	out, err := env.command("check").CombinedOutput()
	if err != nil || !strings.HasPrefix(string(out), "clean\n") {
		t.Errorf("check: %v, %s", err, out)
	}
	conn, err := pgx.Connect(t.Context(), strings.TrimPrefix(env[0], "DATABASE_URL="))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	found, err := check.Run(t.Context(), conn)
	if err != nil || len(found) > 0 {
		t.Errorf("broken: %v, %v", found, err)
	}
}

func TestCheckTellsAndEndsWithCode1(t *testing.T) {
	url := dbtest.EmptyURL(t)
	env := environ{"DATABASE_URL=" + url}
	if out, err := env.command("migrate", "up").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), "create table stray (id bigint)"); err != nil {
		t.Fatal(err)
	}
	cmd := env.command("check")
	out, _ := cmd.CombinedOutput() // the code is looked at
	if cmd.ProcessState.ExitCode() != 1 || !strings.Contains(string(out), "stray") {
		t.Errorf("got code %d and %s, want 1 and the stray table", cmd.ProcessState.ExitCode(), out)
	}
}
