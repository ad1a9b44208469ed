package interval

import (
	"damperdesk/internal/stat"
)

// Rider is what a norm is fitted to: what was counted of one unit, and how long
// a ride of its rider is; 0 where nobody said.
type Rider struct {
	Spans     []Span
	RideHours float64
}

// Rider is what the log has for a norm.
func (l Log) Rider() Rider { return Rider{l.Spans(), l.rideHours()} }

const (
	// LeastRiders is how many units with counted hours, and how many riders who
	// said how long a ride is, have to be there before the shop's own figures
	// stand in place of what is shipped. Of ten the mean is known to a fifth or
	// so where riders differ by half.
	LeastRiders = 10
	// leastSpans is how many counted spans say in which months is ridden, and
	// longest how many days such a span has at most: a longer one tells months
	// apart no more. More than mostSpans say nothing new.
	leastSpans, longest, mostSpans = 60, 120, 1000
	// alike is the greatest shape that riders are believed to have in common:
	// they differ by a fifth at least, however few were counted.
	alike = 25
	// monthRides is how many rides what is shipped of a month counts for.
	monthRides = 100
)

// Fit is the norm of those riders; where they are too few, or say too little,
// a part of it stays as shipped.
func Fit(riders []Rider, s Season) Norm {
	n := Shipped(s)
	if each, said := meanRide(riders); said >= LeastRiders {
		n.Pace.RideHours = each
	}
	n.Year, n.Spans = fitYear(riders, n)
	// Hours are counted, not rides: they vary more by the lengths of rides.
	hoursARide := n.Pace.RideHours * (1 + 1/n.Pace.RideShape)
	var rates []stat.Rate
	for _, r := range riders {
		if hours, weeks := r.total(n.Year); weeks > 0 {
			rates = append(rates, stat.Rate{Rides: hours / hoursARide, Weeks: weeks * n.Pace.RideHours / hoursARide})
		}
	}
	if len(rates) < LeastRiders {
		return n
	}
	if common, err := stat.CommonRate(rates); err == nil {
		shape := min(common.Rides, alike)
		n.Riders, n.Pace.Rides, n.Pace.Weeks = len(rates), shape, shape/common.Mean()
	}
	return n
}

func meanRide(riders []Rider) (hours float64, said int) {
	for _, r := range riders {
		if r.RideHours > 0 {
			hours, said = hours+r.RideHours, said+1
		}
	}
	return hours / float64(max(said, 1)), said
}

func (r Rider) total(y stat.Year) (hours, weeks float64) {
	for _, s := range r.Spans {
		hours, weeks = hours+s.Plain, weeks+usual(y, s.From, s.To)
	}
	return hours, weeks
}

// fitYear learns from counted spans in which months is ridden, drawn toward what
// is shipped, and says from how many; 0 where they are too few.
func fitYear(riders []Rider, n Norm) (stat.Year, int) {
	var list []stat.Span
	for i, r := range riders {
		for _, s := range r.Spans {
			if days(s.From, s.To) <= longest && len(list) < mostSpans {
				list = append(list, stat.Span{Rider: int64(i), From: s.From.AddDate(0, 0, 1), Days: days(s.From, s.To), Rides: s.Plain / n.Pace.RideHours})
			}
		}
	}
	if len(list) < leastSpans {
		return n.Year, 0
	}
	y, err := stat.YearOf(list, n.Year, monthRides)
	if err != nil {
		return n.Year, 0
	}
	return y, len(list)
}
