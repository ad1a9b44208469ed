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
	readings map[int64][]interval.Reading
	season   interval.Season
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
	b.today, b.season = interval.Day(now, b.zone), interval.SeasonOf(settings.Hemisphere)
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
	readings, err := interval.Readings(ctx, q, unitID)
	if err != nil {
		return b, err
	}
	b.readings = map[int64][]interval.Reading{}
	for _, r := range readings {
		b.readings[r.UnitID] = append(b.readings[r.UnitID], r)
	}
	return b, b.readServed(ctx, q, unitID)
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
		b.serve(s.UnitID, s.ServiceCode, interval.Served{Ready: interval.Day(s.ReadyAt, b.zone), Left: interval.Day(s.ClosedAt, b.zone)})
	}
	elsewhere, err := servedElsewhere(ctx, q, unitID)
	for _, s := range elsewhere {
		b.serve(s.UnitID, s.ServiceCode, interval.Served{Ready: s.Day, Left: s.Day})
	}
	return err
}

// serve counts a service as done, and what it covers, where nothing later is known.
func (b *book) serve(unitID int64, code string, at interval.Served) {
	of := b.served[unitID]
	if of == nil {
		of = map[string]interval.Served{}
		b.served[unitID] = of
	}
	for _, code := range b.covers[code] {
		if before, ok := of[code]; !ok || before.Left.Before(at.Left) {
			of[code] = at
		}
	}
}

// doneElsewhere is a service that another shop did, as a service book told that
// was read in. It left that shop the same day, as far as anybody knows here.
type doneElsewhere struct {
	UnitID      int64
	ServiceCode string
	Day         time.Time
}

// servedElsewhere lists the last of each service that was done elsewhere, of one
// unit, or of all with 0. Services that have no code are known by no rule.
func servedElsewhere(ctx context.Context, q db.Querier, unitID int64) ([]doneElsewhere, error) {
	rows, err := q.Query(ctx, `select e.unit_id, s ->> 'code' as service_code, max(e.day) as day
		from elsewhere_service e cross join jsonb_array_elements(e.services) s
		where ($1 = 0 or e.unit_id = $1) and s ->> 'code' is not null
		group by 1, 2`, unitID)
	return db.All[doneElsewhere](rows, err)
}
