package templates

import (
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/summary"
)

// CustomerPage is what whoever has the link sees: how far the visit is, then
// the ready-for-pickup summary.
type CustomerPage struct {
	Base
	summary.Summary
	Token string // of the link, in the address of each picture
	// Asked is the form of what waits for an answer, Later of what has one, Reads of how
	// the customer reads it.
	Asked, Later, Reads Base
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
	b.Title = pageTitle(p.numbers())
	return b
}

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

// measuredText is what was found or filled: an amount, a reading, a grade.
func measuredText(b Base, s bench.Step) string {
	switch d := s.Done; {
	case d.ValueSI != nil:
		return b.Prefs.Quantity(s.Quantity, *d.ValueSI)
	case d.Count != nil && d.Grade == "":
		return b.count(*d.Count)
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
		span := Span{Low: 0, High: last, Reading: &at, Label: gradeText(d.Grade, i+1, len(s.Grades))}
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
		Label: listed(measuredText(b, s), windowText(b.Prefs.Window(s.Quantity, low, high)))}, true
}

// gradeAt is the place of the grade on its scale, -1 where there is none.
func gradeAt(s bench.Step) int {
	if s.Done.Grade == "" || s.Kind == procedure.Fit || slices.Contains(unranked, s.Key) {
		return -1
	}
	return slices.Index(s.Grades, s.Done.Grade)
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

func holdShape(kind string) Shape {
	if kind == "waiting on customer" {
		return OpenDiamond
	}
	return Diamond
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
