package advice

import (
	"math"
	"slices"
	"time"
)

// Week is a complete week of an item, Monday to Sunday.
type Week struct {
	Used      int64 // less what was put back, in the smallest unit
	EmptyDays int   // on which nothing lay on the shelf at their end
}

// hidden reports whether the week does not show what was asked for: the shelf was
// empty on most days and nothing was used. Where something was, jobs had waited for it
// and took it, so that what was asked for does show, if late; a shop that always has
// too little of an item would otherwise never learn how much.
func (w Week) hidden() bool { return w.EmptyDays > 3 && w.Used <= 0 }

// beside is how many weeks on each side say what a week with an empty shelf would
// have been like.
const beside = 4

// filled is what was asked for in counted units. Weeks that are hidden do not
// show it: jobs wait and take it once it is there, or go without. Such weeks and the
// one after them share what they took together, and no less than the weeks beside
// them did for as long.
func filled(weeks []Week, unit float64) (y []float64, empty int) {
	y = make([]float64, len(weeks))
	for i, w := range weeks {
		y[i] = float64(max(w.Used, 0)) / unit
		if w.hidden() {
			empty++
		}
	}
	for from := 0; from < len(y); from++ {
		if !weeks[from].hidden() {
			continue
		}
		to := from
		for to < len(y) && weeks[to].hidden() {
			to++
		}
		to = min(to+1, len(y))
		each := max(mean(y[from:to]), mean(around(weeks, from, to))/unit)
		for i := from; i < to; i++ {
			y[i] = each
		}
		from = to - 1
	}
	return y, empty
}

// around are the amounts of the nearest weeks with something on the shelf before
// from and at or behind to.
func around(weeks []Week, from, to int) (used []float64) {
	take := func(w Week, left *int) {
		if !w.hidden() && *left > 0 {
			used = append(used, float64(max(w.Used, 0)))
			*left--
		}
	}
	before, after := beside, beside
	for i := from - 1; i >= 0; i-- {
		take(weeks[i], &before)
	}
	for _, w := range weeks[to:] {
		take(w, &after)
	}
	return used
}

// Use is what was taken of an item in the week that begins on a day; below zero
// where more was put back.
type Use struct {
	Week time.Time
	Qty  int64
}

// Spell is a time in which nothing lay on the shelf; Until is zero where it lasts.
type Spell struct{ From, Until time.Time }

// Weekly makes complete weeks of what the ledger says, from the week of first to the
// one before the week of now. Weeks of uses are Mondays in UTC, times of spells are
// the shop's. What was put back in a week that took less comes off those before it.
func Weekly(first, now time.Time, uses []Use, spells []Spell, zone *time.Location) []Week {
	begin, end := Monday(first, zone), Monday(now, zone)
	n := weeksBetween(begin, end)
	if n <= 0 {
		return nil
	}
	weeks := make([]Week, n)
	for _, u := range uses {
		if i := weeksBetween(begin, u.Week); i >= 0 && i < n {
			weeks[i].Used += u.Qty
		}
	}
	for i := n - 1; i > 0; i-- {
		if weeks[i].Used < 0 {
			weeks[i-1].Used += weeks[i].Used
			weeks[i].Used = 0
		}
	}
	weeks[0].Used = max(weeks[0].Used, 0)
	for _, s := range spells {
		from, until := day(s.From, zone), end
		if !s.Until.IsZero() {
			until = day(s.Until, zone)
		}
		from = slices.MaxFunc([]time.Time{from, begin}, time.Time.Compare)
		for d := from; d.Before(until) && d.Before(end); d = d.AddDate(0, 0, 1) {
			weeks[weeksBetween(begin, d)].EmptyDays++
		}
	}
	return weeks
}

// Monday is the first day of a week in the zone, as midnight in UTC.
func Monday(t time.Time, zone *time.Location) time.Time {
	d := day(t, zone)
	return d.AddDate(0, 0, -(int(d.Weekday())+6)%7)
}

func day(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func weeksBetween(from, to time.Time) int {
	return int(math.Floor(to.Sub(from).Hours() / (7 * 24)))
}
