package due

import (
	"context"
	"slices"
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
	OpenJobID  int64      // 0: not here
	OpenJob    int        // its ticket
	BookedFor  *time.Time // the day it is to come in; nil: it is not booked
}

// book is what is known of some units, one query for each source.
type book struct {
	units    []Unit
	services []procedure.Service
	covers   map[string][]string // what counts as done with a service, itself too
	rules    interval.Rules
	zone     *time.Location
	season   interval.Season
	served   map[int64]map[string]interval.Served // by unit and service
	told     interval.Told
}

// readShop reads what all units are judged by.
func readShop(ctx context.Context, q db.Querier) (b book, err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return b, err
	}
	b.zone, b.season = settings.Location(), SeasonOf(settings)
	if b.services, err = procedure.Services(ctx, q); err != nil {
		return b, err
	}
	b.covers = map[string][]string{}
	for _, s := range b.services {
		for _, done := range procedure.Done(b.services, []string{s.Code}) {
			b.covers[s.Code] = append(b.covers[s.Code], done.Code)
		}
	}
	b.rules, err = interval.ReadRules(ctx, q)
	return b, err
}

// SeasonOf is when people ride, by the shop's dates or its hemisphere's.
func SeasonOf(s shop.Settings) interval.Season {
	return interval.SeasonOf(s.Hemisphere).Between(s.SeasonFrom, s.SeasonTo)
}

// readBook reads of those units.
func readBook(ctx context.Context, q db.Querier, units ...int64) (book, error) {
	b, err := readShop(ctx, q)
	if err != nil {
		return b, err
	}
	if b.units, err = readUnits(ctx, q, units); err != nil {
		return b, err
	}
	if b.told, err = interval.ReadTold(ctx, q, b.zone, b.season, units...); err != nil {
		return b, err
	}
	return b, b.readServed(ctx, q, units)
}

// selectUnit is a Unit; u is its row.
const selectUnit = `select u.id, u.kind, coalesce(m.maker || ' ' || m.name, u.model_words) as name,
		coalesce(u.model_id, 0) as model_id, coalesce(i.spring, m.spring, '') as spring,
		coalesce(b.words, '') as bike_words, coalesce(b.colour, '') as bike_colour, u.serial, u.tag,
		c.id as customer_id, c.name as customer, c.phone,
		coalesce(o.id, 0) as open_job_id, coalesce(o.number, 0) as open_job, w.booked_for`

// fromUnit joins what a Unit is made of.
const fromUnit = ` join customer c on c.id = u.customer_id
		left join model m on m.id = u.model_id left join bike b on b.id = u.bike_id
		left join lateral (select spring from unit_inside where unit_id = u.id order by id desc limit 1) i on true
		left join job o on o.unit_id = u.id and o.closed_at is null
		left join visit w on w.id = o.visit_id and o.stage = 'booked'`

// readUnits leaves out units of which nothing is left to ride, and those of
// customers who were erased, whom nobody can ring.
func readUnits(ctx context.Context, q db.Querier, units []int64) ([]Unit, error) {
	rows, err := q.Query(ctx, selectUnit+" from unit u"+fromUnit+`
		where u.id = any ($1) and (o.id is not null or c.erased_at is null and u.id not in (
			select s.unit_id from job s where s.ending = 'left for scrap' and s.unit_id = any ($1)
				and not exists (select from job later where later.unit_id = s.unit_id and later.id > s.id)))
		order by u.id`, units)
	return db.All[Unit](rows, err)
}

// readServed keeps the last job that ended done for each service and for what
// it covers.
func (b *book) readServed(ctx context.Context, q db.Querier, units []int64) error {
	type served struct {
		UnitID            int64
		ServiceCode       string
		ReadyAt, ClosedAt time.Time
	}
	rows, err := q.Query(ctx, `select distinct on (j.unit_id, s.service_code) j.unit_id, s.service_code,
			coalesce(j.ready_at, j.closed_at) as ready_at, j.closed_at
		from job j join job_service s on s.job_id = j.id
		where j.ending = $1 and j.unit_id = any ($2)
		order by j.unit_id, s.service_code, j.closed_at desc`, job.Done, units)
	list, err := db.All[served](rows, err)
	if err != nil {
		return err
	}
	b.served = map[int64]map[string]interval.Served{}
	for _, s := range list {
		b.serve(s.UnitID, s.ServiceCode, interval.Served{Ready: interval.Day(s.ReadyAt, b.zone), Left: interval.Day(s.ClosedAt, b.zone), Done: s.ClosedAt})
	}
	elsewhere, err := servedElsewhere(ctx, q, units)
	for _, s := range elsewhere {
		b.serve(s.UnitID, s.ServiceCode, interval.Served{Ready: s.Day, Left: s.Day, Done: s.Day})
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
func servedElsewhere(ctx context.Context, q db.Querier, units []int64) ([]doneElsewhere, error) {
	rows, err := q.Query(ctx, `select e.unit_id, s ->> 'code' as service_code, max(e.day) as day
		from elsewhere_service e cross join jsonb_array_elements(e.services) s
		where e.unit_id = any ($1) and s ->> 'code' is not null
			and not exists (select from book_taken_back b where b.read_in = e.intent_id)
		group by 1, 2`, units)
	return db.All[doneElsewhere](rows, err)
}

// row is when a service of a unit comes due again; counts is false where no rule
// makes it due and nothing that happened asks for it.
func (b *book) row(u Unit, s procedure.Service, log interval.Log) (r Row, counts bool) {
	rule, _ := b.rules.For(s.Code, u.ModelID)
	var served *interval.Served
	if at, ok := b.served[u.ID][s.Code]; ok {
		served = &at
	}
	facts := b.told.Facts(u.ID, s.Code, served, log)
	if !rule.Counts() && len(facts.Asks) == 0 {
		return r, false
	}
	return Row{Unit: u, Service: s.Name, Code: s.Code, Outlook: rule.Outlook(facts)}, true
}

// rows are the services that a unit has had here and that come due again, and
// those that something that happened to it asks for; where there are none, but
// could be, a row without a service.
func (b *book) rows(u Unit) []Row {
	var list []Row
	log, happened := b.told.Log(u.ID), len(b.told.Events(u.ID)) > 0
	for _, s := range b.services {
		_, done := b.served[u.ID][s.Code]
		if !done && (!happened || !s.For(u.Kind) || !s.Suits(u.Spring)) {
			continue
		}
		if row, counts := b.row(u, s, log); counts && (done || b.asked(u, s)) {
			list = append(list, row)
		}
	}
	if len(list) == 0 && b.couldBeDue(u) {
		return []Row{{Unit: u, Outlook: interval.Outlook{Wants: interval.WantsService}}}
	}
	return list
}

// asked reports whether anything that happened asks for a service that was never
// done here.
func (b *book) asked(u Unit, s procedure.Service) bool {
	return len(b.told.Facts(u.ID, s.Code, nil, interval.Log{}).Asks) > 0
}

// couldBeDue reports whether the unit can have a service that comes due again.
func (b *book) couldBeDue(u Unit) bool {
	return slices.ContainsFunc(b.services, func(s procedure.Service) bool {
		rule, ok := b.rules.For(s.Code, u.ModelID)
		return ok && rule.Counts() && s.For(u.Kind) && s.Suits(u.Spring)
	})
}
