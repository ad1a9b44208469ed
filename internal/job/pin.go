package job

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// How a job can be pinned.
const (
	PinnedToDay = "day"     // done on that day
	NextUp      = "next up" // before whatever is not pinned
	Lifted      = "lifted"  // by its promise, like any other
)

// Pin takes a job out of the order of promises.
type Pin struct {
	ID     int64
	JobID  int64
	Kind   string
	Day    *time.Time // at midnight UTC; nil but for PinnedToDay
	Reason string     // may be empty
	By     string     // who said so
	At     time.Time
}

// Pins are those that hold, of open jobs, by job. The one that was put on first
// has the lower id.
func Pins(ctx context.Context, q db.Querier) (map[int64]Pin, error) {
	rows, err := q.Query(ctx, `select p.id, p.job_id, p.kind, p.day, p.reason, coalesce(s.name, '') as by, p.at
		from pin p join job j on j.id = p.job_id left join staff s on s.id = p.actor_id
		where j.closed_at is null and p.kind <> $1 and not exists (select from pin n where n.replaces = p.id)`, Lifted)
	list, err := db.All[Pin](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read pins: %w", err)
	}
	pins := map[int64]Pin{}
	for _, p := range list {
		pins[p.JobID] = p
	}
	return pins, nil
}

// PinJob pins an open job in place of what was pinned, or lifts that. The day
// may not be past anywhere on earth.
func PinJob(ctx context.Context, tx pgx.Tx, by history.By, p Pin) error {
	j, err := lockOpen(ctx, tx, p.JobID)
	if err != nil {
		return err
	}
	p.Reason = strings.TrimSpace(p.Reason)
	if faults := p.faults(by.At); len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	if j.stage == Ready && p.Kind != Lifted {
		return fault.Conflict("A job that is ready for pickup has no place in the line.")
	}
	if p.Kind != PinnedToDay {
		p.Day = nil
	}
	var before *int64
	err = tx.QueryRow(ctx, "select max(id) from pin where job_id = $1", p.JobID).Scan(&before)
	if err != nil {
		return fmt.Errorf("pin job: %w", err)
	}
	err = tx.QueryRow(ctx, `insert into pin (job_id, kind, day, reason, replaces, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
		p.JobID, p.Kind, p.Day, p.Reason, before, by.Staff, by.Intent, by.At).Scan(&p.ID)
	if err != nil {
		return fmt.Errorf("pin job: %w", err)
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("pin job: %w", err)
	}
	return j.append(ctx, tx, by, "job pinned", map[string]any{"pin": p.ID, "as": p.Kind})
}

func (p Pin) faults(at time.Time) map[string]string {
	faults := map[string]string{}
	switch p.Kind {
	case NextUp, Lifted:
	case PinnedToDay:
		if p.Day == nil {
			faults["day"] = "Say on which day it is to be done."
		} else if !at.Before(p.Day.Add(dayIsOver)) {
			faults["day"] = "That day is past: type today or a later one."
		}
	default:
		faults["pin"] = "Choose how it goes in the line."
	}
	if utf8.RuneCountInString(p.Reason) > maxLong {
		faults["reason"] = tooLong(maxLong)
	}
	return faults
}
