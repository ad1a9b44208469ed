package letter

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
	"damperdesk/internal/shop"
	"damperdesk/internal/summary"
)

// facts is all that a letter is made of, as things stand.
type facts struct {
	kind     message.Kind
	prefs    Prefs
	shop     shop.Settings
	hours    shop.Hours
	customer string
	link     string
	visit    *summary.Summary // nil: of no visit
	given    []given          // the promises of the visit, the newest first
	past     map[int64]bool   // units of the visit that are here again, or another’s
	reminds  []reminder       // what it says is due again
}

// given is a promise, and whether the customer ever heard of it.
type given struct {
	ID         int64
	PromisedAt time.Time
	Agreed     bool // with a proposal that the customer said yes to
	Refused    bool // or no
	Unheard    bool `db:"-"` // overtaken before it was told
}

// units are those of the visit that a letter of the kind is about.
func (f facts) units() []summary.Unit {
	if f.visit == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(f.visit.Units), func(u summary.Unit) bool {
		switch j := u.Job; f.kind {
		case message.Ready, message.StillHere:
			return j.Stage != job.Ready
		case message.FirstRide:
			return j.Ending != job.Done || f.past[j.UnitID] || notToRide(u) != ""
		default:
			return j.ClosedAt != nil || j.Stage == job.Booked
		}
	})
}

// toDo counts the units that are here and not ready.
func (f facts) toDo() (n int) {
	for _, u := range f.visit.Units {
		if u.Job.ClosedAt == nil && u.Job.Stage != job.Booked && u.Job.Stage != job.Ready {
			n++
		}
	}
	return n
}

// asked are the proposals that wait for the customer, of work still to be done.
func (f facts) asked() []goahead.Proposal {
	return slices.DeleteFunc(goahead.Undecided(f.visit.Proposals, 0), func(p goahead.Proposal) bool {
		return slices.ContainsFunc(f.visit.Units, func(u summary.Unit) bool {
			return u.Job.ID == p.JobID && (u.Job.ClosedAt != nil || u.Job.Stage == job.Ready)
		})
	})
}

// was is what the customer was told before the newest promise.
func (f facts) was() (at time.Time, ok bool) {
	for i, g := range f.given {
		if i > 0 && !g.Unheard {
			return g.PromisedAt, true
		}
	}
	return time.Time{}, false
}

// moot reports whether there is nothing to tell any more: it was answered,
// fetched, moved back or moved on before anybody wrote.
func (f facts) moot() bool {
	if f.kind == message.DueSoon {
		return !slices.ContainsFunc(f.reminds, func(r reminder) bool { return !r.moot })
	}
	if len(f.units()) == 0 {
		return true
	}
	switch f.kind {
	case message.Received:
		return f.toDo() == 0
	case message.GoAhead:
		return len(f.asked()) == 0
	case message.Moved:
		was, ok := f.was()
		return !ok || was.Equal(f.given[0].PromisedAt) || f.toDo() == 0
	case message.Ready, message.StillHere:
		return f.toDo() > 0
	}
	return false
}

// overtaken reports whether a message that was caused at that moment says by now
// what is over, so that it is not written: a day that has passed, how long something
// has been ready that was worked on since, or that it waits where it is to be sent.
// A caller is still told of these.
func (f facts) overtaken(caused time.Time) bool {
	switch f.kind {
	case message.Received, message.Moved:
		return !f.visit.Visit.PromisedAt.After(f.prefs.Now)
	case message.StillHere:
		return f.visit.Visit.GoesBack == "post" || slices.ContainsFunc(f.units(), func(u summary.Unit) bool {
			return u.Job.ReadyAt != nil && u.Job.ReadyAt.After(caused)
		})
	}
	return false
}

// values are those of every field that the kind has.
func (f facts) values() map[string]string {
	first, _, _ := strings.Cut(strings.TrimSpace(f.customer), " ")
	v := map[string]string{
		"shop": f.shop.Name, "shop phone": f.shop.Phone, "shop address": strings.Join(strings.FieldsFunc(f.shop.Address, isBreak), ", "),
		"opening times": f.prefs.week(f.hours.Openings), "first name": cmp.Or(first, f.customer), "link": f.link,
	}
	if len(f.reminds) > 0 {
		f.dueValues(v)
	}
	if f.visit != nil {
		f.visitValues(v)
	}
	return v
}

func lowerFirst(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToLower(r)) + s[size:]
}

func isBreak(r rune) bool { return r == '\n' || r == '\r' }

func (f facts) visitValues(v map[string]string) {
	var names, tickets, unsafe, next []string
	var ready time.Time
	units := f.units()
	if len(units) == 0 {
		units = f.visit.Units // tried on a job that it does not fit
	}
	for _, u := range units {
		names, tickets = append(names, u.Job.Unit), append(tickets, fmt.Sprint(u.Job.Number))
		if words := notToRide(u); words != "" {
			unsafe = append(unsafe, words)
		}
		for _, n := range u.Next {
			next = append(next, f.prefs.nextText(n))
		}
		if u.Job.ReadyAt != nil && u.Job.ReadyAt.After(ready) {
			ready = *u.Job.ReadyAt
		}
	}
	slices.Sort(next)
	v["units"], v["tickets"] = joined(names), "ticket "+joined(tickets)
	if len(tickets) > 1 {
		v["tickets"] = "tickets " + joined(tickets)
	}
	v["promised day"] = f.prefs.Moment(f.visit.Visit.PromisedAt)
	v["not to ride"], v["next due"] = strings.Join(unsafe, "\n"), strings.Join(slices.Compact(next), "\n")
	v["days here"] = daysText(max(1, int(f.prefs.Now.Sub(ready).Hours()/24)))
	v["how it goes back"] = textPickUp
	if f.visit.Visit.GoesBack == "post" {
		v["how it goes back"] = textSend
	}
	v["what is owed"] = f.owed()
	v["open next"] = f.openNext()
	f.askedValues(v)
	f.movedValues(v)
}

func (f facts) askedValues(v map[string]string) {
	names := map[int64]string{}
	for _, u := range f.visit.Units {
		names[u.Job.ID] = u.Job.Unit
	}
	var list []string
	var with time.Time
	total := f.visit.Standing.TotalMinor()
	for _, p := range f.asked() {
		words := p.Words + ", " + f.prefs.Money(p.Minor)
		if len(f.visit.Units) > 1 {
			words = names[p.JobID] + ": " + words
		}
		list = append(list, words)
		total += p.Minor
		if p.ReadyAt != nil && p.ReadyAt.After(with) {
			with = *p.ReadyAt
		}
	}
	v["what is proposed"], v["total"], v["day with it"] = strings.Join(list, "\n"), f.prefs.Money(total), ""
	if !with.IsZero() {
		v["day with it"] = f.prefs.Moment(with)
	}
}

func (f facts) movedValues(v map[string]string) {
	if len(f.given) == 0 {
		return
	}
	now := f.given[0]
	was, ok := f.was()
	if !ok {
		was = now.PromisedAt
	}
	v["old day"], v["new day"], v["why it moves"] = f.prefs.Moment(was), f.prefs.Moment(now.PromisedAt), textSorry
	switch {
	case now.Agreed:
		v["why it moves"] = textAgreed
	case now.Refused:
		v["why it moves"] = textRefused
	case now.PromisedAt.Before(was):
		v["why it moves"] = textSooner
	}
}

// owed says what is to pay; nothing while there is no bill.
func (f facts) owed() string {
	b := f.visit.Bill.Balance()
	switch owed := b.OwedMinor(); {
	case owed > 0:
		return fmt.Sprintf(textOwed, f.prefs.Money(owed))
	case b.Lines > 0 || b.PaidMinor > 0:
		return textSettled
	}
	return ""
}

// openNext is when the shop is open, for whoever hears it now.
func (f facts) openNext() string {
	from, to := f.visit.From, f.visit.To
	day := func(t time.Time) time.Time { return interval.Day(t, f.prefs.Zone) }
	switch {
	case from.IsZero():
		return ""
	case !from.After(f.prefs.Now):
		return fmt.Sprintf(textOpenNow, f.prefs.Clock(to))
	case day(from).Equal(day(f.prefs.Now)):
		return fmt.Sprintf(textOpenToday, f.prefs.Clock(from), f.prefs.Clock(to))
	}
	return fmt.Sprintf(textOpenOn, f.prefs.longDay(from), f.prefs.Clock(from))
}

// notToRide is what to say of a unit that is not safe; empty where it is, by the
// word of the mechanic and what was found.
func notToRide(u summary.Unit) string {
	unsafe := func(x bench.Finding) bool { return x.Grade == bench.FoundUnsafe }
	switch {
	case u.Job.Ending == "returned in parts, not rideable":
		return fmt.Sprintf(textInParts, u.Job.Unit)
	case u.Sheet.Verdict() == bench.FoundUnsafe || slices.ContainsFunc(bench.Standing(u.Sheet.Findings), unsafe):
		return fmt.Sprintf(textNotRide, u.Job.Unit)
	}
	return ""
}
