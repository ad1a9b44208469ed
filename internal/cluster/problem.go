package cluster

import (
	"errors"
	"fmt"
)

// The kinds of trouble a person can do something about. Match them with
// errors.Is; the message of the returned error says what to do.
var (
	ErrNoBinaries   = errors.New("no PostgreSQL programs")
	ErrLocked       = errors.New("data folder in use")
	ErrOtherMajor   = errors.New("data of another PostgreSQL version")
	ErrNoAccount    = errors.New("no account to run PostgreSQL")
	ErrClosedFolder = errors.New("folder closed")
	ErrBlocked      = errors.New("another process holds the data")
	ErrNotStarted   = errors.New("PostgreSQL did not start")
)

// problem is an error whose text is meant for the person at the terminal.
type problem struct {
	kind error
	text string
}

func (p *problem) Error() string { return p.text }
func (p *problem) Unwrap() error { return p.kind }

func say(kind error, format string, args ...any) error {
	return &problem{kind, fmt.Sprintf(format, args...)}
}

func noBinaries() error {
	return say(ErrNoBinaries, `PostgreSQL %d or later is not installed on this machine. One of these helps:
  Debian, Ubuntu:   apt install postgresql
  Fedora, RHEL:     dnf install postgresql-server
  openSUSE:         zypper install postgresql-server
  Alpine:           apk add postgresql
  Arch:             pacman -S postgresql
  macOS (Homebrew): brew install postgresql@17
  a database that runs already: set DATABASE_URL to its URL
  containers: use the compose file, which brings its own PostgreSQL`, oldest)
}

// otherMajor tells a person with data of version found, on a machine whose
// newest programs are of version here, how to go on.
func otherMajor(data string, found, here int) error {
	return say(ErrOtherMajor, `The data in %[1]s was written by PostgreSQL %[2]d; this machine has PostgreSQL %[3]d, which cannot read it.
To go on as before, install PostgreSQL %[2]d too (versions may stand side by side) and start again.
To move to PostgreSQL %[3]d: with PostgreSQL %[2]d installed and Damperdesk running, take a dump with pg_dump; stop; move %[1]s aside; start without PostgreSQL %[2]d, which makes an empty database; restore the dump with pg_restore. Keep the old folder until you have looked at the result.`,
		data, found, here)
}
