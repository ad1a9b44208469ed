package templates

import (
	"fmt"

	"damperdesk/internal/stock"
)

// PartsPlanPage says what a file of parts would do before anything is done.
type PartsPlanPage struct {
	Base
	File stock.File
	Plan stock.Plan
}

func (p PartsPlanPage) path() string { return "/parts/import/" + itoa(p.File.ID) }

// tally are the counts in one line.
func (p PartsPlanPage) tally() string {
	lines := map[int]bool{}
	for _, r := range p.Plan.Refused {
		lines[r.Line] = true
	}
	return fmt.Sprintf("%s new, %d changed, %d unchanged; %s refused.", plural(p.Plan.Count(stock.RowNew), "part"),
		p.Plan.Count(stock.RowChanged), p.Plan.Count(stock.RowUnchanged), plural(len(lines), "line"))
}

// kept counts the parts whose amounts stay out.
func (p PartsPlanPage) kept() (n int) {
	for _, i := range p.Plan.Items {
		if i.Kept {
			n++
		}
	}
	return n
}

// mostShown is how many lines of a plan are drawn; the file has no more to tell in
// a page than a person reads.
const mostShown = 500

// partLine is a line of the file that does something.
type partLine struct {
	line               int
	state, part, what  string
	column, from, gets string
}

// lines are those that do something, in the order of the file, and how many more
// there are.
func (p PartsPlanPage) lines() (list []partLine, more int) {
	for _, i := range p.Plan.Items {
		part := i.Details.Name + ", " + i.Details.Code
		if i.State == stock.RowNew {
			list = append(list, partLine{line: i.Line, state: i.State, part: part, what: listed(string(i.Details.Kind), i.Details.Place)})
		}
		list = append(list, changed(i.Line, part, "", i.Changes)...)
		for _, s := range i.Sources {
			switch {
			case s.State == stock.RowNew:
				list = append(list, partLine{line: s.Line, state: s.State, part: part,
					what: "bought from " + s.Source.Supplier + " in packs of " + i.Details.Measure.Format(s.Source.Pack)})
			case s.State == stock.RowChanged && len(s.Changes) == 0:
				list = append(list, partLine{line: s.Line, state: s.State, part: part, what: s.Source.Supplier + " becomes the first choice"})
			default:
				list = append(list, changed(s.Line, part, "at "+s.Source.Supplier+": ", s.Changes)...)
			}
		}
		for _, o := range i.Opening {
			list = append(list, partLine{line: o.Line, state: stock.RowNew, part: part, what: "there is " + i.Details.Measure.Format(o.Qty) + " of it at " + p.priced(o.Priced, i.Details.Measure)})
		}
	}
	shown := min(len(list), mostShown)
	return list[:shown], len(list) - shown
}

func changed(line int, part, at string, changes []stock.Difference) (list []partLine) {
	for _, c := range changes {
		list = append(list, partLine{line: line, state: stock.RowChanged, part: part, what: at, column: c.Column, from: c.Before, gets: c.Now})
	}
	return list
}
