package cluster

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// helperEnv makes the test binary play a program that starts a server, tells
// about it in one line, and then does nothing until it is killed.
const helperEnv = "CLUSTER_TEST_HELPER"

func TestMain(m *testing.M) {
	if what := os.Getenv(helperEnv); what != "" {
		if err := help(what, os.Getenv("CLUSTER_TEST_DIR")); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		select {}
	}
	code := m.Run()
	os.RemoveAll(made.dir)
	os.Exit(code)
}

// made is a data folder as a first start and a stop leave it.
var made struct {
	once sync.Once
	dir  string
	err  error
}

// madeDir returns a copy of it, which takes less time than a first start.
func madeDir(t *testing.T) string {
	t.Helper()
	made.once.Do(func() { made.err = makeOnce(t.Context()) })
	if made.err != nil {
		t.Fatal(made.err)
	}
	dir := filepath.Join(openDir(t), "shop")
	if out, err := exec.Command("cp", "-a", made.dir, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return dir
}

func makeOnce(ctx context.Context) (err error) {
	if made.dir, err = os.MkdirTemp("", "cluster-made-"); err != nil {
		return err
	}
	if err := os.Chmod(made.dir, 0o711); err != nil {
		return err
	}
	c, err := Start(ctx, Options{Dir: made.dir})
	if err != nil {
		return err
	}
	return c.Stop(ctx)
}

func help(what, dir string) error {
	if what == "throwaway" {
		url, _, err := StartThrowaway(context.Background(), dir)
		if err == nil {
			fmt.Println(url)
		}
		return err
	}
	c, err := Start(context.Background(), Options{Dir: dir})
	if err != nil {
		return err
	}
	fmt.Println(c.server.pid, c.OwnerURL())
	return nil
}

// startHelper returns the process and its line.
func startHelper(t *testing.T, cmd *exec.Cmd, what, dir string) string {
	t.Helper()
	cmd.Env = append(os.Environ(), helperEnv+"="+what, "CLUSTER_TEST_DIR="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		if p, err := readPidFile(filepath.Join(dir, "postgres")); err == nil && p.alive() { // after a failure
			syscall.Kill(p.pid, syscall.SIGQUIT)
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || strings.HasPrefix(line, "error") {
		rest, _ := io.ReadAll(out)
		t.Fatalf("helper said %q %s, %v", line, rest, err)
	}
	return strings.TrimSpace(line)
}

// openDir is a folder every account can reach.
func openDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Chmod(filepath.Dir(dir), 0o711); err != nil {
		t.Fatal(err)
	}
	return dir
}

func start(t *testing.T, opt Options) *Cluster {
	t.Helper()
	c, err := Start(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(t, c) })
	return c
}

func stop(t *testing.T, c *Cluster) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.WithoutCancel(t.Context()), 20*time.Second)
	defer cancel()
	if err := c.Stop(ctx); err != nil {
		t.Errorf("stop: %v", err)
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.WithoutCancel(t.Context())) })
	return conn
}

func run(t *testing.T, conn *pgx.Conn, sql string) {
	t.Helper()
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

func ask(t *testing.T, conn *pgx.Conn, sql string) string {
	t.Helper()
	var got string
	if err := conn.QueryRow(t.Context(), sql).Scan(&got); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return got
}

func wantKind(t *testing.T, err, kind error, words ...string) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Fatalf("got error %v, want one of kind %v", err, kind)
	}
	for _, word := range words {
		if !strings.Contains(err.Error(), word) {
			t.Errorf("error %q does not say %q", err, word)
		}
	}
}

// The name has what a quoting mistake would trip over.
const awkward = `a shop's "data" + 100% * [1]`

func TestRolesRightsAndSettings(t *testing.T) {
	t.Parallel()
	c := start(t, Options{Dir: filepath.Join(openDir(t), awkward)})
	owner, app := connect(t, c.OwnerURL()), connect(t, c.ServeURL())
	run(t, owner, "create table fork (n int)")
	run(t, owner, "grant select on fork to damperdesk_serve")

	for _, q := range []struct {
		conn      *pgx.Conn
		sql, want string
	}{
		{owner, "select session_user || ' ' || current_user || ' ' || current_database()", "damperdesk_owner damperdesk_owner damperdesk"},
		{app, "select session_user || ' ' || current_user || ' ' || current_database()", "damperdesk_app damperdesk_serve damperdesk"},
		{owner, "select rolsuper::text || rolcreaterole || rolcreatedb from pg_roles where rolname = current_user", "falsefalsefalse"},
		{owner, "select rolcanlogin::text from pg_roles where rolname = 'damperdesk_serve'", "false"},
		{owner, "select pg_get_userbyid(datdba) || ' ' || pg_encoding_to_char(encoding) from pg_database where datname = current_database()", "damperdesk_owner UTF8"},
		// order by code point as Unicode numbers them: Z U+005A, a U+0061, e acute U+00E9
		{owner, "select string_agg(w, '' order by w) from unnest(array['é', 'a', 'Z']) w", "Zaé"},
		// simple case mapping of U+00C9 and U+0160 (Unicode Character Database)
		{owner, "select lower('ÉŠ')", "éš"},
		{app, "select count(*)::text from fork", "0"},
		{app, "show listen_addresses", ""},
		{app, "show client_connection_check_interval", "1s"},
		{app, "show fsync", "on"},
		{app, "show data_checksums", "on"},
		{app, "show shared_buffers", "128MB"},
		{app, "show timezone", "UTC"},
	} {
		if got := ask(t, q.conn, q.sql); got != q.want {
			t.Errorf("%s: got %q, want %q", q.sql, got, q.want)
		}
	}
	if _, err := app.Exec(t.Context(), "insert into fork values (1)"); err == nil {
		t.Error("the serving login may insert without a grant")
	}
	// the grant step of the migrations runs as the owner
	run(t, owner, "create table leg (n int); grant damperdesk_serve to damperdesk_app")
}
