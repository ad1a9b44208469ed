package bench

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"damperdesk/internal/quantity"
	"damperdesk/internal/tool"
	"damperdesk/internal/torque"
)

// Mark is a setting that a tool can be given, in the unit on its scale.
type Mark struct {
	Number  string // "65"
	Unit    quantity.Unit
	SI      float64 // N·m
	Nearest bool    // of those inside the window the nearest to the target
}

// Entered is the mark as a person would type it: "65 lbf·in".
func (m Mark) Entered() string { return m.Number + " " + string(m.Unit) }

const marksAround = 2 // offered on each side of the nearest

// Clicks reports whether the tool is set and clicks there, so that it gives no
// reading.
func Clicks(t tool.Tool) bool { return strings.HasPrefix(t.Kind, "click") }

// Marks lists the marks of a click tool around a torque, smallest first, none
// beyond the scale: a wrench in lbf·in is set to 65 for 7.3 N·m. A value
// without a window is set as near as can be between marks, so that it stands
// among them itself. Common practice (no source).
func Marks(t tool.Tool, w Window) []Mark {
	step, err := quantity.FromUnit(quantity.KindTorque, t.Graduation, t.Unit)
	if err != nil || !Clicks(t) {
		return nil
	}
	middle, inside := nearestMark(t, w, step)
	var list []Mark
	for i := -marksAround; i <= marksAround; i++ {
		si := middle + float64(i)*step
		if si < t.RangeMinNm*(1-noise) || si > t.RangeMaxNm*(1+noise) {
			continue
		}
		list = append(list, Mark{Number: settingNumber(si, t.Unit), Unit: t.Unit, SI: si, Nearest: i == 0 && inside})
	}
	return list
}

// noise is what converting a mark between units may add to it.
const noise = 1e-9

// nearestMark is the mark nearest to the target of those that stay in the window
// whatever the tool may be off; where there is none, of those in it.
func nearestMark(t tool.Tool, w Window, step float64) (si float64, inside bool) {
	if w.Minus == 0 && w.Plus == 0 {
		return w.Nominal, true
	}
	limits, figures := torque.Window{Nominal: w.Nominal, Low: w.Nominal - w.Minus, High: w.Nominal + w.Plus}, t.Figures()
	var marks []float64
	for mark := math.Floor(limits.Low/step-noise) * step; mark <= limits.High+step; mark += step {
		marks = append(marks, mark)
	}
	slices.SortStableFunc(marks, func(a, b float64) int {
		return cmp.Compare(math.Abs(a-w.Nominal), math.Abs(b-w.Nominal))
	})
	holds := func(mark float64) bool { return w.Holds(quantity.KindTorque, mark, t.Unit) }
	keeps := func(mark float64) bool { return holds(mark) && figures.Keeps(mark, limits) }
	for _, good := range []func(float64) bool{keeps, holds} {
		if i := slices.IndexFunc(marks, good); i >= 0 {
			return marks[i], true
		}
	}
	return marks[0], false
}

// finest is how finely a setting is printed, in any unit: marks of 0.25 N·m
// are set, and a rounded 7.3 would be another one.
const finest = 0.001

// ShowSetting prints a torque as it was set, to the mark.
func ShowSetting(si float64, unit quantity.Unit) string {
	return quantity.FormatStep(quantity.KindTorque, si, unit, finest)
}

func settingNumber(si float64, unit quantity.Unit) string {
	number, _, _ := strings.Cut(ShowSetting(si, unit), "\u00a0")
	return number
}

// OnMark reports whether the tool has a mark at si N·m.
func OnMark(t tool.Tool, si float64) bool {
	marks := quantity.Convert(quantity.KindTorque, si, t.Unit) / t.Graduation
	return math.Abs(marks-math.Round(marks)) < 1e-6
}

// ToolFor is the tool to begin a torque with: of the usable ones the one used
// last on this sheet, else the best; false when none is usable. The choices
// are best first.
func (s Sheet) ToolFor(choices []tool.Choice) (tool.Choice, bool) {
	var found tool.Choice
	var last int64 = -1
	for _, c := range choices {
		if used := s.lastUse(c.Tool.ID); c.Usable && used > last {
			found, last = c, used
		}
	}
	return found, last >= 0
}

// lastUse is the id of the newest live sign-off with the tool, 0 for none.
func (s Sheet) lastUse(toolID int64) int64 {
	var last int64
	for _, step := range s.Steps {
		if d := step.Done; d != nil && d.ToolID != nil && *d.ToolID == toolID {
			last = max(last, d.ID)
		}
	}
	return last
}
