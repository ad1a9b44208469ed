package templates

import (
	"cmp"
	"net/url"
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

// draftLine is a field in which the two differ.
type draftLine struct{ term, mine, theirs string }

// draftWords are the fields of a drop-off that are typed or ticked, in their
// order; those of a unit come after "unit0.".
var (
	visitWords = []Field{
		{Name: "name", Label: "Name"}, {Name: "phone", Label: "Phone"}, {Name: "mail", Label: "Mail"},
		{Name: "came", Label: "Came by"}, {Name: "goesback", Label: "Goes back by"}, {Name: "address", Label: "Address"},
		{Name: "left", Label: "Left with it"}, {Name: "promised", Label: "Ready by"}, {Name: "limit", Label: "Spending limit"}, {Name: "terms", Label: "Accepted by"},
	}
	unitWords = []Field{
		{Name: "kind", Label: "Kind"}, {Name: "words", Label: "In own words"}, {Name: "serial", Label: "Serial"}, {Name: "tag", Label: "Own tag number"},
		{Name: "bike", Label: "Off which bike"}, {Name: "colour", Label: "Its colour"}, {Name: "frame", Label: "Frame number"},
		{Name: "cameas", Label: "Came as"}, {Name: "hangs", Label: "Hangs at"}, {Name: "lefton", Label: "Left on it"},
		{Name: "rider", Label: "Weight"}, {Name: "riding", Label: "Riding"}, {Name: "symptoms", Label: "What it does"}, {Name: "complaint", Label: "In the rider’s words"},
		{Name: "services", Label: "Services wanted"}, {Name: "oldparts", Label: "Old parts"}, {Name: "payer", Label: "Who pays"}, {Name: "payerwords", Label: "Claim number, or which team or shop"},
	}
	// chosenWords are those of which a form has the number alone.
	chosenWords = []Field{{Name: "unit", Label: "Unit"}, {Name: "model", Label: "Model"}, {Name: "mechanic", Label: "Mechanic"}}
)

// comparison gathers where two forms differ.
type comparison struct {
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
	c := comparison{mine: mine, theirs: theirs}
	if a.Mine.About != a.Theirs.About {
		c.lines = append(c.lines, draftLine{"Customer", a.Mine.About, a.Theirs.About})
	}
	for _, f := range visitWords {
		c.words(f.Name, f.Label, inLine)
	}
	c.words("promise", "Ready by", func(list []string) string { return promiseWords(b, inLine(list)) })
	units := max(unitsOf(mine), unitsOf(theirs))
	for i := range units {
		of := ""
		if units > 1 {
			of = ", unit " + num(i+1)
		}
		c.unit(a, i, of)
	}
	return c.lines
}

func unitsOf(fields url.Values) int {
	n, _ := strconv.Atoi(fields.Get("units"))
	return n
}

func (c *comparison) unit(a Apart, i int, of string) {
	for _, f := range chosenWords {
		c.words(unitField(i, f.Name), f.Label+of, func(list []string) string { return a.chosen(f.Name, inLine(list)) })
	}
	for _, f := range unitWords {
		show := inLine
		if f.Name == "symptoms" {
			show = symptomWords
		}
		c.words(unitField(i, f.Name), f.Label+of, show)
	}
	for _, s := range job.Symptoms {
		for _, q := range s.Asks {
			c.words(askField(i, s, q).Name, q.Words+of, inLine)
		}
	}
	for n := range MarkRows {
		c.words(markField(i, n, "words"), "Mark "+num(n+1)+of, inLine)
	}
}

func (c *comparison) words(name, term string, show func([]string) string) {
	if m, t := show(c.mine[name]), show(c.theirs[name]); m != t {
		c.lines = append(c.lines, draftLine{term, orNone(m), orNone(t)})
	}
}

// chosen names what a number of chosenWords stands for; it is empty for nothing.
func (a Apart) chosen(field, value string) string {
	id, err := strconv.ParseInt(value, 10, 64)
	switch {
	case field == "unit" && value == AnotherUnit:
		return "another unit"
	case err != nil || id == 0:
		return ""
	}
	names := map[int64]string{}
	switch field {
	case "unit":
		for _, u := range a.Units {
			names[u.ID] = u.Name
		}
	case "model":
		for _, m := range a.Models {
			names[m.ID] = m.Title()
		}
	case "mechanic":
		for _, m := range a.Mechanics {
			names[m.ID] = m.Name
		}
	}
	return cmp.Or(names[id], "one that is not here any more")
}

func promiseWords(b Base, value string) string {
	at, err := time.Parse(time.RFC3339, value)
	if err != nil {
		return value
	}
	return b.When(at)
}

func inLine(list []string) string { return strings.TrimSpace(strings.Join(list, ", ")) }
