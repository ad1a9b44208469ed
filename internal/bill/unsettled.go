package bill

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
)

// Debt is what a payer of a visit owes, or the shop owes them.
type Debt struct {
	VisitID int64
	Payer   Payer
	Balance
}

// Unsettled lists what is owed of those visits, by whomever it is, either way.
func Unsettled(ctx context.Context, q db.Querier, visitIDs []int64) ([]Debt, error) {
	bills, err := read(ctx, q, visitIDs)
	if err != nil {
		return nil, fmt.Errorf("read what is owed: %w", err)
	}
	var list []Debt
	for _, id := range visitIDs {
		b, there := bills[id]
		if !there {
			continue
		}
		for _, p := range b.Payers() {
			if balance := b.BalanceOf(p); p.Kind != ByUs && balance.OwedMinor() != 0 {
				list = append(list, Debt{VisitID: id, Payer: p, Balance: balance})
			}
		}
	}
	return list, nil
}
