package message

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Setting says when customers are written to by the clock.
type Setting struct {
	FirstRideDays int // after hand-over; 0: never
	StillHereDays int // between what is said of a unit that is not fetched; 0: never
	Version       int // 0: never set
}

// Shipped stands until the shop sets its own. Common practice (no source).
var Shipped = Setting{FirstRideDays: 10, StillHereDays: 7}

const mostDays = 60

// GetSetting reads what stands.
func GetSetting(ctx context.Context, q db.Querier) (s Setting, err error) {
	err = q.QueryRow(ctx, "select first_ride_days, still_here_days, version from message_setting").Scan(&s.FirstRideDays, &s.StillHereDays, &s.Version)
	if errors.Is(err, pgx.ErrNoRows) {
		return Shipped, nil
	}
	if err != nil {
		return s, fmt.Errorf("read when customers are written to: %w", err)
	}
	return s, nil
}

// SetSetting sets it over the version that was read. The fields are firstride
// and stillhere.
func SetSetting(ctx context.Context, tx pgx.Tx, by history.By, s Setting) error {
	if !by.Has("owner") {
		return fault.Forbidden("When customers are written to is set by an owner.")
	}
	wrong := map[string]string{}
	for field, days := range map[string]int{"firstride": s.FirstRideDays, "stillhere": s.StillHereDays} {
		if days < 0 || days > mostDays {
			wrong[field] = fmt.Sprintf("Give days from 1 to %d, or 0 for never.", mostDays)
		}
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	sql := "insert into message_setting (first_ride_days, still_here_days, version) select $1, $2, 1 where $3 = 0 on conflict (id) do nothing"
	if s.Version != 0 {
		sql = "update message_setting set first_ride_days = $1, still_here_days = $2, version = version + 1 where version = $3"
	}
	err := db.Changed(tx.Exec(ctx, sql, s.FirstRideDays, s.StillHereDays, s.Version))
	if err != nil {
		return fmt.Errorf("set when customers are written to: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "messages by the clock set",
		Detail: map[string]any{"first ride": s.FirstRideDays, "still here": s.StillHereDays}})
}
