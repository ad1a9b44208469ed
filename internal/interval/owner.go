package interval

import (
	"context"
	"fmt"
	"iter"
	"time"

	"damperdesk/internal/db"
)

// Owner is who had a unit, and what is known of them as its rider.
type Owner struct {
	// EBike and RiderKG are as the newest of their jobs has them; RiderKG is nil
	// where none knows.
	EBike   bool
	RiderKG *float64
	// Until is the day the unit went to the next, UntilAt the moment; zero for
	// whoever has it now.
	Until, UntilAt time.Time
}

// conditions are those of all the owner's riding.
func (o Owner) conditions() []string {
	var list []string
	if o.EBike {
		list = append(list, EBike)
	}
	if o.RiderKG != nil && *o.RiderKG > heavyKG {
		list = append(list, HeavyRider)
	}
	return list
}

// owner counts the owners before the one who had the unit at a moment.
func (r Riding) owner(at time.Time) int {
	n := 0
	for _, o := range r.Before {
		if at.After(o.UntilAt) {
			n++
		}
	}
	return n
}

// sold is the last day of the owners before; zero where there were none.
func (r Riding) sold() time.Time {
	var day time.Time
	for _, o := range r.Before {
		day = latest(day, o.Until)
	}
	return day
}

// on is what was known on a day of who had the unit.
func (r Riding) on(day time.Time, zone *time.Location) Riding {
	for i, o := range r.Before {
		if Day(o.UntilAt, zone).After(day) {
			r.Now, r.Before = Owner{EBike: o.EBike, RiderKG: o.RiderKG}, r.Before[:i]
			break
		}
	}
	return r
}

// tenure is the days after from, up to to, on which one owner rode. The day of a
// sale is the seller's.
type tenure struct {
	from, to time.Time
	owner    int
}

// tenures divides the days after from, up to to, by who had the unit.
func (r *Riding) tenures(from, to time.Time) iter.Seq[tenure] {
	return func(yield func(tenure) bool) {
		from := from
		for i, o := range r.Before {
			if end := earliest(to, o.Until); from.Before(end) {
				if !yield(tenure{from, end, i}) {
					return
				}
				from = end
			}
		}
		if from.Before(to) {
			yield(tenure{from, to, len(r.Before)})
		}
	}
}

// rode is which of the owners had the unit on a day.
func (r *Riding) rode(day time.Time) int {
	for t := range r.tenures(day.AddDate(0, 0, -1), day) {
		return t.owner
	}
	return len(r.Before)
}

// readRiding reads who had each unit when, what the newest job of each says of
// the bike, and the newest that knows of the rider.
func readRiding(ctx context.Context, q db.Querier, units []int64) (map[int64]Riding, error) {
	type row struct {
		UnitID  int64
		EBike   bool `db:"ebike"`
		RiderKG *float64
		OnDay   *time.Time
		At      *time.Time // nil: of whoever has it now
	}
	rows, err := q.Query(ctx, `with sale as (select id, unit_id, on_day, at, lag(at) over (partition by unit_id order by id) as since from unit_sold where unit_id = any ($1)),
			tenure as (select * from sale union all
				select null, u.id, null, null, (select s.at from sale s where s.unit_id = u.id order by s.id desc limit 1) from unit u where u.id = any ($1))
		select t.unit_id, t.on_day, t.at, coalesce((array_agg(j.ebike order by j.id desc) filter (where j.id is not null))[1], false) as ebike,
			(array_agg(j.rider_kg order by j.id desc) filter (where j.rider_kg is not null))[1] as rider_kg
		from tenure t left join job j on j.unit_id = t.unit_id and (t.since is null or j.opened_at > t.since) and (t.at is null or j.opened_at <= t.at)
		group by t.unit_id, t.id, t.on_day, t.at order by t.unit_id, t.id`, units)
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read who rides: %w", err)
	}
	riding := map[int64]Riding{}
	for _, r := range list {
		of, owner := riding[r.UnitID], Owner{EBike: r.EBike, RiderKG: r.RiderKG}
		if r.At == nil {
			of.Now = owner
		} else {
			owner.Until, owner.UntilAt = *r.OnDay, *r.At
			of.Before = append(of.Before, owner)
		}
		riding[r.UnitID] = of
	}
	return riding, nil
}
