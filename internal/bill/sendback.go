package bill

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// SendBack lets a job leave by post, with how its visit stands: payment comes
// first.
func SendBack(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, p job.Parcel) error {
	var visit int64
	err := tx.QueryRow(ctx, "select visit_id from job where id = $1 for no key update", jobID).Scan(&visit)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound("There is no such job.")
	}
	if err == nil { // nobody writes the bill or takes a payment back meanwhile
		_, err = tx.Exec(ctx, "select from visit where id = $1 for no key update", visit)
	}
	if err != nil {
		return fmt.Errorf("send back: %w", db.Translate(err))
	}
	b, err := Get(ctx, tx, visit)
	if err != nil {
		return err
	}
	balance := b.Balance()
	p.Billed, p.OwedMinor, p.Currency = balance.Lines > 0, balance.OwedMinor(), b.Currency
	return job.SendBack(ctx, tx, by, jobID, p)
}
