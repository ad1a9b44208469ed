package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
)

// Hour is what an hour at the bench costs, for services that are charged by
// book time. It holds its tax where the prices of the list do.
type Hour struct {
	Minor    *int64 // nil: none
	Currency string
	Version  int // 0: never set
}

const hourSQL = "select minor, currency, version from hourly_rate order by version desc limit 1"

// Takes is what so many minutes come to, rounded once, half up; nil without a
// rate.
func (h Hour) Takes(minutes int) *int64 {
	if h.Minor == nil {
		return nil
	}
	minor := money.ForMinutes(*h.Minor, minutes)
	return &minor
}

// Words says how book time came to an amount: "45 min at £60.00 an hour".
func (h Hour) Words(minutes int) string {
	return fmt.Sprintf("%d min at %s an hour", minutes, money.Format(*h.Minor, h.Currency))
}

// SetHour keeps a new version of the hourly rate where it differs from the one
// in force and is still at the version the person saw. The field is "hour".
func SetHour(ctx context.Context, tx pgx.Tx, by history.By, h Hour) error {
	if !by.Has("owner") {
		return errOwner
	}
	if h.Minor != nil && (*h.Minor < 0 || *h.Minor > mostMinor) {
		return fault.Field("hour", "That is too large for a rate.")
	}
	list, err := Listed(ctx, tx)
	if err != nil || list.Hour.same(h) {
		return err
	}
	err = db.Changed(tx.Exec(ctx, `insert into hourly_rate (version, minor, currency, actor_id, intent_id, at)
		select $1 + 1, $2, $3, nullif($4, 0::bigint), $5, $6 where $1 = (select coalesce(max(version), 0) from hourly_rate)`,
		h.Version, h.Minor, h.Currency, by.Staff, by.Intent, by.At))
	if err != nil {
		return fmt.Errorf("set hourly rate: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "hourly rate set",
		Detail: map[string]any{"minor": h.Minor, "currency": h.Currency, "version": h.Version + 1}})
}

func (h Hour) same(with Hour) bool {
	if h.Minor == nil || with.Minor == nil {
		return h.Minor == nil && with.Minor == nil
	}
	return *h.Minor == *with.Minor && h.Currency == with.Currency
}
