package due

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
)

// mostSettled is how many units an act reckons anew itself; more of them, after a
// change of a rule or of the shop, are left to Drain.
const mostSettled = 50

// Settle reckons anew the units that the running transaction has touched so far,
// as the triggers of their tables marked them. It is the last thing of an act.
func Settle(ctx context.Context, tx pgx.Tx, now time.Time) error {
	rows, _ := tx.Query(ctx, `delete from due_stale where tx = txid_current()
		and (select count(*) from (select from due_stale where tx = txid_current() limit $1 + 1) s) <= $1 returning unit_id`, mostSettled)
	units, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err == nil && len(units) > 0 {
		err = reckon(ctx, tx, units, now)
	}
	if err != nil {
		return fmt.Errorf("settle what is due: %w", err)
	}
	return nil
}

// reckon keeps what is due of those units. Each is locked before it is read, so
// that whoever comes second reads what the first has committed.
func reckon(ctx context.Context, tx pgx.Tx, units []int64, now time.Time) error {
	if _, err := tx.Exec(ctx, "select from unit where id = any ($1) order by id for no key update", units); err != nil {
		return err
	}
	b, err := readBook(ctx, tx, units...)
	if errors.As(err, new(fault.NotFound)) { // the shop is not set up, which marks all units
		return nil
	}
	if err != nil {
		return err
	}
	today := interval.Day(now, b.zone)
	list := []stored{}
	for _, u := range b.units {
		list = append(list, b.store(b.rows(u), today)...)
	}
	return keep(ctx, tx, units, list)
}
