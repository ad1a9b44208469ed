package shop

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// NotDone is a service that somebody at the bench does not do.
type NotDone struct {
	StaffID     int64
	ServiceCode string
}

// Does is whether a person does a service.
func (b Bench) Does(staffID int64, service string) bool {
	return !slices.Contains(b.NotDone, NotDone{staffID, service})
}

// SetNotDone says which services a mechanic does not do, in place of those they
// were shown not to. Jobs that are theirs already stay theirs.
func SetNotDone(ctx context.Context, tx pgx.Tx, by history.By, staffID int64, services, seen []string) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "lock table not_done in share row exclusive mode"); err != nil {
		return fmt.Errorf("set what is not done: %w", err)
	}
	if err := worksAtBench(ctx, tx, staffID); err != nil {
		return err
	}
	var was []string
	err := tx.QueryRow(ctx, "select array(select service_code from not_done where staff_id = $1 order by 1)", staffID).Scan(&was)
	if err != nil {
		return fmt.Errorf("set what is not done: %w", err)
	}
	if !slices.Equal(was, slices.Sorted(slices.Values(seen))) {
		return fault.Conflict("Somebody else changed what they do since you opened it; look again.")
	}
	if _, err := tx.Exec(ctx, "delete from not_done where staff_id = $1", staffID); err != nil {
		return fmt.Errorf("set what is not done: %w", err)
	}
	_, err = tx.Exec(ctx, "insert into not_done (staff_id, service_code) select $1, code from service where code = any ($2)", staffID, services)
	if err != nil {
		return fmt.Errorf("set what is not done: %w", err)
	}
	return tell(ctx, tx, by, "services of a mechanic set", map[string]any{"staff": staffID, "not": len(services)})
}
