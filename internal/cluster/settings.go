package cluster

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
)

// settings are modest, for a machine of 2 GB that does other work too. The
// log keeps a week. It leaves out details of errors and parameters, which
// would hold customers' data. The shop's own settings go into local.conf
// beside this file; they win and nothing here overwrites them.
const settings = `# Written by Damperdesk at every start. Put settings of your own into local.conf.
max_connections = 50
shared_buffers = 128MB
effective_cache_size = 512MB
work_mem = 8MB
maintenance_work_mem = 64MB
min_wal_size = 80MB
max_wal_size = 512MB
wal_compression = on
max_parallel_workers_per_gather = 0
jit = off

client_connection_check_interval = 1s

timezone = 'UTC'
lc_messages = 'C'
logging_collector = on
log_filename = 'postgres-%a.log'
log_file_mode = 0600
log_rotation_age = 1d
log_rotation_size = 0
log_truncate_on_rotation = on
log_line_prefix = '%m [%p] %q%u@%d '
log_checkpoints = off
log_error_verbosity = terse
log_parameter_max_length = 0
log_parameter_max_length_on_error = 0

include_if_exists = 'local.conf'
`

const (
	settingsFile = "damperdesk.conf"
	initPrefix   = "init-"
)

// fixed are the settings no file may change: no TCP at all, and a socket that
// only the account (and root) can open.
func fixed(data, socket string) []string {
	list := `"` + strings.ReplaceAll(socket, `"`, `""`) + `"`
	return []string{
		"-D", data,
		"-c", "listen_addresses=",
		"-c", "port=" + port,
		"-c", "unix_socket_directories=" + list,
		"-c", "unix_socket_permissions=0700",
	}
}

// initdb makes the data folder of a cluster. A half-made one is never taken
// for data: it gets its name when it is whole.
func (a account) initdb(ctx context.Context, bin programs, data string) error {
	parent := filepath.Dir(data)
	left, _ := filepath.Glob(filepath.Join(quoteGlob(parent), initPrefix+"*")) // fails only on a bad pattern
	for _, folder := range left {
		os.RemoveAll(folder) // best effort: only room is lost
	}
	fresh, err := os.MkdirTemp(parent, initPrefix)
	if err != nil {
		return err
	}
	defer os.RemoveAll(fresh) // gone after the rename
	if a.other {
		if err := os.Lchown(fresh, a.uid, a.gid); err != nil {
			return err
		}
	}
	if err := a.runInitdb(ctx, bin, fresh, "--data-checksums"); err != nil {
		return err
	}
	if err := a.include(fresh); err != nil {
		return err
	}
	if err := os.Rename(fresh, data); err != nil {
		return err
	}
	return syncFolder(parent)
}

func (a account) runInitdb(ctx context.Context, bin programs, data string, extra ...string) error {
	args := append([]string{
		"-D", data, "-U", adminRole, "--auth=peer", "--encoding=UTF8", "--no-instructions",
	}, localeArgs(bin.major, runtime.GOOS)...)
	out, err := a.command(ctx, filepath.Join(bin.folder, "initdb"), append(args, extra...)...).CombinedOutput()
	if err != nil {
		return say(ErrNotStarted, "PostgreSQL could not make its data folder %s: %v\n%s", data, err, out)
	}
	return nil
}

// localeArgs choose an order of texts by code point, which no update of the
// system's locales changes (such a change spoils indexes), with Unicode's rules
// for letters and cases. Lists for people are ordered by keys the program
// writes, or name a collation.
func localeArgs(major int, system string) []string {
	switch {
	case major >= 17:
		return []string{"--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C"}
	case system == "darwin":
		return []string{"--locale=C", "--lc-ctype=UTF-8"}
	}
	return []string{"--locale=C.UTF-8", "--lc-messages=C"}
}

func (a account) include(data string) error {
	path := filepath.Join(data, "postgresql.conf")
	old, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return a.writeFile(path, string(old)+"\ninclude = '"+settingsFile+"'\n")
}

// configure writes the files that the server reads at start and at reload.
func (a account) configure(data string) error {
	if err := a.writeFile(filepath.Join(data, settingsFile), settings); err != nil {
		return err
	}
	return a.letIn(data)
}

// letIn writes who may connect.
func (a account) letIn(data string) error {
	const hba = "# Written by Damperdesk at every start.\nlocal all all peer map=damperdesk\n"
	if err := a.writeFile(filepath.Join(data, "pg_hba.conf"), hba); err != nil {
		return err
	}
	return a.writeFile(filepath.Join(data, "pg_ident.conf"), ident(a.users()))
}

// ident lets the named system accounts in, and nobody else; the system tells
// the server who stands at the other end of the socket.
func ident(users []string) string {
	var b strings.Builder
	b.WriteString("# Written by Damperdesk at every start.\n")
	for _, user := range users {
		for _, role := range []string{adminRole, ownerRole, appRole} {
			fmt.Fprintf(&b, "damperdesk \"%s\" %s\n", user, role)
		}
	}
	return b.String()
}

// versionOf reads the major version of the data; 0 when there is none yet.
func versionOf(data string) (int, error) {
	text, err := os.ReadFile(filepath.Join(data, "PG_VERSION"))
	if os.IsNotExist(err) {
		if _, err := os.Lstat(data); err == nil {
			return 0, fmt.Errorf("the folder %s holds no PostgreSQL data (no PG_VERSION in it): move it away, or bring back its copy", data)
		}
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil || major <= 0 {
		return 0, fmt.Errorf("the file PG_VERSION in %s says %q, not a version", data, text)
	}
	return major, nil
}

func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

func quoteGlob(path string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(path)
}
