package templates

import (
	"fmt"
	"hash/crc32"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
)

// DuePage is which units are due for which service, or those a filter picks.
type DuePage struct {
	Base
	DueQuery
	Filling
	Rows     []due.Row // of this page
	Count    map[interval.State]int
	Services []procedure.Service
	Pages    int
	Empty    bool // no unit has ever been taken in
	// Past is how forecasts came true; nil for whoever is not an owner.
	Past *due.Backtested

	Invited         map[string]due.Invitation // the newest by UnitService
	ByMail, ByPhone map[int64]bool            // customers who can be invited so
	Worth           map[string]int64          // minor units by UnitService; none: no price
	Ticked          []string                  // by UnitService, of the whole list
	ByHand          bool                      // somebody ticked them; else they are proposed
}

// DueQuery is what part of the due list is shown, as its address has it.
type DueQuery struct {
	State   interval.State // empty for all
	Service string         // its code; empty for all
	Sort    due.Sort
	Most    int // whom to choose, said by hand; 0: by the room
	Page    int // from 1 on
}

// Values are what is set, by the name it has in the address.
func (q DueQuery) Values() url.Values {
	v := url.Values{}
	for name, value := range map[string]string{"state": string(q.State), "service": q.Service, "sort": string(q.Sort), "most": whole(q.Most)} {
		if value != "" {
			v.Set(name, value)
		}
	}
	if q.Page > 1 {
		v.Set("page", strconv.Itoa(q.Page))
	}
	return v
}

func (q DueQuery) state(s interval.State) DueQuery { q.State, q.Page = s, 1; return q }
func (q DueQuery) service(code string) DueQuery    { q.Service, q.Page = code, 1; return q }
func (q DueQuery) sorted(s due.Sort) DueQuery      { q.Sort, q.Page = s, 1; return q }
func (q DueQuery) page(n int) DueQuery             { q.Page = n; return q }

// ticked reports whether a row is.
func (p DuePage) ticked(r due.Row) bool { return slices.Contains(p.Ticked, InviteKey(r)) }

// Seal tells ticks that somebody changed from those of a page as it was.
func Seal(ticked []string) string {
	return fmt.Sprintf("%08x", crc32.ChecksumIEEE([]byte(strings.Join(slices.Sorted(slices.Values(ticked)), " "))))
}

// BackToList is the list with what is ticked.
func BackToList(ticked []string) string {
	return "/due?" + url.Values{"ticked": {"yes"}, "invite": ticked}.Encode()
}

// all counts the rows that somebody may be rung for.
func (p DuePage) all() int {
	n := 0
	for _, s := range interval.States {
		n += p.Count[s]
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

// dueChoice is one press of a filter, which takes the ticks along.
type dueChoice struct {
	words string
	to    DueQuery
	on    bool
}

func (p DuePage) stateChoices() []dueChoice {
	list := []dueChoice{{"all " + strconv.Itoa(p.all()), p.state(""), p.State == ""}}
	for _, s := range due.States {
		if n := p.Count[s]; n > 0 || p.State == s {
			list = append(list, dueChoice{string(s) + " " + strconv.Itoa(n), p.state(s), p.State == s})
		}
	}
	return list
}

func (p DuePage) serviceChoices() []dueChoice {
	list := []dueChoice{{"every", p.service(""), p.Service == ""}}
	for _, s := range p.Services {
		list = append(list, dueChoice{lowerFirst(s.Name), p.service(s.Code), p.Service == s.Code})
	}
	return list
}

// sortWords are the orders of the list in words.
var sortWords = map[due.Sort]string{
	due.MostDue: "most due first", due.Surest: "surest first", due.MostWorth: "dearest first", due.ByCustomer: "by customer",
}

func (p DuePage) sortChoices() []dueChoice {
	var list []dueChoice
	for _, s := range due.Sorts {
		list = append(list, dueChoice{sortWords[s], p.sorted(s), p.Sort == s})
	}
	return list
}

// sortedBy marks the head of the column that the list is sorted by.
func (p DuePage) sortedBy(s due.Sort) templ.Attributes {
	switch {
	case p.Sort != s:
		return nil
	case s == due.MostWorth || s == due.MostDue:
		return templ.Attributes{"aria-sort": "descending"}
	}
	return templ.Attributes{"aria-sort": "ascending"}
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

// dueSpan draws in the months when the hours are ridden, and the first limit
// that comes whatever is ridden.
func (b Base) dueSpan(o interval.Outlook) Span {
	s := b.strip()
	today := s.at(b.today())
	span := Span{High: s.at(s.months[stripMonths]), Today: &today, Label: b.dueLabel(o)}
	for _, m := range s.months[1:stripMonths] {
		span.Ticks = append(span.Ticks, s.at(m))
	}
	if !o.Low.IsZero() {
		span.Band = &Band{s.at(o.Low), span.High}
		if !o.High.IsZero() {
			span.Band.To = s.at(o.High)
		}
	}
	if !o.Median.IsZero() {
		best := s.at(o.Median)
		span.Best = &best
	}
	if len(o.Dates) > 0 {
		limit := s.at(o.Dates[0].On)
		span.Limit = &limit
	}
	return span
}

// dueLabel says what is drawn: "about 20 October; 30 September to 12 November".
func (b Base) dueLabel(o interval.Outlook) string {
	if o.Due.IsZero() {
		return "no date"
	}
	return b.dueWhen(o) + "; " + b.dueWhenMore(o)
}

// dueWhen is when the first limit is met: "about 20 October", "since 28
// September".
func (b Base) dueWhen(o interval.Outlook) string {
	if o.Due.IsZero() {
		return ""
	}
	words := b.Date(o.Due)
	switch {
	case o.By == interval.ByHours && o.Low.Before(o.High):
		words = "about " + words
	case o.Wants == interval.WantsRiding:
		words = "by " + words
	}
	if o.Due.Before(b.today()) {
		words = "since " + strings.TrimPrefix(words, "by ")
	}
	return words
}

// dueWhenMore is how sure that is, or which limit it is: "30 September to 12
// November", "season before hours".
func (b Base) dueWhenMore(o interval.Outlook) string {
	switch {
	case o.Asked != nil:
		return "after " + happenedText[o.Asked.Kind].after
	case o.By == interval.ByHours && o.High.IsZero():
		return b.Date(o.Low) + " or later"
	case o.By == interval.ByHours && o.Low.Before(o.High):
		return b.Date(o.Low) + " to " + b.Date(o.High)
	case o.By == interval.ByHours:
		return "counted"
	case len(o.Dates) == 0:
		return ""
	case o.Wants == interval.WantsRiding:
		return dateBy(o) + "; hours would say sooner"
	case o.Rule.Hours > 0:
		return dateBy(o) + " before hours"
	}
	return dateBy(o)
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
	case due.HereNow, due.Booked:
		return Circle
	case due.Off:
		return Dotted
	}
	return Disc
}

// dueWhy names the limit that comes first: "61 of 50 h", "12 months on 28
// September", "end of season 31 October". For a service that nobody can judge
// it says what is not known.
func (b Base) dueWhy(o interval.Outlook) string {
	today := b.today()
	switch {
	case o.Asked != nil && o.Asked.ID == 0: // of the table, which has its day alone
		return b.dateWords(o, interval.Date{By: o.By, On: o.Asked.Day()})
	case o.Asked != nil:
		return b.eventLine(*o.Asked)
	case o.Wants == interval.WantsService:
		return "never done here"
	case o.State(today) == interval.Unknown:
		return "no hours known"
	case o.By == interval.ByHours:
		return b.riddenOf(o)
	case len(o.Dates) > 0:
		return b.dateWords(o, o.Dates[0])
	}
	return ""
}

// riddenOf is about how many hours are ridden by today.
func (b Base) riddenOf(o interval.Outlook) string {
	return hours(o.HoursBy(b.today())) + " of " + num(o.Rule.Hours) + " h"
}

// dateWords names a limit that comes whatever is ridden.
func (b Base) dateWords(o interval.Outlook, d interval.Date) string {
	if d.By == interval.BySeason {
		return "end of season " + b.Date(d.On)
	}
	if text, ok := happenedText[string(d.By)]; ok {
		return "after " + text.after + ", " + b.Date(d.On)
	}
	return plural(o.Rule.Months, "month") + " on " + b.Date(d.On)
}

// dueMore says what would make an unknown state known, or which other limit is
// still to come.
func (b Base) dueMore(o interval.Outlook) string {
	switch {
	case o.Asked != nil && o.Asked.Kind == interval.Crash:
		return "not to be ridden before it is looked at"
	case o.Asked != nil:
		return ""
	case o.Wants == interval.WantsService:
		return "its first time here starts the count"
	case o.State(b.today()) == interval.Unknown && len(o.Dates) > 0:
		return "hours since the last service, or rides a week and how long, would say sooner than " + b.Date(o.Dates[0].On)
	case o.State(b.today()) == interval.Unknown:
		return "hours since the last service, or rides a week and how long, would say"
	case o.By == interval.ByHours && len(o.Dates) > 0:
		return "or " + b.dateWords(o, o.Dates[0])
	case o.Wants == interval.WantsRiding:
		return "no hours known"
	case o.Rule.Hours > 0:
		return b.riddenOf(o)
	}
	return ""
}

// dateBy says which limit the earliest date is.
func dateBy(o interval.Outlook) string {
	if o.Dates[0].By == interval.BySeason {
		return "season"
	}
	if text, ok := happenedText[string(o.Dates[0].By)]; ok {
		return "after " + text.after
	}
	return plural(o.Rule.Months, "month")
}

// dueBrief is why, beside the column that says when.
func (b Base) dueBrief(o interval.Outlook) string {
	if o.State(b.today()) == interval.Unknown || o.By == interval.ByHours {
		return b.dueWhy(o)
	}
	return listed(b.dueWhy(o), b.dueMore(o))
}

// pastWords says how far the band can be believed: "of 118 forecasts last year 96
// came true within the band (81 %)".
func pastWords(past due.Backtested) string {
	if !past.Enough() {
		return "How many forecasts come true within the band: not enough history, " + num(past.Forecasts) + " of the " + num(due.LeastForecasts) + " it takes."
	}
	return "Of " + num(past.Forecasts) + " forecasts last year " + num(past.Inside) + " came true within the band (" + strconv.Itoa(int(100*past.Share()+0.5)) +
		" %); half of them were off by " + plural(int(*past.OffDays+0.5), "day") + " or less."
}

// textDueList says under the list how it is counted.
const textDueList = "Hours are those used: as ridden, by what they are ridden in. Counted from the last time a service was done here. Soon: within four weeks of the date, or the last fifth of the hours. Due: from the date on, or once the hours are ridden. Overdue: four weeks or a fifth later, or the next season. Hours that nobody has counted yet go by each fork’s own pace, drawn toward the shop’s. Work: the service at the shop’s price list of today."

// textDueUnit says under the services of a unit what they go by.
const textDueUnit = "By the shop’s interval for this model, in hours used: what it is ridden in counts for more, as under Intervals."

// textDueDrawn goes on about the drawing, where there is one.
const textDueDrawn = "Band: four in five forecasts fall in it. Thick tick: as likely before as after. Dashed: a date that comes whatever is ridden. Thin line: today."
