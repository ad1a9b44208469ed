package bill

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// Part is something a job of a visit took off the shelf that has a sale price and
// is not on the bill.
type Part struct {
	NeedID     int64
	JobID      int64
	Number     int
	Item       string
	Kind       stock.Sort
	Measure    stock.Measure
	Qty        int64
	SaleMinor  int64 // of a piece, a litre, a kilogram
	TaxCode    string
	Payer      string
	PayerWords string
}

// Minor is what it comes to.
func (p Part) Minor() int64 { return p.Measure.Worth(p.SaleMinor, p.Qty) }

// Words is what its line says: pieces are counted there, an amount is one price.
func (p Part) Words() string {
	if p.Measure == stock.Each {
		return p.Item
	}
	return p.Item + ", " + strings.ReplaceAll(p.Measure.Format(p.Qty), "\u00a0", " ")
}

// Parts lists what can be put on the bill of a visit. A sale price is in the shop's
// currency, so that a visit in another one has none.
func Parts(ctx context.Context, q db.Querier, visitID int64) ([]Part, error) {
	rows, err := q.Query(ctx, `select n.id as need_id, j.id as job_id, j.number, i.name as item, i.kind, i.measure, n.used + n.unposted as qty,
			i.sale_minor, coalesce(i.tax_code, '') as tax_code, j.payer, coalesce(w.payer_words, '') as payer_words
		from job j join visit v on v.id = j.visit_id join shop s on s.currency = v.currency
		join need n on n.job_id = j.id and n.choice = 'new' and n.used + n.unposted > 0
		join item i on i.id = n.item_id and i.sale_minor is not null left join job_words w on w.job_id = j.id
		where j.visit_id = $1 and not exists (select from bill_line l where l.need_id = n.id and l.reverses is null
			and not exists (select from bill_line x where x.reverses = l.id))
		order by j.number, n.step_key, i.code_key`, visitID)
	list, err := db.All[Part](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list parts to bill: %w", err)
	}
	return list, nil
}

// TakeParts writes a line for each part that was used and is not on the bill, at its
// sale price. inside says that those hold their tax.
func TakeParts(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, inside bool) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	parts, err := Parts(ctx, tx, visitID)
	if err != nil {
		return err
	}
	if len(parts) == 0 {
		return fault.Conflict("Every part that was used and has a sale price is on the bill already.")
	}
	rates, err := TaxRates(ctx, tx)
	if err != nil {
		return err
	}
	if len(rates) == 0 {
		return fault.Conflict("A line needs a tax, and there is none yet: an owner adds one under “Services and prices”.")
	}
	for _, p := range parts {
		l := NewLine{JobID: p.JobID, NeedID: p.NeedID, Payer: p.Payer, PayerWords: p.PayerWords, Kind: "part", Words: p.Words(),
			QtyMilli: 1000, UnitMinor: p.Minor(), TaxCode: cmp.Or(p.TaxCode, rates[0].Code), TaxIncluded: inside}
		if p.Kind == stock.Fluid || p.Kind == stock.Grease {
			l.Kind = "fluid"
		}
		if p.Measure == stock.Each {
			l.QtyMilli, l.UnitMinor = p.Qty*1000, p.SaleMinor
		}
		l = l.tidy()
		if err := l.check(); err != nil {
			return err
		}
		if err := v.add(ctx, tx, by, l); err != nil {
			return err
		}
	}
	return nil
}
