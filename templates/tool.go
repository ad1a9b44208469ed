package templates

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/quantity"
	"damperdesk/internal/tool"
	"damperdesk/internal/torque"
)

// ToolsPage lists the torque tools.
type ToolsPage struct {
	Base
	Tools []tool.Tool
}

// ToolPage is one torque tool with what is on record about it. Out is the form
// that takes it out of use.
type ToolPage struct {
	Base
	Tool         tool.Tool
	Calibrations []tool.Calibration
	States       []tool.StateChange
	Uses         []bench.Use
	Doubt        *tool.Doubt    // nil for a tool that never failed
	Doubtful     []bench.UsedOn // what was signed with it in that time
	Out          Base
}

// ToolFormsPage has the forms that a PIN is not enough for, each with a Base of
// its own.
type ToolFormsPage struct {
	Base
	Tool                        tool.Tool
	Change, Calibration, Return Base
}

// uncertified is the tool without what its last certificate states.
func (p ToolFormsPage) uncertified() tool.Tool {
	t := p.Tool
	t.Certified = nil
	return t
}

func toolPath(id int64) string { return "/tools/" + strconv.FormatInt(id, 10) }

func (b Base) toolTrouble(t tool.Tool) string { return t.Trouble(b.local(b.Now)) }

// toolStanding is how a tool stands, in a word and a shape.
func (b Base) toolStanding(t tool.Tool) (Shape, string) {
	today := b.local(b.Now)
	switch {
	case t.State != tool.InUse:
		return Dotted, t.State
	case t.LastCalibrated == nil:
		return Triangle, "never calibrated"
	case !t.Passed:
		return Triangle, "failed its calibration"
	case t.Mishap != "":
		return Triangle, t.Mishap + ", not calibrated since"
	case t.Trouble(today) != "":
		return Triangle, "calibration overdue"
	case t.DueSoon(today):
		return HalfDisc, "in use, calibration due soon"
	}
	return Disc, "in use"
}

// toolMeaning is what a tool's trouble means at the bench.
func (b Base) toolMeaning(t tool.Tool) string {
	switch {
	case b.toolTrouble(t) == "":
		return ""
	case t.State != tool.InUse:
		return "It serves for nothing until it is back in use."
	}
	return "It serves for nothing until it is calibrated."
}

// mayBeOff says how far off a tool may be, and who says so.
func mayBeOff(t tool.Tool) string {
	share, from := t.Deviation()
	return "±" + tool.PerCent(share) + ", by " + string(from)
}

// pointWords are the points of a calibration: "set to 3 N·m, 1.1 % over".
func pointWords(t tool.Tool, c tool.Calibration) []string {
	t.Certified = c.Share
	share, _ := t.Deviation()
	results, err := c.Points(share)
	if err != nil {
		return nil // the table refuses such points
	}
	var list []string
	for _, r := range results {
		over := "over"
		if r.Deviation < 0 {
			over = "under"
		}
		list = append(list, "set to "+bench.ShowSetting(r.Set, t.Unit)+": says "+tool.PerCent(math.Abs(r.Deviation))+" "+over)
	}
	return list
}

// ToolLimitsPage is what the kinds of torque tools may be off.
type ToolLimitsPage struct {
	Base
	Limits []ToolLimit
}

// ToolLimit is a limit with its form.
type ToolLimit struct {
	tool.Limit
	Form Base
}

func (l ToolLimit) title() string {
	if l.Small {
		return upperFirst(l.Kind) + " up to " + num(torque.Small) + " N·m"
	}
	return upperFirst(l.Kind) + " above " + num(torque.Small) + " N·m"
}

func (l ToolLimit) percent() string {
	return strings.TrimSuffix(tool.PerCent(l.Share), "\u00a0%")
}

func (l ToolLimit) standing() (Shape, string) {
	if l.Version == 0 {
		return Dotted, "not confirmed"
	}
	return Disc, "confirmed"
}

// pointLabel heads a point of a calibration: "At 60 %".
func pointLabel(i int) string { return "At " + tool.PerCent(torque.PointShares[i]) }

// certificateWords are those of the calibration a tool stands on.
func calibrationWords(passed bool) (Shape, string) {
	if passed {
		return Disc, "passed"
	}
	return Triangle, "failed"
}

func graduationWords(t tool.Tool) string {
	return strconv.FormatFloat(t.Graduation, 'f', -1, 64) + "\u00a0" + string(t.Unit)
}

// rangeTyped is the range as the form takes it.
func rangeTyped(t tool.Tool) string {
	number := func(nm float64) string {
		return strconv.FormatFloat(quantity.Convert(quantity.KindTorque, nm, t.Unit), 'g', 6, 64)
	}
	return number(t.RangeMinNm) + " to " + number(t.RangeMaxNm) + " " + string(t.Unit)
}

func kindOptions(chosen string) []Option {
	var options []Option
	for _, k := range tool.Kinds {
		options = append(options, Option{Value: k, Label: upperFirst(k), Chosen: k == chosen})
	}
	return options
}

func outOptions() []Option {
	return []Option{
		{Value: tool.Dropped, Label: "Fell", Note: "It serves for nothing until it is calibrated."},
		{Value: tool.Overloaded, Label: "Overloaded", Note: "The same."},
		{Value: tool.Away, Label: "Away", Note: "It comes back, such as from its calibration."},
		{Value: tool.Withdrawn, Label: "Withdrawn", Note: "It is broken or lost."},
	}
}

// doubt says what a failed calibration means for what was signed before.
func (p ToolPage) doubt() string {
	d := p.Doubt
	words := "It failed its last calibration. "
	if !d.Till.IsZero() {
		words = "It failed on " + p.Date(d.Till) + " and has passed since. "
	}
	since := "before"
	if !d.Since.IsZero() {
		since = "since " + p.Date(d.Since) + ", the day it last passed"
	}
	switch len(p.Doubtful) {
	case 0:
		return words + "Nothing was signed with it " + since + "."
	case 1:
		return words + "1 job was signed with it " + since + ". Look at that unit again."
	}
	return words + num(len(p.Doubtful)) + " jobs were signed with it " + since + ". Look at those units again."
}

// used is what a sign-off set or read.
func used(u bench.Use) string {
	var words []string
	if u.ValueSI != nil {
		words = append(words, quantity.Format(quantity.KindTorque, *u.ValueSI, u.ShownUnit))
	}
	if !u.InWindow {
		words = append(words, "outside the window")
	}
	if u.Crossed {
		words = append(words, "crossed out")
	}
	return strings.Join(words, ", ")
}

func toolKindWords(t tool.Tool) string { return upperFirst(t.Kind) }

// rangeField and graduationField fill the form; a new tool has neither.
func rangeField(t tool.Tool) string {
	if t.Unit == "" {
		return ""
	}
	return rangeTyped(t)
}

func graduationField(t tool.Tool) string {
	if t.Unit == "" {
		return ""
	}
	return strconv.FormatFloat(t.Graduation, 'f', -1, 64)
}

// ToolsStanding is how all tools stand in a line: "4 of 5 in order, the next
// calibration by 2 March".
func (b Base) ToolsStanding(list []tool.Tool) string {
	var (
		serve int
		next  *time.Time
	)
	for _, t := range list {
		if b.toolTrouble(t) != "" {
			continue
		}
		serve++
		if due := t.Due(); next == nil || due.Before(*next) {
			next = due
		}
	}
	words := fmt.Sprintf("%d of %d in order", serve, len(list))
	if next != nil {
		words += ", the next calibration by " + b.Date(*next)
	}
	return words
}
