package tool

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/quantity"
	"damperdesk/internal/torque"
)

// Choice is a tool weighed for one torque. Why says in words why a tool that is
// not Usable is not; Note tells tools apart, as in "click, 2 to 15 N·m".
type Choice struct {
	Tool   Tool
	Usable bool
	Why    string
	// Allowed says who lets it be used all the same for the step at hand, and
	// why; empty for nobody.
	Allowed string
	Note    string
}

// Choices weighs every tool for a torque of nominal N·m with its window, on a
// day of the shop: usable ones first, the best of them at the head.
//
// A usable tool is in use, passed its last calibration no more than 12 months
// ago (the day itself included) and fewer than 5,000 uses, neither fell nor was
// overloaded since, and has the torque within its scale, at least a fifth of its
// largest. It can be set so that what it may be off stays inside the window, a
// tool that clicks at one of its marks. The best ones have the torque between 30
// and 80 % of their largest, then the finer marks, then the smaller scale.
func Choices(tools []Tool, nominal, minus, plus float64, today time.Time) []Choice {
	list := make([]Choice, 0, len(tools))
	for _, t := range tools {
		why := t.whyNot(nominal, minus, plus, today)
		list = append(list, Choice{Tool: t, Usable: why == "", Why: why, Note: t.note()})
	}
	slices.SortStableFunc(list, func(a, b Choice) int {
		return cmp.Or(
			first(a.Usable, b.Usable),
			first(a.Tool.best(nominal), b.Tool.best(nominal)),
			cmp.Compare(a.Tool.stepNm(), b.Tool.stepNm()),
			cmp.Compare(a.Tool.RangeMaxNm, b.Tool.RangeMaxNm),
			strings.Compare(strings.ToLower(a.Tool.Name), strings.ToLower(b.Tool.Name)),
			cmp.Compare(a.Tool.ID, b.Tool.ID),
		)
	})
	return list
}

func first(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// slack forgives the binary noise of a unit conversion at a bound.
const slack = 1e-9

func (t Tool) whyNot(nominal, minus, plus float64, today time.Time) string {
	if trouble := t.Trouble(today); trouble != "" {
		return trouble
	}
	scale, w := t.Span(), torque.Window{Nominal: nominal, Low: nominal - minus, High: nominal + plus}
	switch share, _ := t.Deviation(); t.Figures().Suit(w) {
	case torque.BelowScale:
		return scale + "; " + t.show(nominal) + " is below its scale."
	case torque.AboveScale:
		return scale + "; " + t.show(nominal) + " is above its scale."
	case torque.UnderFifth:
		return scale + "; " + t.show(nominal) + " is under a fifth of its largest."
	case torque.NoMark:
		return "None of its marks lies between " + t.number(w.Low) + " and " + t.show(w.High) + "."
	case torque.TooFarOff:
		return "It may be " + PerCent(share) + " off, which " + t.number(w.Low) + " to " + t.show(w.High) + " does not leave room for."
	}
	return ""
}

// Figures is what counts of the tool for the arithmetic.
func (t Tool) Figures() torque.Tool {
	share, _ := t.Deviation()
	return torque.Tool{Min: t.RangeMinNm, Max: t.RangeMaxNm, Step: t.stepNm(), Clicks: t.clicks(), Share: share}
}

func (t Tool) best(nominal float64) bool { return t.Figures().Best(nominal) }

func (t Tool) stepNm() float64 {
	nm, err := quantity.FromUnit(quantity.KindTorque, t.Graduation, t.Unit)
	if err != nil {
		return math.Inf(1)
	}
	return nm
}

// note is such as "click, 2 to 15 N·m".
func (t Tool) note() string {
	kind, _, _ := strings.Cut(t.Kind, " ")
	return kind + ", " + t.Span()
}

// Span is the scale in the tool's own unit: "5 to 25 N·m".
func (t Tool) Span() string {
	return t.number(t.RangeMinNm) + " to " + t.show(t.RangeMaxNm)
}

func (t Tool) show(nm float64) string {
	return quantity.Format(quantity.KindTorque, nm, t.Unit)
}

func (t Tool) number(nm float64) string {
	return quantity.FormatNumber(quantity.KindTorque, nm, t.Unit)
}

// date drops the time of day, keeping the day of its own zone.
func date(t time.Time) time.Time {
	year, month, day := t.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

func words(day time.Time) string { return day.Format("2 January 2006") }
