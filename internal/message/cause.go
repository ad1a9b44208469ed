package message

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// PostVisit posts a message about a visit to whoever is its customer now. What
// waits of that kind for the visit is overtaken: the newer one says it all.
func PostVisit(ctx context.Context, tx pgx.Tx, by history.By, kind Kind, visitID int64, key string, notBefore time.Time) error {
	c := Cause{Kind: kind, VisitID: visitID, Key: key, NotBefore: notBefore}
	err := tx.QueryRow(ctx, "select c.now_id from visit v join customer_now c on c.id = v.customer_id where v.id = $1", visitID).Scan(&c.CustomerID)
	if err != nil {
		return fmt.Errorf("read customer of visit: %w", err)
	}
	id, posted, err := Post(ctx, tx, by, c)
	if err != nil || !posted {
		return err
	}
	// One that is being sent at this moment is not waited for.
	_, err = tx.Exec(ctx, `update message set state = 'dropped', why = $4
		where id in (select id from message where visit_id = $1 and kind = $2 and id <> $3 and state = 'waiting' for update skip locked)`,
		visitID, kind, id, Overtaken)
	if err != nil {
		return fmt.Errorf("overtake message: %w", err)
	}
	return nil
}

// PostFirstRide asks about the first ride some days after units of a visit were
// handed over, once for all that are handed over on one day (in UTC).
func PostFirstRide(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	s, err := GetSetting(ctx, tx)
	if err != nil || s.FirstRideDays == 0 {
		return err
	}
	return PostVisit(ctx, tx, by, FirstRide, visitID, by.At.UTC().Format(time.DateOnly), by.At.AddDate(0, 0, s.FirstRideDays))
}

// OvertakenKeys are those of the causes of a kind and a visit that were overtaken before
// anybody heard of them.
func OvertakenKeys(ctx context.Context, q db.Querier, kind Kind, visitID int64) ([]string, error) {
	prefix := Cause{Kind: kind, VisitID: visitID}.id()
	rows, err := q.Query(ctx, `select substr(cause, length($3) + 1) from message
		where visit_id = $1 and kind = $2 and why = $4 and told_at is null`, visitID, kind, prefix, Overtaken)
	if err != nil {
		return nil, fmt.Errorf("read what was overtaken: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("read what was overtaken: %w", err)
	}
	return list, nil
}
