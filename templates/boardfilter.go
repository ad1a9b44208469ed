package templates

import (
	"maps"
	"net/url"
	"slices"
	"strconv"
	"time"

	"damperdesk/internal/job"
)

// BoardQuery is the filters of the board as its address has them.
type BoardQuery struct {
	job.BoardFilter
	Day     string // one of BoardDays; empty: any
	Trouble bool   // only what somebody should look at
}

// BoardDays are the spans of days that the board can be narrowed to.
var BoardDays = []string{"past", "today", "tomorrow", "later"}

// BoardDay is from when to when a span of days lasts; a zero time is no end.
func (b Base) BoardDay(name string) (from, to time.Time, known bool) {
	midnight := func(days int) time.Time {
		y, m, d := b.local(b.Now).Date()
		return time.Date(y, m, d+days, 0, 0, 0, 0, b.Prefs.zone())
	}
	switch name {
	case "past":
		return from, midnight(0), true
	case "today":
		return midnight(0), midnight(1), true
	case "tomorrow":
		return midnight(1), midnight(2), true
	case "later":
		return midnight(2), to, true
	}
	return from, to, false
}

// CountDays counts rows by the span of days they are promised in.
func CountDays(b Base, rows []job.BoardRow) map[string]int {
	n := map[string]int{}
	for _, name := range BoardDays {
		from, to, _ := b.BoardDay(name)
		f := job.BoardFilter{From: from, To: to}
		for _, r := range rows {
			if f.Keeps(r) {
				n[name]++
			}
		}
	}
	return n
}

// boardChoice is one link of a filter.
type boardChoice struct {
	words, href string
	on          bool
}

func (p BoardPage) whoChoices() []boardChoice {
	list := []boardChoice{{"everyone", p.link("who", ""), p.Query.Mechanic == nil}}
	for _, m := range p.Count.Mechanics {
		who, name := strconv.FormatInt(m.ID, 10), m.Name
		if m.ID == 0 {
			who, name = "none", "nobody yet"
		}
		list = append(list, boardChoice{name + " " + strconv.Itoa(m.N), p.link("who", who), p.who() == who})
	}
	return list
}

func (p BoardPage) stageChoices() []boardChoice {
	list := []boardChoice{{"all", p.link("stage", ""), p.Query.Stage == ""}}
	for _, s := range p.Count.Stages {
		list = append(list, boardChoice{s.Stage + " " + strconv.Itoa(s.N), p.link("stage", s.Stage), p.Query.Stage == s.Stage})
	}
	return list
}

func (p BoardPage) dayChoices() []boardChoice {
	list := []boardChoice{{"any day", p.link("day", ""), p.Query.Day == ""}}
	for _, name := range BoardDays {
		if n := p.ByDay[name]; n > 0 || p.Query.Day == name {
			list = append(list, boardChoice{name + " " + strconv.Itoa(n), p.link("day", name), p.Query.Day == name})
		}
	}
	return append(list, boardChoice{"in trouble " + strconv.Itoa(p.Troubles), p.link("trouble", p.troubleOff()), p.Query.Trouble})
}

// troubleOff is what the link about trouble sets: nothing where it is on.
func (p BoardPage) troubleOff() string {
	if p.Query.Trouble {
		return ""
	}
	return "yes"
}

func (p BoardPage) who() string {
	switch {
	case p.Query.Mechanic == nil:
		return ""
	case *p.Query.Mechanic == 0:
		return "none"
	}
	return strconv.FormatInt(*p.Query.Mechanic, 10)
}

// values are the filters that are set, by the name they have in the address.
func (p BoardPage) values() url.Values {
	q := url.Values{}
	trouble := ""
	if p.Query.Trouble {
		trouble = "yes"
	}
	for name, value := range map[string]string{"who": p.who(), "stage": p.Query.Stage, "day": p.Query.Day, "trouble": trouble, "q": p.Query.Words} {
		if value != "" {
			q.Set(name, value)
		}
	}
	return q
}

// others are the names of the filters that are set beside the words, in order.
func (p BoardPage) others() []string {
	q := p.values()
	q.Del("q")
	return slices.Sorted(maps.Keys(q))
}

// link is the board with one filter set anew and the others as they are.
func (p BoardPage) link(name, value string) string {
	q := p.values()
	q.Set(name, value)
	if value == "" {
		q.Del(name)
	}
	if len(q) == 0 {
		return "/board"
	}
	return "/board?" + q.Encode()
}
