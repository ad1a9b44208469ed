package templates

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

// keyUnit is the unit a setting is made in: for a torque that of the tool,
// since its marks are what is set.
func (p StepPage) keyUnit(s *bench.Step) quantity.Unit {
	if s.Kind == procedure.Torque && p.Tool != nil {
		return p.Tool.Tool.Unit
	}
	return p.unit(*s)
}

// reads says whether the chosen tool shows a torque and is not set to one.
func (p StepPage) reads() bool { return p.Tool != nil && !bench.Clicks(p.Tool.Tool) }

// toolID is the tool whose keys are shown, 0 for none.
func (p StepPage) toolID() string {
	if p.Tool == nil {
		return "0"
	}
	return strconv.FormatInt(p.Tool.Tool.ID, 10)
}

// settings are the marks of the chosen tool around the torque, among them what
// it was just set to for the other side.
func (p StepPage) settings() []Option {
	w, ok := p.Step.Window()
	if !ok || p.Tool == nil {
		return nil
	}
	just, justOn := p.justSet()
	var list []Option
	for _, m := range bench.Marks(p.Tool.Tool, w) {
		chosen := m.Nearest
		if justOn {
			chosen = m.Number == just
		}
		list = append(list, Option{Value: m.Entered(), Label: m.Number, Chosen: chosen})
	}
	if justOn && !slices.ContainsFunc(list, func(o Option) bool { return o.Chosen }) {
		list = append(list, Option{Value: just + " " + string(p.keyUnit(p.Step)), Label: just, Chosen: true})
	}
	return list
}

// justSet is what the chosen click tool was just set to for the other side.
func (p StepPage) justSet() (number string, ok bool) {
	just := p.Sheet.JustSet(p.Step)
	if just == nil || p.Tool == nil || p.reads() || just.ToolID == nil || *just.ToolID != p.Tool.Tool.ID {
		return "", false
	}
	number, _, _ = strings.Cut(bench.ShowSetting(*just.ValueSI, p.Tool.Tool.Unit), "\u00a0")
	return number, true
}

// around lists five numbers about the one a field begins at, that one chosen;
// none without one.
func (p StepPage) around(s *bench.Step) []Option {
	if s.Kind == procedure.Torque {
		return p.settings()
	}
	si, ok := p.Sheet.Expected(s)
	if !ok {
		return nil
	}
	if s.Kind != procedure.Count {
		return measuresAround(s.Quantity, si, p.keyUnit(s))
	}
	var list []Option
	for i := -2; i <= 2; i++ {
		step := countStep(s)
		if n := (math.Round(si/step) + float64(i)) * step; n >= 0 {
			list = append(list, Option{Value: countText(n), Label: countText(n), Chosen: i == 0})
		}
	}
	return list
}

// measuresAround are up to five numbers of a unit, none below zero, each a step
// from the next and printed apart from it.
func measuresAround(kind quantity.Kind, si float64, unit quantity.Unit) []Option {
	number, err := strconv.ParseFloat(quantity.FormatNumber(kind, si, unit), 64)
	if err != nil {
		return nil
	}
	var list []Option
	for i := -2; i <= 2; i++ {
		n := number + float64(i)*quantity.StepAt(unit, number)
		away, err := quantity.FromUnit(kind, n, unit)
		if n < -1e-9 || err != nil {
			continue
		}
		label := quantity.FormatNumber(kind, max(away, 0), unit)
		list = append(list, Option{Value: label + " " + string(unit), Label: label, Chosen: i == 0})
	}
	return list
}

// physical says whether the kind is measured in units one can type.
func physical(kind quantity.Kind) bool { return len(quantity.Units(kind)) > 0 }

// toolOptions lists the wrenches, best first, then the hand. One that does not
// suit stays to be seen, and can be chosen only where none suits.
func (p StepPage) toolOptions() []Option {
	suits := slices.ContainsFunc(p.Choices, func(c tool.Choice) bool { return c.Usable })
	var list []Option
	for _, c := range p.Choices {
		o := Option{Value: strconv.FormatInt(c.Tool.ID, 10), Label: c.Tool.Name + p.setWords(c.Tool), Note: c.Note}
		o.Chosen = p.Tool != nil && p.Tool.Tool.ID == c.Tool.ID
		switch {
		case c.Usable:
		case c.Allowed != "":
			o.Note = c.Allowed
		default:
			o.Label, o.Note, o.Disabled = "Not "+c.Tool.Name, c.Why, suits || !p.Person.Has("owner")
		}
		list = append(list, o)
	}
	if key, ok := spec.Find(p.Step.SpecKey); ok && key.NoJudgement {
		return list // a life hangs on it
	}
	note := "below the smallest wrench"
	if suits {
		note = "needs a reason"
	}
	return append(list, Option{Value: "hand", Label: "By hand", Note: note})
}

// setWords says what a click tool is to be set to: ", set 7.3".
func (p StepPage) setWords(t tool.Tool) string {
	w, _ := p.Step.Window()
	for _, m := range bench.Marks(t, w) {
		if m.Nearest {
			return ", set " + m.Number
		}
	}
	return ""
}
