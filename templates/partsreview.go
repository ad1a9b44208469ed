package templates

import (
	"fmt"
	"math"
	"net/url"
	"time"

	"damperdesk/internal/chart"
	"damperdesk/internal/money"
	"damperdesk/internal/review"
)

// PartsReviewPage is the owner's review of the shelf in a period.
type PartsReviewPage struct {
	Base
	Parts  review.Parts
	Period review.Period
	Choice review.Choice // the zero Choice where days are picked
	Pick   bool
	Idle   int // months without use after which stock counts as dead
}

// IdleMonths are the choices, and IdleUsual the one nobody has to make.
var IdleMonths = []int{6, 12, 24}

// IdleUsual is a year, which every season has been in.
const IdleUsual = 12

func (p PartsReviewPage) span() string {
	return plural(p.Period.Days(), "day") + " to " + p.Date(p.Period.LastDay())
}

// link leads to the page with another period or number of months.
func (p PartsReviewPage) link(code string, idle int) string {
	q := url.Values{}
	q.Set("p", code)
	if code == "pick" && idle != 0 {
		q.Set("from", p.FieldDay(p.Period.From))
		q.Set("to", p.FieldDay(p.Period.LastDay()))
	}
	if idle == 0 {
		idle = p.Idle
	}
	if idle != IdleUsual {
		q.Set("idle", num(idle))
	}
	return "/parts/review?" + q.Encode()
}

// code is that of the period shown.
func (p PartsReviewPage) code() string {
	if p.Pick {
		return "pick"
	}
	return p.Choice.Code
}

// whole is whether the ledger goes back to the beginning of the period.
func (p PartsReviewPage) whole() bool { return !p.Parts.Begun.After(p.Period.From) }

// since says from when there is a ledger, where it does not cover the period.
func (p PartsReviewPage) since() string {
	if p.whole() {
		return ""
	}
	return "The ledger begins on " + p.LongDay(p.Parts.Begun) + "."
}

func className(class int) string { return string(rune('A' + class)) }

// classWords are "80 % of the cost, 12 items".
func (p PartsReviewPage) classWords(c review.ClassSum) string {
	return fmt.Sprintf("%s of the cost", percent(c.Share))
}

func (p PartsReviewPage) serviceName(s review.ServiceUse) string {
	switch {
	case s.Name != "":
		return s.Name
	case s.Jobs > 0:
		return "Jobs without a service"
	}
	return "In the workshop, on no job"
}

// perJob is what a job with the service used on average.
func (p PartsReviewPage) perJob(s review.ServiceUse) string {
	switch {
	case s.Jobs == 0:
		return ""
	case s.Jobs < leastJobs:
		return notEnough
	}
	return p.cost(int64(math.Round(float64(s.CostMinor) / float64(s.Jobs))))
}

// leastJobs is how many jobs a mean takes here, as the review's median of a period.
const leastJobs = 6

// margin of what was used on jobs, in words of money and share.
func (p PartsReviewPage) margin() (minor int64, share string) {
	m := p.Parts.Margin
	minor = m.SaleMinor - m.CostMinor
	if m.SaleMinor <= 0 {
		return minor, notEnough
	}
	return minor, percent(float64(minor)/float64(m.SaleMinor)) + " of the list price"
}

// deadKnown is whether the ledger is old enough to call something dead.
func (p PartsReviewPage) deadKnown() bool {
	return p.Parts.Begun.Before(p.Now.AddDate(0, -p.Idle, 0))
}

func (p PartsReviewPage) lastUse(d review.Dead) string {
	if d.LastUse == nil {
		return "never used"
	}
	return "last used " + p.Day(*d.LastUse)
}

// monthName is that on the axis, where January has its year.
func monthName(m review.Month) string {
	if m.From.Month() == time.January {
		return m.From.Format("2006")
	}
	return m.From.Format("Jan")
}

func (p PartsReviewPage) monthWords(m review.Month) string {
	words := m.From.Format("January 2006")
	if m.Running {
		words += ", so far"
	}
	return words
}

// major is an amount in the unit that a price is said in, for an axis.
func (p PartsReviewPage) major(minor int64) *float64 {
	v := float64(minor) / math.Pow10(money.Digits(p.Prefs.Currency))
	return &v
}

// least of a chart: one point is no course.
const leastPoints = 2

func (p PartsReviewPage) monthly(id, title string, of func(review.Month) int64, about string) chart.Drawing {
	c := chart.Values{ID: id, Title: title, About: about, Unit: p.Prefs.Currency, Axis: "month"}
	for _, m := range p.Parts.Months {
		c.Weeks, c.Values, c.Flagged = append(c.Weeks, monthName(m)), append(c.Values, p.major(of(m))), append(c.Flagged, false)
	}
	return c.Draw()
}

func (p PartsReviewPage) useChart() chart.Drawing {
	return p.monthly("use-chart", "Cost of what was used, by month", func(m review.Month) int64 { return max(m.CostMinor, 0) },
		fmt.Sprintf("%s in the %s.", p.cost(p.Parts.Used.CostMinor), p.span()))
}

func (p PartsReviewPage) valueChart() chart.Drawing {
	return p.monthly("value-chart", "Value on hand at the end of each month", func(m review.Month) int64 { return max(m.Value, 0) },
		fmt.Sprintf("%s when the period began, %s at its end.", p.cost(p.Parts.ValueThen), p.cost(p.Parts.ValueEnd)))
}
