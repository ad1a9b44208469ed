package templates

import (
	"fmt"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/plan"
)

// Filling is what the work of those who are ticked makes of the coming weeks at the
// bench.
type Filling struct {
	Load    []LoadWeek
	Over    time.Duration // likely work that fits into none of them
	N       int           // services
	Share   float64       // of the invited who come
	Counted bool          // the share is that of earlier invitations
}

// Fill puts the work of so many services into the weeks, as far as it is likely.
func Fill(weeks []plan.Week, n int, work time.Duration, share float64, counted bool) Filling {
	f := Filling{N: n, Share: share, Counted: counted}
	free := make([]time.Duration, len(weeks))
	for i, w := range weeks {
		free[i] = w.Free()
	}
	in, over := due.Spread(time.Duration(share*float64(work)), free)
	f.Over = over
	for i, w := range weeks {
		f.Load = append(f.Load, LoadWeek{w, in[i]})
	}
	return f
}

// last is the place of the last week that likely work falls into; -1 for none.
func (f Filling) last() int {
	last := -1
	for i, w := range f.Load {
		if w.Likely > 0 {
			last = i
		}
	}
	return last
}

// fills says what inviting the ticked does: "Inviting the 4 ticked goes into the
// week of 27 Oct and leaves 7 h of it free." It is empty where flood warns.
func (b Base) fills(f Filling) string {
	last := f.last()
	switch {
	case f.N == 0 || b.flood(f) != "":
		return ""
	case last < 0:
		return "" // they take no time
	}
	w := f.Load[last]
	left := w.Free() - w.Likely
	words := "Inviting the " + num(f.N) + " ticked goes into the week of " + b.dayOfMonth(w.From)
	if left < time.Hour {
		words += " and fills it"
	} else {
		words += fmt.Sprintf(" and leaves %.0f h of it free", left.Hours())
	}
	if w.Kept > 0 {
		words += fmt.Sprintf(", besides %.0f h for what nobody has booked", w.Kept.Hours())
	}
	return words + "."
}

// flood warns of more ticked than the bench has room for when they come; most do
// so within due.Fills weeks.
func (b Base) flood(f Filling) string {
	last, words := f.last(), "Inviting the "+num(f.N)+" ticked"
	switch {
	case f.Over > 0 && last < 0:
		return words + " finds no free hour in these weeks."
	case f.Over > 0:
		return words + fmt.Sprintf(" floods the bench: %.0f h are likely to be more than these weeks have.", f.Over.Hours())
	case last > due.Fills:
		return words + " floods the bench: it is more than the next " + num(due.Fills) + " weeks have room for, and runs on into the week of " + b.dayOfMonth(f.Load[last].From) + "."
	}
	return ""
}
