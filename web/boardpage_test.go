package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// bring takes in so many forks at once, from a team.
func (c frontDesk) bring(n int) {
	c.t.Helper()
	for i := 0; i < n; i += 6 {
		var units int64
		if err := c.pool.QueryRow(c.t.Context(), "select count(*) from unit").Scan(&units); err != nil {
			c.t.Fatal(err)
		}
		c.write(func(tx pgx.Tx, by history.By) error {
			drop := job.DropOff{CustomerID: c.customer, PromisedAt: by.At.AddDate(0, 0, 3+i/20), Currency: "GBP"}
			for k := range 6 {
				drop.Units = append(drop.Units, job.DropOffUnit{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "team fork", Serial: fmt.Sprintf("TF-%d", units+int64(k))},
					Symptoms: []string{"sticky"}, Services: []string{"lower-leg"}})
			}
			_, err := job.TakeIn(context.Background(), tx, by, drop)
			return err
		})
	}
}

// The board, and what stands on it for each ticket, is read in as many
// statements for three hundred jobs as for a few. How long the server takes is
// printed, not judged: 100 ms at most is the aim, on a machine that is idle.
func TestTheBoardOfThreeHundredJobs(t *testing.T) {
	c := newFrontDesk(t)
	c.bring(6)
	handler, count := c.traced()
	pages := map[string]string{"the board": "/board", "the wall": "/board/wall", "the proposed day": "/drop-off/promise?units=1&unit0.services=lower-leg"}
	few := map[string]int{}
	for name, path := range pages {
		few[name] = len(c.timed(handler, count, name+" of 6", path))
	}
	c.bring(294)
	for name, path := range pages {
		if n := len(c.timed(handler, count, name+" of 300", path)); n > few[name] {
			t.Errorf("%s asks %d times for 300 jobs, %d times for 6", name, n, few[name])
		}
	}
}
