package interval

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

const (
	// mostRiders is how many units a norm is fitted to at most, of a large shop
	// any of them: more make it no better.
	mostRiders = 2000
	ridersOnce = 500 // that are read together
)

// Sample is the units of which anything was said of the riding, at most 2000:
// the same ones every time.
func Sample(ctx context.Context, q db.Querier) ([]int64, error) {
	rows, _ := q.Query(ctx, "select unit_id from hour_reading r where not exists (select from reading_taken_back b where b.reading_id = r.id) group by unit_id order by hashint8(unit_id), unit_id limit $1", mostRiders)
	list, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return nil, fmt.Errorf("read who rides: %w", err)
	}
	return list, nil
}

// FitTo fits a norm to what had been said of those units by the end of a day.
func FitTo(ctx context.Context, q db.Querier, zone *time.Location, s Season, units []int64, day time.Time) (Norm, error) {
	var riders []Rider
	for part := range slices.Chunk(units, ridersOnce) {
		told, err := ReadTold(ctx, q, zone, s, part...)
		if err != nil {
			return Norm{}, err
		}
		for _, id := range part {
			riders = append(riders, told.LogOn(id, day).Rider())
		}
	}
	return Fit(riders, s), nil
}
