package templates

import (
	"cmp"
	"slices"
	"strconv"

	"damperdesk/internal/bench"
	"damperdesk/internal/procedure"
)

// What can be answered to a step beside what a sign-off ends as.
const (
	AnswerLater = "not done"
	AnswerFound = "found something"
)

// stepLine is a step on its page, alone or among the lines of one press, with
// the form that its fields come back in.
type stepLine struct {
	Base
	Step  *bench.Step
	Among bool // of several lines, whose fields are told apart by step
}

func (l stepLine) name(field string) string {
	if l.Among {
		return bench.Line(l.Step.ID, field)
	}
	return field
}

func (p StepPage) line() stepLine { return stepLine{Base: p.Base, Step: p.Step} }

// answers lists how the step may end, done being the usual one.
func (l stepLine) answers() []Option {
	list := []Option{{Value: bench.OutcomeDone, Label: "done", Chosen: true}}
	add := func(words string) { list = append(list, Option{Value: words, Label: words}) }
	if l.Step.MayBeUnknown && l.Among {
		add(bench.OutcomeUnknown)
	}
	if l.Step.Simple() || l.Step.StopHere || l.Step.SecondCheck {
		add(AnswerLater)
	}
	if l.Step.MayNotApply() {
		add(bench.OutcomeNot)
	}
	add(AnswerFound)
	return list
}

// asked says whether one of the fields has to be seen, because something is
// wrong with it.
func (l stepLine) asked(fields ...string) bool {
	for _, field := range fields {
		if l.Error(l.name(field)) != "" {
			return true
		}
	}
	return false
}

// grade is a step of a scale, with the finding it would be unless that stands,
// and why it cannot be chosen.
type grade struct {
	word  string
	offer bench.Found
	bad   bool
	usual bool // begun with: of what can be fitted, the first
	not   string
}

func (p StepPage) grades(s *bench.Step) []grade {
	var list []grade
	for i, word := range s.Grades {
		g := grade{word: word, usual: p.usual(s, i)}
		g.offer, g.bad = s.Offer(word)
		g.bad = g.bad && !p.Sheet.Stands(s.ID, g.offer)
		if s.Verdict() {
			g.not = p.Sheet.Belied(word)
		}
		list = append(list, g)
	}
	return list
}

// usual says whether a step begins with its grade i: of what can be fitted the
// first, of a lever's positions the one expected.
func (p StepPage) usual(s *bench.Step, i int) bool {
	if s.Named() {
		at, ok := p.Sheet.Expected(s)
		return ok && int(at) == i
	}
	return s.Kind == procedure.Fit && i == 0
}

// belied says whether something found stands against a verdict.
func (p StepPage) belied() bool {
	return slices.ContainsFunc(p.grades(p.Step), func(g grade) bool { return g.not != "" })
}

func chosenFrom(words []string, chosen string) []Option {
	var list []Option
	for _, w := range words {
		list = append(list, Option{Value: w, Label: w, Chosen: w == chosen})
	}
	return list
}

// foundShape draws what a finding asks.
func foundShape(grade string) Shape {
	switch grade {
	case bench.FoundUnsafe:
		return Octagon
	case bench.FoundDue:
		return Triangle
	case bench.FoundWatch:
		return HalfDisc
	}
	return Disc
}

// foundBy says who found something, when and, if so, that it happened here.
func (b Base) foundBy(f bench.Finding) string {
	by := f.Actor + ", " + b.When(f.At)
	if f.Cause == bench.HappenedHere {
		by = f.Cause + ", " + by
	}
	return by
}

// standingFirst sorts what stands before what was put right, and both before
// what was withdrawn.
func standingFirst(list []bench.Finding) []bench.Finding {
	order := []string{"", bench.PutRight, bench.Withdrawn}
	return slices.SortedStableFunc(slices.Values(list), func(a, b bench.Finding) int {
		return cmp.Compare(slices.Index(order, a.Answer), slices.Index(order, b.Answer))
	})
}

// toldCustomer leaves out what was withdrawn.
func toldCustomer(list []bench.Finding) []bench.Finding {
	return slices.DeleteFunc(standingFirst(list), func(f bench.Finding) bool { return f.Answer == bench.Withdrawn })
}

// answering is one of the forms that answer that finding, with what was typed
// if it is the one that came back.
func (p SheetPage) answering(form Base, f bench.Finding) Base {
	return form.Alone(form.Intent, form.Typed != nil && form.Typed.Get("finding") == idText(f.ID))
}

// secondLooks says whose second check goes when a finding is put right; empty
// for nobody's.
func (p SheetPage) secondLooks(f bench.Finding) string {
	undone := p.Sheet.SecondLooks(f)
	if len(undone) == 0 {
		return ""
	}
	return "The second check by " + undone[0].Actor + " was before this: somebody looks at step " + num(p.Sheet.Find(undone[0].StepID).Seq) + " again."
}

func idText(id int64) string { return strconv.FormatInt(id, 10) }
