package templates

import (
	"strconv"

	"damperdesk/internal/bench"
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
	not   string
}

func (p StepPage) grades(s *bench.Step) []grade {
	var list []grade
	for _, word := range s.Grades {
		g := grade{word: word}
		g.offer, g.bad = s.Offer(word)
		g.bad = g.bad && !p.Sheet.Stands(s.ID, g.offer)
		if s.Verdict() {
			g.not = p.Sheet.Belied(word)
		}
		list = append(list, g)
	}
	return list
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

// findings lists what stands first, then what was withdrawn.
func (p SheetPage) findings() []bench.Finding {
	list := bench.Standing(p.Sheet.Findings)
	for _, f := range p.Sheet.Findings {
		if f.Withdrawn != nil {
			list = append(list, f)
		}
	}
	return list
}

// withdrawal is the form that withdraws that finding, with what was typed if it
// is the one that came back.
func (p SheetPage) withdrawal(f bench.Finding) Base {
	return p.Withdraw.Alone(p.Withdraw.Intent, p.Withdraw.Typed != nil && p.Withdraw.Typed.Get("finding") == idText(f.ID))
}

// withdrawFieldID tells the fields of several findings apart; the one that came
// back is where the problem above leads.
func withdrawFieldID(b Base, f bench.Finding) string {
	if b.Typed != nil {
		return FieldID("reason")
	}
	return FieldID("reason") + "-" + idText(f.ID)
}

func idText(id int64) string { return strconv.FormatInt(id, 10) }
