package interval

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

// mostWhy is how many letters it may take to say what is wrong with a reading.
const mostWhy = 500

// TakeBack takes back a reading of a unit that was wrong, such as 400 hours typed
// for 40: it stays as it was said, and counts for nothing from then on. Fields of
// fault.Invalid are "wrong" and "why"; one that was taken back before is a
// Conflict.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, unitID, readingID int64, why string) error {
	why = strings.TrimSpace(why)
	faults := sentences{}
	faults.add(readingID == 0, "wrong", chooseWrong)
	faults.add(why == "", "why", "Say what is wrong with it.")
	faults.add(utf8.RuneCountInString(why) > mostWhy, "why", fmt.Sprintf("Use at most %d letters.", mostWhy))
	if len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	r, err := readingOf(ctx, tx, unitID, readingID)
	if err != nil {
		return err
	}
	return r.takeBack(ctx, tx, by, why)
}

// TakeOwnBack is TakeBack for whoever has the unit now, in its book: of what they
// added there themselves, without a reason. Everything else is not there.
func TakeOwnBack(ctx context.Context, tx pgx.Tx, by history.By, unitID, readingID int64) error {
	if readingID == 0 {
		return fault.Field("wrong", chooseWrong)
	}
	r, err := readingOf(ctx, tx, unitID, readingID)
	if err != nil {
		return err
	}
	if !r.Own {
		return errNoReading
	}
	return r.takeBack(ctx, tx, by, "")
}

// TakeBackAct takes back all readings of a unit that an act brought and that still
// stand. It appends no event: the caller's covers all of them.
func TakeBackAct(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, act, why string) error {
	_, err := tx.Exec(ctx, `insert into reading_taken_back (reading_id, unit_id, reason, actor_id, intent_id, at)
		select r.id, r.unit_id, $3, nullif($4, 0::bigint), $5, $6 from hour_reading r
		where r.unit_id = $1 and r.intent_id = $2 and not exists (select from reading_taken_back b where b.reading_id = r.id)`,
		unitID, act, why, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("take back readings of unit %d: %w", unitID, db.Translate(err))
	}
	return nil
}

const (
	chooseWrong  = "Choose which one is wrong."
	errNoReading = fault.NotFound("There is no such reading of this unit.")
)

func readingOf(ctx context.Context, q db.Querier, unitID, readingID int64) (Reading, error) {
	list, err := Readings(ctx, q, unitID)
	if err != nil {
		return Reading{}, err
	}
	for _, r := range list {
		if r.ID == readingID {
			return r, nil
		}
	}
	return Reading{}, errNoReading
}

func (r Reading) takeBack(ctx context.Context, tx pgx.Tx, by history.By, why string) error {
	if _, err := tx.Exec(ctx, `insert into reading_taken_back (reading_id, unit_id, reason, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0::bigint), $5, $6)`, r.ID, r.UnitID, why, by.Staff, by.Intent, by.At); err != nil {
		return fmt.Errorf("take back reading %d: %w", r.ID, db.Translate(err))
	}
	var customer int64
	if err := tx.QueryRow(ctx, "select customer_id from unit where id = $1", r.UnitID).Scan(&customer); err != nil {
		return fmt.Errorf("take back reading %d: %w", r.ID, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: r.UnitID, Customer: customer, Unit: r.UnitID,
		Kind: "ride hours taken back", Detail: map[string]any{"reading": r.ID, "kind": r.Kind}})
}
