package stat

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Year is how much is ridden in each month, January first, as a multiple of what
// is usual. With it days of the calendar become weeks of usual riding and back.
type Year [12]float64

// monthDays are the days of each month, of February on average over four years.
var monthDays = [12]float64{31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// Even is a year without seasons.
func Even() (y Year) {
	for m := range y {
		y[m] = 1
	}
	return y
}

// Normal is the year of the same shape whose days have 1 on average, so that a
// year of usual weeks is a year. It fails where nothing is ridden in a whole year.
func (y Year) Normal() (Year, error) {
	sum, days := 0.0, 0.0
	for m, w := range y {
		if !(w >= 0) || math.IsInf(w, 1) {
			return Year{}, fmt.Errorf("a month of %v", w)
		}
		sum, days = sum+w*monthDays[m], days+monthDays[m]
	}
	if sum == 0 {
		return Year{}, errors.New("nothing is ridden in a whole year")
	}
	for m := range y {
		y[m] *= days / sum
	}
	return y, nil
}

// farthest is how many months ahead the calendar is looked through.
const farthest = 1200

// Weeks is how many weeks of usual riding the days after a day have, up to some
// 100 years. A day is its midnight in UTC.
func (y Year) Weeks(from time.Time, days float64) float64 {
	weeks := 0.0
	for m, end := range y.months(from) {
		part := min(days, end)
		weeks += part / 7 * y[m]
		if days -= part; days <= 0 {
			break
		}
	}
	return weeks
}

// Days is within how many days there are so many weeks of usual riding: the
// inverse of Weeks. Where nothing is ridden for months, it is the end of what was
// ridden before. It is +Inf beyond some 100 years.
func (y Year) Days(from time.Time, weeks float64) float64 {
	days := 0.0
	if weeks <= 0 {
		return 0
	}
	for m, end := range y.months(from) {
		if has := end / 7 * y[m]; weeks > has {
			weeks, days = weeks-has, days+end
			continue
		}
		return days + weeks*7/y[m]
	}
	return math.Inf(1)
}

// months goes through the months from a day on, each with its days that are left.
func (y Year) months(from time.Time) func(func(int, float64) bool) {
	return func(yield func(int, float64) bool) {
		for range farthest {
			next := time.Date(from.Year(), from.Month()+1, 1, 0, 0, 0, 0, time.UTC)
			if !yield(int(from.Month())-1, next.Sub(from).Hours()/24) {
				return
			}
			from = next
		}
	}
}

// Span is what a rider rode in so many days, of which From is the first.
type Span struct {
	Rider int64
	From  time.Time // midnight UTC
	Days  int
	Rides float64
}

// YearOf is how riding goes with the months, by what many riders rode in spans of
// their own: the greatest likelihood where rides come by chance, each rider at a
// rate of theirs, times the year that all share. Each month is drawn toward what
// was held before as if it had been seen in so many rides of usual riding: with 0
// nothing is held. A rider seen in one month alone says nothing of the year.
func YearOf(spans []Span, before Year, held float64) (Year, error) {
	before, err := before.Normal()
	switch {
	case err != nil:
		return Year{}, err
	case !(held >= 0) || math.IsInf(held, 1):
		return Year{}, fmt.Errorf("%v rides that were held before", held)
	}
	var parts []spanParts
	for _, s := range spans {
		if s.Days <= 0 || !(s.Rides >= 0) || math.IsInf(s.Rides, 1) {
			return Year{}, fmt.Errorf("%v rides in %d days", s.Rides, s.Days)
		}
		parts = append(parts, s.parts())
	}
	y := before
	for range 2000 {
		next, change := improved(y, before, held, parts), 0.0
		for m := range y {
			change = max(change, math.Abs(next[m]-y[m]))
		}
		if y = next; change < 1e-9 {
			break
		}
	}
	return y.Normal()
}

// spanParts is a span by its weeks in each month.
type spanParts struct {
	rider int64
	rides float64
	weeks [12]float64
}

func (s Span) parts() spanParts {
	p := spanParts{rider: s.Rider, rides: s.Rides}
	left := float64(s.Days)
	for m, end := range (Year{}).months(s.From) {
		part := min(left, end)
		p.weeks[m] += part / 7
		if left -= part; left <= 0 {
			break
		}
	}
	return p
}

func (p spanParts) usual(y Year) float64 {
	sum := 0.0
	for m, w := range p.weeks {
		sum += w * y[m]
	}
	return sum
}

// improved is a step of expectation and maximisation: the rides of each span are
// shared out among its months as the year has them, then each month is counted
// anew.
func improved(y, before Year, held float64, parts []spanParts) Year {
	rides, weeks := map[int64]float64{}, map[int64]float64{}
	for _, p := range parts {
		rides[p.rider] += p.rides
		weeks[p.rider] += p.usual(y)
	}
	var got, expected Year
	for m := range y {
		got[m], expected[m] = held*before[m], held
	}
	for _, p := range parts {
		all := p.usual(y)
		if all == 0 || weeks[p.rider] == 0 {
			continue
		}
		rate := rides[p.rider] / weeks[p.rider]
		for m, w := range p.weeks {
			got[m] += p.rides * w * y[m] / all
			expected[m] += rate * w
		}
	}
	for m := range y {
		if expected[m] > 0 {
			y[m] = got[m] / expected[m]
		}
	}
	return y
}
