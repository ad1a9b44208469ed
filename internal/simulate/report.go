package simulate

import (
	"fmt"
	"io"
	"math"
	"time"

	"damperdesk/internal/stat"
)

// Kept is how many promises of a kind were kept.
type Kept struct {
	K, N int
	Days float64 // from drop-off to the promise, on average
	stat.Interval
}

func (k *Kept) add(f *fork, promised time.Time) {
	k.Days = (k.Days*float64(k.N) + promised.Sub(f.came).Hours()/24) / float64(k.N+1)
	k.N++
	if !f.ready.After(promised) {
		k.K++
	}
}

func (k *Kept) judge() (err error) {
	if k.N > 0 {
		k.Interval, err = stat.Wilson(k.K, k.N, 0.95)
	}
	return err
}

func (k Kept) String() string {
	return fmt.Sprintf("%3d of %3d kept, %5.1f %% (95 %% interval %.1f to %.1f), promised %.1f days ahead",
		k.K, k.N, 100*float64(k.K)/math.Max(1, float64(k.N)), 100*k.Low, 100*k.High, k.Days)
}

// Report is what became of the promises of a run.
type Report struct {
	Seed     uint64
	Jobs     int
	Until    time.Time
	Proposed Kept // with history enough, so that 85 % were to be kept
	Early    Kept // before there was: two days were left
	Squeezed Kept // promised for the day itself, against what was proposed
	Again    Kept // came back, and promised for the end of the next day
	Same     Kept // the jobs of Proposed, had each been promised for SameN days on
	SameN    int  // days with which the mean promise comes nearest to the proposed ones
	Week     Kept // the same for seven days on
}

// mostFixed is how many days on are tried for SameN.
const mostFixed = 30

func (w *world) report() (Report, error) {
	r := Report{Seed: w.o.Seed, Jobs: len(w.all), Until: w.now}
	fixed := make([]Kept, mostFixed+1)
	for _, f := range w.all {
		switch {
		case f.squeezed:
			r.Squeezed.add(f, f.promised)
			continue
		case f.again != nil:
			r.Again.add(f, f.promised)
			continue
		case !f.sure:
			r.Early.add(f, f.promised)
			continue
		}
		r.Proposed.add(f, f.promised)
		for n := range fixed {
			fixed[n].add(f, w.daysOn(f.came, n))
		}
	}
	for n := range fixed {
		if math.Abs(fixed[n].Days-r.Proposed.Days) < math.Abs(fixed[r.SameN].Days-r.Proposed.Days) {
			r.SameN = n
		}
	}
	r.Same, r.Week = fixed[r.SameN], fixed[7]
	for _, k := range []*Kept{&r.Proposed, &r.Early, &r.Squeezed, &r.Again, &r.Same, &r.Week} {
		if err := k.judge(); err != nil {
			return r, err
		}
	}
	return r, nil
}

// daysOn is when the shop closes n days after a day, or on the next on which it
// opens.
func (w *world) daysOn(from time.Time, n int) time.Time {
	y, m, d := from.In(w.zone).Date()
	_, to, _ := w.open.Next(time.Date(y, m, d+n, 0, 0, 0, 0, w.zone))
	return to
}

// Print writes it for people.
func (r Report) Print(out io.Writer) {
	fmt.Fprintf(out, "seed %d: %d jobs until %s\n", r.Seed, r.Jobs, r.Until.Format(time.DateOnly))
	fmt.Fprintf(out, "  proposed, 85 %% to be kept   %s\n", r.Proposed)
	fmt.Fprintf(out, "  today plus %2d days          %s\n", r.SameN, r.Same)
	fmt.Fprintf(out, "  today plus  7 days          %s\n", r.Week)
	fmt.Fprintf(out, "  before history enough       %s\n", r.Early)
	fmt.Fprintf(out, "  squeezed in, the same day   %s\n", r.Squeezed)
	fmt.Fprintf(out, "  came back, the next day     %s\n", r.Again)
}
