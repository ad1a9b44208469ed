package job

import (
	"fmt"
	"time"

	"damperdesk/internal/interval"
)

// RemarkKind sorts remarks by what they ask of the people in the shop.
type RemarkKind string

// The kinds of remark.
const (
	RemarkReady       RemarkKind = "ready"        // waits for its customer only
	RemarkLateWaiting RemarkKind = "late waiting" // past its promise, and waits
	RemarkLate        RemarkKind = "late"         // past its promise
	RemarkWaiting     RemarkKind = "waiting"      // on parts, or sent out
	RemarkAsking      RemarkKind = "asking"       // waiting on the customer
	RemarkTight       RemarkKind = "tight"        // promised within two hours, or expected too near to it
	RemarkWillMiss    RemarkKind = "will miss"    // expected after its promise; see package plan
	RemarkToday       RemarkKind = "today"
	RemarkLapsed      RemarkKind = "lapsed" // booked for a day that is over
	RemarkBooked      RemarkKind = "booked" // for a day to come
	RemarkOnTime      RemarkKind = "on time"
)

// Remark says in a few words how a job stands to its promise.
type Remark struct {
	Kind  RemarkKind
	Words string
}

// tight is how near a promise is when it becomes a matter of hours.
const tight = 2 * time.Hour

// Remark judges the row at now, with days as the zone has them. The first that
// holds of: booked, or lapsed; ready; past its promise, and how long, with what it waits for; what
// it waits for; promised within two hours; promised today; on time.
func (r BoardRow) Remark(now time.Time, zone *time.Location) Remark {
	now, promised := now.In(zone), r.PromisedAt.In(zone)
	late := now.After(promised)
	switch {
	case Lapsed(r.Stage, r.BookedFor, interval.Day(now, zone)):
		return Remark{RemarkLapsed, "did not come " + dayWord(onDay(*r.BookedFor, zone), now)}
	case r.Stage == Booked && r.BookedFor != nil:
		return Remark{RemarkBooked, "comes " + dayWord(onDay(*r.BookedFor, zone), now)}
	case r.Stage == Ready:
		return Remark{RemarkReady, "ready"}
	case late && len(r.Holds) > 0:
		return Remark{RemarkLateWaiting, "late; " + r.Holds[0].remark(now)}
	case late:
		return Remark{RemarkLate, "late by " + lateness(now, promised)}
	case len(r.Holds) > 0 && r.Holds[0].Kind == WaitingOnCustomer:
		return Remark{RemarkAsking, r.Holds[0].remark(now)}
	case len(r.Holds) > 0:
		return Remark{RemarkWaiting, r.Holds[0].remark(now)}
	case promised.Sub(now) <= tight:
		return Remark{RemarkTight, "tight"}
	case days(now, promised) == 0:
		return Remark{RemarkToday, "due today"}
	}
	return Remark{RemarkOnTime, "on time"}
}

// lateness is in days of the calendar once the promised day is over, before
// that in hours and minutes.
func lateness(now, promised time.Time) string {
	if n := days(promised, now); n > 0 {
		return counted(n, "day")
	}
	late := now.Sub(promised)
	h, m := int(late.Hours()), int(late.Minutes())%60
	switch {
	case h == 0 && m == 0:
		return "under a minute"
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}

// remark says what the job waits for and how long it has or will, at a time in
// the shop's zone.
func (w Wait) remark(now time.Time) string {
	if w.ExpectedOn == nil {
		return w.Kind + " since " + dayWord(w.At.In(now.Location()), now)
	}
	what := "back"
	switch w.Kind {
	case WaitingOnParts:
		what = "parts"
	case WaitingOnCustomer:
		what = "answer"
	}
	day := onDay(*w.ExpectedOn, now.Location())
	if days(day, now) > 0 {
		return what + " overdue since " + dayWord(day, now)
	}
	return what + " due " + dayWord(day, now)
}

// onDay is the beginning of a day without a zone, which is the same day in the
// shop's.
func onDay(day time.Time, zone *time.Location) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}

// dayWord names a day as near to now as it is.
func dayWord(day, now time.Time) string {
	switch n := days(now, day); {
	case n == 0:
		return "today"
	case n > -7 && n < 7:
		return day.Format("Mon")
	case day.Year() == now.Year():
		return day.Format("2 January")
	}
	return day.Format("2 January 2006")
}

// days counts the midnights from one time to another of the same zone.
func days(from, to time.Time) int {
	midnight := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(midnight(to).Sub(midnight(from)) / (24 * time.Hour))
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
