package bill

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// Offer is a service of a visit that is not on its bill.
type Offer struct {
	wanted
	Charge
	Words string // of its line: the service, and how its price was got
}

// wanted is a service of a job, and who pays for it.
type wanted struct {
	JobID       int64
	Number      int
	ModelID     int64
	ServiceCode string
	Service     string
	Covers      []string // services that are done with it
	Quote       bool     // it is to find out what is to be done
	Currency    string
	Payer       string // who pays for the job, as the counter knew
	PayerWords  string
	Billed      bool
	Begun       bool   // work on the job was
	Ending      string // of the job; empty: it is open
}

// undone is whether its job ended otherwise than done.
func (w wanted) undone() bool { return w.Ending != "" && w.Ending != job.Done }

// PaidBy is who pays for it, as the counter knew.
func (w wanted) PaidBy() Payer { return PayerOf(w.Payer, w.PayerWords) }

// quoteSQL is whether the service s is to find out what is to be done.
const quoteSQL = "exists (select from unnest(s.blocks) b where b ~ '^Q(1|[ ]|$)')"

// Offers lists what is charged for and not on the bill, by ticket.
func Offers(ctx context.Context, q db.Querier, visitID int64) ([]Offer, error) {
	services, err := wantedOf(ctx, q, visitID)
	if err != nil {
		return nil, err
	}
	services = slices.DeleteFunc(charged(services), func(w wanted) bool { return w.Billed })
	if len(services) == 0 {
		return nil, nil
	}
	list, err := Listed(ctx, q)
	return list.offers(services), err
}

// wantedOf lists the services of a visit by ticket, whether charged for or not.
func wantedOf(ctx context.Context, q db.Querier, visitID int64) ([]wanted, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number, coalesce(u.model_id, 0) as model_id, s.code as service_code, s.name as service,
			s.covers, `+quoteSQL+` as quote, v.currency, j.payer, coalesce(w.payer_words, '') as payer_words,
			j.started_at is not null as begun, coalesce(j.ending, '') as ending,
			exists (select from bill_line l where l.job_id = j.id and l.service_code = s.code and l.reverses is null
				and not exists (select from bill_line x where x.reverses = l.id)) as billed
		from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id left join job_words w on w.job_id = j.id
		join job_service o on o.job_id = j.id join service s on s.code = o.service_code
		where j.visit_id = $1 order by j.number, s.seq, s.code`, visitID)
	services, err := db.All[wanted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read services of visit: %w", err)
	}
	return services, nil
}

// charged leaves out what has no price of its own: a service that another one
// of the same job covers, and a quote beside work that followed from it, since
// taking apart is part of that. Of a job that ended otherwise than done a quote
// alone is charged, once anything was begun: common practice (no source).
func charged(list []wanted) []wanted {
	return slices.DeleteFunc(slices.Clone(list), func(w wanted) bool {
		if w.undone() {
			return !w.Quote || !w.Begun
		}
		return w.within(list) != nil
	})
}

// within is the service of the same job that one is charged for with; nil where
// it has a price of its own.
func (w wanted) within(list []wanted) *wanted {
	for i, o := range list {
		if o.JobID == w.JobID && o.ServiceCode != w.ServiceCode && (slices.Contains(o.Covers, w.ServiceCode) || w.Quote && !o.Quote) {
			return &list[i]
		}
	}
	return nil
}

// uncharged says why a service of a job cannot be put on the bill.
func uncharged(list []wanted, jobID int64, code string) error {
	i := slices.IndexFunc(list, func(w wanted) bool { return w.JobID == jobID && w.ServiceCode == code })
	if i < 0 {
		return fault.Conflict("That service is not one of the job’s.")
	}
	w := list[i]
	switch with := w.within(list); {
	case w.Billed:
		return fault.Conflict("“" + w.Service + "” is on the bill already.")
	case w.undone() && w.Quote && w.Begun:
		return nil
	case w.undone():
		return fault.Conflict("This job ended as “" + w.Ending + "”, and “" + w.Service + "” was not done.")
	case with != nil:
		return fault.Conflict("“" + with.Service + "” on this job covers “" + w.Service + "”, which has no price of its own beside it.")
	}
	return nil
}

// offers says what each costs.
func (l List) offers(services []wanted) (list []Offer) {
	for _, w := range services {
		c := l.For(w.ServiceCode, w.ModelID, w.Currency)
		list = append(list, Offer{w, c, l.words(w.Service, c)})
	}
	return list
}

// TakeListed writes a line for every offer that has a price, for whoever pays
// for the job. taxIncluded says what the prices of the list hold.
func TakeListed(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, taxIncluded bool) error {
	return TakeListedBut(ctx, tx, by, visitID, taxIncluded, func(Offer) bool { return false })
}

// TakeListedBut is TakeListed without the offers that are charged otherwise.
func TakeListedBut(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, taxIncluded bool, but func(Offer) bool) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	offers, err := Offers(ctx, tx, visitID)
	if err != nil {
		return err
	}
	taken := 0
	for _, o := range offers {
		if o.Minor == nil || but(o) {
			continue
		}
		l := NewLine{JobID: o.JobID, ServiceCode: o.ServiceCode, Payer: o.Payer, PayerWords: o.PaidBy().Words, Kind: KindService, Words: o.Words,
			QtyMilli: 1000, UnitMinor: *o.Minor, TaxCode: o.Tax.Code, TaxIncluded: taxIncluded}
		if err := v.add(ctx, tx, by, l); err != nil {
			return err
		}
		taken++
	}
	if taken == 0 {
		return fault.Conflict("There is no listed price that is not on the bill already.")
	}
	return nil
}
