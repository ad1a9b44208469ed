package plan

import (
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/lineup"
)

// What is reckoned with where nobody said a day: common practice (no source).
const (
	leastLeft    = 5 * time.Minute // of a sheet that is all but signed
	partsUsual   = 3               // opening days until parts whose day is not known
	sentOutUsual = 5               // the same of what a specialist has
	midday       = 12 * time.Hour  // by when a parcel of the day has come
)

// toAuthorise is the wait of a warranty claim, beside the kinds of job.HoldKinds.
const toAuthorise = "claim to be authorised"

const wholeBike = "whole bike"

func (t task) work() job.Work {
	return job.Work{Services: t.Services, ModelID: t.ModelID, WholeBike: t.CameAs == wholeBike}
}

// lapsed is whether it was booked for a day that is over: it takes no hours.
func (t task) lapsed(today time.Time) bool {
	return t.Stage == job.Booked && t.BookedFor != nil && t.BookedFor.Before(today)
}

// underWay is whether somebody is at it: on the bench, and waiting for nothing.
func (t task) underWay() bool {
	return len(t.holds) == 0 && (t.Stage == job.OnBench || t.Stage == job.FinalCheck)
}

// left is the book time less the share of the sheet that is signed, and what was
// agreed beyond it.
func (t task) left(minutes float64) time.Duration {
	if n := t.progress.Steps; n > 0 {
		minutes *= float64(n-t.progress.Signed) / float64(n)
	}
	minutes += float64(t.more.Minutes)
	return inMinutes(minutes)
}

func inMinutes(minutes float64) time.Duration {
	return max(time.Duration(minutes*float64(time.Minute)).Round(time.Minute), leastLeft)
}

// inLine is the job as the line takes it.
func (p *Plan) inLine(t task) lineup.Job {
	minutes, _ := p.times.For(t.work())
	j := lineup.Job{ID: t.ID, Left: t.left(minutes), From: p.released(t), Due: t.PromisedAt,
		Mechanic: p.known(t.MechanicID), Skills: p.skillsOf(t), Waits: p.waitsOf(t, minutes)}
	switch {
	case t.underWay():
		j.Rank = lineup.UnderWay
	case t.pin == nil:
	case t.pin.Kind == job.NextUp:
		j.Rank = lineup.NextUp
	case t.pin.Kind == job.PinnedToDay:
		j.Rank = lineup.SameDay
		if t.pin.Day.After(p.day(p.At)) {
			j.From = latest(j.From, p.opens(*t.pin.Day))
		}
	}
	return j
}

// known is the mechanic, or nobody where they have left.
func (p *Plan) known(id int64) int64 {
	if _, works := p.names[id]; works {
		return id
	}
	return 0
}

// released is from when a job can be worked on: when all it waits for is there.
// The zero time is at once.
func (p *Plan) released(t task) time.Time {
	var at time.Time
	if t.Stage == job.Booked && t.BookedFor != nil {
		at = p.opens(*t.BookedFor)
	}
	for _, h := range t.holds {
		at = latest(at, p.until(h))
	}
	return at
}

// until is when a wait is reckoned to end. What should have ended by now is
// reckoned with on the next opening day, and so again every day.
func (p *Plan) until(h wait) time.Time {
	var end time.Time
	switch {
	case h.ExpectedOn != nil:
		end = latest(p.opens(*h.ExpectedOn), p.clock(*h.ExpectedOn, midday))
	case h.Kind == job.WaitingOnCustomer, h.Kind == toAuthorise:
		end = h.At.Add(p.Answer.Usual)
	case h.Kind == job.SentOut:
		end = p.opens(p.openDay(p.day(h.At), sentOutUsual))
	default:
		end = p.opens(p.openDay(p.day(h.At), partsUsual))
	}
	if end.After(p.At) {
		return end
	}
	return p.opens(p.openDay(p.day(p.At), 1))
}

// clock is a time of day, as the shop's clock shows it.
func (p *Plan) clock(day time.Time, since time.Duration) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, int(since.Minutes()), 0, 0, p.zone)
}

// openDay is the nth day after one on which the shop opens.
func (p *Plan) openDay(day time.Time, n int) time.Time {
	for range n {
		next := p.opens(day.AddDate(0, 0, 1))
		day = p.day(next)
	}
	return day
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
