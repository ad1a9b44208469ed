package cluster

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestDataOutlivesStop(t *testing.T) {
	t.Parallel()
	dir := madeDir(t)
	c := start(t, Options{Dir: dir})
	run(t, connect(t, c.OwnerURL()), "create table fork as select 41 as n")
	stop(t, c)
	if p, err := readPidFile(c.data); err != nil || p.pid != 0 {
		t.Fatalf("after stop postmaster.pid says %+v, %v", p, err)
	}
	own := filepath.Join(c.data, "local.conf")
	if err := c.account.writeFile(own, "max_connections = 42\n"); err != nil {
		t.Fatal(err)
	}

	again := start(t, Options{Dir: dir})
	if again.Adopted() {
		t.Error("adopted a server that had been stopped")
	}
	conn := connect(t, again.ServeURL())
	if got := ask(t, conn, "show max_connections"); got != "42" {
		t.Errorf("max_connections: got %s, want local.conf's 42", got)
	}
	if got := ask(t, connect(t, again.OwnerURL()), "select n::text from fork"); got != "41" {
		t.Errorf("row: got %s, want 41", got)
	}
	stop(t, again)
	stop(t, again) // does nothing

	if err := c.account.writeFile(own, "colour = petrol\n"); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: dir})
	wantKind(t, err, ErrNotStarted, "colour", c.logs)
}

func TestKilledProgramsServerIsAdopted(t *testing.T) {
	t.Parallel()
	dir := madeDir(t)
	cmd := exec.Command(os.Args[0])
	pid, url, _ := strings.Cut(startHelper(t, cmd, "start", dir), " ")
	run(t, connect(t, url), "create table fork as select 7 as n")

	_, err := Start(t.Context(), Options{Dir: dir})
	wantKind(t, err, ErrLocked, dir, "Stop that one")

	cmd.Process.Kill()
	cmd.Wait()
	settingsOf := filepath.Join(dir, "postgres", settingsFile)
	if err := os.WriteFile(settingsOf, []byte("work_mem = 1MB\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	begin := time.Now()
	c := start(t, Options{Dir: dir})
	t.Logf("adopted in %v", time.Since(begin))
	if !c.Adopted() || fmt.Sprint(c.server.pid) != pid {
		t.Fatalf("adopted %v, server %d; want the server %s of the killed program", c.Adopted(), c.server.pid, pid)
	}
	conn := connect(t, c.OwnerURL())
	if got := ask(t, conn, "select n::text from fork"); got != "7" {
		t.Errorf("row: got %s, want 7", got)
	}
	got := ask(t, conn, "show work_mem")
	for range 500 { // the signal takes its time
		if got == "8MB" {
			break
		}
		time.Sleep(poll)
		got = ask(t, conn, "show work_mem")
	}
	if got != "8MB" {
		t.Errorf("work_mem: got %s, want the rewritten 8MB", got)
	}
	stop(t, c)
	if p, err := readPidFile(c.data); err != nil || p.pid != 0 {
		t.Errorf("after stop postmaster.pid says %+v, %v", p, err)
	}
}

func TestKilledServerRecovers(t *testing.T) {
	t.Parallel()
	dir := madeDir(t)
	cmd := exec.Command(os.Args[0])
	startHelper(t, cmd, "start", dir)
	p, err := readPidFile(filepath.Join(dir, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	conn := connect(t, socketURL(ownerRole, database, p.socket, p.port))
	run(t, conn, "create table fork as select 9 as n")
	cmd.Process.Kill()
	if err := syscall.Kill(p.pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	c := start(t, Options{Dir: dir})
	if c.Adopted() {
		t.Error("adopted a killed server")
	}
	if got := ask(t, connect(t, c.OwnerURL()), "select n::text from fork"); got != "9" {
		t.Errorf("row: got %s, want 9", got)
	}
}

// A process under the server's account stands in postmaster.pid: first it
// stays, so that it is named, then it goes in time.
func TestLiveProcessInPidFile(t *testing.T) {
	t.Parallel()
	dir := madeDir(t)
	c := start(t, Options{Dir: dir})
	stop(t, c)
	cmd := c.account.command(t.Context(), "/bin/sleep", "600")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill() })
	pidFile := filepath.Join(c.data, "postmaster.pid")
	text := fmt.Sprintf("%d\n%s\n1\n%s\n%s\n\n0 0\nready   \n", cmd.Process.Pid, c.data, port, c.socket)
	if err := c.account.writeFile(pidFile, text); err != nil {
		t.Fatal(err)
	}

	_, err := Start(t.Context(), Options{Dir: dir, patience: 400 * time.Millisecond})
	wantKind(t, err, ErrBlocked, fmt.Sprintf("%d /bin/sleep 600", cmd.Process.Pid), c.data, "kill -INT")
	if got, err := os.ReadFile(pidFile); err != nil || string(got) != text {
		t.Errorf("postmaster.pid was touched: %q, %v", got, err)
	}

	time.AfterFunc(600*time.Millisecond, func() { cmd.Process.Kill(); cmd.Wait() })
	again := start(t, Options{Dir: dir})
	if again.Adopted() {
		t.Error("adopted a sleep")
	}
}

// As root the same program runs as an ordinary user too; otherwise every
// other test has done that.
func TestOrdinaryUser(t *testing.T) {
	t.Parallel()
	a := serverAccount(t)
	dir, self := madeDir(t), filepath.Join(openDir(t), "program")
	text, err := os.ReadFile(os.Args[0]) // where the account may not look
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(self, text, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(dir, a.uid, a.gid); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.SysProcAttr = a.command(t.Context(), self).SysProcAttr
	startHelper(t, cmd, "start", dir)
	cmd.Process.Signal(syscall.SIGKILL)
	cmd.Wait()
	if c := start(t, Options{Dir: dir}); !c.Adopted() {
		t.Error("the server was not adopted")
	}
}
