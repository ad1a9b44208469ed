package bench

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// mostFluids is how many are offered.
const mostFluids = 20

// Fluids names the fluids that went in at the bench in the last two hundred
// amounts signed and those the spec sheets in force name, the most used first:
// what stands on the shelf as far as anybody wrote it down.
func Fluids(ctx context.Context, q db.Querier) ([]string, error) {
	rows, err := q.Query(ctx, `select fluid from (
			(select fluid, 1 as used from signoff where fluid <> '' order by id desc limit 200)
			union all
			select v.fluid, 0 from sheet_value v join sheet s on s.id = v.sheet_id where s.state = 'current' and v.fluid <> '') f
		group by fluid order by sum(used) desc, fluid limit $1`, mostFluids)
	if err != nil {
		return nil, fmt.Errorf("list fluids: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("list fluids: %w", err)
	}
	return list, nil
}
