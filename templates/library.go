package templates

import (
	"fmt"
	"strconv"
	"strings"

	"damperdesk/internal/spec"
)

// LibraryPage is where the library leaves as a file and comes back.
type LibraryPage struct {
	Base
	Models []spec.Model
}

// LibraryPlanPage says what a file would do before anything is done.
type LibraryPlanPage struct {
	Base
	File spec.LibraryFile
	Plan spec.Plan
}

func (p LibraryPage) mayBring() bool { return p.Person.Has("mechanic", "owner") }

func (p LibraryPage) modelOptions() []Option {
	var options []Option
	for _, m := range p.Models {
		options = append(options, Option{Value: strconv.FormatInt(m.ID, 10), Label: listed(m.Title(), m.Years)})
	}
	return options
}

// columnRows say for which rows a column is: "model, value".
func columnRows(c spec.Column) string { return strings.Join(strings.Fields(c.In), ", ") }

func (p LibraryPlanPage) path() string {
	return "/models/csv/" + strconv.FormatInt(p.File.ID, 10)
}

// tally are the counts in one line.
func (p LibraryPlanPage) tally() string {
	return fmt.Sprintf("%s new, %d changed, %d unchanged, %d refused.", plural(p.Plan.Count(spec.RowNew), "row"),
		p.Plan.Count(spec.RowChanged), p.Plan.Count(spec.RowUnchanged), p.refusedRows())
}

// refusedRows counts rows, of which one may be refused for several reasons.
func (p LibraryPlanPage) refusedRows() int {
	lines := map[int]bool{}
	for _, r := range p.Plan.Refused {
		lines[r.Line] = true
	}
	return len(lines)
}

// planLine is a row of the file that does something.
type planLine struct {
	line                        int
	model, what, state          string
	before, now, source, beside string
}

// lines are the rows that do something, model by model.
func (p LibraryPlanPage) lines() []planLine {
	var list []planLine
	for _, m := range p.Plan.Models {
		title := listed(m.Model.Title(), m.Model.Years)
		if m.State != spec.RowUnchanged {
			list = append(list, planLine{line: m.Line, model: title, what: "Model", state: m.State, now: modelFacts(m.Model)})
		}
		for _, v := range m.Values {
			if v.State == spec.RowUnchanged {
				continue
			}
			l := planLine{line: v.Line, model: title, what: keyName(v.Value.Key), beside: placeWords(v.Value.Place), state: v.State, now: valueWords(v.Value), source: p.planSource(v.Value)}
			if v.Before != nil {
				l.before = valueWords(*v.Before)
			}
			list = append(list, l)
		}
		if m.Chart == spec.RowNew || m.Chart == spec.RowChanged {
			list = append(list, planLine{line: m.ChartLine, model: title, what: "Set-up chart", state: m.Chart,
				now: plural(len(m.Setup.Rows), "row"), source: p.planSource(m.Setup.From)})
		}
	}
	return list
}

// planSource is the source as it will stand there: what is measured or judged is
// so by whoever takes it in.
func (p LibraryPlanPage) planSource(v spec.Value) string {
	v.By = p.Person.Name
	return v.Source()
}

// stateShape draws what a row is to the library.
func stateShape(state string) Shape {
	if state == spec.RowNew {
		return Disc
	}
	return Triangle
}
