package order

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"damperdesk/internal/db"
	"damperdesk/internal/money"
	"damperdesk/internal/stock"
)

// Wanted is what jobs wait for of an item, beyond what is set aside for them.
type Wanted struct {
	Qty  int64
	Jobs int
}

// Advised is an item that is to be ordered.
type Advised struct {
	ItemID     int64
	Code       string
	Name       string
	Measure    stock.Measure
	Place      string
	SupplierID int64 // its first source; 0: it has none
	Supplier   string
	TheirCode  string
	PriceMinor *int64 // of a pack
	Situation
	Suggestion
}

// SumMinor is what the suggestion costs; ok is false where the price is not known.
func (a Advised) SumMinor() (minor int64, ok bool) {
	if a.PriceMinor == nil {
		return 0, false
	}
	return money.Part(*a.PriceMinor, a.Qty, a.Pack), true
}

// Level says what an item is ordered below and filled up to, and why.
type Level struct {
	Low, High *int64
	Basis     []Reason
}

// AdviceAtOnce is how many items Advice gives at most: those that the shop has kept
// longest, when more are low.
const AdviceAtOnce = 100

// Advice lists what is to be ordered: items that jobs wait for first, then by
// supplier and code, and whether there is more. Of an item in levels its level counts
// in place of what was said by hand. What another item takes the place of is ordered
// for jobs alone. wanted and levels may be nil.
func Advice(ctx context.Context, q db.Querier, wanted map[int64]Wanted, levels map[int64]Level) (list []Advised, more bool, err error) {
	also := append(slices.Collect(maps.Keys(wanted)), slices.Collect(maps.Keys(levels))...)
	rows, err := q.Query(ctx, `with coming as (
			select l.item_id, sum(greatest(0, l.qty - coalesce(m.qty, 0) - coalesce(c.cancelled, 0))) filter (where p.state <> 'draft')::bigint as sent,
				sum(l.qty) filter (where p.state = 'draft')::bigint as drafted
			from purchase p join purchase_line l on l.purchase_id = p.id
			left join lateral (select sum(qty) as qty from move where purchase_line_id = l.id) m on true
			left join lateral (select sum(cancelled) as cancelled from purchase_short where line_id = l.id) c on true
			where p.state in ('draft', 'sent', 'part received') group by l.item_id),
		lacking as (
			(select i.id from item i left join balance b on b.item_id = i.id left join coming c on c.item_id = i.id
				where i.left_on is null and i.low is not null and i.replaced_by is null
					and coalesce(b.qty, 0) - coalesce(b.aside, 0) + coalesce(c.sent, 0) + coalesce(c.drafted, 0) < i.low
				order by i.id limit $2)
			union select i.id from item i where i.id = any ($1) and i.left_on is null)
		select i.id as item_id, i.code, i.name, i.measure, i.place, i.low, i.high, coalesce(b.qty, 0) - coalesce(b.aside, 0) as free,
			coalesce(c.sent, 0) as on_order, coalesce(c.drafted, 0) as drafted, coalesce(t.supplier_id, 0) as supplier_id,
			coalesce(s.name, '') as supplier, coalesce(t.code, '') as their_code, coalesce(t.pack, 1) as pack, t.price_minor
		from lacking join item i on i.id = lacking.id left join balance b on b.item_id = i.id left join coming c on c.item_id = i.id
		left join (item_supplier t join supplier s on s.id = t.supplier_id and s.left_on is null) on t.item_id = i.id and t.first
		order by s.name nulls last, i.code_key`, also, AdviceAtOnce+1+len(also))
	found, err := db.All[struct {
		ItemID              int64
		Code, Name          string
		Measure             stock.Measure
		Place               string
		Low, High           *int64
		Free, OnOrder       int64
		Drafted, SupplierID int64
		Supplier, TheirCode string
		Pack                int64
		PriceMinor          *int64
	}](rows, err)
	if err != nil {
		return nil, false, fmt.Errorf("look for what to order: %w", err)
	}
	for _, f := range found {
		a := Advised{ItemID: f.ItemID, Code: f.Code, Name: f.Name, Measure: f.Measure, Place: f.Place, SupplierID: f.SupplierID, Supplier: f.Supplier,
			TheirCode: f.TheirCode, PriceMinor: f.PriceMinor, Situation: Situation{Free: f.Free, OnOrder: f.OnOrder, Drafted: f.Drafted,
				Wanted: wanted[f.ItemID].Qty, Jobs: wanted[f.ItemID].Jobs, Low: f.Low, High: f.High, Pack: f.Pack}}
		if l, ok := levels[f.ItemID]; ok {
			a.Low, a.High, a.Basis = l.Low, l.High, l.Basis
		}
		if suggested, ok := Suggest(a.Situation); ok {
			a.Suggestion = suggested
			list = append(list, a)
		}
	}
	slices.SortStableFunc(list, func(a, b Advised) int { return cmp.Compare(b.Wanted, 0) - cmp.Compare(a.Wanted, 0) })
	if len(list) > AdviceAtOnce {
		return list[:AdviceAtOnce], true, nil
	}
	return list, false, nil
}
