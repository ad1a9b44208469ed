package bill

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Price is the price of a service as it is in force.
type Price struct {
	ServiceCode string
	Service     string
	Minor       *int64 // nil: none
	Currency    string
	TaxCode     string
	Version     int // 0: never set
}

// mostMinor is the highest price of one piece.
const mostMinor = 100_000_000_000

// Prices lists every service with its price, in the order they are offered.
func Prices(ctx context.Context, q db.Querier) ([]Price, error) {
	rows, err := q.Query(ctx, `select s.code as service_code, s.name as service, p.minor, coalesce(p.currency, '') as currency,
			coalesce(p.tax_code, '') as tax_code, coalesce(p.version, 0) as version
		from service s left join `+pricesInUse+` p on p.service_code = s.code order by s.seq, s.code`)
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
		return fault.Forbidden("Prices and taxes are set by an owner.")
	}
	rates, err := TaxRates(ctx, tx)
	if err != nil {
		return err
	}
	now, err := Prices(ctx, tx)
	if err != nil {
		return err
	}
	wrong := map[string]string{}
	for _, p := range list {
		p.check(rates, wrong)
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	for _, p := range list {
		i := slices.IndexFunc(now, func(n Price) bool { return n.ServiceCode == p.ServiceCode })
		if i < 0 || now[i].same(p) {
			continue
		}
		if err := p.set(ctx, tx, by); err != nil {
			return fmt.Errorf("set price of %s: %w", p.ServiceCode, err)
		}
	}
	return nil
}

func (p Price) check(rates []TaxRate, wrong map[string]string) {
	if p.Minor == nil {
		return
	}
	if *p.Minor < 0 || *p.Minor > mostMinor {
		wrong["price."+p.ServiceCode] = "That is too large for a price."
	}
	if !slices.ContainsFunc(rates, func(r TaxRate) bool { return r.Code == p.TaxCode }) {
		wrong["tax."+p.ServiceCode] = "Choose the tax that it is sold under."
	}
}

// same reports whether nothing that is sold differs; without a price the tax
// does not matter.
func (p Price) same(with Price) bool {
	if p.Minor == nil || with.Minor == nil {
		return p.Minor == nil && with.Minor == nil
	}
	return *p.Minor == *with.Minor && p.Currency == with.Currency && p.TaxCode == with.TaxCode
}

func (p Price) set(ctx context.Context, tx pgx.Tx, by history.By) error {
	err := db.Changed(tx.Exec(ctx, `insert into price (service_code, version, minor, currency, tax_code, actor_id, intent_id, at)
		select $1, $2 + 1, $3, $4, nullif($5, ''), nullif($6, 0::bigint), $7, $8
		where $2 = (select coalesce(max(version), 0) from price where service_code = $1)`,
		p.ServiceCode, p.Version, p.Minor, p.Currency, p.TaxCode, by.Staff, by.Intent, by.At))
	if err != nil {
		return db.Translate(err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "price set",
		Detail: map[string]any{"service": p.ServiceCode, "minor": p.Minor, "currency": p.Currency, "version": p.Version + 1}})
}
