package templates

import "damperdesk/internal/job"

// pinWords says where in the line a job is pinned; empty where it is not.
func (b Base) pinWords(p job.Pin) string {
	switch {
	case p.Kind == job.NextUp:
		return "next up"
	case p.Kind == job.PinnedToDay && p.Day.Equal(b.ShopDay()):
		return "to be done today"
	case p.Kind == job.PinnedToDay:
		return "to be done on " + b.day(*p.Day, "Mon 2 Jan")
	}
	return ""
}

// pinLine is who pinned it, when and why.
func (b Base) pinLine(p job.Pin) string {
	words := "since " + b.When(p.At)
	if p.By != "" {
		words += ", by " + p.By
	}
	if p.Reason != "" {
		words += ": " + p.Reason
	}
	return words
}

// pinOptions are the ways to go in the line; lifting where something is pinned.
func (p JobPage) pinOptions() []Option {
	list := []Option{
		{Value: job.NextUp, Label: "Next up", Note: "before whatever is not pinned"},
		{Value: job.PinnedToDay, Label: "On a day", Note: "done on that day, whomever it pushes"},
	}
	if p.Pin.ID != 0 {
		list = append(list, Option{Value: job.Lifted, Label: "By its promise again", Note: "like any other"})
	}
	return list
}

// pinDay is the day that the field offers.
func (p JobPage) pinDay() string {
	if p.Pin.Day != nil {
		return p.Pin.Day.Format("2006-01-02")
	}
	return p.FieldDay(p.Now)
}
