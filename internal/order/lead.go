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
	N      int
	Median float64
	Worst  int
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
	return LeadTime{N: n, Median: float64(sorted[(n-1)/2]+sorted[n/2]) / 2, Worst: sorted[n-1]}
}

// lastDeliveries is how many deliveries are looked back on.
const lastDeliveries = 12

// Lead is that of the last deliveries of a supplier that were not taken back whole,
// in calendar days of the zone. Each delivery of an order counts from its sending.
func Lead(ctx context.Context, q db.Querier, supplier int64, zone *time.Location) (LeadTime, error) {
	rows, err := q.Query(ctx, `select p.sent_at, d.shelved_at from delivery d join purchase p on p.id = d.purchase_id
		where p.supplier_id = $1 and d.shelved_at is not null and exists (select from purchase_line l join move m on m.purchase_line_id = l.id
			where l.purchase_id = p.id and m.intent_id = d.intent_id and m.reverses is null and not exists (select from move r where r.reverses = m.id))
		order by d.shelved_at desc limit $2`, supplier, lastDeliveries)
	list, err := db.All[struct{ SentAt, ShelvedAt time.Time }](rows, err)
	if err != nil {
		return LeadTime{}, fmt.Errorf("measure deliveries: %w", err)
	}
	var days []int
	for _, d := range list {
		days = append(days, int(Day(d.ShelvedAt, zone).Sub(Day(d.SentAt, zone)).Hours()/24))
	}
	return LeadOf(days), nil
}
