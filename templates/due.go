package templates

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
)

// DuePage is which units are due for which service, or those a filter picks.
type DuePage struct {
	Base
	Rows     []due.Row // of this page
	Count    map[interval.State]int
	State    interval.State // picked; empty for all
	Service  string         // picked, by its code; empty for all
	Services []procedure.Service
	Page     int // from 1 on
	Pages    int
	Empty    bool // no unit has ever been taken in
}

// all counts the rows of every state.
func (p DuePage) all() int {
	n := 0
	for _, c := range p.Count {
		n += c
	}
	return n
}

// standing says how many there are in each state that asks for something.
func (p DuePage) standing() string {
	var words []string
	for _, s := range []interval.State{interval.Overdue, interval.Due, interval.Soon} {
		if n := p.Count[s]; n > 0 {
			words = append(words, strconv.Itoa(n)+" "+string(s))
		}
	}
	if n := p.Count[interval.Unknown]; n > 0 {
		words = append(words, strconv.Itoa(n)+" nobody can know")
	}
	if len(words) == 0 {
		return "Nothing is due."
	}
	return strings.Join(words, ", ") + "."
}

func (p DuePage) link(state interval.State, service string, page int) string {
	q := url.Values{}
	for name, value := range map[string]string{"state": string(state), "service": service} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if page > 1 {
		q.Set("page", strconv.Itoa(page))
	}
	if len(q) == 0 {
		return "/due"
	}
	return "/due?" + q.Encode()
}

func (p DuePage) stateChoices() []boardChoice {
	list := []boardChoice{{"all " + strconv.Itoa(p.all()), p.link("", p.Service, 1), p.State == ""}}
	for _, s := range due.States {
		if n := p.Count[s]; n > 0 || p.State == s {
			list = append(list, boardChoice{string(s) + " " + strconv.Itoa(n), p.link(s, p.Service, 1), p.State == s})
		}
	}
	return list
}

func (p DuePage) serviceChoices() []boardChoice {
	list := []boardChoice{{"every", p.link(p.State, "", 1), p.Service == ""}}
	for _, s := range p.Services {
		list = append(list, boardChoice{lowerFirst(s.Name), p.link(p.State, s.Code, 1), p.Service == s.Code})
	}
	return list
}

// strip is the months that date limits are drawn over: the one before this and
// the five after it.
type strip struct{ months []time.Time }

const stripMonths = 6

func (b Base) strip() strip {
	now := b.local(b.Now)
	var s strip
	for i := range stripMonths + 1 {
		s.months = append(s.months, time.Date(now.Year(), now.Month()-1+time.Month(i), 1, 0, 0, 0, 0, time.UTC))
	}
	return s
}

// names are those of the months.
func (s strip) names() []string {
	var list []string
	for _, m := range s.months[:stripMonths] {
		list = append(list, m.Format("Jan"))
	}
	return list
}

func (s strip) at(day time.Time) float64 { return day.Sub(s.months[0]).Hours() / 24 }

// dueSpan draws the first date limit of a standing in the months, if it has one.
func (b Base) dueSpan(st interval.Standing) Span {
	s := b.strip()
	today := s.at(interval.Day(b.Now, b.Prefs.zone()))
	span := Span{High: s.at(s.months[stripMonths]), Today: &today, Label: "no date"}
	for _, m := range s.months[1:stripMonths] {
		span.Ticks = append(span.Ticks, s.at(m))
	}
	if len(st.Dates) > 0 {
		limit := s.at(st.Dates[0].On)
		span.Limit, span.Label = &limit, b.dateWords(st, st.Dates[0])
	}
	return span
}

// dropOffPath takes the unit in, with the service that is due.
func dropOffPath(r due.Row) string {
	q := url.Values{"customer": {strconv.FormatInt(r.CustomerID, 10)}, "unit": {strconv.FormatInt(r.ID, 10)}}
	if r.Code != "" {
		q.Set("service", r.Code)
	}
	return "/drop-off?" + q.Encode()
}

// dueUnit tells two units of one model apart.
func dueUnit(u due.Unit) string {
	return listed(strings.TrimSpace(u.BikeColour+" "+u.BikeWords), serialOrNothing(u))
}

func serialOrNothing(u due.Unit) string {
	if u.BikeColour+u.BikeWords != "" {
		return ""
	}
	if u.Tag != "" {
		return "tag " + u.Tag
	}
	return u.Serial
}

// dueShape is the drawn half of a state.
func dueShape(s interval.State) Shape {
	switch s {
	case interval.Overdue, interval.Due:
		return Triangle
	case interval.Soon:
		return HalfDisc
	case interval.Unknown:
		return Dotted
	case due.HereNow:
		return Circle
	}
	return Disc
}

// dueWhy names the limit that decides: "61 of 50 h", "12 months on 28
// September", "end of season 31 October". For a service that nobody can judge
// it says what is not known.
func (b Base) dueWhy(st interval.Standing) string {
	asked := st.Asked()
	switch {
	case asked != nil:
		return b.askedWords(*asked)
	case st.Served == nil && len(st.Asks) > 0:
		return b.askedWords(st.Asks[0])
	case st.Served == nil:
		return "never done here"
	case st.By == interval.ByHours:
		return b.riddenOf(st)
	case st.By == "" && st.Rule.Hours > 0 && st.Ridden.Said:
		return b.riddenOf(st) + " at least"
	case st.By == "" && st.Rule.Hours > 0:
		return "no hours known"
	}
	for _, d := range st.Dates {
		if d.By == st.By {
			return b.dateWords(st, d)
		}
	}
	return ""
}

// askedWords say which event asks for a service: "crashed on 11 May", "first
// ridden on 2 March, 20 of 25 h since".
func (b Base) askedWords(a interval.Asked) string {
	words := b.eventLine(a.Event)
	if a.Rule.Hours > 0 {
		words += ", " + hours(a.Ridden.Hours) + " of " + num(a.Rule.Hours) + " h since"
	}
	return words
}

func (b Base) riddenOf(st interval.Standing) string {
	return hours(st.Ridden.Hours) + " of " + num(st.Rule.Hours) + " h"
}

// dateWords names a limit that comes whatever is ridden.
func (b Base) dateWords(st interval.Standing, d interval.Date) string {
	if d.By == interval.BySeason {
		return "end of season " + b.Date(d.On)
	}
	if text, ok := happenedText[string(d.By)]; ok {
		return "after " + text.after + ", " + b.Date(d.On)
	}
	return plural(st.Rule.Months, "month") + " on " + b.Date(d.On)
}

// dueMore says what would make an unknown state known, or which other limit is
// still to come.
func (b Base) dueMore(st interval.Standing) string {
	asked := st.Asked()
	switch {
	case asked != nil && asked.Event.Kind == interval.Crash:
		return "not to be ridden before it is looked at"
	case asked != nil:
		return ""
	case st.Served == nil:
		return "its first time here starts the count"
	case st.State == interval.Unknown && st.Ridden.Said:
		return "rides a week would say more"
	case st.State == interval.Unknown && len(st.Dates) > 0:
		return "hours would say sooner"
	case st.State == interval.Unknown:
		return "hours ridden, or rides a week, would say"
	case st.By == interval.ByHours && len(st.Dates) > 0:
		return "or " + b.dateWords(st, st.Dates[0])
	case st.Rule.Hours > 0 && st.Ridden.Known():
		return b.riddenOf(st)
	case st.Rule.Hours > 0:
		return "no hours known"
	}
	return ""
}

// dateBy says which limit the earliest date is.
func dateBy(st interval.Standing) string {
	if st.Dates[0].By == interval.BySeason {
		return "end of season"
	}
	if text, ok := happenedText[string(st.Dates[0].By)]; ok {
		return "after " + text.after
	}
	return plural(st.Rule.Months, "month")
}

// dueBrief is dueWhy and dueMore beside the column of the date.
func (b Base) dueBrief(st interval.Standing) string {
	if st.By == interval.ByHours {
		return b.dueWhy(st)
	}
	return listed(b.dueWhy(st), b.dueMore(st))
}

// textDueList says under the list how it is counted.
const textDueList = "Hours are those used: as ridden, by what they are ridden in. Counted from the last time a service was done here. Soon: within four weeks of the date, or the last fifth of the hours. Due: from the date on, or once the hours are ridden. Overdue: four weeks or a fifth later, or the next season."

// textDueDrawn goes on about the drawing, where there is one.
const textDueDrawn = "Dashed: the date that comes whatever is ridden. Thin line: today."
