package interval

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/stat"
)

// Norm is what the riders of a shop have in common.
type Norm struct {
	// Riders is how many units with counted hours it comes from; with 0 the
	// pace is common practice.
	Riders int
	// Pace is that of a rider of whom nothing is known, in usual weeks.
	Pace stat.Pace
	// Spans is how many counted spans the year comes from; with 0 it is that of
	// the season.
	Spans int
	Year  stat.Year
}

// Common practice (no source), and thin: whoever has a fork serviced rides one
// and a half times in a usual week, for two hours; of three such riders two ride
// between half and one and a half times as much. A ride is half as long or half
// as long again.
var shippedPace = stat.Pace{Rides: 2, Weeks: 2 / 1.5, RideHours: 2, RideShape: 4}

// Shipped is the norm of a shop of which nothing was counted.
func Shipped(s Season) Norm { return Norm{Pace: shippedPace, Year: s.year()} }

// ReadNorm is what was kept last, or what is shipped for a season.
func ReadNorm(ctx context.Context, q db.Querier, s Season) (Norm, error) {
	type kept struct {
		Riders, Spans                      int
		Rides, Weeks, RideHours, RideShape float64
		Months                             []float64
	}
	rows, err := q.Query(ctx, "select riders, rides, weeks, ride_hours, ride_shape, spans, months from ride_norm")
	list, err := db.All[kept](rows, err)
	if err != nil {
		return Norm{}, fmt.Errorf("read how riders ride: %w", err)
	}
	n := Shipped(s)
	if len(list) == 0 {
		return n, nil
	}
	k := list[0]
	n.Riders, n.Pace = k.Riders, stat.Pace{Rides: k.Rides, Weeks: k.Weeks, RideHours: k.RideHours, RideShape: k.RideShape}
	if n.Spans = k.Spans; n.Spans > 0 {
		copy(n.Year[:], k.Months)
	}
	return n, nil
}

// Keep keeps the norm as it was fitted on a day.
func (n Norm) Keep(ctx context.Context, tx pgx.Tx, today time.Time) error {
	_, err := tx.Exec(ctx, `insert into ride_norm (riders, rides, weeks, ride_hours, ride_shape, spans, months, fitted_on)
		values ($1, $2, $3, $4, $5, $6, $7, $8)
		on conflict (one) do update set riders = $1, rides = $2, weeks = $3, ride_hours = $4, ride_shape = $5, spans = $6, months = $7, fitted_on = $8`,
		n.Riders, n.Pace.Rides, n.Pace.Weeks, n.Pace.RideHours, n.Pace.RideShape, n.Spans, n.Year[:], today)
	if err != nil {
		return fmt.Errorf("keep how riders ride: %w", err)
	}
	return nil
}
