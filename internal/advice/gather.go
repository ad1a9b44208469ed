package advice

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/order"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// lookBack is how much history counts at most.
const lookBack = 5 * 52 * 7 // days

// kept is an item that is kept, with what its history says.
type kept struct {
	ItemID     int64
	Measure    stock.Measure
	Pack       int64
	SupplierID int64 // 0: it is bought nowhere
	LeadDays   int
	OrderDays  []int16
	ShelfDays  int
	Price      float64 // for the priced amount; 0: not known
	First      *time.Time
	weeks      []Week
	class      int
}

// gather reads every item that is kept and its weeks up to the last complete one,
// those of all items at once.
func gather(ctx context.Context, q db.Querier, now time.Time, zone *time.Location) ([]kept, error) {
	rows, err := q.Query(ctx, `select i.id as item_id, i.measure, coalesce(t.pack, 1) as pack, coalesce(s.id, 0) as supplier_id, coalesce(s.lead_days, 0) as lead_days,
			coalesce(s.order_days, '{}') as order_days, coalesce(i.shelf_days, 0) as shelf_days, f.at as first,
			coalesce(t.price_minor::float8 / t.pack, b.paid_minor::float8 / nullif(b.paid_qty, 0), 0) * case i.measure when 'each' then 1 else 1000000 end as price
		from item i left join move f on f.item_id = i.id and f.seq = 1 left join balance b on b.item_id = i.id
		left join (item_supplier t join supplier s on s.id = t.supplier_id and s.left_on is null) on t.item_id = i.id and t.first
		where i.left_on is null and i.replaced_by is null order by i.id`)
	items, err := db.All[kept](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what is kept: %w", err)
	}
	since := Monday(now, zone).AddDate(0, 0, -lookBack)
	uses, err := readUses(ctx, q, since, zone)
	if err != nil {
		return nil, err
	}
	spells, err := readSpells(ctx, q, since)
	if err != nil {
		return nil, err
	}
	for i := range items {
		k := &items[i]
		if k.First == nil {
			continue
		}
		first := *k.First
		if first.Before(since) {
			first = since.AddDate(0, 0, 1) // in any zone it is that week
		}
		k.weeks = Weekly(first, now, uses[k.ItemID], spells[k.ItemID], zone)
	}
	return items, classify(items)
}

// readUses reads what was taken of each item in each week, less what was put back.
// What answers a move counts in the week of that move. What was used before the
// ledger had it was used when its step was signed.
func readUses(ctx context.Context, q db.Querier, since time.Time, zone *time.Location) (map[int64][]Use, error) {
	rows, err := q.Query(ctx, `with kept as materialized (select id from item where left_on is null and replaced_by is null)
		select m.item_id, date_trunc('week', m.at at time zone $2) as week, -sum(m.qty)::bigint as qty
		from kept join move m on m.item_id = kept.id
		where m.kind in ('use', 'return') and m.reverses is null and m.at >= $1 group by 1, 2
		union all
		select m.item_id, date_trunc('week', m.at at time zone $2), -sum(r.qty)::bigint
		from move r join move m on m.id = r.reverses
		where r.reverses is not null and m.kind in ('use', 'return') and m.at >= $1 group by 1, 2
		union all
		select n.item_id, date_trunc('week', s.at at time zone $2), n.unposted
		from need n join lateral (select max(d.at) as at from sheet_step t join signoff d on d.step_id = t.id
			where t.job_id = n.job_id and t.key = n.step_key) s on s.at >= $1
		where n.unposted > 0`, since, zone.String())
	if err != nil {
		return nil, fmt.Errorf("read what was used: %w", err)
	}
	defer rows.Close()
	uses := map[int64][]Use{}
	for rows.Next() {
		var item int64
		var u Use
		if err := rows.Scan(&item, &u.Week, &u.Qty); err != nil {
			return nil, fmt.Errorf("read what was used: %w", err)
		}
		uses[item] = append(uses[item], u)
	}
	return uses, rows.Err()
}

// readSpells reads when nothing lay on the shelf of each item.
func readSpells(ctx context.Context, q db.Querier, since time.Time) (map[int64][]Spell, error) {
	rows, err := q.Query(ctx, `with kept as materialized (select id from item where left_on is null and replaced_by is null)
		select m.item_id, m.at, n.at from kept join move m on m.item_id = kept.id
		left join move n on n.item_id = m.item_id and n.seq = m.seq + 1
		where m.qty_after <= 0 and (n.at is null or n.at >= $1)`, since)
	if err != nil {
		return nil, fmt.Errorf("read when a shelf was empty: %w", err)
	}
	defer rows.Close()
	spells := map[int64][]Spell{}
	for rows.Next() {
		var item int64
		var s Spell
		var until *time.Time
		if err := rows.Scan(&item, &s.From, &until); err != nil {
			return nil, fmt.Errorf("read when a shelf was empty: %w", err)
		}
		if until != nil {
			s.Until = *until
		}
		spells[item] = append(spells[item], s)
	}
	return spells, rows.Err()
}

// classify puts items in classes by the value of what the last year used.
func classify(items []kept) error {
	values := make([]float64, len(items))
	for i, k := range items {
		for _, w := range k.weeks[max(0, len(k.weeks)-52):] {
			values[i] += float64(w.Used) / float64(k.Measure.Priced()) * k.Price
		}
	}
	classed, err := stat.Classes(values, 0.80, 0.95)
	if err != nil {
		return fmt.Errorf("put items in classes: %w", err)
	}
	for _, c := range classed {
		items[c.At].class = c.Class
	}
	return nil
}

// terms are those of an item from where it is bought first.
func (k kept) terms(s Setting, leads map[int64]order.LeadTime) Terms {
	t := Terms{Measure: k.Measure, Lead: Lead{Days: float64(k.LeadDays)}, Review: Review(k.OrderDays), Service: s.Service(k.class),
		Order: float64(s.OrderMinor), Hold: s.HoldPercent / 100, Price: k.Price, Pack: k.Pack, ShelfDays: k.ShelfDays}
	if l := leads[k.SupplierID]; l.Known() {
		t.Lead = Lead{Days: l.Mean, Variance: l.Variance, N: l.N}
	}
	return t
}

// Review is the longest time from one weekday that orders are taken on (Monday 1) to
// the next, in days; a week where any day will do.
func Review(days []int16) int {
	on := map[int]bool{}
	for _, d := range days {
		on[int(d)%7] = true
	}
	longest, since := 0, 0
	for d := range 14 { // twice around
		since++
		if on[d%7] {
			longest, since = max(longest, since), 0
		}
	}
	if len(on) < 2 {
		return 7
	}
	return min(longest, 7)
}
