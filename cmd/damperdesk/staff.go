package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"encoding/base32"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/staff"
)

func (p *program) staffAdd(ctx context.Context) error {
	if p.name == "" || p.roles == "" {
		return misuse{`staff add: say who and what for, such as: damperdesk staff add --name "Ada" --roles desk,owner`}
	}
	roles := strings.FieldsFunc(p.roles, func(r rune) bool { return r == ',' || r == ' ' })
	return p.withPassphrase(ctx, p.name, func(tx pgx.Tx, by history.By, passphrase string) error {
		_, err := staff.Add(ctx, tx, by, staff.New{Name: p.name, Roles: roles, Passphrase: passphrase})
		return err
	})
}

func (p *program) staffReset(ctx context.Context) error {
	return p.withPassphrase(ctx, p.args[0], func(tx pgx.Tx, by history.By, passphrase string) error {
		who, err := staff.ByName(ctx, tx, p.args[0])
		if err != nil {
			return err
		}
		return staff.ResetPassphrase(ctx, tx, by, who.ID, passphrase)
	})
}

// withPassphrase reads a pass-phrase or makes one, and prints the made one once
// it is in force.
func (p *program) withPassphrase(ctx context.Context, name string, do func(pgx.Tx, history.By, string) error) error {
	passphrase := newPassphrase()
	if p.fromStdin {
		line, err := bufio.NewReader(io.LimitReader(p.in, 1024)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("read the pass-phrase: %w", err)
		}
		passphrase = strings.TrimRight(line, "\r\n")
	}
	return p.withPool(ctx, func(pool *db.Pool) error {
		err := systemAct(ctx, pool, "staff by command", func(tx pgx.Tx, by history.By) error { return do(tx, by, passphrase) })
		if err == nil && !p.fromStdin {
			_, err = fmt.Fprintf(p.out, "The pass-phrase of %s, shown this once: %s\n", name, passphrase)
		}
		return err
	})
}

// newPassphrase has 100 bits in four groups that can be read out.
func newPassphrase() string {
	b := make([]byte, 13)
	rand.Read(b)
	s := strings.ToLower(base32.StdEncoding.EncodeToString(b))
	return s[:5] + "-" + s[5:10] + "-" + s[10:15] + "-" + s[15:20]
}

// systemAct is an act of the program itself, or of whoever may run it.
func systemAct(ctx context.Context, pool *db.Pool, kind string, do func(pgx.Tx, history.By) error) error {
	by := history.By{At: time.Now().UTC(), Intent: uuid.New()}
	act := intent.Act{ID: by.Intent, Kind: kind, Fingerprint: []byte(kind), At: by.At}
	_, err := intent.Do(ctx, pool, act, func(tx pgx.Tx) (string, error) { return "", do(tx, by) })
	return err
}
