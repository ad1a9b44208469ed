package job

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// tellReceived tells the customer that units of the visit are here. key tells
// those that come at another time from these.
func tellReceived(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, key string) error {
	return message.PostVisit(ctx, tx, by, message.Received, visitID, key, time.Time{})
}

// tellReady tells the customer of a visit that all of it that is here is ready;
// nothing while anything else of it is still to be done. Becoming ready once
// more, after work on it was opened again, is told again.
func tellReady(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	// Of two mechanics who finish the last two at once, the second sees the first.
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock(hashtextextended('ready ' || $1::bigint, 0))", visitID); err != nil {
		return fmt.Errorf("see whether all is ready: %w", err)
	}
	var open, ready, times int
	err := tx.QueryRow(ctx, `select count(*) filter (where closed_at is null and stage <> $3), count(*) filter (where stage = $2),
			(select count(*) from stage_change s join job j on j.id = s.job_id where j.visit_id = $1 and s.stage = $2)
		from job where visit_id = $1`, visitID, Ready, Booked).Scan(&open, &ready, &times)
	if err != nil {
		return fmt.Errorf("see whether all is ready: %w", err)
	}
	if open == 0 || ready < open {
		return nil
	}
	return message.PostVisit(ctx, tx, by, message.Ready, visitID, fmt.Sprint(times), time.Time{})
}

// mostStillHere is how often the customer of a visit is told that it is still
// here: common practice (no source).
const mostStillHere = 3

// TellStillHere tells customers whose units have all been ready for the days that
// the shop set, and again after as many more, three times at most. What is
// booked to come, goes back by post or is ready anew since does not count.
func TellStillHere(ctx context.Context, tx pgx.Tx, by history.By) (told int, err error) {
	s, err := message.GetSetting(ctx, tx)
	if err != nil || s.StillHereDays == 0 {
		return 0, err
	}
	rows, err := tx.Query(ctx, `select v.id, count(m.id) from visit v
			join (select visit_id, max(ready_at) as ready_at from job where closed_at is null and stage <> $7
				group by visit_id having bool_and(stage = $3)) j on j.visit_id = v.id
			left join message m on m.visit_id = v.id and m.kind = $4 and m.at > j.ready_at
		where v.goes_back <> $5 group by v.id, j.ready_at
		having greatest(j.ready_at, max(m.at)) + make_interval(days => $2) <= $1 and count(m.id) < $6
		order by v.id`, by.At, s.StillHereDays, Ready, message.StillHere, byPost, mostStillHere, Booked)
	if err != nil {
		return 0, fmt.Errorf("read what is still here: %w", err)
	}
	type still struct {
		VisitID int64
		Told    int
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[still])
	if err != nil {
		return 0, fmt.Errorf("read what is still here: %w", err)
	}
	for _, v := range list {
		key := by.At.UTC().Format(time.DateOnly)
		if err := message.PostVisit(ctx, tx, by, message.StillHere, v.VisitID, key, time.Time{}); err != nil {
			return 0, err
		}
	}
	return len(list), nil
}
