package job

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

const (
	maxShort = 120  // characters of a name, place or few words
	maxLong  = 2000 // characters of a complaint, note or reason
)

func tooLong(limit int) string { return fmt.Sprintf("That is too long: at most %d characters.", limit) }

// Assign gives a job that is still at the version the person saw to a
// mechanic, or to nobody (nil).
func Assign(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, version int, staffID *int64) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if staffID != nil {
		may, err := mechanics(ctx, tx, by, []int64{*staffID})
		if err != nil {
			return fmt.Errorf("assign job: %w", err)
		}
		if !may[*staffID] {
			return fault.Field("mechanic", "Choose somebody who works here as a mechanic.")
		}
	}
	err = db.Changed(tx.Exec(ctx, "update job set mechanic_id = $3, version = version + 1 where id = $1 and version = $2",
		jobID, version, staffID))
	if err != nil {
		return fmt.Errorf("assign job: %w", err)
	}
	return j.append(ctx, tx, by, "job assigned", map[string]any{"mechanic": staffID})
}

// mechanics says which of the people are mechanics who work here on that day.
func mechanics(ctx context.Context, q db.Querier, by history.By, ids []int64) (map[int64]bool, error) {
	rows, err := q.Query(ctx, `select id from staff
		where id = any ($1) and 'mechanic' = any (roles) and (left_on is null or left_on >= $2::date)`, ids, by.At)
	return set[int64](rows, err)
}

func set[T comparable](rows pgx.Rows, err error) (map[T]bool, error) {
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[T])
	found := map[T]bool{}
	for _, v := range list {
		found[v] = true
	}
	return found, err
}

// SetRiderNote keeps what the mechanic tells the rider, in place of what was
// there.
func SetRiderNote(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, note string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	note = strings.TrimSpace(note)
	switch {
	case !by.Has("mechanic"):
		return fault.Forbidden("The rider’s note is written by a mechanic.")
	case utf8.RuneCountInString(note) > maxLong:
		return fault.Field("note", tooLong(maxLong))
	}
	if err := j.setWords(ctx, tx, "rider_note", note); err != nil {
		return err
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("set rider's note: %w", err)
	}
	return j.append(ctx, tx, by, "rider's note written", map[string]any{"characters": utf8.RuneCountInString(note)})
}

// setWords keeps one of the columns of job_words; the row has been there since
// drop-off unless it was erased.
func (j locked) setWords(ctx context.Context, tx pgx.Tx, column, words string) error {
	_, err := tx.Exec(ctx, fmt.Sprintf(`insert into job_words (job_id, %[1]s) values ($1, $2)
		on conflict (job_id) do update set %[1]s = excluded.%[1]s`, column), j.id, words)
	if err != nil {
		return fmt.Errorf("keep words: %w", err)
	}
	return nil
}
