package templates

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/summary"
)

// CustomerPage is what whoever has the link sees: how far the visit is, then
// the ready-for-pickup summary.
type CustomerPage struct {
	Base
	summary.Summary
	Token string // of the link, in the address of each picture
	// Asked is the form of what waits for an answer, Later of what has one.
	Asked, Later Base
}

func (p CustomerPage) numbers() string {
	var list []string
	for _, u := range p.Units {
		list = append(list, strconv.Itoa(u.Job.Number))
	}
	return strings.Join(list, ", ")
}

// titled names the page by its tickets, for a customer with two of them open.
func (p CustomerPage) titled() Base {
	b := p.Base
	b.Title = "Your visit, ticket " + p.numbers()
	return b
}

// places are the stops of the route, in customers' words.
var routeStops = []string{"dropped off", "on the bench", "final check", "ready for pickup"}

// routeAt is how many stops a job has reached, 0 before it is here.
func routeAt(stage string) int {
	switch stage {
	case "dropped off", "arrived", "in the queue":
		return 1
	case "on the bench":
		return 2
	case "final check":
		return 3
	case "ready for pickup", "picked up", "sent back":
		return 4
	}
	return 0
}

// ready says whether the summary is due: the work has ended as done.
func ready(j job.Job) bool {
	return j.ReadyAt != nil && (j.Ending == "" || j.Ending == "done") && routeAt(j.Stage) == 4
}

// several says whether the visit has more than one unit.
func (p CustomerPage) several() bool { return len(p.Units) > 1 }

// cardHead names the unit and its rider's weight on the settings card.
func (p CustomerPage) cardHead(u summary.Unit) string {
	if u.Job.RiderKG == nil {
		return u.Job.Unit
	}
	return u.Job.Unit + ", " + p.Prefs.Mass(*u.Job.RiderKG)
}

// cardFoot says how the card is read and which job it is from.
func (p CustomerPage) cardFoot(u summary.Unit) string {
	foot := "Clicks from closed. "
	if slices.ContainsFunc(u.Sheet.Settings(), func(s bench.Setting) bool { return s.Key == "preload" }) {
		foot = "Clicks from closed, preload in turns from fully out. "
	}
	foot += "Print, cut along the dashes, keep in a pocket."
	if u.Job.ReadyAt != nil {
		foot += " " + p.Day(*u.Job.ReadyAt) + ", ticket " + num(u.Job.Number) + "."
	}
	return foot
}

func (p CustomerPage) billTotal() bill.Total { return bill.Sum(p.Bill.Lines, bill.TheCustomer) }

// addsTax says whether tax comes on top of the lines.
func (p CustomerPage) addsTax() bool {
	return p.billTotal().TaxMinor != 0 && slices.ContainsFunc(p.Bill.Lines, func(l bill.Line) bool { return !l.TaxIncluded })
}

// lineAmounts is each line as the customer pays it, by its id: before tax where
// tax comes on top.
func (p CustomerPage) lineAmounts() map[int64]int64 {
	own := slices.DeleteFunc(slices.Clone(p.Bill.Lines), func(l bill.Line) bool { return l.Payer != bill.ByCustomer })
	amounts := map[int64]int64{}
	for i, net := range bill.Nets(own) {
		amounts[own[i].ID] = net
		if !p.addsTax() {
			amounts[own[i].ID] = own[i].AmountMinor()
		}
	}
	return amounts
}

// worked says whether nothing of the visit is still to be done.
func (p CustomerPage) worked() bool {
	return !slices.ContainsFunc(p.Units, func(u summary.Unit) bool { return u.Job.ClosedAt == nil && u.Job.Stage != job.Ready })
}

// comeBy says when the shop is open: "today until 18:00" or "Wed from 10:00".
func (p CustomerPage) comeBy() string {
	switch {
	case p.From.IsZero():
		return ""
	case !p.From.After(p.Now):
		return "now, until " + p.Clock(p.To)
	case p.daysTo(p.From) == 0:
		return "today from " + p.Clock(p.From) + " until " + p.Clock(p.To)
	}
	return p.LongDay(p.From) + " from " + p.Clock(p.From)
}

// settingText is one side of the settings card.
func settingText(b Base, s *bench.Signoff) string {
	switch {
	case s == nil:
		return "not taken"
	case s.Outcome == bench.OutcomeUnknown:
		return "unknown"
	case s.Outcome == bench.OutcomeNot:
		return "has none"
	case s.ValueSI != nil && s.ShownUnit.Kind() == quantity.KindPressure && *s.ValueSI == 0:
		return "empty"
	case s.ValueSI != nil:
		return b.Prefs.Quantity(s.ShownUnit.Kind(), *s.ValueSI)
	case s.Grade != "":
		return s.Grade
	case s.Count != nil:
		return countText(*s.Count)
	}
	return s.Grade
}

func settingName(s bench.Setting) string {
	switch {
	case s.Key == "pressure":
		return "Air"
	case s.Form == "positions":
		return s.Name + ", position"
	}
	return s.Name + ", " + cmp.Or(s.Form, "clicks")
}

// measuredText is what was found or filled: an amount, a reading, a grade.
func measuredText(b Base, s bench.Step) string {
	switch d := s.Done; {
	case d.ValueSI != nil:
		return b.Prefs.Quantity(s.Quantity, *d.ValueSI)
	case d.Count != nil && d.Grade == "":
		return countText(*d.Count)
	case s.InWords():
		return d.Entered
	default:
		return d.Grade
	}
}

// measuredSpan draws a value in its window, or a grade on its scale.
func measuredSpan(b Base, s bench.Step) (Span, bool) {
	d := s.Done
	if i := gradeAt(s); i >= 0 && len(s.Grades) > 1 {
		last := float64(len(s.Grades) - 1)
		at := float64(i)
		span := Span{Low: 0, High: last, Reading: &at, Label: d.Grade + ", " + strconv.Itoa(i+1) + " of " + strconv.Itoa(len(s.Grades)) + " grades"}
		for t := range s.Grades {
			span.Ticks = append(span.Ticks, float64(t))
		}
		return span, true
	}
	w, ok := s.Window()
	if d.ValueSI == nil || !ok || w.Minus+w.Plus == 0 {
		return Span{}, false
	}
	low, high := w.Nominal-w.Minus, w.Nominal+w.Plus
	margin := (high - low) / 2
	return Span{Low: low - margin, High: high + margin, Band: &Band{low, high}, Reading: d.ValueSI,
		Label: measuredText(b, s) + ", from " + b.Prefs.Window(s.Quantity, low, high)}, true
}

// gradeAt is the place of the grade on its scale, -1 where there is none.
func gradeAt(s bench.Step) int {
	if s.Done.Grade == "" || s.Kind == procedure.Fit || slices.Contains(unranked, s.Key) {
		return -1
	}
	return slices.Index(s.Grades, s.Done.Grade)
}

// measuredNote stands under the drawing: the window or the scale, and the
// reason where it is outside.
func measuredNote(b Base, s bench.Step) string {
	var note string
	if gradeAt(s) >= 0 {
		note = strings.Join(s.Grades, ", ")
	} else if w, ok := s.Window(); ok && w.Minus+w.Plus > 0 {
		note = "from " + b.Prefs.Window(s.Quantity, w.Nominal-w.Minus, w.Nominal+w.Plus)
	}
	if !s.Done.InWindow {
		note += "; outside it: " + s.Done.Reason
	}
	return strings.TrimPrefix(note, "; ")
}

// shown and folded split what was measured: torques belong to the record.
func shown(u summary.Unit) []bench.Step {
	var list []bench.Step
	for _, s := range u.Sheet.Measured() {
		if s.Kind != procedure.Torque && s.Key != "V9" {
			list = append(list, s)
		}
	}
	return list
}

func torques(u summary.Unit) []bench.Step {
	var list []bench.Step
	for _, s := range u.Sheet.Measured() {
		if s.Kind == procedure.Torque {
			list = append(list, s)
		}
	}
	return list
}

func torqueText(b Base, s bench.Step) string {
	d := s.Done
	text := measuredName(s) + ": " + b.got(s)
	if w, ok := s.Window(); ok && w.Minus+w.Plus > 0 {
		text += ", window " + b.Prefs.Window(s.Quantity, w.Nominal-w.Minus, w.Nominal+w.Plus)
	}
	if d.Tool != "" {
		text += "; " + d.Tool
	}
	if !d.InWindow {
		text += "; outside the window: " + d.Reason
	}
	return text + "."
}

func holdShape(kind string) Shape {
	if kind == "waiting on customer" {
		return OpenDiamond
	}
	return Diamond
}

// joined is a list as it is read out: "lower-leg service and inspection".
func joined(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// telephone is a link that dials; only digits and a leading plus are kept.
func telephone(number string) templ.SafeURL {
	return templ.SafeURL("tel:" + strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, number))
}
