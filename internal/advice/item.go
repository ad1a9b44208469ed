package advice

import (
	"context"
	"fmt"
	"math"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/order"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// Item is what the newest finished run says of an item, with the figures it came
// from; see Reckoned. Amounts are in the smallest unit of its measure.
type Item struct {
	ItemID       int64
	Code, Name   string
	Measure      stock.Measure
	State        string
	HandLow      *int64 // as said by hand
	HandHigh     *int64
	Low, High    *int64
	Weeks        int
	EmptyWeeks   int
	KnownWeeks   int // of too little history
	NeedWeeks    int
	Demands      int
	NeedDemands  int
	Mean         float64
	Model, Bar   stat.Model
	Off, BarOff  float64
	LeadDays     float64
	LeadVariance float64
	LeadN        int
	ReviewDays   int
	Class        string
	Service      float64
	Demand       float64
	DemandSd     float64
	Batch        int64
	Pack         int64
	ShelfDays    *int
	Priced       bool
	Capped       bool
	SeasonFrom   *time.Time
	SeasonUntil  *int64
	SeasonTakes  *int64
	Free         int64
	OnOrder      int64
}

// Known reports whether there was history enough.
func (i Item) Known() bool { return i.State == isReckoned }

// Sparse reports whether there was too little history.
func (i Item) Sparse() bool { return i.State == isSparse }

// LeadSD is the standard deviation of deliveries, in days.
func (i Item) LeadSD() float64 { return math.Sqrt(i.LeadVariance) }

// Days is how long the shelf has to last once nothing was ordered.
func (i Item) Days() float64 { return i.LeadDays + float64(i.ReviewDays) }

// ByHand reports whether what was said by hand counts: it does while it is said.
func (i Item) ByHand() bool { return i.HandLow != nil }

// Beyond is what the season and the weeks before it take beyond what is there and on
// order.
func (i Item) Beyond() int64 {
	if i.SeasonTakes == nil {
		return 0
	}
	return max(0, *i.SeasonTakes+*i.SeasonUntil-i.Free-i.OnOrder)
}

const selectItem = `select i.id as item_id, i.code, i.name, i.measure, a.state, i.low as hand_low, i.high as hand_high, a.low, a.high, a.weeks, a.empty_weeks,
		a.known_weeks, a.need_weeks, a.demands, a.need_demands, a.mean, a.model, a.bar, a.off, a.bar_off, a.lead_days, a.lead_variance, a.lead_n,
		a.review_days, a.class, a.service, a.demand, a.demand_sd, a.batch, coalesce(t.pack, 1) as pack, i.shelf_days, a.priced, a.capped,
		a.season_from, a.season_until, a.season_takes, coalesce(b.qty - b.aside, 0) as free, coalesce(o.open, 0)::bigint as on_order
	from advice a join item i on i.id = a.item_id and i.left_on is null left join balance b on b.item_id = i.id
	left join item_supplier t on t.item_id = i.id and t.first
	left join (select l.item_id, sum(greatest(0, l.qty - coalesce((select sum(qty) from move where purchase_line_id = l.id), 0)
			- coalesce((select sum(cancelled) from purchase_short where line_id = l.id), 0))) as open
		from purchase p join purchase_line l on l.purchase_id = p.id where p.state in ('sent', 'part received') group by l.item_id) o on o.item_id = i.id
	where a.run_id = (select max(id) from advice_run where finished_at is not null)`

// Items reads what is said of some items, or of all.
func Items(ctx context.Context, q db.Querier, ids ...int64) ([]Item, error) {
	rows, err := q.Query(ctx, selectItem+" and (cardinality($1::bigint[]) = 0 or a.item_id = any ($1)) order by i.code_key", append([]int64{}, ids...))
	list, err := db.All[Item](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read advice: %w", err)
	}
	return list, nil
}

// Levels are those of items that nobody set a level of by hand and of which less is
// free than advised. What is on order is not looked at here.
func Levels(ctx context.Context, q db.Querier) (map[int64]order.Level, error) {
	rows, err := q.Query(ctx, `select a.item_id, a.low, a.high from advice a join item i on i.id = a.item_id left join balance b on b.item_id = i.id
		where a.run_id = (select max(id) from advice_run where finished_at is not null) and a.low > coalesce(b.qty - b.aside, 0)
			and i.low is null and i.left_on is null and i.replaced_by is null`)
	list, err := db.All[struct {
		ItemID    int64
		Low, High *int64
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read advice: %w", err)
	}
	levels := map[int64]order.Level{}
	for _, l := range list {
		levels[l.ItemID] = order.Level{Low: l.Low, High: l.High}
	}
	return levels, nil
}

// Seasons lists the items whose season begins before a day, the soonest first, and
// of how many others the history shows none or is too short.
func Seasons(ctx context.Context, q db.Querier, before time.Time) (list []Item, plain, sparse int, err error) {
	rows, err := q.Query(ctx, selectItem+" and a.season_from < $1 order by a.season_from, i.code_key", before)
	if list, err = db.All[Item](rows, err); err != nil {
		return nil, 0, 0, fmt.Errorf("read the season ahead: %w", err)
	}
	err = q.QueryRow(ctx, `select count(*) filter (where state = 'reckoned' and season_from is null), count(*) filter (where state = 'sparse')
		from advice where run_id = (select max(id) from advice_run where finished_at is not null)`).Scan(&plain, &sparse)
	if err != nil {
		return nil, 0, 0, fmt.Errorf("read the season ahead: %w", err)
	}
	return list, plain, sparse, nil
}
