package main

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/shop"
)

// backtest prints how the forecasts of ride hours came true that could have been
// made in the year before.
func (p *program) backtest(ctx context.Context) error {
	return p.withPool(ctx, func(pool *db.Pool) error {
		settings, err := shop.Get(ctx, pool)
		if err != nil {
			return err
		}
		past, err := due.Backtest(ctx, pool, interval.Day(time.Now(), settings.Location()))
		if err != nil {
			return err
		}
		fmt.Fprintf(p.out, "from %s to %s\n", past.Since.Format(time.DateOnly), past.Until.Format(time.DateOnly))
		fmt.Fprintf(p.out, "forecasts of ride hours that later counts tell the end of: %d\n", past.Forecasts)
		if !past.Enough() {
			fmt.Fprintf(p.out, "not enough history: it takes %d\n", due.LeastForecasts)
			return nil
		}
		fmt.Fprintf(p.out, "inside the band of 80 %%: %d (%.0f %%)\n", past.Inside, 100*past.Share())
		fmt.Fprintf(p.out, "median error: %.0f days\n", *past.OffDays)
		return nil
	})
}
