package interval

import (
	"cmp"
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Bring writes down what was said of a unit to another shop; each reading keeps
// the time it was said at. It appends no event: the caller's covers all of them.
func Bring(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, list []Reading) error {
	batch := &pgx.Batch{}
	for _, r := range list {
		if r.Kind != Stated && r.Kind != Habit && r.Kind != Meter {
			return fault.Field("file", "The file has ride hours of a kind that is not known.")
		}
		batch.Queue(`insert into hour_reading (unit_id, kind, hours, rides_a_week, hours_a_ride, since, source, actor_id, intent_id, at,
				on_day, season, conditions, indoor_hours)
			values ($1, $2, case when $2 <> 'habit' then $3::double precision end, case when $2 = 'habit' then $4::double precision end,
				case when $2 = 'habit' then $5::double precision end, $6, $7, nullif($8, 0::bigint), $9, $10, $11, $12, $13, $14)`,
			unitID, r.Kind, r.Hours, r.RidesAWeek, r.HoursARide, r.Since, r.Source, by.Staff, by.Intent, r.At,
			r.OnDay, cmp.Or(r.Season, AllYear), append([]string{}, r.Conditions...), r.IndoorHours)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("bring ride hours of unit %d: %w", unitID, db.Translate(err))
	}
	return nil
}
