package bill

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

const lineSQL = `select l.id, l.visit_id, coalesce(l.job_id, 0) as job_id, coalesce(j.number, 0) as number,
		l.payer, l.payer_words, l.kind, coalesce(l.service_code, '') as service_code, l.words, l.qty_milli, l.unit_minor, l.currency,
		t.code as tax_code, t.name as tax_name, t.bp as tax_bp, l.tax_included, l.tax_by_line, l.discount_minor, l.discount_bp, l.discount_reason, l.share_bp,
		coalesce(l.reverses, 0) as reverses, l.reason, coalesce(o.id, 0) as reversed_by, coalesce(a.name, '') as actor, l.at
	from bill_line l join tax_rate t on t.id = l.tax_id left join job j on j.id = l.job_id
	left join bill_line o on o.reverses = l.id left join staff a on a.id = l.actor_id
	where l.visit_id = any ($1) order by l.id`

const paymentSQL = `select p.id, p.visit_id, p.kind, p.words, p.minor as minor_paid, p.currency, p.payer, p.payer_words, p.deposit, coalesce(p.rounds, 0) as rounds, p.owed_minor,
		coalesce(p.reverses, 0) as reverses, p.reason, coalesce(o.id, 0) as reversed_by, coalesce(a.name, '') as actor, p.at
	from payment p left join payment o on o.reverses = p.id left join staff a on a.id = p.actor_id
	where p.visit_id = any ($1) order by p.id`

// Get reads the bill of a visit.
func Get(ctx context.Context, q db.Querier, visitID int64) (Bill, error) {
	bills, err := read(ctx, q, []int64{visitID})
	if err == nil && bills[visitID] == nil {
		err = fault.NotFound("There is no such visit.")
	}
	if err != nil {
		return Bill{}, fmt.Errorf("read bill: %w", err)
	}
	return *bills[visitID], nil
}

// Owed reads how the customers of visits stand. A visit without a bill has
// the zero Balance of its currency.
func Owed(ctx context.Context, q db.Querier, visitIDs []int64) (map[int64]Balance, error) {
	bills, err := read(ctx, q, visitIDs)
	if err != nil {
		return nil, fmt.Errorf("read what is owed: %w", err)
	}
	balances := make(map[int64]Balance, len(bills))
	for id, b := range bills {
		balances[id] = b.Balance()
	}
	return balances, nil
}

func read(ctx context.Context, q db.Querier, visitIDs []int64) (map[int64]*Bill, error) {
	type visit struct {
		ID         int64
		Currency   string
		LimitMinor *int64
	}
	rows, err := q.Query(ctx, "select id, currency, limit_minor from visit where id = any ($1)", visitIDs)
	visits, err := db.All[visit](rows, err)
	if err != nil {
		return nil, err
	}
	bills := make(map[int64]*Bill, len(visits))
	for _, v := range visits {
		bills[v.ID] = &Bill{VisitID: v.ID, Currency: v.Currency, LimitMinor: v.LimitMinor}
	}
	rows, err = q.Query(ctx, lineSQL, visitIDs)
	lines, err := db.All[Line](rows, err)
	if err != nil {
		return nil, err
	}
	for _, l := range lines {
		bills[l.VisitID].Lines = append(bills[l.VisitID].Lines, l)
	}
	rows, err = q.Query(ctx, paymentSQL, visitIDs)
	payments, err := db.All[Payment](rows, err)
	for _, p := range payments {
		bills[p.VisitID].Payments = append(bills[p.VisitID].Payments, p)
	}
	return bills, err
}
