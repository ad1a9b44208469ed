package interval

import (
	"math"
	"slices"
	"time"

	"damperdesk/internal/stat"
)

const (
	// A habit that is said is worth counting so many rides, but not more than so
	// many weeks. Common practice (no source): how often people say they ride is
	// off by a quarter, and how long by a sixth, whether that is much or little:
	// together by 0.3, as a count of eleven is by chance. Of those who seldom
	// ride it is rather a ride more or less in a month or two.
	habitRides, habitWeeks = 11, 8
	// yearOff is how far a rider’s pace stays off however much was counted, as a
	// share. Common practice (no source): the months of a year are not those of
	// the year before, nor those of all others.
	yearOff = 0.1
	// guessOff is how far hours that a rider or the shop guessed are off, as a
	// share, all that were guessed of one unit alike. Common practice (no
	// source): people know the hours of some months better than a habit of
	// years, and name round numbers.
	guessOff = 1.0 / 6
	// halved is after how many days what was counted counts half: riders change
	// from one year to the next.
	halved = 365
	// shortest is the shortest ride, in hours, that is reckoned with.
	shortest = 0.25
)

// Known reports whether anything at all was said of the riding. A meter that was
// read once says nothing yet.
func (l Log) Known() bool {
	return len(l.counted) > 0 || slices.ContainsFunc(l.habits, func(h said) bool { return !l.gone(h) })
}

// pace is how its rider rides in usual weeks, in hours used: as the norm says,
// drawn toward what was counted of this one, and to what was said last.
func (l Log) pace(n Norm) stat.Pace {
	p := n.Pace
	if each := l.rideHours(); each > 0 {
		p.RideHours = max(each, shortest)
	}
	newest := l.newest()
	counts := func(on time.Time) float64 { return math.Pow(0.5, float64(days(on, newest.on))/halved) }
	hours, weeks := 0.0, 0.0
	for _, s := range l.Spans() {
		if !s.To.After(l.riding.sold()) {
			continue // another rode it
		}
		w := counts(s.To)
		hours, weeks = hours+w*s.Plain, weeks+w*usual(n.Year, s.From, s.To)
	}
	if weeks > 0 {
		if counted, err := p.Rode(hours, weeks); err == nil {
			p = counted
		}
	}
	for _, h := range l.present() {
		w := habitWeeks * counts(h.on)
		if h.RidesAWeek > 0 {
			w = min(habitWeeks, habitRides/h.RidesAWeek) * counts(h.on)
		}
		p.Rides += w * h.RidesAWeek
		p.Weeks += w * l.usualWeek(n.Year, h.Season)
	}
	p.RideHours *= newest.worth[len(l.riding.Before)].factor
	wider := 1 + p.Rides*yearOff*yearOff
	p.Rides, p.Weeks = p.Rides/wider, p.Weeks/wider
	return p
}

// rideHours is how long a ride is by the habit that was said last; 0 where none
// was.
func (l Log) rideHours() float64 {
	for _, h := range slices.Backward(l.habits) {
		if h.RidesAWeek > 0 && !l.gone(h) {
			return h.HoursARide
		}
	}
	return 0
}

// present are the habits that hold last: one, or one of each part of the year.
func (l Log) present() []said {
	var list []said
	for _, in := range []bool{true, false} {
		for _, h := range slices.Backward(l.habits) {
			if h.of(in) && !l.gone(h) {
				if len(list) == 0 || h.seasonal() {
					list = append(list, h)
				}
				break
			}
		}
	}
	return list
}

// newest is what was said of the latest day of its rider; where nothing was, it
// counts by what is known of them.
func (l Log) newest() said {
	var newest said
	l.weigh(&newest)
	for _, c := range l.counted {
		if c.on.After(newest.on) && c.on.After(l.riding.sold()) {
			newest = c.said
		}
	}
	for _, h := range l.habits {
		if h.on.After(newest.on) && !l.gone(h) {
			newest = h
		}
	}
	return newest
}

// usualWeek is how many usual weeks a week of a part of the year has. Who says
// how often they ride, of no part, thinks of a week that is ridden in, and not
// of January: of the mean day that is ridden on.
func (l Log) usualWeek(y stat.Year, part string) float64 {
	sum, over := 0.0, 0.0
	if part != InSeason && part != OffSeason {
		for _, w := range y {
			sum, over = sum+w*w, over+w
		}
		return sum / over
	}
	for _, p := range l.riding.Season.parts(time.Date(2024, 12, 31, 0, 0, 0, 0, time.UTC), time.Date(2025, 12, 31, 0, 0, 0, 0, time.UTC)) {
		if p.in == (part == InSeason) {
			sum, over = sum+usual(y, p.from, p.to), over+float64(days(p.from, p.to))/7
		}
	}
	if over == 0 {
		return 1
	}
	return sum / over
}
