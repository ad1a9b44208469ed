package templates

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/job"
	"damperdesk/internal/spec"
	"damperdesk/internal/staff"
)

// Apart is what two people typed in one half-filled drop-off, with what they may
// have chosen in it.
type Apart struct {
	Mine, Theirs job.Draft
	Units        []customer.Unit
	Models       []spec.Model
	Mechanics    []staff.Person
}

// first says that it was theirs that was kept apart.
func (a Apart) first() bool { return a.Theirs.ApartOf != nil && *a.Theirs.ApartOf == a.Mine.ID }

// draftLine is a field in which the two differ.
type draftLine struct{ term, mine, theirs string }

// comparison gathers where two forms differ.
type comparison struct {
	Base
	Apart
	mine, theirs url.Values
	lines        []draftLine
}

// lines are the fields in which the two differ.
func (a Apart) lines(b Base) []draftLine {
	mine, err := url.ParseQuery(a.Mine.Fields)
	theirs, terr := url.ParseQuery(a.Theirs.Fields)
	if err != nil || terr != nil {
		return nil
	}
	c := comparison{Base: b, Apart: a, mine: mine, theirs: theirs}
	c.customer()
	c.fields(visitCompared, "", "")
	units := max(unitsOf(mine), unitsOf(theirs))
	for i := range units {
		of := ""
		if units > 1 {
			of = ", unit " + num(i+1)
		}
		c.unit(i, of)
	}
	return c.lines
}

func unitsOf(fields url.Values) int {
	n, _ := strconv.Atoi(fields.Get("units"))
	return max(n, 1)
}

// customer says whose each of the two is, also where two have one name.
func (c *comparison) customer() {
	mine, theirs := c.Mine.About, c.Theirs.About
	same := mine == theirs
	if same && c.mine.Get("customer") != c.theirs.Get("customer") {
		mine, theirs = c.whose(mine, c.mine), c.whose(theirs, c.theirs)
	} else if same {
		return
	}
	c.lines = append(c.lines, draftLine{"Customer", mine, theirs})
}

func (c *comparison) whose(name string, form url.Values) string {
	switch form.Get("customer") {
	case "":
		return name + ", nobody chosen yet"
	case SomebodyNew:
		return name + ", somebody new"
	}
	return name + ", on record here"
}

func (c *comparison) unit(i int, of string) {
	c.fields(unitCompared, unitField(i, ""), of)
	for _, s := range job.Symptoms {
		for _, q := range s.Asks {
			c.told(askField(i, s, q).Name, q.Words+of, inLine)
		}
	}
	for n := range MarkRows {
		of := "Mark " + num(n+1) + of
		c.differ(of, markedIn(c.mine, i, n), markedIn(c.theirs, i, n))
	}
	mine, theirs := c.mine[unitField(i, "picture")], c.theirs[unitField(i, "picture")]
	c.differ("Pictures"+of, pictureCount(mine, theirs), pictureCount(theirs, mine))
}

func (c *comparison) fields(list []comparedField, prefix, of string) {
	for _, f := range list {
		show := inLine
		if f.show != nil {
			show = func(list []string) string { return f.show(c, inLine(list)) }
		}
		c.told(prefix+f.name, f.label+of, show)
	}
}

func (c *comparison) told(name, term string, show func([]string) string) {
	c.differ(term, show(c.mine[name]), show(c.theirs[name]))
}

func (c *comparison) differ(term, mine, theirs string) {
	if mine != theirs {
		c.lines = append(c.lines, draftLine{term, orNone(mine), orNone(theirs)})
	}
}

// markedIn is a mark in words: "scratch, at the crown".
func markedIn(form url.Values, i, n int) string {
	place := form.Get(markField(i, n, "place"))
	if place != "" {
		place = markPlace(place)
	}
	return listed(strings.TrimSpace(form.Get(markField(i, n, "words"))), place)
}

// pictureCount counts those of one, and says how many the other lacks.
func pictureCount(of, other []string) string {
	if len(of) == 0 {
		return ""
	}
	alone := slices.DeleteFunc(slices.Clone(of), func(id string) bool { return slices.Contains(other, id) })
	if len(alone) == 0 || len(other) == 0 {
		return plural(len(of), "picture")
	}
	return plural(len(of), "picture") + ", " + num(len(alone)) + " of them here alone"
}

// chosen names what a number stands for; it is empty for nothing.
func (a Apart) chosen(value string, nameOf func(id int64) string) string {
	id, err := strconv.ParseInt(value, 10, 64)
	if err != nil || id == 0 {
		return ""
	}
	return cmp.Or(nameOf(id), "one that is not here any more")
}

func (a Apart) unitNamed(value string) string {
	if value == AnotherUnit {
		return "another unit"
	}
	return a.chosen(value, func(id int64) string {
		return named(a.Units, id, func(u customer.Unit) (int64, string) { return u.ID, u.Name })
	})
}

func (a Apart) modelNamed(value string) string {
	return a.chosen(value, func(id int64) string {
		return named(a.Models, id, func(m spec.Model) (int64, string) { return m.ID, m.Title() })
	})
}

func (a Apart) mechanicNamed(value string) string {
	return a.chosen(value, func(id int64) string {
		return named(a.Mechanics, id, func(p staff.Person) (int64, string) { return p.ID, p.Name })
	})
}

// againNamed is the answer to whether a unit came back for the same complaint.
func (a Apart) againNamed(value string) string {
	unit, answer, _ := strings.Cut(value, " ")
	return listed(a.unitNamed(unit), answer)
}

func named[T any](list []T, id int64, of func(T) (int64, string)) string {
	for _, x := range list {
		if n, name := of(x); n == id {
			return name
		}
	}
	return ""
}

func inLine(list []string) string { return strings.TrimSpace(strings.Join(list, ", ")) }

// promiseWords are those of a closing time; dayWords of a day.
func (b Base) promiseWords(value string) string {
	at, err := time.Parse(time.RFC3339, value)
	if err != nil {
		return value
	}
	return b.When(at)
}

func (b Base) dayWords(value string) string {
	day, err := time.Parse(time.DateOnly, value)
	if err != nil {
		return value
	}
	return b.Date(day)
}
