package cluster

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// account is who the server runs as.
type account struct {
	name   string
	uid    int
	gid    int
	groups []uint32
	other  bool // not the account of this process: only root may do that
}

// chooseAccount returns this process's own account, except for root, as which
// PostgreSQL refuses to run: then the owner of existing data, else the
// account damperdesk, else postgres.
func chooseAccount(data string) (account, error) {
	uid := os.Geteuid()
	owner, err := ownerOf(data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, fs.ErrPermission) { // checkOpen names what is closed
		return account{}, err
	}
	if uid != 0 {
		if err == nil && owner != uid {
			return account{}, say(ErrClosedFolder, "The folder %s belongs to the account %s. Start Damperdesk as that account.", data, accountName(owner))
		}
		return account{name: accountName(uid), uid: uid, gid: os.Getegid()}, nil
	}
	if err == nil && owner != 0 {
		if u, err := user.LookupId(strconv.Itoa(owner)); err == nil {
			return otherAccount(u)
		}
	}
	for _, name := range []string{"damperdesk", "postgres"} {
		if u, err := user.Lookup(name); err == nil {
			return otherAccount(u)
		}
	}
	return account{}, say(ErrNoAccount, "PostgreSQL does not run as root. Make an account for it (useradd --system damperdesk) or start Damperdesk as an ordinary user.")
}

func otherAccount(u *user.User) (account, error) {
	a := account{name: u.Username, other: true}
	ids, err := u.GroupIds()
	if err != nil {
		return a, fmt.Errorf("groups of the account %s: %w", u.Username, err)
	}
	for _, id := range ids {
		g, err := strconv.ParseUint(id, 10, 32)
		if err != nil {
			return a, fmt.Errorf("group %q of the account %s: %w", id, u.Username, err)
		}
		a.groups = append(a.groups, uint32(g))
	}
	if a.uid, err = strconv.Atoi(u.Uid); err != nil {
		return a, fmt.Errorf("account %s: %w", u.Username, err)
	}
	if a.gid, err = strconv.Atoi(u.Gid); err != nil {
		return a, fmt.Errorf("account %s: %w", u.Username, err)
	}
	return a, nil
}

func accountName(uid int) string {
	if u, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return u.Username
	}
	if u, err := user.Current(); err == nil && u.Uid == strconv.Itoa(uid) {
		return u.Username
	}
	return strconv.Itoa(uid)
}

// users are the system accounts that may connect: the server's, which is this
// process's own too unless that is root, and root, which owns all files anyway
// and may have to adopt the server one day.
func (a account) users() []string {
	names := []string{a.name, accountName(0)}
	slices.Sort(names)
	return slices.Compact(names)
}

// command prepares a program to run as the account in a session of its own,
// so that Ctrl-C in the terminal does not reach it. It stands in the root
// folder, since the account may be unable to enter this process's, and sees
// nothing of this process's environment but what the programs need.
func (a account) command(ctx context.Context, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = "/"
	cmd.Env = []string{"LC_ALL=C"}
	for _, key := range []string{"PATH", "TZ", "TMPDIR", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH"} {
		if value, ok := os.LookupEnv(key); ok {
			cmd.Env = append(cmd.Env, key+"="+value)
		}
	}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	if a.other {
		cmd.SysProcAttr.Credential = &syscall.Credential{
			Uid: uint32(a.uid), Gid: uint32(a.gid), Groups: a.groups,
		}
	}
	return cmd
}

// checkOpen names the first folder on the way to path, path included, that
// the account cannot enter. It asks the system as the account, so that access
// lists and security modules count too.
func (a account) checkOpen(ctx context.Context, path string) error {
	way := []string{path}
	for way[0] != filepath.Dir(way[0]) {
		way = slices.Insert(way, 0, filepath.Dir(way[0]))
	}
	const script = `for d do [ -x "$d" ] || { printf %s "$d"; exit 9; }; done`
	out, err := a.command(ctx, "/bin/sh", append([]string{"-c", script, "sh"}, way...)...).Output()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok && exit.ExitCode() == 9 {
		closed := string(out)
		return say(ErrClosedFolder, "The account %s, which runs PostgreSQL, cannot enter the folder %s, so it cannot use %s. Choose another folder, such as /var/lib/damperdesk, or open the way: chmod o+x %s",
			a.name, closed, path, shellQuoted(closed))
	}
	if err != nil {
		return fmt.Errorf("look at %s as %s: %w", path, a.name, err)
	}
	return nil
}

func shellQuoted(s string) string {
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

func ownerOf(path string) (int, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return 0, err
	}
	return int(info.Sys().(*syscall.Stat_t).Uid), nil
}
