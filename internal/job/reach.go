package job

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
)

// Reach is how the customer of a visit is reached about its promise.
type Reach struct {
	VisitID, CustomerID   int64
	Customer, Phone, Mail string
	Version               int // of the visit
}

// Reaches are those of some visits, by visit.
func Reaches(ctx context.Context, q db.Querier, visitIDs []int64) (map[int64]Reach, error) {
	rows, err := q.Query(ctx, `select v.id as visit_id, c.now_id as customer_id, c.name as customer, c.phone, c.mail, v.version
		from visit v join customer_now c on c.id = v.customer_id where v.id = any ($1)`, visitIDs)
	list, err := db.All[Reach](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read how customers are reached: %w", err)
	}
	by := map[int64]Reach{}
	for _, r := range list {
		by[r.VisitID] = r
	}
	return by, nil
}
