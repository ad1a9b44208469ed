package templates

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/review"
	"damperdesk/internal/stat"
)

// reviewed is a review of the four weeks to 11 October 2026 with the four
// before.
func reviewed(change func(*review.Review)) ReviewPage {
	now := time.Date(2026, 10, 13, 13, 12, 0, 0, time.UTC)
	p := ReviewPage{Base: Base{Now: now}, Choice: review.Choices[0]}
	period := review.FullWeeks(4, now, time.UTC)
	p.Review = review.Review{Begun: now.AddDate(-1, 0, 0)}
	p.Review.Now = review.Figures{Period: period, Whole: true, Lead: review.Measure{Value: 3, N: 40}}
	p.Review.Now.Split[review.OnParts], p.Review.Now.Split[review.OnBench] = 2, 1
	p.Review.Prev = review.Figures{Period: period.Before(), Whole: true, Lead: review.Measure{Value: 3.4, N: 40}}
	change(&p.Review)
	return p
}

// kept is k of n with its 95 % interval.
func kept(t *testing.T, k, n int) review.Share {
	t.Helper()
	i, err := stat.Wilson(k, n, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	return review.Share{K: k, N: n, Interval: i}
}

func TestTheLeadSaysWhatTheFiguresSay(t *testing.T) {
	const half = "In the 4 weeks to 11 October half of 40 jobs were ready within 3.0 days of drop-off"
	run := func(signal stat.Signal, n int) []review.WeekFigures {
		list := make([]review.WeekFigures, n)
		for i := range list {
			list[i] = review.WeekFigures{Signal: signal, Lead: review.Measure{N: 5, Need: 3}}
		}
		return append(list, review.WeekFigures{Lead: review.Measure{N: 2, Need: 3}}, review.WeekFigures{Running: true, Lead: review.Measure{N: 5, Need: 3}})
	}
	for name, c := range map[string]struct {
		change  func(*review.Review)
		want    string
		without string
	}{
		"little has changed":  {func(*review.Review) {}, half + ", about as in the 4 weeks before (3.4).", "sooner"},
		"half a day sooner":   {func(r *review.Review) { r.Prev.Lead.Value = 3.5 }, half + ", 0.5 sooner than in the 4 weeks before.", "about"},
		"later":               {func(r *review.Review) { r.Prev.Lead.Value = 1.5 }, half + ", 1.5 later than in the 4 weeks before.", "about"},
		"too few before":      {func(r *review.Review) { r.Prev.Lead.Need = 41 }, half + ".", "before"},
		"no records before":   {func(r *review.Review) { r.Prev.Whole = false }, half + ".", "before"},
		"too few now":         {func(r *review.Review) { r.Now.Lead = review.Measure{N: 1, Need: 6} }, "Not enough history to say how long a job takes: 1 job became ready in the 4 weeks to 11 October, and it takes 6.", "average"},
		"the largest part":    {func(*review.Review) {}, "On average, 2.0 of 3.0 days went by waiting on parts.", ""},
		"a run that holds":    {func(r *review.Review) { r.Weeks = run(stat.Under, 11) }, "It has been below its mean for 11 weeks, which is no chance.", "above"},
		"a run of long weeks": {func(r *review.Review) { r.Weeks = run(stat.Over, 8) }, "It has been above its mean for 8 weeks", "below"},
		"chance":              {func(r *review.Review) { r.Weeks = run(stat.Chance, 12) }, half, "chance"},
		"a run that is over": {func(r *review.Review) {
			r.Weeks = append(run(stat.Under, 9), run(stat.Chance, 1)...)
		}, half, "below its mean"},
		"promises as before": {func(r *review.Review) { r.Now.Kept, r.Prev.Kept = kept(t, 30, 40), kept(t, 32, 40) },
			"75 % of promises were kept (30 of 40), too near the 80 % before to call it a change.", "fewer"},
		"fewer promises kept": {func(r *review.Review) { r.Now.Kept, r.Prev.Kept = kept(t, 20, 40), kept(t, 38, 40) },
			"50 % of promises were kept (20 of 40), fewer than the 95 % before.", "too near"},
		"more promises kept": {func(r *review.Review) { r.Now.Kept, r.Prev.Kept = kept(t, 38, 40), kept(t, 20, 40) },
			"95 % of promises were kept (38 of 40), more than the 50 % before.", "too near"},
		"too few promises": {func(r *review.Review) { r.Now.Kept = kept(t, 4, 4) }, half, "promises"},
		// 2 of 12 is 5 to 45 %, 80 of 100 is 71 to 87 %.
		"a service that slips": {func(r *review.Review) {
			r.Kept = []review.Kept{{Now: kept(t, 80, 100)}, {Code: "a", Name: "Air", Now: kept(t, 9, 12)}, {Code: "b", Name: "Bushings", Now: kept(t, 2, 12)}}
		}, "“Bushings” is what slips: 2 of 12.", "Air"},
		"a service that may": {func(r *review.Review) {
			r.Kept = []review.Kept{{Now: kept(t, 80, 100)}, {Code: "a", Name: "Air", Now: kept(t, 9, 12)}}
		}, half, "slips"},
		"what stands": {func(r *review.Review) {
			r.Blocked, r.Unfetched = []review.Blocked{{Days: 9}, {Days: 1}}, make([]review.Unfetched, 3)
		}, "Now: 2 waits open, the longest for 9 days; 3 jobs ready and not fetched.", ""},
	} {
		t.Run(name, func(t *testing.T) {
			got := reviewed(c.change).lead()
			if !strings.Contains(got, c.want) || c.without != "" && strings.Contains(got, c.without) {
				t.Errorf("%q\nwant %q, without %q", got, c.want, c.without)
			}
		})
	}
}

func TestAPeriodIsSpokenOfByItsLength(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 9, d, 0, 0, 0, 0, time.UTC) }
	for want, days := range map[string]int{"1 day to 1 September": 1, "5 days to 5 September": 5, "2 weeks to 14 September": 14} {
		p := reviewed(func(r *review.Review) { r.Now.Period = review.Period{From: day(1), To: day(1 + days)} })
		if got := p.span(); got != want {
			t.Errorf("%d days: %q, want %q", days, got, want)
		}
	}
}

// What is owed stands once for each bill, beside its first ticket; what the
// shop owes is no less that others owe it.
func TestTheMoneyThatWaitsIsCountedOnceForEachBill(t *testing.T) {
	waits := func(lines int, billed, paid int64, currency string, with int) review.Unfetched {
		return review.Unfetched{Owed: bill.Balance{Currency: currency, Lines: lines, BilledMinor: billed, PaidMinor: paid}, With: with}
	}
	for name, c := range map[string]struct {
		list  []review.Unfetched
		words string // of each, in turn
		inAll string
	}{
		"nothing waits":            {nil, "", ""},
		"nothing billed":           {[]review.Unfetched{waits(0, 0, 0, "GBP", 0)}, "no bill yet", ""},
		"paid ahead":               {[]review.Unfetched{waits(0, 0, 3000, "GBP", 0)}, "no bill yet, £30.00 paid ahead", ""},
		"more went back than came": {[]review.Unfetched{waits(0, 0, -2000, "GBP", 0)}, "£20.00", "£20.00"},
		"all is paid":              {[]review.Unfetched{waits(2, 6500, 6500, "GBP", 0)}, "settled", ""},
		"part is paid":             {[]review.Unfetched{waits(2, 6500, 3000, "GBP", 0)}, "£35.00", "£35.00"},
		"too much is paid":         {[]review.Unfetched{waits(2, 6500, 7000, "GBP", 0), waits(1, 9500, 0, "GBP", 0)}, "we owe £5.00, £95.00", "£95.00"},
		"two of one bill":          {[]review.Unfetched{waits(2, 6500, 0, "GBP", 0), waits(2, 6500, 0, "GBP", 412)}, "£65.00, with 412", "£65.00"},
		"no minor unit":            {[]review.Unfetched{waits(1, 9800, 0, "JPY", 0)}, "¥9,800", "¥9,800"},
		"two currencies":           {[]review.Unfetched{waits(1, 6500, 0, "GBP", 0), waits(1, 9800, 0, "JPY", 0)}, "£65.00, ¥9,800", ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := reviewed(func(r *review.Review) { r.Unfetched = c.list })
			var words []string
			for _, u := range c.list {
				words = append(words, p.owedWords(u))
			}
			if got := strings.Join(words, ", "); got != c.words {
				t.Errorf("beside the jobs stands %q, want %q", got, c.words)
			}
			if got := p.owedInAll(); got != c.inAll {
				t.Errorf("in all %q, want %q", got, c.inAll)
			}
		})
	}
}
