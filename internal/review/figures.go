package review

import (
	"errors"
	"slices"
	"time"

	"damperdesk/internal/procedure"
	"damperdesk/internal/stat"
)

// How much history a figure takes; without it the page says that there is not
// enough. The samples follow from the chance that the true value lies between
// the least and the greatest one seen (stat.Least).
const (
	// A figure of a period is a statement: 95 %, six jobs for a median,
	// nineteen for the 85th percentile.
	sureOfPeriod = 0.95
	// That of one week is a point among others, whose scatter shows beside it:
	// 70 %, three jobs for a median, eight for the 85th percentile.
	sureOfWeek = 0.70
	// A share of fewer than five has an interval of more than half of
	// everything, or nearly, whatever was seen (5 of 5: from 57 %; 4 of 4: from
	// 51 %). From five on it is given, and its interval says how little it is.
	leastShare = 5
	// Limits take as many weeks as the example of the NIST e-Handbook
	// (6.3.2.2.2): of fewer the moving ranges are themselves mostly chance.
	leastWeeks = 10
)

// The levels of the intervals: of what was, and of what to expect next, on which
// the desk acts.
const (
	level       = 0.95
	levelOfNext = 0.80
)

const (
	middle = 0.5
	most   = 0.85
)

// Measure is a value of N jobs, or none where N is below Need.
type Measure struct {
	Value   float64
	N, Need int
}

// Enough is whether there is a value.
func (m Measure) Enough() bool { return m.N >= m.Need }

// measure is a quantile of days, where there are enough.
func measure(days []float64, p, sure float64) (Measure, error) {
	v, err := stat.Estimate(days, p, sure)
	var few stat.TooFew
	if errors.As(err, &few) {
		return Measure{N: few.Have, Need: few.Need}, nil
	}
	return Measure{Value: v, N: len(days)}, err
}

// Share is K of N with its Wilson interval.
type Share struct {
	K, N int
	stat.Interval
}

// Enough is whether there are enough to speak of a share.
func (s Share) Enough() bool { return s.N >= leastShare }

// Part is the share itself, from 0 to 1.
func (s Share) Part() float64 { return float64(s.K) / float64(max(s.N, 1)) }

// Apart is whether two shares differ by more than chance would explain: their
// intervals do not touch. That is a hard test, so it seldom cries wolf.
func (s Share) Apart(o Share) bool {
	return s.Enough() && o.Enough() && (s.Low > o.High || s.High < o.Low)
}

func (s Share) with(yes bool) Share {
	s.N++
	if yes {
		s.K++
	}
	return s
}

// judged adds the interval.
func (s Share) judged() (Share, error) {
	if s.N == 0 {
		return s, nil
	}
	var err error
	s.Interval, err = stat.Wilson(s.K, s.N, level)
	return s, err
}

// Figures are those of one period.
type Figures struct {
	Period Period
	Whole  bool    // records go back to its beginning
	Lead   Measure // median days from drop-off to ready, of the jobs that became ready
	Within Measure // days in which 85 of 100 were ready
	In     int     // units that came
	// Pace is the interval of how many come in a week, as if each came by chance.
	Pace  stat.Interval
	Out   int   // units that left, done or not
	Open  int   // here at its end
	Kept  Share // promises
	Again Share // of the units that came, those that had left done within 90 days
	// Comebacks are those of the units that came for the same complaint again.
	Comebacks Share
	Split     Split // mean days of the jobs that became ready
	Ready     int   // how many those are
	// Outside counts the sign-offs that state a value outside its window, those
	// crossed out left aside.
	Outside int
}

// PerWeek is n by the weeks of the period.
func (f Figures) PerWeek(n int) float64 { return f.perWeek(float64(n)) }

func (f Figures) perWeek(n float64) float64 { return n * 7 / float64(f.Period.Days()) }

func figures(list []stay, p Period, now time.Time) (Figures, error) {
	f := Figures{Period: p}
	end := p.To
	if end.After(now) {
		end = now
	}
	var days []float64
	for _, s := range list {
		if p.has(s.came) {
			f.In++
			f.Again = f.Again.with(s.Again)
			f.Comebacks = f.Comebacks.with(s.Comeback)
		}
		if p.has(s.gone) {
			f.Out++
		}
		if s.here(end) {
			f.Open++
		}
		if p.has(s.ready) {
			days = append(days, s.days())
			for i, d := range s.split() {
				f.Split[i] += d
			}
		}
		if kept, due := s.promise(p, now); due {
			f.Kept = f.Kept.with(kept)
		}
	}
	f.Ready = len(days)
	for i := range f.Split {
		f.Split[i] /= float64(max(f.Ready, 1))
	}
	var errs [6]error
	f.Lead, errs[0] = measure(days, middle, sureOfPeriod)
	f.Within, errs[1] = measure(days, most, sureOfPeriod)
	f.Kept, errs[2] = f.Kept.judged()
	f.Again, errs[3] = f.Again.judged()
	f.Comebacks, errs[4] = f.Comebacks.judged()
	f.Pace, errs[5] = stat.Poisson(f.In, level)
	f.Pace = stat.Interval{Low: f.perWeek(f.Pace.Low), High: f.perWeek(f.Pace.High)}
	return f, errors.Join(errs[:]...)
}

// promise is whether the job was ready by its promise, and whether that fell
// due in the period: it counts in the period it was made for, ready or not, so
// that what is late and still here counts too. A job that ended otherwise
// before that owes nothing.
func (s stay) promise(p Period, now time.Time) (kept, due bool) {
	if !p.has(s.Promised) || s.Promised.After(now) || s.Undone && !s.gone.After(s.Promised) {
		return false, false
	}
	return !s.ready.IsZero() && !s.ready.After(s.Promised), true
}

// Kept is how many promises of a service were kept.
type Kept struct {
	Code, Name string // both empty: all services
	Now, Prev  Share
	// Next is the chance that the next promise of this service is kept, drawn
	// from what was seen of all services; nil for all, and where there are too few.
	Next *stat.Expected
}

// keptBy counts for all and for each service that had a promise in the period,
// in their order. A job with several counts for each.
func keptBy(list []stay, services []procedure.Service, p Period, now time.Time) ([]Kept, error) {
	rows := []Kept{{}}
	for _, s := range services {
		rows = append(rows, Kept{Code: s.Code, Name: s.Name})
	}
	before := p.Before()
	var err error
	for i := range rows {
		k := &rows[i]
		for _, s := range list {
			if k.Code != "" && !slices.Contains(s.Services, k.Code) {
				continue
			}
			if kept, due := s.promise(p, now); due {
				k.Now = k.Now.with(kept)
			}
			if kept, due := s.promise(before, now); due {
				k.Prev = k.Prev.with(kept)
			}
		}
		if k.Now, err = k.Now.judged(); err != nil {
			return nil, err
		}
		if k.Prev, err = k.Prev.judged(); err != nil {
			return nil, err
		}
	}
	rows = slices.DeleteFunc(rows, func(k Kept) bool { return k.Code != "" && k.Now.N == 0 })
	return rows, expect(rows)
}

// expect fills in what to expect of each service: few promises of one say little,
// those of all say how services go here.
func expect(rows []Kept) error {
	services := rows[1:]
	counts := make([]stat.Count, len(services))
	for i, k := range services {
		counts[i] = stat.Count{K: k.Now.K, N: k.Now.N}
	}
	next, err := stat.Shrink(counts, levelOfNext)
	if errors.As(err, new(stat.TooFew)) || !rows[0].Now.Enough() {
		return nil
	}
	for i := range next {
		services[i].Next = &next[i]
	}
	return err
}
