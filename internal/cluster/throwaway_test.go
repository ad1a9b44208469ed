package cluster

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

func TestThrowawayGoesWhenStopped(t *testing.T) {
	t.Parallel()
	dir := openDir(t)
	begin := time.Now()
	url, stop, err := StartThrowaway(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("started in %v", time.Since(begin))
	conn := connect(t, url)
	for sql, want := range map[string]string{
		"show fsync":                     "off",
		"show max_connections":           "200",
		"show listen_addresses":          "",
		"show is_superuser":              "on",
		"select lower('É')":              "é",
		"select current_setting('port')": port,
	} {
		if got := ask(t, conn, sql); got != want {
			t.Errorf("%s: got %q, want %q", sql, got, want)
		}
	}
	for range 2 {
		if err := stop(); err != nil {
			t.Error(err)
		}
	}
	if left, err := filepath.Glob(filepath.Join(dir, "*")); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestThrowawayGoesWithItsProcess(t *testing.T) {
	t.Parallel()
	dir := openDir(t)
	if err := os.Chmod(dir, 0o777|os.ModeSticky); err != nil { // like /dev/shm
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	url := startHelper(t, cmd, "throwaway", dir)
	conn := connect(t, url)
	pid, err := strconv.Atoi(ask(t, conn, "select pg_backend_pid()::text"))
	if err != nil {
		t.Fatal(err)
	}
	cmd.Process.Kill()
	cmd.Wait()
	for wait := time.After(10 * time.Second); ; time.Sleep(poll) {
		left, err := filepath.Glob(filepath.Join(dir, "*"))
		if err != nil {
			t.Fatal(err)
		}
		if len(left) == 0 {
			break
		}
		select {
		case <-wait:
			t.Fatalf("10 s after the process was killed %v is still there", left)
		default:
		}
	}
	if other, err := pgx.Connect(t.Context(), url); err == nil {
		other.Close(t.Context())
		t.Errorf("the server (backend %d) still answers", pid)
	}
}

func TestThrowawaySweepsWhatADeadProcessLeft(t *testing.T) {
	t.Parallel()
	dead := exec.Command("/bin/true")
	if err := dead.Run(); err != nil {
		t.Fatal(err)
	}
	dir := openDir(t)
	gone := filepath.Join(dir, testPrefix+strconv.Itoa(dead.Process.Pid)+"-1")
	mine := filepath.Join(dir, testPrefix+strconv.Itoa(os.Getpid())+"-1")
	other := filepath.Join(dir, testPrefix+"notes")
	for _, folder := range []string{gone, mine, other} {
		if err := os.Mkdir(folder, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	sweep(dir)
	for folder, want := range map[string]bool{gone: false, mine: true, other: true} {
		if _, err := os.Stat(folder); errors.Is(err, os.ErrNotExist) == want {
			t.Errorf("%s: there is %v, want %v", folder, !want, want)
		}
	}
}

func TestThrowawayInClosedFolder(t *testing.T) {
	t.Parallel()
	dir := openDir(t)
	if err := os.Chmod(dir, 0); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Chmod(dir, 0o700) })
	_, _, err := StartThrowaway(t.Context(), dir)
	wantKind(t, err, ErrClosedFolder, dir)
}
