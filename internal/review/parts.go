package review

import (
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// Parts is what the owner looks at of the shelf: a period's use beside how it
// stands. Use is what was used less what came back.
type Parts struct {
	Begun     time.Time // of the ledger; zero: nothing has moved yet
	Items     []ItemUse // the dearest first, at most mostRows
	Used      PartsSum
	Classes   [3]ClassSum // A, B and C by cost used
	Services  []ServiceUse
	Months    []Month
	Dead      []Dead // the dearest first, at most mostRows
	DeadSum   PartsSum
	Outs      []Out // the longest first, at most mostRows
	OutItems  int   // that ran out in the period
	Waits     Waits
	Margin    Margin
	ValueThen int64 // on hand when the period began
	ValueEnd  int64 // and at its end, or now
}

// mostRows is how many rows a table has; the sums are of all.
const mostRows = 40

// The shares of the cost used at which class B and class C begin: common practice
// (no source).
const (
	upToA = 0.80
	upToB = 0.95
)

// PartsSum is how many items there are, and what they cost.
type PartsSum struct {
	Items     int
	CostMinor int64
}

// ClassSum is one value class.
type ClassSum struct {
	PartsSum
	Share float64 // of the cost of all
}

// ItemUse is what was used of an item in the period.
type ItemUse struct {
	ItemID    int64
	Code      string
	Name      string
	Measure   stock.Measure
	Amount    int64
	CostMinor int64
	Class     int // 0 for A
}

// ServiceUse is what jobs with a service used; a job with several counts for each.
type ServiceUse struct {
	Code      string // empty: jobs of no service, or no job at all
	Name      string
	Jobs      int
	CostMinor int64
}

// Month is a month of the shop's calendar, by its first day.
type Month struct {
	From      time.Time
	Moves     int
	CostMinor int64 // used
	Value     int64 // on hand at its end, or now
	Running   bool  // it has not ended
}

// Dead is an item that lies there and is not used.
type Dead struct {
	ItemID  int64
	Code    string
	Name    string
	Measure stock.Measure
	Qty     int64
	Value   int64
	LastUse *time.Time // nil: it was never used
}

// Out is an item of which there was nothing for a while, begun in the period.
type Out struct {
	ItemID  int64
	Code    string
	Name    string
	Times   int
	Days    float64
	Running bool // there is still nothing
}

// Waits are the jobs that waited on parts in the period.
type Waits struct {
	Jobs int
	Days float64 // of 24 hours, of all of them, within the period
}

// Margin is what was used on jobs at today's list price, for the items that have one.
type Margin struct {
	SaleMinor int64
	CostMinor int64
	Unpriced  int64 // what was used of items without a price cost
	// What was billed for parts that jobs used, before tax, and what those cost.
	BilledMinor, BilledCost int64
}

// usedKinds is which moves are use: what comes back is use below zero.
const usedKinds = "m.kind in ('use', 'return')"

// PartsOf reads the review of the shelf. Idle is for how many months nothing was used
// of what counts as dead.
func PartsOf(ctx context.Context, q db.Querier, p Period, idle int, now time.Time) (r Parts, err error) {
	if r.Begun, err = ledgerBegun(ctx, q); err != nil || r.Begun.IsZero() {
		return r, err
	}
	for _, read := range []func(context.Context, db.Querier, Period, time.Time) error{r.use, r.billed, r.services, r.months, r.outs, r.waits} {
		if err := read(ctx, q, p, now); err != nil {
			return r, fmt.Errorf("read review of parts: %w", err)
		}
	}
	return r, r.dead(ctx, q, idleSince(now, p.From.Location(), idle))
}

// idleSince is the first moment of the day that many months before now.
func idleSince(now time.Time, zone *time.Location, months int) time.Time {
	y, m, d := now.In(zone).Date()
	return startOf(y, m-time.Month(months), d, zone)
}

func ledgerBegun(ctx context.Context, q db.Querier) (time.Time, error) {
	rows, err := q.Query(ctx, "select at from move order by id limit 1")
	list, err := db.All[struct{ At time.Time }](rows, err)
	if err != nil || len(list) == 0 {
		return time.Time{}, err
	}
	return list[0].At, nil
}

// billed reads what stands on bills for parts.
func (r *Parts) billed(ctx context.Context, q db.Querier, p Period, _ time.Time) error {
	return q.QueryRow(ctx, `select coalesce(sum(case when l.tax_included then round(amount * 10000 / (10000 + bp)) else amount end), 0)::bigint,
			coalesce(sum(cost), 0)::bigint
		from (select l.tax_included, t.bp, round(l.qty_milli::numeric * l.unit_minor / 1000) - l.discount_minor as amount,
				(select -sum(m.cost_minor) from need n join move m on m.job_id = n.job_id and m.item_id = n.item_id
					left join sheet_step s on s.id = m.step_id where n.id = l.need_id and coalesce(s.key, '') = n.step_key) as cost
			from bill_line l join tax_rate t on t.id = l.tax_id
			where l.need_id is not null and l.reverses is null and l.at >= $1 and l.at < $2
				and not exists (select from bill_line o where o.reverses = l.id)) l`, p.From, p.To).Scan(&r.Margin.BilledMinor, &r.Margin.BilledCost)
}

// use reads the cost of every item that was used, which classes need, and the rest
// of those that are listed.
func (r *Parts) use(ctx context.Context, q db.Querier, p Period, _ time.Time) error {
	var ids, amounts, costs []int64
	err := q.QueryRow(ctx, `select array_agg(u.item_id order by u.cost desc, u.item_id), array_agg(u.amount order by u.cost desc, u.item_id),
			array_agg(u.cost order by u.cost desc, u.item_id), coalesce(sum(u.job_cost) filter (where i.sale_minor is null), 0)::bigint,
			coalesce(sum(u.job_cost) filter (where i.sale_minor is not null), 0)::bigint,
			coalesce(sum(round(i.sale_minor::numeric * u.on_jobs / case when i.measure = 'each' then 1 else 1000000 end)), 0)::bigint
		from (select m.item_id, -sum(m.qty)::bigint as amount, -sum(m.cost_minor)::bigint as cost,
				coalesce(-sum(m.qty) filter (where m.job_id is not null), 0)::bigint as on_jobs,
				coalesce(-sum(m.cost_minor) filter (where m.job_id is not null), 0)::bigint as job_cost
			from move m where m.at >= $1 and m.at < $2 and `+usedKinds+` group by m.item_id) u join item i on i.id = u.item_id`, p.From, p.To).
		Scan(&ids, &amounts, &costs, &r.Margin.Unpriced, &r.Margin.CostMinor, &r.Margin.SaleMinor)
	if err != nil {
		return err
	}
	values := make([]float64, len(costs))
	for i, cost := range costs {
		values[i] = float64(max(cost, 0))
		r.Used = r.Used.with(cost)
	}
	classed, err := stat.Classes(values, upToA, upToB)
	if err != nil {
		return err
	}
	for _, c := range classed {
		sum := &r.Classes[c.Class]
		sum.PartsSum, sum.Share = sum.with(costs[c.At]), sum.Share+c.Share
		if len(r.Items) < mostRows {
			r.Items = append(r.Items, ItemUse{ItemID: ids[c.At], Amount: amounts[c.At], CostMinor: costs[c.At], Class: c.Class})
		}
	}
	return r.names(ctx, q)
}

// names says what the items that are listed are called.
func (r *Parts) names(ctx context.Context, q db.Querier) error {
	ids := make([]int64, len(r.Items))
	at := map[int64]*ItemUse{}
	for i := range r.Items {
		ids[i] = r.Items[i].ItemID
		at[ids[i]] = &r.Items[i]
	}
	rows, err := q.Query(ctx, "select id, code, name, measure from item where id = any ($1)", ids)
	list, err := db.All[struct {
		ID      int64
		Code    string
		Name    string
		Measure stock.Measure
	}](rows, err)
	for _, i := range list {
		u := at[i.ID]
		u.Code, u.Name, u.Measure = i.Code, i.Name, i.Measure
	}
	return err
}

func (s PartsSum) with(cost int64) PartsSum {
	return PartsSum{Items: s.Items + 1, CostMinor: s.CostMinor + cost}
}

func (r *Parts) services(ctx context.Context, q db.Querier, p Period, _ time.Time) error {
	rows, err := q.Query(ctx, `with used as (select m.job_id, -sum(m.cost_minor)::bigint as cost from move m
			where m.at >= $1 and m.at < $2 and `+usedKinds+` group by m.job_id)
		select coalesce(s.service_code, '') as code, coalesce(v.name, '') as name, count(u.job_id) as jobs, sum(u.cost)::bigint as cost_minor
		from used u left join job_service s on s.job_id = u.job_id left join service v on v.code = s.service_code
		group by s.service_code, v.name order by cost_minor desc, code`, p.From, p.To)
	r.Services, err = db.All[ServiceUse](rows, err)
	return err
}

// leastMonths is how many months are shown at least.
const leastMonths = 12

// moved is what moved from one cut to the next.
type moved struct {
	Cut       int
	Moves     int
	CostMinor int64
	Value     int64
}

// months reads them, and what was on hand when the period began and ended. All of it
// comes from one look at the moves, cut at every such moment.
func (r *Parts) months(ctx context.Context, q db.Querier, p Period, now time.Time) error {
	cuts := cutsOf(p, now)
	rows, err := q.Query(ctx, `select width_bucket(m.at, $1::timestamptz[]) - 1 as cut, count(*) filter (where `+usedKinds+`) as moves,
			coalesce(-sum(m.cost_minor) filter (where `+usedKinds+`), 0)::bigint as cost_minor, sum(m.value_minor)::bigint as value
		from move m where m.at >= $2 group by 1`, cuts, cuts[0])
	list, err := db.All[moved](rows, err)
	if err != nil {
		return err
	}
	spans := make([]moved, len(cuts))
	for _, s := range list {
		spans[s.Cut] = s
	}
	value, err := valueNow(ctx, q)
	if err == nil {
		r.backwards(cuts, spans, value, p, now)
	}
	return err
}

// cutsOf are the beginnings of the months shown, of the period and of its end.
func cutsOf(p Period, now time.Time) []time.Time {
	zone := p.From.Location()
	first := monthOf(p.From, zone, 0)
	if least := monthOf(now, zone, 1-leastMonths); least.Before(first) {
		first = least
	}
	cuts := []time.Time{p.From, p.To}
	for from := first; !from.After(now); from = monthOf(from, zone, 1) {
		cuts = append(cuts, from)
	}
	slices.SortFunc(cuts, time.Time.Compare)
	return slices.CompactFunc(cuts, time.Time.Equal)
}

// backwards goes from the value of now: what was there is what is there less what
// moved since.
func (r *Parts) backwards(cuts []time.Time, spans []moved, value int64, p Period, now time.Time) {
	zone := p.From.Location()
	r.ValueEnd = value // where the period is not over
	month := Month{Value: value}
	for i, cut := range slices.Backward(cuts) {
		month.Moves, month.CostMinor = month.Moves+spans[i].Moves, month.CostMinor+spans[i].CostMinor
		value -= spans[i].Value
		if cut.Equal(p.From) {
			r.ValueThen = value
		}
		if cut.Equal(p.To) {
			r.ValueEnd = value
		}
		if !cut.Equal(monthOf(cut, zone, 0)) {
			continue
		}
		if next := monthOf(cut, zone, 1); next.After(r.Begun) && !cut.After(now) {
			month.From, month.Running = cut, next.After(now)
			r.Months = append(r.Months, month)
		}
		month = Month{Value: value}
	}
	slices.Reverse(r.Months)
}

// monthOf is the first moment of the month of t, or of one so many months later.
func monthOf(t time.Time, zone *time.Location, later int) time.Time {
	y, m, _ := t.In(zone).Date()
	return startOf(y, m+time.Month(later), 1, zone)
}

func valueNow(ctx context.Context, q db.Querier) (value int64, err error) {
	if err = q.QueryRow(ctx, "select coalesce(sum(value_minor), 0)::bigint from balance").Scan(&value); err != nil {
		return 0, fmt.Errorf("value of the shelf: %w", err)
	}
	return value, nil
}

// outs reads from the moves after which nothing was left until the next after which
// something was.
func (r *Parts) outs(ctx context.Context, q db.Querier, p Period, now time.Time) error {
	rows, err := q.Query(ctx, `select o.item_id, i.code, i.name, count(*) as times, sum(extract(epoch from coalesce(o.back, $3) - o.at) / 86400)::float8 as days,
			bool_or(o.back is null) as running, count(*) over () as in_all
		from (select m.item_id, m.at, (select n.at from move n where n.item_id = m.item_id and n.seq > m.seq and n.qty_after > 0 order by n.seq limit 1) as back
			from move m where m.at >= $1 and m.at < $2 and m.qty_after <= 0 and m.qty_after - m.qty > 0) o
		join item i on i.id = o.item_id and i.left_on is null
		group by o.item_id, i.code, i.name order by days desc, i.code limit $4`, p.From, p.To, now, mostRows)
	list, err := db.All[struct {
		Out
		InAll int
	}](rows, err)
	for _, o := range list {
		r.Outs, r.OutItems = append(r.Outs, o.Out), o.InAll
	}
	return err
}

func (r *Parts) waits(ctx context.Context, q db.Querier, p Period, now time.Time) error {
	end := p.To
	if now.Before(end) {
		end = now
	}
	return q.QueryRow(ctx, `select count(distinct h.job_id), coalesce(sum(extract(epoch from least(coalesce(e.at, $2), $2) - greatest(h.at, $1)) / 86400), 0)::float8
		from hold h left join hold_end e on e.hold_id = h.id
		where h.kind = 'waiting on parts' and h.at < $2 and coalesce(e.at, $2) > $1`, p.From, end).Scan(&r.Waits.Jobs, &r.Waits.Days)
}

// dead reads what lay there before since and was not used after it.
func (r *Parts) dead(ctx context.Context, q db.Querier, since time.Time) error {
	rows, err := q.Query(ctx, `with idle as (select b.item_id, b.qty, b.value_minor as value, count(*) over () as items, sum(b.value_minor) over ()::bigint as sum
			from balance b join move f on f.item_id = b.item_id and f.seq = 1 and f.at < $1
			where b.qty > 0 and not exists (select from move m where m.item_id = b.item_id and `+usedKinds+` and m.at >= $1)
			order by b.value_minor desc, b.item_id limit $2)
		select d.item_id, i.code, i.name, i.measure, d.qty, d.value, d.items, d.sum,
			(select max(m.at) from move m where m.item_id = d.item_id and m.kind = 'use') as last_use
		from idle d join item i on i.id = d.item_id order by d.value desc, i.code_key`, since, mostRows)
	list, err := db.All[struct {
		Dead
		Items int
		Sum   int64
	}](rows, err)
	if err != nil {
		return fmt.Errorf("read what lies idle: %w", err)
	}
	for _, d := range list {
		r.Dead, r.DeadSum = append(r.Dead, d.Dead), PartsSum{Items: d.Items, CostMinor: d.Sum}
	}
	return nil
}
