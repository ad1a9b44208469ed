package bill

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

// Estimate is what the services wanted were said to come to as a visit began,
// and stays as it was told.
type Estimate struct {
	ID          int64
	VisitID     int64
	Currency    string
	TotalMinor  int64 // with its tax, of what has a price
	TaxMinor    int64 // of that
	TaxIncluded bool  // in the amounts of its lines
	At          time.Time

	Lines []EstimateLine `db:"-"`
}

// EstimateLine is one service of it.
type EstimateLine struct {
	JobID  int64
	Number int
	Words  string
	Minor  *int64 // nil: no price was told
}

// Unpriced counts the services that no price was told for.
func (e Estimate) Unpriced() int {
	n := 0
	for _, l := range e.Lines {
		if l.Minor == nil {
			n++
		}
	}
	return n
}

// reckoned is what offers come to for the customer, as a bill of them would.
func reckoned(offers []Offer, taxIncluded, taxByLine bool) Total {
	var lines []Line
	for _, o := range offers {
		if o.Minor != nil {
			lines = append(lines, Line{Payer: ByCustomer, QtyMilli: 1000, UnitMinor: *o.Minor, TaxCode: o.Tax.Code, TaxName: o.Tax.Name,
				TaxBP: o.Tax.BP, TaxIncluded: taxIncluded, TaxByLine: taxByLine})
		}
	}
	return Sum(lines, ByCustomer)
}

// Tell keeps what the services of a visit come to at the listed prices, as it
// begins. Where nothing is wanted, nothing is kept.
func Tell(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, taxIncluded bool) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	offers, err := Offers(ctx, tx, visitID)
	if err != nil || len(offers) == 0 {
		return err
	}
	total := reckoned(offers, taxIncluded, v.taxByLine)
	var id int64
	err = tx.QueryRow(ctx, `insert into estimate (visit_id, currency, total_minor, tax_minor, tax_included, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
		visitID, v.currency, total.GrossMinor(), total.TaxMinor, taxIncluded, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("keep estimate: %w", db.Translate(err))
	}
	var batch pgx.Batch
	for _, o := range offers {
		batch.Queue(`insert into estimate_line (estimate_id, job_id, service_code, words, minor, intent_id) values ($1, $2, $3, $4, $5, $6)`,
			id, o.JobID, o.ServiceCode, o.Words, o.Minor, by.Intent)
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("keep lines of estimate: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, 0, "estimate told", map[string]any{"estimate": id, "minor": total.GrossMinor(), "currency": v.currency})
}

// Told reads the estimate of a visit, the zero one where none was told.
func Told(ctx context.Context, q db.Querier, visitID int64) (Estimate, error) {
	rows, err := q.Query(ctx, `select id, visit_id, currency, total_minor, tax_minor, tax_included, at from estimate where visit_id = $1`, visitID)
	e, err := db.One[Estimate](rows, err, "estimate")
	if errors.As(err, new(fault.NotFound)) {
		return Estimate{}, nil
	}
	if err != nil {
		return e, fmt.Errorf("read estimate: %w", err)
	}
	rows, err = q.Query(ctx, `select l.job_id, j.number, l.words, l.minor from estimate_line l join job j on j.id = l.job_id
		where l.estimate_id = $1 order by l.id`, e.ID)
	if e.Lines, err = db.All[EstimateLine](rows, err); err != nil {
		return e, fmt.Errorf("read lines of estimate: %w", err)
	}
	return e, nil
}
