package plan

import (
	"fmt"
	"strings"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/lineup"
)

// How a job stands to its promise.
const (
	OnTime   = ""          // ready with the slack to spare
	Tight    = "tight"     // expected by then, less surely than the shop wants
	WillMiss = "will miss" // expected after it
	Overdue  = "overdue"   // the time is past
)

// Expected is what the plan says of an open job that is not ready yet.
type Expected struct {
	JobID, VisitID int64
	Number         int
	Promised       time.Time
	Start          time.Time // when it is next taken up
	Ready          time.Time // zero: never, as the hours at the bench stand
	MechanicID     int64     // who is reckoned to do it
	Mechanic       string
	Ahead          int           // jobs the same mechanic does before it
	Left           time.Duration // at the bench
	Pin            string        // of job.Pin; empty: none
	Standing       string        // OnTime, Tight, WillMiss, Overdue
	Why            string        // in a few words: "two jobs before it, parts due Thursday"
	pinned         string        // what Why says of the pin
}

// WhyBesidePin is Why for where the pin is said already; it may be empty.
func (e Expected) WhyBesidePin() string {
	return strings.TrimPrefix(strings.TrimPrefix(e.Why, e.pinned), ", ")
}

// Trouble is whether somebody should look at it.
func (e Expected) Trouble() bool { return e.Standing != OnTime }

// Job says when a job will be ready, and why; ok is false for one that has no
// place in the line: ready, gone, or booked for a day that is over.
func (p *Plan) Job(id int64) (e Expected, ok bool) {
	t, ok := p.tasks[id]
	if !ok {
		return e, false
	}
	place := p.places[id]
	e = Expected{JobID: id, VisitID: t.VisitID, Number: t.Number, Promised: t.PromisedAt, Start: place.Start, Ready: place.Finish,
		MechanicID: place.By, Mechanic: p.names[place.By], Ahead: place.Ahead, Left: place.Left,
		Standing: p.standing(place), Why: p.why(t, place)}
	if t.pin != nil {
		e.Pin, e.pinned = t.pin.Kind, p.pinWords(*t.pin)
	}
	return e, true
}

// Next is the job that a mechanic is to take up now, as the line stands; ok is
// false where there is none.
func (p *Plan) Next(mechanic int64) (e Expected, ok bool) {
	for id, place := range p.places {
		if place.By == mechanic && place.Ahead == 0 && !place.Start.After(p.At) {
			return p.Job(id)
		}
	}
	return Expected{}, false
}

func (p *Plan) standing(place lineup.Place) string {
	switch {
	case place.Due.Before(p.At):
		return Overdue
	case place.Late():
		return WillMiss
	case place.Finish.After(p.latest[place.ID]):
		return Tight
	}
	return OnTime
}

// Visit says when the last of the jobs of a visit will be ready that are not.
func (p *Plan) Visit(id int64) (last Expected, ok bool) {
	for _, t := range p.tasks {
		if t.VisitID != id {
			continue
		}
		e, _ := p.Job(t.ID)
		if !ok || e.Ready.IsZero() || !last.Ready.IsZero() && (e.Ready.After(last.Ready) || e.Ready.Equal(last.Ready) && e.JobID < last.JobID) {
			last, ok = e, true
		}
	}
	return last, ok
}

// why is what a job waits for, in the order in which it matters.
func (p *Plan) why(t task, place lineup.Place) string {
	var words []string
	switch {
	case place.Never():
		if codes := p.skillsOf(t); len(codes) > 0 && len(p.whoDoes(codes)) == 0 {
			return p.skillWords(t)
		}
		return "nobody has hours at the bench for it"
	case t.underWay() && !p.isStanding(t):
		words = append(words, "on the bench now")
	case t.pin != nil:
		words = append(words, p.pinWords(*t.pin))
	}
	if place.Ahead > 0 && !place.Held && !p.isStanding(t) {
		words = append(words, before(place.Ahead))
	}
	if t.Stage == job.Booked && t.BookedFor != nil {
		words = append(words, "comes "+p.DayWords(*t.BookedFor))
	}
	for _, h := range t.holds {
		words = append(words, p.waits(h))
	}
	if !p.isStanding(t) {
		words = append(words, p.away(place, len(words))...)
	}
	if only := p.skillWords(t); only != "" {
		words = append(words, only)
	}
	if stands := p.standWords(t, place); stands != "" {
		words = append(words, stands)
	}
	return strings.Join(words, ", ")
}

func (p *Plan) pinWords(pin job.Pin) string {
	if pin.Kind == job.NextUp {
		return "next up"
	}
	return "pinned to " + p.DayWords(*pin.Day)
}

// away is said where nothing else keeps a job from being begun.
func (p *Plan) away(place lineup.Place, said int) []string {
	switch {
	case said > 0:
		return nil
	case p.day(place.Start).After(p.day(p.At)):
		return []string{p.names[place.By] + " is at the bench " + p.DayWords(p.day(place.Start))}
	}
	return []string{"next on the bench"}
}

var numbers = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

func before(n int) string {
	switch {
	case n == 1:
		return "one job before it"
	case n < len(numbers):
		return numbers[n] + " jobs before it"
	}
	return fmt.Sprintf("%d jobs before it", n)
}

func (p *Plan) waits(h wait) string {
	day := p.DayWords(p.day(p.until(h)))
	overdue := h.ExpectedOn != nil && h.ExpectedOn.Before(p.day(p.At))
	switch {
	case h.Kind == job.WaitingOnCustomer:
		return "waits for the customer’s answer, reckoned with " + day
	case h.Kind == toAuthorise:
		return "waits for the claim to be authorised, reckoned with " + day
	case overdue:
		return h.Kind + ", was due " + p.DayWords(*h.ExpectedOn)
	case h.ExpectedOn == nil:
		return h.Kind + ", no day known, reckoned with " + day
	case h.Kind == job.WaitingOnParts:
		return "parts due " + p.DayWords(*h.ExpectedOn)
	}
	return "sent out, back " + p.DayWords(*h.ExpectedOn)
}

// DayWords is a day, at midnight UTC, as people at the counter say it: today,
// tomorrow, the weekday of the next six, else with its date.
func (p *Plan) DayWords(day time.Time) string {
	switch days := int(day.Sub(p.day(p.At)).Hours() / 24); {
	case days == 0:
		return "today"
	case days == 1:
		return "tomorrow"
	case days > 1 && days < 7:
		return day.Format("Monday")
	}
	return day.Format("Monday 2 January")
}
