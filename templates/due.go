package templates

import (
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

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
	switch {
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

func (b Base) riddenOf(st interval.Standing) string {
	return hours(st.Ridden.Hours) + " of " + num(st.Rule.Hours) + " h"
}

// dateWords names a limit that comes whatever is ridden.
func (b Base) dateWords(st interval.Standing, d interval.Date) string {
	if d.By == interval.BySeason {
		return "end of season " + b.Date(d.On)
	}
	return plural(st.Rule.Months, "month") + " on " + b.Date(d.On)
}

// dueMore says what would make an unknown state known, or which other limit is
// still to come.
func (b Base) dueMore(st interval.Standing) string {
	switch {
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
