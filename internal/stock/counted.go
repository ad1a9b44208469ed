package stock

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
)

// How a count stands.
const (
	CountOpen    = "open"
	CountPosted  = "posted"
	CountDropped = "dropped"
)

// Stocktake is one count of a place or of chosen items.
type Stocktake struct {
	ID      int64
	Chosen  bool   // its items were chosen, and are of no one place
	Place   string // empty too for the items that have none
	State   string
	BegunBy string
	BegunAt time.Time
	EndedBy string
	EndedAt *time.Time // nil: it is open
	Items   int
	Counted int // of them
}

const selectStocktake = `select c.id, c.chosen, c.place, c.state, coalesce(b.name, '') as begun_by, c.begun_at, coalesce(e.name, '') as ended_by, c.ended_at,
		(select count(*) from count_item where count_id = c.id) as items,
		(select count(distinct item_id) from count_line where count_id = c.id) as counted
	from stock_count c left join staff b on b.id = c.begun_by left join staff e on e.id = c.ended_by`

// GetCount reads one count.
func GetCount(ctx context.Context, q db.Querier, id int64) (Stocktake, error) {
	rows, err := q.Query(ctx, selectStocktake+" where c.id = $1", id)
	return db.One[Stocktake](rows, err, "count")
}

// Stocktakes lists the open counts, then the latest of the others.
func Stocktakes(ctx context.Context, q db.Querier, most int) ([]Stocktake, error) {
	rows, err := q.Query(ctx, selectStocktake+` where c.state = 'open' or c.id in (select id from stock_count where state <> 'open' order by id desc limit $1)
		order by c.state <> 'open', c.id desc`, most)
	list, err := db.All[Stocktake](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list counts: %w", err)
	}
	return list, nil
}

// Counted is an item of a count: how much was counted of it last, or that nobody
// has counted it yet.
type Counted struct {
	ItemID  int64
	Code    string
	Name    string
	Measure Measure
	Place   string
	Found   bool  // met there, without being kept there
	LineID  int64 // 0: not counted yet
	Counted int64
	Ledger  int64 // what the ledger said when it was counted
	By      string
	At      *time.Time
	Times   int // how often it was counted in this count
	// LastAt is when it was counted before, in a count that was posted; nil: never.
	LastAt *time.Time
	// Doubtful: since it was counted another count of it was posted, or a move from
	// before was taken back. Nobody can tell whether the difference is made good by that.
	Doubtful bool
	Moved    int64 // what the difference cost once it is posted
	Balance        // as it is now
}

// Difference is how much more there was than the ledger said.
func (c Counted) Difference() int64 { return c.Counted - c.Ledger }

// Cost is what the difference comes to at the moving cost, with its sign.
func (c Counted) Cost() int64 {
	switch d := c.Difference(); {
	case d < 0:
		return c.Out(-d)
	case d > 0:
		return c.Balance.Cost(d)
	}
	return 0
}

const selectCounted = `select n.item_id, i.code, i.name, i.measure, i.place, n.found, coalesce(l.id, 0) as line_id, coalesce(l.counted, 0) as counted,
		coalesce(l.ledger, 0) as ledger, coalesce(s.name, '') as by, l.at, coalesce(l.times, 0) as times, ` + lastCounted + ` as last_at,
		c.state = 'open' and exists (select from move r left join move o on o.id = r.reverses
			where r.item_id = n.item_id and r.seq > l.seq and (o.seq <= l.seq or r.kind = 'count' and o.id is null)) as doubtful,
		coalesce(m.cost_minor, 0) as moved, coalesce(b.qty, 0) as qty, coalesce(b.value_minor, 0) as value, coalesce(b.seq, 0) as seq,
		coalesce(b.paid_minor, 0) as paid_minor, coalesce(b.paid_qty, 0) as paid_qty
	from count_item n join stock_count c on c.id = n.count_id join item i on i.id = n.item_id left join balance b on b.item_id = n.item_id
	left join lateral (select l.*, count(*) over () as times from count_line l where l.count_id = n.count_id and l.item_id = n.item_id
		order by l.id desc limit 1) l on true
	left join staff s on s.id = l.actor_id left join move m on m.count_line_id = l.id
	where n.count_id = $1`

// CountSheet lists the items of a count: those not counted yet by code, then those
// counted, the latest first.
func CountSheet(ctx context.Context, q db.Querier, count int64) ([]Counted, error) {
	rows, err := q.Query(ctx, selectCounted+" order by l.id desc nulls first, i.code_key", count)
	list, err := db.All[Counted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read a count: %w", err)
	}
	return list, nil
}

// Differences lists what was counted, by item.
func Differences(ctx context.Context, q db.Querier, count int64) ([]Counted, error) {
	rows, err := q.Query(ctx, selectCounted+" and l.id is not null order by n.item_id", count)
	list, err := db.All[Counted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read a count: %w", err)
	}
	return list, nil
}

// Mark tells the differences somebody has seen, with what they cost, from any others.
func Mark(list []Counted) string {
	list = slices.Clone(list)
	slices.SortFunc(list, func(a, b Counted) int { return int(a.LineID - b.LineID) })
	h := sha256.New()
	for _, c := range list {
		if c.LineID != 0 {
			fmt.Fprintln(h, c.LineID, c.Difference(), c.Cost())
		}
	}
	return fmt.Sprintf("%x", h.Sum(nil)[:12])
}

// toCount is what the ledger cannot be right about of the item i with its balance b,
// as far as no open count has it.
const toCount = `(b.qty < 0 or b.aside > greatest(b.qty, 0))
	and not exists (select from count_item n join stock_count c on c.id = n.count_id where n.item_id = i.id and c.state = 'open')`

// ToCount lists items that are below zero, or of which more is set aside than there
// is, unless they are being counted.
func ToCount(ctx context.Context, q db.Querier) ([]Item, error) {
	rows, err := q.Query(ctx, "select "+itemColumns+" from item i join balance b on b.item_id = i.id where "+toCount+" order by i.code_key limit $1", MostCounted)
	list, err := db.All[Item](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list what is to count: %w", err)
	}
	return list, nil
}

// PlaceToCount is a place with how much lies there and when it was counted last.
type PlaceToCount struct {
	Place  string // empty: the items that have none
	Items  int
	LastAt *time.Time // of a count of the place that was posted; nil: never
	Open   int64      // the count of it that is open; 0: none
}

// PlacesToCount lists the places, those counted longest ago first.
func PlacesToCount(ctx context.Context, q db.Querier) ([]PlaceToCount, error) {
	rows, err := q.Query(ctx, `select p.place, p.items, c.last_at, coalesce(o.id, 0) as open
		from (select place, count(*) as items from item where left_on is null group by place) p
		left join (select place, max(ended_at) as last_at from stock_count where state = 'posted' and not chosen group by place) c on c.place = p.place
		left join stock_count o on o.place = p.place and o.state = 'open' and not o.chosen
		order by p.place = '', c.last_at nulls first, p.place`)
	list, err := db.All[PlaceToCount](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list places to count: %w", err)
	}
	return list, nil
}
