package order

import (
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
)

// LeadTime is how many days deliveries took, from sending the order on.
type LeadTime struct {
	N        int
	Median   float64
	Worst    int
	Mean     float64
	Variance float64 // of a sample, in days squared; 0 of fewer than two
}

// leastDeliveries is how many it takes to say something.
const leastDeliveries = 3

// Known reports whether there is history enough to go by.
func (l LeadTime) Known() bool { return l.N >= leastDeliveries }

// LeadOf sums up days of deliveries.
func LeadOf(days []int) LeadTime {
	n := len(days)
	if n == 0 {
		return LeadTime{}
	}
	sorted := slices.Sorted(slices.Values(days))
	l := LeadTime{N: n, Median: float64(sorted[(n-1)/2]+sorted[n/2]) / 2, Worst: sorted[n-1]}
	for _, d := range days {
		l.Mean += float64(d) / float64(n)
	}
	for _, d := range days {
		if n > 1 {
			l.Variance += (float64(d) - l.Mean) * (float64(d) - l.Mean) / float64(n-1)
		}
	}
	return l
}

// lastDeliveries is how many deliveries are looked back on.
const lastDeliveries = 12

// Lead is that of the last deliveries of a supplier that were not taken back whole,
// in calendar days of the zone. Each delivery of an order counts from its sending.
func Lead(ctx context.Context, q db.Querier, supplier int64, zone *time.Location) (LeadTime, error) {
	all, err := Leads(ctx, q, zone, supplier)
	return all[supplier], err
}

// Leads is Lead of some suppliers, or of all that delivered anything.
func Leads(ctx context.Context, q db.Querier, zone *time.Location, suppliers ...int64) (map[int64]LeadTime, error) {
	rows, err := q.Query(ctx, `select supplier_id, sent_at, shelved_at from (
			select p.supplier_id, p.sent_at, d.shelved_at, row_number() over (partition by p.supplier_id order by d.shelved_at desc) as n
			from delivery d join purchase p on p.id = d.purchase_id
			where (cardinality($1::bigint[]) = 0 or p.supplier_id = any ($1)) and d.shelved_at is not null and exists (
				select from purchase_line l join move m on m.purchase_line_id = l.id
				where l.purchase_id = p.id and m.intent_id = d.intent_id and m.reverses is null and not exists (select from move r where r.reverses = m.id))) last
		where n <= $2`, append([]int64{}, suppliers...), lastDeliveries)
	list, err := db.All[struct {
		SupplierID        int64
		SentAt, ShelvedAt time.Time
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("measure deliveries: %w", err)
	}
	days := map[int64][]int{}
	for _, d := range list {
		days[d.SupplierID] = append(days[d.SupplierID], int(Day(d.ShelvedAt, zone).Sub(Day(d.SentAt, zone)).Hours()/24))
	}
	leads := map[int64]LeadTime{}
	for id, taken := range days {
		leads[id] = LeadOf(taken)
	}
	return leads, nil
}
