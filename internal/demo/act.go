package demo

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/picture"
)

// seeder fills one database.
type seeder struct {
	pool     *db.Pool
	pictures *picture.Folder
	key      []byte
	now      time.Time // the moment everything is dated from
	clock    clock
	staff    map[string]worker
	tablet   int64 // that the bench sheets are signed on
	terms    int64
	tools    []int64
}

// worker is a member of staff as an actor.
type worker struct {
	id     int64
	roles  []string
	device int64 // the tablet in their hands; 0: none
}

// atBench is a member of staff with the tablet.
func (s *seeder) atBench(name string) worker {
	w := s.staff[name]
	w.device = s.tablet
	return w
}

// program is the actor of what nobody does.
var program = worker{}

// acting is a running transaction with the act it belongs to.
type acting struct {
	ctx  context.Context
	tx   pgx.Tx
	by   history.By
	name string
	n    int
}

// act does one named act in a transaction of its own, once and for all: done
// before, it only returns where it led. A crash of the machine may lose the
// last acts whole, which are then done again; so nobody waits for the disk.
func (s *seeder) act(ctx context.Context, name string, who worker, at time.Time, do func(acting) (string, error)) (string, error) {
	by := history.By{At: at.UTC(), Staff: who.id, Roles: who.roles, Device: who.device, Intent: idOf(name)}
	act := intent.Act{ID: by.Intent, Kind: "demo", Actor: who.id, Device: who.device, Fingerprint: []byte(name), At: by.At}
	answer, err := intent.Do(ctx, s.pool, act, func(tx pgx.Tx) (string, error) {
		if _, err := tx.Exec(ctx, "set local synchronous_commit = off"); err != nil {
			return "", err
		}
		to, err := do(acting{ctx: ctx, tx: tx, by: by, name: name})
		if err != nil {
			return "", err
		}
		return to, due.Settle(ctx, tx, by.At)
	})
	if err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	return answer, nil
}

// then does a later act of somebody in the same transaction, under an intent
// of its own, as if it had been pressed by itself.
func (a *acting) then(who worker, at time.Time, do func(by history.By) error) error {
	a.n++
	name := fmt.Sprintf("%s, %d", a.name, a.n)
	by := history.By{At: at.UTC(), Staff: who.id, Roles: who.roles, Device: who.device, Intent: idOf(name)}
	act := intent.Act{ID: by.Intent, Kind: "demo", Actor: who.id, Device: who.device, Fingerprint: []byte(name), At: by.At}
	err := intent.File(a.ctx, a.tx, act)
	if err == nil {
		err = do(by)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}
