package due

import (
	"context"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// Unit is a unit with its rider, and the job it is here for now.
type Unit struct {
	ID         int64
	Kind       string
	Name       string // maker and model, or own words
	ModelID    int64  // 0: not in the library
	Spring     string // empty: not known
	BikeWords  string
	BikeColour string
	Serial     string
	Tag        string
	CustomerID int64
	Customer   string
	Phone      string
	OpenJobID  int64 // 0: not here
	OpenJob    int   // its ticket
}

// book is what the list is made from, one query for each source.
type book struct {
	units    []Unit
	services []procedure.Service
	covers   map[string][]string // what counts as done with a service, itself too
	rules    interval.Rules
	served   map[int64]map[string]interval.Served // by unit and service
	told     interval.Told
	zone     *time.Location
	today    time.Time
}

// readBook reads of one unit, or of all with 0.
func readBook(ctx context.Context, q db.Querier, now time.Time, unitID int64) (b book, err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return b, err
	}
	b.zone = settings.Location()
	b.today = interval.Day(now, b.zone)
	if b.services, err = procedure.Services(ctx, q); err != nil {
		return b, err
	}
	b.covers = map[string][]string{}
	for _, s := range b.services {
		for _, done := range procedure.Done(b.services, []string{s.Code}) {
			b.covers[s.Code] = append(b.covers[s.Code], done.Code)
		}
	}
	if b.rules, err = interval.ReadRules(ctx, q); err != nil {
		return b, err
	}
	if b.units, err = readUnits(ctx, q, unitID); err != nil {
		return b, err
	}
	if b.told, err = interval.ReadTold(ctx, q, unitID, b.zone, SeasonOf(settings)); err != nil {
		return b, err
	}
	return b, b.readServed(ctx, q, unitID)
}

// SeasonOf is when people ride, by the shop's dates or its hemisphere's.
func SeasonOf(s shop.Settings) interval.Season {
	return interval.SeasonOf(s.Hemisphere).Between(s.SeasonFrom, s.SeasonTo)
}

// readUnits leaves out units of which nothing is left to ride. Those are found
// once for all units: asked of each of 30,000 they took nearly half the query.
func readUnits(ctx context.Context, q db.Querier, unitID int64) ([]Unit, error) {
	rows, err := q.Query(ctx, `select u.id, u.kind, coalesce(m.maker || ' ' || m.name, u.model_words) as name,
			coalesce(u.model_id, 0) as model_id, coalesce(i.spring, m.spring, '') as spring,
			coalesce(b.words, '') as bike_words, coalesce(b.colour, '') as bike_colour, u.serial, u.tag,
			c.id as customer_id, c.name as customer, c.phone,
			coalesce(o.id, 0) as open_job_id, coalesce(o.number, 0) as open_job
		from unit u join customer c on c.id = u.customer_id
		left join model m on m.id = u.model_id left join bike b on b.id = u.bike_id
		left join (select distinct on (unit_id) unit_id, spring from unit_inside order by unit_id, id desc) i on i.unit_id = u.id
		left join job o on o.unit_id = u.id and o.closed_at is null
		where ($1 = 0 or u.id = $1) and (o.id is not null or u.id not in (
			select s.unit_id from job s where s.ending = 'left for scrap' and ($1 = 0 or s.unit_id = $1)
				and not exists (select from job later where later.unit_id = s.unit_id and later.id > s.id)))
		order by u.id`, unitID)
	return db.All[Unit](rows, err)
}

// readServed keeps the last job that ended done for each service and for what
// it covers.
func (b *book) readServed(ctx context.Context, q db.Querier, unitID int64) error {
	type served struct {
		UnitID            int64
		ServiceCode       string
		ReadyAt, ClosedAt time.Time
	}
	rows, err := q.Query(ctx, `select distinct on (j.unit_id, s.service_code) j.unit_id, s.service_code,
			coalesce(j.ready_at, j.closed_at) as ready_at, j.closed_at
		from job j join job_service s on s.job_id = j.id
		where j.ending = $1 and ($2 = 0 or j.unit_id = $2)
		order by j.unit_id, s.service_code, j.closed_at desc`, job.Done, unitID)
	list, err := db.All[served](rows, err)
	if err != nil {
		return err
	}
	b.served = map[int64]map[string]interval.Served{}
	for _, s := range list {
		at := interval.Served{Ready: interval.Day(s.ReadyAt, b.zone), Left: interval.Day(s.ClosedAt, b.zone), Done: s.ClosedAt}
		of := b.served[s.UnitID]
		if of == nil {
			of = map[string]interval.Served{}
			b.served[s.UnitID] = of
		}
		for _, code := range b.covers[s.ServiceCode] {
			if before, ok := of[code]; !ok || before.Left.Before(at.Left) {
				of[code] = at
			}
		}
	}
	return nil
}
