package message

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Quiet is between which minutes of the day no message goes out, by the clock
// on the shop's wall; over midnight where Until is the smaller, never where both
// are the same.
type Quiet struct {
	FromMin, UntilMin int
	Version           int // 0: the shop never set it
}

// UsualQuiet holds until the shop sets its own: common practice (no source).
func UsualQuiet() Quiet { return Quiet{FromMin: 20 * 60, UntilMin: 8 * 60} }

// At reports whether nothing goes out at that moment, in the zone of the shop.
func (h Quiet) At(at time.Time, zone *time.Location) bool {
	wall := at.In(zone)
	min := wall.Hour()*60 + wall.Minute()
	if h.FromMin <= h.UntilMin {
		return h.FromMin <= min && min < h.UntilMin
	}
	return h.FromMin <= min || min < h.UntilMin
}

// After is the first moment from at on when messages go out. It is looked for
// minute by minute: where the clocks change there are minutes that come twice,
// or never.
func (h Quiet) After(at time.Time, zone *time.Location) time.Time {
	for h.At(at, zone) {
		at = at.Truncate(time.Minute).Add(time.Minute)
	}
	return at
}

// GetQuiet reads what stands.
func GetQuiet(ctx context.Context, q db.Querier) (h Quiet, err error) {
	err = q.QueryRow(ctx, "select from_min, until_min, version from quiet_hours").Scan(&h.FromMin, &h.UntilMin, &h.Version)
	if errors.Is(err, pgx.ErrNoRows) {
		return UsualQuiet(), nil
	}
	if err != nil {
		return h, fmt.Errorf("read quiet hours: %w", err)
	}
	return h, nil
}

// SetQuiet sets it over the version that was read. The fields are from and until.
func SetQuiet(ctx context.Context, tx pgx.Tx, by history.By, h Quiet) error {
	if !by.Has("owner") {
		return fault.Forbidden("Quiet hours are set by an owner.")
	}
	wrong := map[string]string{}
	for field, min := range map[string]int{"from": h.FromMin, "until": h.UntilMin} {
		if min < 0 || min >= 24*60 {
			wrong[field] = "Say a time of the day, such as 20:00."
		}
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	sql := "insert into quiet_hours (from_min, until_min, version) select $1, $2, 1 where $3 = 0 on conflict (id) do nothing"
	if h.Version != 0 {
		sql = "update quiet_hours set from_min = $1, until_min = $2, version = version + 1 where version = $3"
	}
	if err := db.Changed(tx.Exec(ctx, sql, h.FromMin, h.UntilMin, h.Version)); err != nil {
		return fmt.Errorf("set quiet hours: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "quiet hours set",
		Detail: map[string]any{"from": h.FromMin, "until": h.UntilMin}})
}
