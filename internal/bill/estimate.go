package bill

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Estimate is what the services wanted were said to come to as a visit began,
// and stays as it was told.
type Estimate struct {
	ID          int64
	VisitID     int64
	Currency    string
	TotalMinor  int64 // for the customer, with its tax, of what has a price
	TaxMinor    int64 // of that
	TaxIncluded bool  // in the amounts of its lines
	At          time.Time

	Lines  []EstimateLine  `db:"-"`
	Shares []EstimateShare `db:"-"` // of who pays beside the customer
}

// EstimateLine is one service of it.
type EstimateLine struct {
	JobID       int64
	Number      int // the ticket; before there is one, which unit it is, from 1
	ServiceCode string
	Words       string
	Minor       *int64 // nil: no price was told
	Quote       bool   // not charged beside work that follows from it
	Payer       string
	PayerWords  string
}

// PaidBy is who pays for it.
func (l EstimateLine) PaidBy() Payer { return PayerOf(l.Payer, l.PayerWords) }

// EstimateShare is what it comes to for somebody other than the customer.
type EstimateShare struct {
	Payer      string
	PayerWords string
	TotalMinor int64
	TaxMinor   int64
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

// AboveMinor is by how much the customer's total is above what may be spent
// without asking; 0 where it is not, or nothing may.
func (e Estimate) AboveMinor(limit *int64) int64 {
	if limit == nil {
		return 0
	}
	return max(0, e.TotalMinor-*limit)
}

// Taxing is how a shop has its prices and their tax.
type Taxing struct {
	Included bool // in the prices of the list
	ByLine   bool // rounded for each line, and not for their sum
}

// line is the offer as it would stand on a bill.
func (o Offer) line(t Taxing) Line {
	return Line{JobID: o.JobID, ServiceCode: o.ServiceCode, Payer: o.Payer, PayerWords: o.PayerWords, Kind: KindService, Words: o.Words,
		QtyMilli: 1000, UnitMinor: *o.Minor, TaxCode: o.Tax.Code, TaxName: o.Tax.Name, TaxBP: o.Tax.BP, TaxIncluded: t.Included, TaxByLine: t.ByLine}
}

// With is the bill with offers on it that have a price, as it will be.
func (b Bill) With(offers []Offer, t Taxing) Bill {
	b.Lines = slices.Clone(b.Lines)
	for _, o := range offers {
		if o.Minor != nil {
			b.Lines = append(b.Lines, o.line(t))
		}
	}
	return b
}

// estimated is what offers come to, as a bill of them would.
func estimated(offers []Offer, currency string, t Taxing) Estimate {
	e, b := Estimate{Currency: currency, TaxIncluded: t.Included}, Bill{}.With(offers, t)
	for _, o := range offers {
		e.Lines = append(e.Lines, EstimateLine{JobID: o.JobID, Number: o.Number, ServiceCode: o.ServiceCode, Words: o.Words, Minor: o.Minor, Quote: o.Quote,
			Payer: o.PaidBy().Kind, PayerWords: o.PaidBy().Words})
	}
	for _, p := range b.Payers() {
		total := Sum(b.Lines, p)
		if p == TheCustomer {
			e.TotalMinor, e.TaxMinor = total.GrossMinor(), total.TaxMinor
			continue
		}
		e.Shares = append(e.Shares, EstimateShare{p.Kind, p.Words, total.GrossMinor(), total.TaxMinor})
	}
	return e
}

// Unit is one of those a customer brings, and what is wanted of it.
type Unit struct {
	Services []string // codes
	ModelID  int64    // 0: not known
	Payer    Payer
}

// Foretell is what Tell would keep of units that are about to come.
func Foretell(ctx context.Context, q db.Querier, units []Unit, currency string, t Taxing) (Estimate, error) {
	rows, err := q.Query(ctx, "select s.code as service_code, s.name as service, s.covers, "+quoteSQL+" as quote from service s order by s.seq, s.code")
	services, err := db.All[struct {
		ServiceCode, Service string
		Covers               []string
		Quote                bool
	}](rows, err)
	if err != nil {
		return Estimate{}, fmt.Errorf("read services: %w", err)
	}
	var list []wanted
	for i, u := range units {
		for _, s := range services {
			if slices.Contains(u.Services, s.ServiceCode) {
				list = append(list, wanted{JobID: int64(i + 1), Number: i + 1, ModelID: u.ModelID, ServiceCode: s.ServiceCode, Service: s.Service,
					Covers: s.Covers, Quote: s.Quote, Currency: currency, Payer: u.Payer.Kind, PayerWords: u.Payer.Words})
			}
		}
	}
	prices, err := Listed(ctx, q)
	return estimated(prices.offers(charged(list)), currency, t), err
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
	e := estimated(offers, v.currency, Taxing{taxIncluded, v.taxByLine})
	id, err := e.keep(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	return v.append(ctx, tx, by, 0, "estimate told", map[string]any{"estimate": id, "minor": e.TotalMinor, "currency": v.currency})
}

func (e Estimate) keep(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into estimate (visit_id, currency, total_minor, tax_minor, tax_included, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
		visitID, e.Currency, e.TotalMinor, e.TaxMinor, e.TaxIncluded, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep estimate: %w", db.Translate(err))
	}
	var batch pgx.Batch
	for _, l := range e.Lines {
		batch.Queue(`insert into estimate_line (estimate_id, job_id, service_code, words, minor, payer, payer_words, intent_id)
			values ($1, $2, $3, $4, $5, $6, $7, $8)`, id, l.JobID, l.ServiceCode, l.Words, l.Minor, l.Payer, l.PayerWords, by.Intent)
	}
	for _, s := range e.Shares {
		batch.Queue("insert into estimate_share (estimate_id, payer, payer_words, total_minor, tax_minor, intent_id) values ($1, $2, $3, $4, $5, $6)",
			id, s.Payer, s.PayerWords, s.TotalMinor, s.TaxMinor, by.Intent)
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return 0, fmt.Errorf("keep lines of estimate: %w", db.Translate(err))
	}
	return id, nil
}

// Told reads the estimate of a visit, the zero one where none was told.
func Told(ctx context.Context, q db.Querier, visitID int64) (Estimate, error) {
	var (
		list []Estimate
		e    Estimate
		b    pgx.Batch
	)
	db.Queue(&b, &list, "select id, visit_id, currency, total_minor, tax_minor, tax_included, at from estimate where visit_id = $1", visitID)
	db.Queue(&b, &e.Lines, `select l.job_id, j.number, l.service_code, l.words, l.minor, l.payer, l.payer_words, `+quoteSQL+` as quote
		from estimate_line l join estimate e on e.id = l.estimate_id join job j on j.id = l.job_id join service s on s.code = l.service_code where e.visit_id = $1 order by l.id`, visitID)
	db.Queue(&b, &e.Shares, `select s.payer, s.payer_words, s.total_minor, s.tax_minor
		from estimate_share s join estimate e on e.id = s.estimate_id where e.visit_id = $1 order by s.id`, visitID)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return e, fmt.Errorf("read estimate: %w", err)
	}
	if len(list) > 0 {
		list[0].Lines, list[0].Shares = e.Lines, e.Shares
		return list[0], nil
	}
	return e, nil
}
