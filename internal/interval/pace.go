package interval

import (
	"math"
	"slices"
	"time"

	"damperdesk/internal/stat"
)

const (
	// habitWeeks is how many weeks of counting a habit that is said is worth.
	// Common practice (no source): what people say of themselves is off by a
	// quarter, and so is a count over eight weeks of two rides each, by chance.
	habitWeeks = 8
	// halved is after how many days what was counted counts half: riders change
	// from one year to the next.
	halved = 365
	// shortest is the shortest ride, in hours, that is reckoned with.
	shortest = 0.25
)

// Known reports whether anything at all was said of the riding.
func (l Log) Known() bool { return len(l.stated)+len(l.habits) > 0 }

// pace is how its rider rides in usual weeks: as the norm says, drawn toward
// what was counted of this one, and to what was said last.
func (l Log) pace(n Norm) stat.Pace {
	p := n.Pace
	if each := l.rideHours(); each > 0 {
		p.RideHours = max(each, shortest)
	}
	newest := l.newest()
	counts := func(on time.Time) float64 { return math.Pow(0.5, float64(days(on, newest))/halved) }
	hours, weeks := 0.0, 0.0
	for _, s := range l.Spans() {
		w := counts(s.To)
		hours, weeks = hours+w*s.Hours, weeks+w*usual(n.Year, s.From, s.To)
	}
	if weeks > 0 {
		if counted, err := p.Rode(hours, weeks); err == nil {
			p = counted
		}
	}
	if len(l.habits) > 0 {
		h := l.habits[len(l.habits)-1]
		w := counts(h.on)
		p.Rides += w * h.RidesAWeek * habitWeeks
		p.Weeks += w * habitWeeks * ridden(n.Year)
	}
	return p
}

// rideHours is how long a ride is by the habit that was said last; 0 where none
// was.
func (l Log) rideHours() float64 {
	for _, h := range slices.Backward(l.habits) {
		if h.RidesAWeek > 0 {
			return h.HoursARide
		}
	}
	return 0
}

// newest is the last day that anything was said on.
func (l Log) newest() time.Time {
	var day time.Time
	for _, list := range [][]said{l.stated, l.habits} {
		for _, s := range list {
			if s.on.After(day) {
				day = s.on
			}
		}
	}
	return day
}

// ridden is how many usual weeks a week has on the mean day that is ridden on:
// whoever says how often they ride thinks of such a week, and not of January.
func ridden(y stat.Year) float64 {
	sum, rides := 0.0, 0.0
	for _, w := range y {
		sum, rides = sum+w*w, rides+w
	}
	return sum / rides
}
