package interval

import (
	"slices"
	"time"
)

// Past is one forecast that could have been made, and what came.
type Past struct {
	Made time.Time
	Forecast
	Came time.Time // zero: the hours were not ridden by Forecast.High
}

// Inside reports whether it came from Low to High.
func (p Past) Inside() bool {
	return !p.Came.IsZero() && !p.Came.Before(p.Low) && (p.High.IsZero() || !p.Came.After(p.High))
}

// Off is by how many days the median was wrong; at least so many where it had
// not come by High.
func (p Past) Off() int {
	came, median := p.Came, p.Median
	if came.IsZero() {
		came = p.High
	}
	if median.IsZero() {
		median = p.Made.AddDate(0, 0, foresight)
	}
	return max(days(came, median), days(median, came))
}

// unsaid is how many days since a service may be uncounted where it is said on
// which day hours were ridden: riders count from the day they ride again.
const unsaid = 7

// Pasts are the forecasts of when so many hours were ridden after a service,
// until the next one: one for the day it left and one for each day on which
// something was said, by what was known then, where hours counted since say on
// which day it came, or that it had not by the end of the band. normOn is the
// norm of a day.
func (t Told) Pasts(unitID int64, hours int, left, next time.Time, normOn func(time.Time) Norm) []Past {
	var list []Past
	full, limit := t.Log(unitID), float64(hours)
	came, until := full.came(left, next, limit)
	if until.IsZero() {
		return nil
	}
	for _, day := range full.moments(left, until) {
		log := t.LogOn(unitID, day)
		if !came.IsZero() && !day.Before(came) || !log.Known() {
			continue
		}
		norm := normOn(day)
		r := log.since(left, norm)
		if _, met := r.met(limit); met {
			continue
		}
		p := Past{day, log.foretell(r, limit, norm), came}
		if !came.IsZero() || !p.High.IsZero() && !p.High.After(until) {
			list = append(list, p)
		}
	}
	return list
}

// came is the day on which hours came to a limit by what was counted without a
// gap, and up to which day was counted so.
func (l Log) came(left, next time.Time, limit float64) (came, until time.Time) {
	gap, hours, at := 0, 0.0, left
	for _, s := range l.countedFrom(left).Spans() {
		if !s.To.After(left) {
			continue
		}
		if s.From.Before(left) {
			s.Hours *= float64(days(left, s.To)) / float64(days(s.From, s.To))
			s.From = left
		}
		gap += max(days(at, s.From), 0)
		if gap > unsaid || !next.IsZero() && s.To.After(next) {
			return came, until
		}
		if hours+s.Hours >= limit && came.IsZero() {
			r := riding{parts: []Span{s}}
			came, _ = r.met(limit - hours)
		}
		hours, at, until = hours+s.Hours, s.To, s.To
	}
	return came, until
}

// moments are the days from one to another on which something was said, the
// first of them too.
func (l Log) moments(from, to time.Time) []time.Time {
	list := []time.Time{from}
	for _, u := range l.used {
		day := Day(u.At, l.zone)
		if day.After(from) && day.Before(to) {
			list = append(list, day)
		}
	}
	slices.SortFunc(list, time.Time.Compare)
	return slices.Compact(list)
}
