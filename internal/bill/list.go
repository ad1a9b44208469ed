package bill

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
)

// List is the price list as it is in force. What a service costs is asked of it
// and nowhere else.
type List struct {
	Hour   Hour
	prices []Price
	rates  []TaxRate
	times  job.Times // as they are booked
}

// Charge is what a service costs on a model.
type Charge struct {
	Minor   *int64 // nil: the list has no price
	Minutes int    // booked, where it goes by book time; 0: an amount of the list
	Tax     TaxRate
}

// Listed reads the price list.
func Listed(ctx context.Context, q db.Querier) (List, error) {
	var (
		l     List
		hours []Hour
		b     pgx.Batch
	)
	db.Queue(&b, &l.prices, "select "+priceColumns+" from "+pricesInUse+" p join service s on s.code = p.service_code order by s.seq, s.code, p.model_id")
	db.Queue(&b, &l.rates, ratesSQL)
	db.Queue(&b, &hours, hourSQL)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return l, fmt.Errorf("read price list: %w", err)
	}
	if len(hours) > 0 {
		l.Hour = hours[0]
	}
	var err error
	l.times, err = job.BookTimes(ctx, q)
	return l, err
}

// For is what a service costs on a model (0: not known) in a currency: the price
// for the model, else the one for any.
func (l List) For(service string, model int64, currency string) Charge {
	p := l.Of(service, model)
	if p.Version == 0 || !p.Says() {
		p = l.Of(service, 0)
	}
	c := Charge{Minor: p.Minor, Tax: l.rate(p.TaxCode)}
	if p.ByTime {
		c.Minutes, _ = l.times.Minutes(service, model)
		c.Minor, p.Currency = l.Hour.Takes(c.Minutes), l.Hour.Currency
	}
	if p.Currency != currency {
		c.Minor = nil
	}
	if c.Minor == nil {
		c.Minutes = 0
	}
	return c
}

// Of is the version in force for just that model; the zero Price for none.
func (l List) Of(service string, model int64) Price {
	i := slices.IndexFunc(l.prices, func(p Price) bool { return p.ServiceCode == service && p.ModelID == model })
	if i < 0 {
		return Price{}
	}
	return l.prices[i]
}

func (l List) rate(code string) TaxRate {
	i := slices.IndexFunc(l.rates, func(r TaxRate) bool { return r.Code == code })
	if i < 0 {
		return TaxRate{}
	}
	return l.rates[i]
}

// OfModels are the prices for single models.
func (l List) OfModels() []Price {
	return slices.DeleteFunc(slices.Clone(l.prices), func(p Price) bool { return p.ModelID == 0 || !p.Says() })
}

// words is what a line for a service says, with how its price was got.
func (l List) words(service string, c Charge) string {
	if c.Minutes == 0 {
		return service
	}
	return service + ", " + l.Hour.Words(c.Minutes)
}
