package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Price is the price of a service as it is in force, on one model where ModelID
// is not 0.
type Price struct {
	ServiceCode string
	Service     string
	ModelID     int64
	Minor       *int64 // nil: none, or by book time
	ByTime      bool   // it is the book time at the hourly rate
	Currency    string
	TaxCode     string
	Version     int // 0: never set
}

// mostMinor is the highest price of one piece.
const mostMinor = 100_000_000_000

const priceColumns = `s.code as service_code, s.name as service, coalesce(p.model_id, 0) as model_id, p.minor, coalesce(p.by_time, false) as by_time,
	coalesce(p.currency, '') as currency, coalesce(p.tax_code, '') as tax_code, coalesce(p.version, 0) as version`

var errOwner = fault.Forbidden("Prices and taxes are set by an owner.")

// Says reports whether it says what the service costs.
func (p Price) Says() bool { return p.Minor != nil || p.ByTime }

// Prices lists every service with its price on any model, in the order they are
// offered.
func Prices(ctx context.Context, q db.Querier) ([]Price, error) {
	rows, err := q.Query(ctx, "select "+priceColumns+" from service s left join "+pricesInUse+` p on p.service_code = s.code and p.model_id is null
		order by s.seq, s.code`)
	list, err := db.All[Price](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list prices: %w", err)
	}
	return list, nil
}

// SetPrices keeps a new version of each price that differs from the one in
// force and is still at the version the person saw. The fields are the codes of
// the services after "price." and "tax.".
func SetPrices(ctx context.Context, tx pgx.Tx, by history.By, list []Price) error {
	if !by.Has("owner") {
		return errOwner
	}
	now, err := Listed(ctx, tx)
	if err != nil {
		return err
	}
	wrong := map[string]string{}
	for _, p := range list {
		p.check(now, wrong)
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	for _, p := range list {
		if now.Of(p.ServiceCode, p.ModelID).same(p) {
			continue
		}
		if err := p.set(ctx, tx, by); err != nil {
			return fmt.Errorf("set price of %s: %w", p.ServiceCode, err)
		}
	}
	return nil
}

func (p Price) check(now List, wrong map[string]string) {
	field := "price." + p.ServiceCode
	switch {
	case !p.Says():
		return
	case p.ByTime && p.Minor != nil:
		wrong[field] = "Leave this empty where it goes by book time."
	case p.ByTime && now.Hour.Minor == nil:
		wrong[field] = "Say first what an hour costs."
	case p.ByTime:
	case *p.Minor < 0 || *p.Minor > mostMinor:
		wrong[field] = "That is too large for a price."
	}
	if now.rate(p.TaxCode).Code == "" {
		wrong["tax."+p.ServiceCode] = "Choose the tax that it is sold under."
	}
}

// same reports whether nothing that is sold differs; without a price the tax
// does not matter.
func (p Price) same(with Price) bool {
	switch {
	case !p.Says() || !with.Says():
		return p.Says() == with.Says()
	case p.ByTime || with.ByTime:
		return p.ByTime == with.ByTime && p.TaxCode == with.TaxCode
	}
	return *p.Minor == *with.Minor && p.Currency == with.Currency && p.TaxCode == with.TaxCode
}

func (p Price) set(ctx context.Context, tx pgx.Tx, by history.By) error {
	err := db.Changed(tx.Exec(ctx, `insert into price (service_code, version, minor, currency, tax_code, actor_id, intent_id, at, model_id, by_time)
		select $1, $2 + 1, $3, $4, nullif($5, ''), nullif($6, 0::bigint), $7, $8, nullif($9, 0::bigint), $10
		where $2 = (select coalesce(max(version), 0) from price where service_code = $1 and model_id is not distinct from nullif($9, 0::bigint))`,
		p.ServiceCode, p.Version, p.Minor, p.Currency, p.TaxCode, by.Staff, by.Intent, by.At, p.ModelID, p.ByTime))
	if err != nil {
		return db.Translate(err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "price set",
		Detail: map[string]any{"service": p.ServiceCode, "model": p.ModelID, "minor": p.Minor, "by_time": p.ByTime, "currency": p.Currency, "version": p.Version + 1}})
}
