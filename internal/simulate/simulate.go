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
}

// What happens in the shop, invented. Nothing of it is told to the plan but by
// what the desk and the bench record.
const (
	mechanics   = 3
	scatter     = 0.30 // of the logarithm of minutes needed over minutes booked
	slower      = 1.08 // the shop takes longer than it books
	squeezes    = 0.06 // of the jobs have to be done the same day
	needsParts  = 0.15 // of the jobs turn out to need parts that are not there
	asks        = 0.15 // of the jobs turn out to need the customer's yes
	silent      = 0.15 // of those asked do not answer for days
	sick        = 0.03 // of the mornings somebody calls in sick
	partsInTime = 0.65 // of the parts come on the day that was named
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
	for w.next() {
		if err := w.happen(ctx); err != nil {
			return Report{}, fmt.Errorf("on %s: %w", w.now.Format(time.DateTime), err)
		}
	}
	return w.report()
}

// meanMinutes is of one job, as it really is.
func meanMinutes() float64 {
	sum := 0.0
	for _, s := range wanted {
		sum += s.share * s.minutes
	}
	return sum * slower * math.Exp(scatter*scatter/2)
}

// fork is one that comes, with what nobody knows beforehand.
type fork struct {
	service   service
	minutes   float64 // at the bench, in truth
	parts     bool
	question  bool
	squeezed  bool
	came      time.Time
	promised  time.Time
	sure      bool // the plan had history enough
	proposed  bool
	ready     time.Time
	visit     int64
	job       int64
	left      float64 // minutes
	interrupt float64 // with so many left it stops for parts or for an answer; 0: never
}

func (w *world) draw() *fork {
	u, s := w.r.Float64(), wanted[len(wanted)-1]
	for _, one := range wanted {
		if u < one.share {
			s = one
			break
		}
		u -= one.share
	}
	f := &fork{service: s, minutes: s.minutes * slower * math.Exp(scatter*w.r.NormFloat64()),
		parts: w.r.Float64() < needsParts, question: w.r.Float64() < asks, squeezed: w.r.Float64() < squeezes}
	f.left = f.minutes
	if f.parts || f.question {
		f.interrupt = f.minutes * 0.7
	}
	return f
}
