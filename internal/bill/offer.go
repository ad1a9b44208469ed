package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
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
	Currency    string
	Payer       string // who pays for the job, as the counter knew
	PayerWords  string
}

// Offers lists them by ticket. A service that another one of the same job
// covers has no price of its own, and nothing is offered for a job that ended
// otherwise than done.
func Offers(ctx context.Context, q db.Querier, visitID int64) ([]Offer, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number, coalesce(u.model_id, 0) as model_id, e.code as service_code, e.name as service, v.currency,
			j.payer, coalesce(w.payer_words, '') as payer_words
		from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id left join job_words w on w.job_id = j.id
		join job_service o on o.job_id = j.id join service e on e.code = o.service_code
		where j.visit_id = $1 and coalesce(j.ending, 'done') = 'done'
			and not exists (select from job_service other join service c on c.code = other.service_code
				where other.job_id = j.id and e.code = any (c.covers))
			and not exists (select from bill_line l where l.job_id = j.id and l.service_code = e.code and l.reverses is null
				and not exists (select from bill_line x where x.reverses = l.id))
		order by j.number, e.seq, e.code`, visitID)
	services, err := db.All[wanted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read services not billed: %w", err)
	}
	if len(services) == 0 {
		return nil, nil
	}
	list, err := Listed(ctx, q)
	var offers []Offer
	for _, w := range services {
		offers = append(offers, list.offer(w))
	}
	return offers, err
}

// offer says what it costs.
func (l List) offer(w wanted) Offer {
	c := l.For(w.ServiceCode, w.ModelID, w.Currency)
	return Offer{w, c, l.words(w.Service, c)}
}

// TakeListed writes a line for every offer that has a price, for whoever pays
// for the job. taxIncluded says what the prices of the list hold.
func TakeListed(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, taxIncluded bool) error {
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
		if o.Minor == nil {
			continue
		}
		l := NewLine{JobID: o.JobID, ServiceCode: o.ServiceCode, Payer: o.Payer, PayerWords: o.otherWords(), Kind: KindService, Words: o.Words,
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

// otherWords are which team or shop pays; the number of a claim is no matter of
// the line.
func (o Offer) otherWords() string {
	if o.Payer != ByOther {
		return ""
	}
	return o.PayerWords
}
