// Package simulate runs an invented shop for some months through the functions
// that the desk and the bench go through, on a clock of its own, and counts how
// many of the promises that the plan proposed were kept.
package simulate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"damperdesk/internal/db"
)

// Options of a run.
type Options struct {
	Jobs int
	Seed uint64
	Load float64 // work that comes, as a share of the hours at the bench
	// Uneven is how much busier or quieter one week is than another: the standard
	// deviation of the logarithm of what comes.
	Uneven float64
	// Tend keeps the statistics of the database, which a server does by itself;
	// nil: nobody does.
	Tend func(context.Context) error
}

// What happens in the shop, invented. Nothing of it is told to the plan but by
// what the desk and the bench record.
const (
	mechanics    = 3
	scatter      = 0.30 // of the logarithm of minutes needed over minutes booked
	slower       = 1.08 // the shop takes longer than it books
	squeezes     = 0.06 // of the jobs have to be done the same day
	losesAir     = 0.40 // of the air springs came because they lose air, and stand overnight
	needsParts   = 0.15 // of the jobs turn out to need parts that are not there
	asks         = 0.15 // of the jobs turn out to need the customer’s yes
	agrees       = 0.80 // of the answers are yes
	silent       = 0.15 // of those asked do not answer for days
	interruptAt  = 0.7  // of the steps are signed when that turns out
	sick         = 0.03 // of the mornings somebody calls in sick
	partsInTime  = 0.65 // of the parts come on the day that was named
	comesBack    = 0.06 // of the forks that left are back with the same complaint
	comebackDays = 90   // within so many days, soon rather than late
)

// service is what customers want, with its shipped book minutes and how often.
type service struct {
	code    string
	minutes float64
	share   float64
}

var wanted = []service{{"lower-leg", 50, 0.45}, {"air-spring", 90, 0.2}, {"full", 135, 0.2}, {"other", 60, 0.15}}

// begin is a Tuesday morning, before the shop opens.
var begin = time.Date(2026, 3, 3, 8, 0, 0, 0, time.UTC)

// Run does a run on an empty, migrated database.
func Run(ctx context.Context, pool *db.Pool, o Options) (Report, error) {
	w := &world{pool: pool, r: rand.New(rand.NewPCG(o.Seed, 1)), o: o, now: begin, forks: map[int64]*fork{}}
	if err := w.openShop(ctx); err != nil {
		return Report{}, fmt.Errorf("open the invented shop: %w", err)
	}
	if err := w.plan(ctx); err != nil {
		return Report{}, err
	}
	for w.events.Len() > 0 {
		if err := w.happen(ctx); err != nil {
			return Report{}, fmt.Errorf("on %s: %w", w.now.Format(time.DateTime), err)
		}
	}
	return w.report()
}

// meanMinutes is of one job, as it really is, with its share of comebacks.
func meanMinutes() float64 {
	sum := 0.0
	for _, s := range wanted {
		sum += s.share * s.minutes
	}
	return sum * slower * math.Exp(scatter*scatter/2) * (1 + comesBack)
}
