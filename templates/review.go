package templates

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/chart"
	"damperdesk/internal/job"
	"damperdesk/internal/review"
	"damperdesk/internal/stat"
)

// ReviewPage is the owner's review of a period.
type ReviewPage struct {
	Base
	Review  review.Review
	Mishaps []bench.Mishap // that no owner has seen
	Broken  int            // jobs not ready by their promise as the line stands now
	Choice  review.Choice  // the zero Choice where days are picked
	Pick    bool           // the form for days is shown
}

// length is how the period is spoken of: "12 weeks".
func (p ReviewPage) length() string {
	days := p.Review.Now.Period.Days()
	if days%7 == 0 {
		return plural(days/7, "week")
	}
	return plural(days, "day")
}

// span is the period by its last day: "12 weeks to 11 October".
func (p ReviewPage) span() string {
	return p.length() + " to " + p.Date(p.Review.Now.Period.LastDay())
}

func (p ReviewPage) link(c review.Choice) string { return "/review?p=" + c.Code }

// firstDay and lastDay fill the fields for days.
func (p ReviewPage) firstDay() string { return p.FieldDay(p.Review.Now.Period.From) }
func (p ReviewPage) lastDay() string  { return p.FieldDay(p.Review.Now.Period.LastDay()) }

// tenth is a number as the page shows it.
func tenth(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// notEnough is what stands in place of a figure.
const notEnough = "not enough history"

// figure is a figure, or why there is none.
func figure(m review.Measure) string {
	if !m.Enough() {
		return notEnough
	}
	return tenth(m.Value)
}

// fewJobs says how many there are and how many it takes; empty where it is enough.
func fewJobs(m review.Measure) string {
	if m.Enough() {
		return ""
	}
	return fmt.Sprintf("%s, and it takes %d", plural(m.N, "job"), m.Need)
}

// percent of a share: "86 %".
func percent(v float64) string { return num(int(math.Round(v*100))) + " %" }

func shareWords(s review.Share) string {
	if !s.Enough() {
		return notEnough
	}
	return percent(s.Part())
}

func counted(s review.Share) string { return num(s.K) + " of " + num(s.N) }

// intervalWords of a share in per cent: "80 to 90".
func intervalWords(s review.Share) string {
	if s.N == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f to %.0f", s.Low*100, s.High*100)
}

// perWeek of a count, where the records cover the period.
func perWeek(f review.Figures, n int) string {
	if !f.Whole {
		return notEnough
	}
	return tenth(f.PerWeek(n))
}

// compared is whether the period before can be spoken of at all.
func (p ReviewPage) compared() bool { return p.Review.Prev.Whole }

// figureRow is one line of the table of figures.
type figureRow struct {
	name, note string
	now, prev  string
}

func (p ReviewPage) rows() []figureRow {
	now, prev := p.Review.Now, p.Review.Prev
	return []figureRow{
		{"Median days to ready", fewJobs(now.Lead), figure(now.Lead), figure(prev.Lead)},
		{"85 of 100 ready within", fewJobs(now.Within), figure(now.Within), figure(prev.Within)},
		{"In per week", plural(now.In, "unit") + pace(now), perWeek(now, now.In), perWeek(prev, prev.In)},
		{"Out per week", plural(now.Out, "unit"), perWeek(now, now.Out), perWeek(prev, prev.Out)},
		{"Here at the end", "", num(now.Open), num(prev.Open)},
		{"Promises kept", counted(now.Kept), shareWords(now.Kept), shareWords(prev.Kept)},
		{"Comebacks", "the same complaint within 90 days", counted(now.Comebacks), counted(prev.Comebacks)},
		{"Here again within 90 days", "for whatever reason", counted(now.Again), counted(prev.Again)},
		{"Signed outside a window", "", num(now.Outside), num(prev.Outside)},
	}
}

// pace is between which rates the units came, where chance alone tells them
// apart; without units there is none.
func pace(f review.Figures) string {
	if f.In == 0 {
		return ""
	}
	return fmt.Sprintf(", at 95 %% from %s to %s", tenth(f.Pace.Low), tenth(f.Pace.High))
}

// weekName is the number on the axis, weekWords the week in the table.
func weekName(w review.Week) string { return num(w.Number) }

func (p ReviewPage) weekWords(w review.WeekFigures) string {
	words := fmt.Sprintf("%d, from %s", w.Number, p.Date(w.From))
	if w.Running {
		words += ", so far"
	}
	return words
}

func (p ReviewPage) weekNames() []string {
	var names []string
	for _, w := range p.Review.Weeks {
		names = append(names, weekName(w.Week))
	}
	return names
}

// since is the week the period begins in; 0 for the first.
func (p ReviewPage) since() int {
	for i, w := range p.Review.Weeks {
		if w.To.After(p.Review.Now.Period.From) {
			return i
		}
	}
	return 0
}

// signalWords say why a week is marked.
var signalWords = map[stat.Signal]string{
	stat.Above: "above the limit",
	stat.Below: "below the limit",
	stat.Over:  "one of eight or more above the mean",
	stat.Under: "one of eight or more below the mean",
}

func (p ReviewPage) leadChart() chart.Drawing {
	c := chart.Values{
		ID: "lead-chart", Title: "Days from drop-off to ready, by week", About: p.leadAbout(),
		Unit: "days", Weeks: p.weekNames(), Since: p.since(),
	}
	for _, w := range p.Review.Weeks {
		var v *float64
		if w.Lead.Enough() {
			v = &w.Lead.Value
		}
		c.Values = append(c.Values, v)
		c.Flagged = append(c.Flagged, w.Signal == stat.Above || w.Signal == stat.Below)
	}
	if l := p.Review.Limits; l != nil {
		c.Limits = &chart.Limits{Low: l.NotBelow(0).Low, Mean: l.Mean, High: l.High}
	}
	return c.Draw()
}

// leadAbout says the chart in a sentence or two.
func (p ReviewPage) leadAbout() string {
	drawn, jobs := p.leadCounts()
	text := fmt.Sprintf("Medians of %s, %s.", plural(drawn, "week"), plural(jobs, "job"))
	if l := p.Review.Limits; l != nil {
		text += fmt.Sprintf(" Mean %s, limits %s and %s.", tenth(l.Mean), tenth(l.NotBelow(0).Low), tenth(l.High))
	}
	for _, w := range p.Review.Weeks {
		if w.Signal == stat.Above || w.Signal == stat.Below {
			text += fmt.Sprintf(" Week %d is %s.", w.Number, signalWords[w.Signal])
		}
	}
	return text
}

// leadCounts is how many weeks have a median, and of how many jobs.
func (p ReviewPage) leadCounts() (weeks, jobs int) {
	for _, w := range p.Review.Weeks {
		if w.Lead.Enough() {
			weeks, jobs = weeks+1, jobs+w.Lead.N
		}
	}
	return weeks, jobs
}

func (p ReviewPage) flowChart() chart.Drawing {
	c := chart.Flow{
		ID: "flow-chart", Title: "Units in, out and here, by week", Unit: "units", Weeks: p.weekNames(), Since: p.since(),
		About: fmt.Sprintf("In the %s %d came and %d left; %d were here at the end.",
			p.span(), p.Review.Now.In, p.Review.Now.Out, p.Review.Now.Open),
	}
	for _, w := range p.Review.Weeks {
		c.In, c.Out, c.Open = append(c.In, w.In), append(c.Out, w.Out), append(c.Open, w.Open)
	}
	return c.Draw()
}

// splitParts are the parts of the time to ready, as they are told.
var splitParts = []struct {
	words string
	fill  chart.Fill
}{
	review.ForBench:   {"waiting for a bench", chart.Plain},
	review.OnBench:    {"on the bench", chart.Solid},
	review.OnParts:    {"waiting on parts", chart.Lines},
	review.OnCustomer: {"waiting on the customer", chart.Dots},
	review.SentOut:    {"sent out", chart.Empty},
}

// splits are the periods of which there are days to part.
func (p ReviewPage) splits() []review.Figures {
	var list []review.Figures
	if p.Review.Now.Lead.Enough() {
		list = append(list, p.Review.Now)
	}
	if p.compared() && p.Review.Prev.Lead.Enough() {
		list = append(list, p.Review.Prev)
	}
	return list
}

func (p ReviewPage) splitWords(f review.Figures) string {
	if f.Period == p.Review.Now.Period {
		return "these " + p.length()
	}
	return "the " + p.length() + " before"
}

func (p ReviewPage) splitChart() chart.Drawing {
	s := chart.Stack{ID: "split-chart", Title: "Where the days go", About: "Mean days by what a job waited for. " + p.whereWords()}
	for _, part := range splitParts {
		s.Fills = append(s.Fills, part.fill)
	}
	for _, f := range p.splits() {
		s.Rows = append(s.Rows, chart.Row{Words: tenth(f.Split.Days()) + " days, " + p.splitWords(f), Parts: f.Split[:]})
	}
	return s.Draw()
}

// keptFrom is where the axis of promises begins: at 40 %, or at nothing where
// a share is below that.
func (p ReviewPage) keptFrom() float64 {
	for _, k := range p.Review.Kept {
		if k.Now.Enough() && k.Now.Part() < 0.4 {
			return 0
		}
	}
	return 0.4
}

// keptAxis are the numbers over it.
func (p ReviewPage) keptAxis() []string {
	if p.keptFrom() == 0 {
		return []string{"0", "25", "50", "75", "100 %"}
	}
	return []string{"40", "60", "80", "100 %"}
}

func (p ReviewPage) keptSpan(k review.Kept) Span {
	part := k.Now.Part()
	s := Span{Low: p.keptFrom(), High: 1, Band: &Band{From: k.Now.Low, To: k.Now.High}, Best: &part,
		Label: fmt.Sprintf("%s, %s kept, interval %s", keptName(k), percent(part), intervalWords(k.Now))}
	if before := k.Prev.Part(); p.compared() && k.Prev.Enough() {
		s.Today = &before
		s.Label += ", before " + percent(before)
	}
	return s
}

func keptName(k review.Kept) string {
	if k.Code == "" {
		return "All services"
	}
	return k.Name
}

// waitShape is that of a wait on the board.
func waitShape(kind string) Shape {
	switch kind {
	case job.WaitingOnParts:
		return Diamond
	case job.WaitingOnCustomer:
		return OpenDiamond
	}
	return HalfDisc
}

func dayCount(n int) string {
	if n == 0 {
		return "since today"
	}
	return plural(n, "day")
}

// expected is the day something was said to come by.
func (p ReviewPage) expected(b review.Blocked) string {
	if b.Wait.ExpectedOn == nil {
		return "no day known"
	}
	return p.Date(*b.Wait.ExpectedOn)
}

// promised is what a job promised, with its day.
func (p ReviewPage) promised(t time.Time) string {
	if t.Before(p.Now) {
		return "was promised for " + p.Day(t)
	}
	return "promised for " + p.Day(t)
}

// owedWords are what the customer still owes, beside the first job of a bill.
func (p ReviewPage) owedWords(u review.Unfetched) string {
	owed := u.Owed.OwedMinor()
	switch {
	case u.With != 0:
		return "with " + num(u.With)
	case u.Owed.Lines == 0 && u.Owed.PaidMinor == 0:
		return "no bill yet"
	case u.Owed.Lines == 0 && owed < 0:
		return "no bill yet, " + p.Prefs.Money(u.Owed.PaidMinor, u.Owed.Currency) + " paid ahead"
	case owed == 0:
		return "settled"
	case owed < 0:
		return "we owe " + p.Prefs.Money(-owed, u.Owed.Currency)
	}
	return p.Prefs.Money(owed, u.Owed.Currency)
}

// owedInAll is the sum of what customers owe; empty where there is nothing, or
// not all of it in one currency.
func (p ReviewPage) owedInAll() string {
	sum, currency := int64(0), ""
	for _, u := range p.Review.Unfetched {
		owed := u.Owed.OwedMinor()
		if u.With != 0 || owed <= 0 {
			continue
		}
		if currency != "" && currency != u.Owed.Currency {
			return ""
		}
		sum, currency = sum+owed, u.Owed.Currency
	}
	if sum == 0 {
		return ""
	}
	return p.Prefs.Money(sum, currency)
}
