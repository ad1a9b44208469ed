package templates

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"damperdesk/internal/review"
	"damperdesk/internal/stat"
)

// lead is what the figures say, in words made from them by rule: how long it
// takes and whether that has changed, where the time goes, whether promises are
// kept and which service slips. What there is not enough history for it does
// not say.
func (p ReviewPage) lead() string {
	sentences := []string{p.leadWords(), p.whereWords(), p.keptWords(), p.slipWords(), p.standWords()}
	var said []string
	for _, s := range sentences {
		if s != "" {
			said = append(said, s)
		}
	}
	return strings.Join(said, " ")
}

// The least differences that are spoken of: half a day of the median, since
// work is promised by the day.
const muchLater = 0.5

func (p ReviewPage) leadWords() string {
	now, prev := p.Review.Now.Lead, p.Review.Prev.Lead
	if !now.Enough() {
		return fmt.Sprintf("Not enough history to say how long a job takes: %s ready in the %s, and it takes %d.",
			became(now.N), p.span(), now.Need)
	}
	text := fmt.Sprintf("In the %s half of %d jobs were ready within %s days of drop-off", p.span(), now.N, tenth(now.Value))
	if change := now.Value - prev.Value; p.compared() && prev.Enough() {
		switch {
		case math.Abs(change) < muchLater:
			text += fmt.Sprintf(", about as in the %s before (%s)", p.length(), tenth(prev.Value))
		case change < 0:
			text += fmt.Sprintf(", %s sooner than in the %s before", tenth(-change), p.length())
		default:
			text += fmt.Sprintf(", %s later than in the %s before", tenth(change), p.length())
		}
	}
	return text + "." + p.runWords()
}

func became(n int) string {
	if n == 1 {
		return "1 job became"
	}
	return num(n) + " jobs became"
}

// runWords tell of a run that goes on to the last week with a median.
func (p ReviewPage) runWords() string {
	var last stat.Signal
	n := 0
	for _, w := range p.Review.Weeks {
		switch {
		case !w.Lead.Enough() || w.Running:
		case w.Signal == last:
			n++
		default:
			last, n = w.Signal, 1
		}
	}
	switch last {
	case stat.Over:
		return fmt.Sprintf(" It has been above its mean for %d weeks, which is no chance.", n)
	case stat.Under:
		return fmt.Sprintf(" It has been below its mean for %d weeks, which is no chance.", n)
	}
	return ""
}

// whereWords name the largest part of the time.
func (p ReviewPage) whereWords() string {
	now := p.Review.Now
	if !now.Lead.Enough() {
		return ""
	}
	most := 0
	for i, d := range now.Split {
		if d > now.Split[most] {
			most = i
		}
	}
	return fmt.Sprintf("On average, %s of %s days went by %s.", tenth(now.Split[most]), tenth(now.Split.Days()), splitParts[most].words)
}

func (p ReviewPage) keptWords() string {
	now, prev := p.Review.Now.Kept, p.Review.Prev.Kept
	if !now.Enough() {
		return ""
	}
	text := fmt.Sprintf("%s of promises were kept (%s)", percent(now.Part()), counted(now))
	switch {
	case !p.compared() || !prev.Enough():
	case now.Apart(prev) && now.Part() > prev.Part():
		text += ", more than the " + percent(prev.Part()) + " before"
	case now.Apart(prev):
		text += ", fewer than the " + percent(prev.Part()) + " before"
	default:
		text += ", too near the " + percent(prev.Part()) + " before to call it a change"
	}
	return text + "."
}

// slipWords name the service whose promises slip: its whole interval lies
// below that of all.
func (p ReviewPage) slipWords() string {
	if len(p.Review.Kept) == 0 {
		return ""
	}
	all := p.Review.Kept[0].Now
	var worst *review.Kept
	for i := range p.Review.Kept[1:] {
		k := &p.Review.Kept[1+i]
		if k.Now.Apart(all) && k.Now.High < all.Low && (worst == nil || k.Now.Part() < worst.Now.Part()) {
			worst = k
		}
	}
	if worst == nil {
		return ""
	}
	return fmt.Sprintf("“%s” is what slips: %s.", worst.Name, counted(worst.Now))
}

// standWords say how the shop stands now.
func (p ReviewPage) standWords() string {
	var list []string
	if n := len(p.Review.Blocked); n > 0 {
		list = append(list, fmt.Sprintf("%s open, the longest for %s", plural(n, "wait"), plural(p.Review.Blocked[0].Days, "day")))
	}
	if n := len(p.Review.Unfetched); n > 0 {
		list = append(list, fmt.Sprintf("%s ready and not fetched", plural(n, "job")))
	}
	if len(list) == 0 {
		return ""
	}
	return "Now: " + strings.Join(list, "; ") + "."
}

// The notes under the headings say how each figure was got.

func (p ReviewPage) leadNote() string {
	weeks, jobs := p.leadCounts()
	text := fmt.Sprintf("Median of each week with three jobs or more, n = %s, %s; days of 24 hours, closed days included.", plural(weeks, "week"), plural(jobs, "job"))
	if p.Review.Limits == nil {
		return text + fmt.Sprintf(" Limits are drawn from %d such weeks on.", p.Review.LeastFor)
	}
	text += " Thick: mean. Dashed: natural limits (mean ± 2.66 mean moving range). Triangle: beyond a limit."
	if p.since() > 0 {
		text += " Thin line: the period begins."
	}
	return text
}

func (p ReviewPage) figuresNote() string {
	text := "With the " + p.length() + " before."
	if !p.compared() {
		text = "The records begin on " + p.Day(p.Review.Begun) + ", too late to compare with the " + p.length() + " before."
	}
	return text + " A median takes six jobs, the 85 of 100 nineteen."
}

func (p ReviewPage) splitNote() string {
	var n []string
	for _, f := range p.splits() {
		n = append(n, num(f.Ready))
	}
	return "Mean days by what a job waited for until it was ready, n = " + strings.Join(n, " and ") + "."
}

func (p ReviewPage) keptNote() string {
	text := fmt.Sprintf("Ready by the promised time, of what was promised for the %s; band: 95 %% Wilson interval. From %.0f to 100 %%.", p.span(), p.keptFrom()*100)
	if p.compared() {
		text += " Thin line: the " + p.length() + " before."
	}
	if p.foretells() {
		text += " The next: the chance that the next promise is kept and its 80 % interval, drawn toward that of all services where there are few of one (beta-binomial)."
	}
	return text
}

// foretells is whether there is history enough to say what to expect.
func (p ReviewPage) foretells() bool {
	return slices.ContainsFunc(p.Review.Kept, func(k review.Kept) bool { return k.Next != nil })
}

func nextInterval(k review.Kept) string {
	return fmt.Sprintf("%.0f to %.0f", k.Next.Low*100, k.Next.High*100)
}

// weekly is a figure of a week in the table, which has its n beside it.
func weekly(m review.Measure) string {
	if !m.Enough() {
		return "too few"
	}
	return tenth(m.Value)
}
