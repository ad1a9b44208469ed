package templates

import (
	"slices"

	"damperdesk/internal/bench"
)

// signedFacts is what a signed step says of itself.
func (p StepPage) signedFacts() []fact {
	d := p.Step.Done
	facts := []fact{{"Done", d.Actor + ", " + p.When(d.At) + onTablet(d.Device)}, {"Result", p.got(*p.Step)}, {"With", with(*d)}}
	if w, ok := p.Step.Window(); ok && (w.Minus > 0 || w.Plus > 0) {
		facts = append(facts, fact{"Window", p.window(*p.Step, w)})
	}
	facts = append(facts, fact{"Source", p.Step.Source}, fact{"Reason", d.Reason})
	if c := p.Step.Checked; c != nil {
		words := c.Actor + ", " + p.When(c.At) + onTablet(c.Device)
		if c.Alone {
			words += ", alone: " + c.Reason
		}
		facts = append(facts, fact{"Checked", words})
	}
	return slices.DeleteFunc(facts, func(f fact) bool { return f.words == "" })
}

// onTablet is ", on stand by the window"; empty for none.
func onTablet(name string) string {
	if name == "" {
		return ""
	}
	return ", on " + name
}

// crossOuts lists what can be crossed out, the second check first.
func (p StepPage) crossOuts() []*bench.Signoff {
	var list []*bench.Signoff
	for _, so := range []*bench.Signoff{p.Step.Checked, p.Step.Done} {
		if so != nil {
			list = append(list, so)
		}
	}
	return list
}

func crossOutWords(so *bench.Signoff) string {
	if so.Role == bench.RoleChecked {
		return "Cross out the second check by " + so.Actor
	}
	return "Cross out what " + so.Actor + " signed"
}

// takes warns of what a crossing-out takes with it, and of what it leaves.
func (p StepPage) takes(so *bench.Signoff) string {
	undone := p.Sheet.Undone(so.ID)
	found := func(m bench.Signoff) bool { return len(bench.Standing(p.Sheet.FoundAt(m.StepID))) > 0 }
	words := p.goesWith(undone[min(1, len(undone)):])
	if so.Role == bench.RoleDone && slices.ContainsFunc(undone, found) {
		words += " What was found stays; withdraw it on the sheet if it was wrong."
	}
	return words
}

func (p StepPage) goesWith(more []bench.Signoff) string {
	other := slices.DeleteFunc(slices.Clone(more), func(m bench.Signoff) bool { return m.StepID == p.Step.ID })
	switch {
	case len(more) == 0:
		return "Only this sign-off; it stays to be read."
	case p.Step.StopHere:
		return "This is a stop-here: with it go " + num(len(more)) + " sign-offs after it."
	case len(other) > 0:
		again := p.Sheet.Find(other[0].StepID)
		return "With it goes step " + num(again.Seq) + ", “" + again.Title + "”: it has to be looked at again."
	}
	return "With it goes its second check."
}
