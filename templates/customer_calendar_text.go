package templates

import (
	"time"

	"damperdesk/internal/icalfile"
	"damperdesk/internal/job"
	"damperdesk/internal/summary"
)

// What a customer takes into a calendar. The address of their page is a secret and
// stays out of it: calendars are shared.

// fetched are the jobs that the customer has still to fetch.
func (p CustomerPage) fetched() (jobs []job.Job, ready bool) {
	ready = true
	for _, u := range p.Units {
		if j := u.Job; j.ClosedAt == nil && j.Stage != "cancelled" && j.GoesBack != "post" {
			jobs = append(jobs, j)
			ready = ready && j.Stage == job.Ready
		}
	}
	return jobs, ready && len(jobs) > 0
}

// pickup is the event of fetching a visit: the hours that the shop is open in next when
// all of it is ready, the promised day before that. About is empty where there is
// nothing to fetch.
func (p CustomerPage) pickup() (e icalfile.Event, ready bool) {
	jobs, ready := p.fetched()
	if len(jobs) == 0 || ready && p.From.IsZero() {
		return icalfile.Event{}, false
	}
	var units, tickets []string
	e.Since, e.Revised = p.Visit.OpenedAt, p.PromisedSince
	for _, j := range jobs {
		units, tickets = append(units, j.Unit), append(tickets, num(j.Number))
		e.Revised = later(e.Revised, j.StageAt)
	}
	e.About, e.Place = p.eventOf("pickup"), p.eventPlace()
	e.Words = "Ticket " + joined(tickets) + "." + p.eventCall()
	if ready {
		e.Start, e.End, e.Revised = p.From, p.To, later(e.Revised, p.Shut)
		e.Summary = "Pick up " + joined(units) + " at " + p.Summary.Shop.Name
		return e, true
	}
	e.AllDay, e.Start = true, p.local(p.Visit.PromisedAt)
	e.Summary = joined(units) + ": promised by " + p.Summary.Shop.Name
	e.Words = "Promised for " + p.Clock(p.Visit.PromisedAt) + ". " + e.Words
	return e, false
}

// Pickup is the event of fetching the visit, if there is something to fetch.
func (p CustomerPage) Pickup() []icalfile.Event {
	if e, _ := p.pickup(); e.About != "" {
		return []icalfile.Event{e}
	}
	return nil
}

// Due are the days on which a service of the visit is due again.
func (p CustomerPage) Due() []icalfile.Event {
	var list []icalfile.Event
	for _, u := range p.Units {
		if ready(u.Job) {
			list = append(list, p.dueOf(u)...)
		}
	}
	return list
}

func (p CustomerPage) dueOf(u summary.Unit) []icalfile.Event {
	var list []icalfile.Event
	for _, n := range u.Next {
		for _, d := range n.Dates {
			list = append(list, icalfile.Event{
				About: p.eventOf("due " + num(u.Job.Number) + " " + n.Code + " " + string(d.By)), Since: *u.Job.ReadyAt, Revised: *u.Job.ReadyAt,
				Start: d.On, AllDay: true, Summary: n.Service + " due: " + u.Job.Unit,
				Words: p.dueText(n) + "\n" + textDue + "\n" + p.Summary.Shop.Name + "." + p.eventCall(),
			})
		}
	}
	return list
}

// eventOf tells an event of this visit from those of any other, in any shop.
func (p CustomerPage) eventOf(what string) string {
	return "visit " + idText(p.Visit.ID) + " of " + p.Visit.OpenedAt.UTC().Format(time.RFC3339Nano) + ": " + what
}

func (p CustomerPage) eventPlace() string {
	return listed(p.Summary.Shop.Name, p.Summary.Shop.Address)
}

func (p CustomerPage) eventCall() string {
	if p.Summary.Shop.Phone == "" {
		return ""
	}
	return " " + textCallShop + ": " + p.Summary.Shop.Phone + "."
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
