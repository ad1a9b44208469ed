package tool

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/quantity"
)

// Choice is a tool weighed for one torque. Why says in words why a tool that is
// not Usable is not; Note tells tools apart, as in "click, 2 to 15 N·m".
type Choice struct {
	Tool   Tool
	Usable bool
	Why    string
	Note   string
}

const (
	// A tool is good from a fifth of its full scale up: US Army
	// TM 1-1500-204-23-9, table 8-1, which claims no accuracy below.
	leastShare = 0.2
	// It is best between 30 and 80 % of full scale: same table.
	bestLow, bestHigh = 0.3, 0.8
)

// Choices weighs every tool for a torque of nominal N·m with its window, on a
// day of the shop: usable ones first, the best of them at the head.
//
// A usable tool is in use, passed its last calibration no more than 12 months
// ago (the day itself included), and has the torque within its scale, at least
// a fifth of its largest. A tool that clicks at its marks also needs a mark
// inside the window. The best ones have the torque between 30 and 80 % of their
// largest, then the finer marks, then the smaller scale.
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
	scale, trouble := t.Span(), t.Trouble(today)
	switch {
	case trouble != "":
		return trouble
	case nominal < t.RangeMinNm*(1-slack):
		return scale + "; " + t.show(nominal) + " is below its scale."
	case nominal > t.RangeMaxNm*(1+slack):
		return scale + "; " + t.show(nominal) + " is above its scale."
	case nominal < leastShare*t.RangeMaxNm*(1-slack):
		return scale + "; " + t.show(nominal) + " is under a fifth of its largest."
	case t.clicks() && !t.hasMark(nominal-minus, nominal+plus):
		return "None of its marks lies between " + t.number(nominal-minus) + " and " + t.show(nominal+plus) + "."
	}
	return ""
}

// hasMark reports whether a mark of the scale lies between two torques. One
// value without a window needs none: it is set between marks as near as can be.
func (t Tool) hasMark(low, high float64) bool {
	if high <= low {
		return true
	}
	step := t.stepNm()
	mark := math.Ceil(low/step-slack) * step
	return mark <= high*(1+slack)
}

func (t Tool) best(nominal float64) bool {
	return nominal >= bestLow*t.RangeMaxNm*(1-slack) && nominal <= bestHigh*t.RangeMaxNm*(1+slack)
}

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
