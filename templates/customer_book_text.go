package templates

// Every sentence of the service book as its rider opens it, ready to translate as
// those of customer_text.go are.

import (
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/book"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

const (
	textBook          = "Service book"
	textBookPage      = "What was done on it, what was measured, and when it is next due. It does not say whose it is."
	textBookDue       = "When it is next due"
	textBookDueHow    = "By the shop’s intervals, in hours used: an hour in wet grit, in a bike park, on an e-bike or under a heavy rider counts for more than one."
	textBookNotDue    = "Nothing is due by an interval: no service of it is known yet."
	textBookHours     = "How much it is ridden"
	textBookAdd       = "Add your hours"
	textBookAddHow    = "Either is enough: the hours, or how often and how long you ride. What you add makes the days above surer."
	textBookAddPress  = "Add them"
	textBookSaid      = "Said so far"
	textBookBack      = "Take back what you added"
	textBookWrong     = "Which one"
	textBookBackHow   = "It stays in the list as taken back, and counts for nothing from then on."
	textBookBackPress = "Take it back"
	textBookSettings  = "Settings as last returned"
	textBookSetting   = "Setting"
	textBookValue     = "Value"
	textBookAir       = "Air"
	textBookClosed    = "Clicks and turns are counted from closed, preload from fully out."
	textBookMeasured  = "What was measured over time"
	textBookGrades    = "From good to bad:"
	textBookServices  = "Services"
	textBookNone      = "No service of it stands here yet."
	textBookElsewhere = "elsewhere"
	textBookFile      = "Save the book as a file"
	textBookFileHow   = "Another shop with Damperdesk can read it in, and whoever has the unit next."
	textBookShop      = "The shop"
	textBookPutRight  = "put right"
	textBookHere      = "It is with us now."

	// TextTooMany asks somebody to wait who opened too much that leads nowhere.
	TextTooMany = "Too many addresses were tried from here that lead nowhere. Wait a few minutes and open yours again."
	// TextSaidEnough is for a rider who has added hours all day.
	TextSaidEnough = "That is enough for one day. Add more tomorrow, or ring us."
)

// RiderBookDone is what the book says after its forms.
func RiderBookDone(done string) string {
	switch done {
	case "hours":
		return "Added, thank you. The days below count with it."
	case "hours-back":
		return "Taken back. The days below count without it."
	}
	return ""
}

// bookStates are the states of a service in riders' words.
var bookStates = map[interval.State]string{
	interval.Fine: "not due yet", interval.Unknown: "we cannot say yet", interval.Soon: "due soon", interval.Due: "due now", interval.Overdue: "overdue",
}

// bookNames are what riders read of measurements whose names of customer_text.go
// speak of one visit.
var bookNames = map[string]string{book.PressureIn: "Air as it came"}

// everyText says an interval: "Every 50 hours of riding or 12 months".
func everyText(rule interval.Rule) string {
	var list []string
	if rule.Hours > 0 {
		list = append(list, plural(rule.Hours, "hour")+" of riding")
	}
	if rule.Months > 0 {
		list = append(list, plural(rule.Months, "month"))
	}
	text := strings.Join(list, " or ")
	switch {
	case text == "":
		return "Once each off-season."
	case rule.Season:
		return "Every " + text + ", and once each off-season."
	case len(list) > 1:
		return "Every " + text + ", whichever comes first."
	}
	return "Every " + text + "."
}

// bookDueText says when a service was last done, when it is due again and how much
// of its hours is ridden.
func (b Base) bookDueText(r due.Row) string {
	switch {
	case r.Asked != nil && r.Served == nil:
		return upperFirst(b.eventLine(*r.Asked)) + "."
	case r.Served == nil:
		return "Not done yet, as far as we know."
	}
	text := "Last done " + b.Date(r.Served.Ready) + "."
	if len(r.Dates) > 0 { // the earliest says it
		text += " " + b.bookLimit(r.Dates[0])
	}
	switch {
	case r.Rule.Hours == 0:
	case r.Wants == interval.WantsRiding:
		text += " Nobody has said how much it was ridden since."
	default:
		text += " Used since: about " + b.hours(r.HoursBy(b.today())) + " of " + strconv.Itoa(r.Rule.Hours) + " hours" + b.bookForecast(r.Outlook) + "."
	}
	return text
}

func (b Base) bookLimit(d interval.Date) string {
	switch d.By {
	case interval.BySeason:
		return "Due at the end of the season, " + b.dueDay(d.On) + "."
	case interval.ByMonths:
		return "Due by " + b.dueDay(d.On) + "."
	}
	return "Due after " + happenedText[string(d.By)].after + ", from " + b.dueDay(d.On) + "."
}

// bookForecast is when the hours are over, as likely before as after.
func (b Base) bookForecast(o interval.Outlook) string {
	if o.Median.IsZero() || !o.Median.After(b.today()) {
		return ""
	}
	return ", which are over about " + b.Date(o.Median)
}

// sinceText says from when the hours of the form count.
func (p RiderBookPage) sinceText() string {
	if p.Since == nil {
		return "Hours count from its last service, wherever that was."
	}
	return "Hours count from " + p.Date(*p.Since) + ", when it was last back from a service."
}

// backText says that something was taken back, and not by whom: nobody stands in
// the book.
func (p RiderBookPage) backText(r interval.Reading) string {
	return p.readingWords(r) + ", taken back on " + p.Date(p.local(*r.BackAt))
}

// wrongText are the readings that their rider can take back, the newest first, as
// many as stand on the page at most.
func (p RiderBookPage) wrongText() []Option {
	list := []Option{{Value: "", Label: "Choose"}}
	for _, r := range slices.Backward(p.Readings) {
		if r.Own && r.Standing() && len(list) <= mostBookNotes {
			list = append(list, Option{Value: idText(r.ID), Label: p.readingWords(r) + ", added " + p.Date(p.local(r.At))})
		}
	}
	return list
}

// workText names what was done: "Air-spring service and bushing service".
func workText(w book.Work) string {
	names := make([]string, len(w.Services))
	for i, s := range w.Services {
		names[i] = s.Name
		if i > 0 {
			names[i] = lowerFirst(s.Name)
		}
	}
	return joined(names)
}

// bookFoundText is a finding in the words its reader may see.
func bookFoundText(f book.Found) string {
	if f.Words != "" {
		return upperFirst(f.Words)
	}
	if name := measuredNames[f.Step]; name != "" && !strings.Contains(f.What, ": ") {
		return name
	}
	return f.What
}

func bookFoundShape(f book.Found) Shape {
	if f.PutRight {
		return Square
	}
	return foundShape(f.Grade)
}

func bookFoundWord(f book.Found) string {
	if f.PutRight {
		return textBookPutRight
	}
	return f.Grade
}

// readingText names a measurement.
func readingText(r book.Reading) string {
	for _, names := range []map[string]string{bookNames, measuredNames} {
		if name := names[r.Step]; name != "" {
			return name
		}
	}
	return r.What
}

// titleText is what a browser calls the page.
func (p RiderBookPage) titleText() string { return textBook + ", " + p.Facts.Name() }

// factsText are what the unit is.
func (p RiderBookPage) factsText() []fact {
	travel := ""
	if p.Facts.TravelMM > 0 {
		travel = strconv.Itoa(p.Facts.TravelMM) + " mm"
	}
	var known []fact
	for _, f := range []fact{{"Kind", p.Facts.Kind}, {"Travel", travel}, {"Spring", p.Facts.Spring}, {"Serial", p.Facts.Serial}, {"Tag", p.Unit.Tag}} {
		if f.words != "" {
			known = append(known, f)
		}
	}
	return known
}

// trailText says a drawing to whoever cannot see it.
func trailText(name string, n int) (title, about string) {
	return name, plural(n, "value") + " from the oldest to the newest; each stands in the list beside it."
}

// newestText says that a list has more than stands on the page; empty where all
// of it does.
func newestText(shown, of int) string {
	if shown >= of {
		return ""
	}
	return "The newest " + num(shown) + " of " + num(of) + ". Save the book as a file for the others."
}

// eachNewestText says the same of courses.
func eachNewestText(list []course) string {
	if !slices.ContainsFunc(list, func(c course) bool { return len(c.each) < c.of }) {
		return ""
	}
	return "The newest " + num(mostBookValues) + " of each. Save the book as a file for the others."
}

// leftOutText says what the file has no room for; empty where it has all.
func (p RiderBookPage) leftOutText() string {
	if p.LeftOut == nil {
		return ""
	}
	var parts []string
	if n := p.LeftOut.Services; n > 0 {
		parts = append(parts, plural(n, "service"))
	}
	if n := p.LeftOut.RideHours; n > 0 {
		parts = append(parts, plural(n, "note")+" of ride hours")
	}
	return "The file has no room for the oldest: " + joined(parts) + ". Ask us for them."
}
