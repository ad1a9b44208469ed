package review

import (
	"time"

	"damperdesk/internal/stat"
)

// WeekFigures are those of one week.
type WeekFigures struct {
	Week
	Running bool // not over yet
	In, Out int
	Open    int // at its end, or now
	Lead    Measure
	Within  Measure
	Signal  stat.Signal // of the lead time; Chance without limits
}

// weeksShown is how many weeks a chart has at least: half a year, so that a
// short period stands among what is usual.
const weeksShown = 26

// weekly counts each week and judges its lead time by limits over all of them,
// which are nil where too few weeks have one.
func weekly(list []stay, weeks []Week, now time.Time) ([]WeekFigures, *stat.Limits, error) {
	var all []WeekFigures
	for _, w := range weeks {
		f, err := weekOf(list, w, now)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, f)
	}
	limits, err := judge(all)
	return all, limits, err
}

func weekOf(list []stay, w Week, now time.Time) (WeekFigures, error) {
	f := WeekFigures{Week: w, Running: w.To.After(now)}
	end := w.To
	if f.Running {
		end = now
	}
	var days []float64
	for _, s := range list {
		if w.has(s.came) {
			f.In++
		}
		if w.has(s.gone) {
			f.Out++
		}
		if s.here(end) {
			f.Open++
		}
		if w.has(s.ready) {
			days = append(days, s.days())
		}
	}
	var err error
	if f.Lead, err = measure(days, middle, sureOfWeek); err != nil {
		return f, err
	}
	f.Within, err = measure(days, most, sureOfWeek)
	return f, err
}

// judge sets the signals. A week that is not over does not count yet, and one
// with too few jobs is passed over.
func judge(weeks []WeekFigures) (*stat.Limits, error) {
	var at []int
	var values []float64
	for i, w := range weeks {
		if w.Lead.Enough() && !w.Running {
			at, values = append(at, i), append(values, w.Lead.Value)
		}
	}
	if len(values) < leastWeeks {
		return nil, nil
	}
	limits, err := stat.Individuals(values)
	if err != nil {
		return nil, err
	}
	for i, signal := range limits.Signals(values) {
		weeks[at[i]].Signal = signal
	}
	return &limits, nil
}
