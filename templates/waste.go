package templates

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
)

// wasteCaution stands on the log and on the sheet: common practice (no source).
const wasteCaution = "Follow the local rules for used oil and solvent. Keep the kinds apart, each in a closed and labelled container, and solvent and soaked rags away from any spark. Only a licensed carrier takes them; keep the carrier’s papers."

// WastePage is the log of what waits for the carrier, with its three forms. Kind,
// Amount and Ticket are proposed for an entry.
type WastePage struct {
	Base
	Log, Taken, Back     Base
	Standing             []stock.StandingWaste
	Entries              []stock.WasteEntry
	Pickups              []stock.Pickup
	Drained              []stock.Drained
	Kind, Amount, Ticket string
}

// WasteSheetPage is what a carrier and an inspector read: a span of days, both
// included.
type WasteSheetPage struct {
	Base
	Desk          shop.Settings
	From, To      time.Time
	Before, After []stock.StandingWaste
	Entries       []stock.WasteEntry
	Pickups       []stock.Pickup
}

func (p WastePage) kindOptions() (list []Option) {
	for _, k := range stock.WasteKinds {
		list = append(list, Option{Value: string(k), Label: upperFirst(string(k)), Chosen: p.Kind == string(k)})
	}
	return list
}

func wasteUnit(k stock.WasteKind) string {
	if k.Measure() == stock.Mass {
		return "g, or a number with kg"
	}
	return "mL, or a number with L"
}

// left is what stands here of a kind, in words.
func left(s stock.StandingWaste) (Shape, string) {
	switch n := s.Left(); {
	case n < 0:
		return Triangle, s.Kind.Measure().Format(-n) + " more was taken than logged"
	case n == 0:
		return Dotted, "none"
	default:
		return Disc, s.Kind.Measure().Format(n)
	}
}

// entryNotes are the container, the ticket and the reason of an entry.
func entryNotes(e stock.WasteEntry) string {
	var words []string
	if e.Container != "" {
		words = append(words, e.Container)
	}
	if e.JobNumber != 0 {
		words = append(words, "ticket "+num(e.JobNumber))
	}
	if e.Reason != "" {
		words = append(words, "opposite of a wrong entry: "+e.Reason)
	}
	return strings.Join(words, ", ")
}

func pickupNotes(p stock.Pickup) string {
	words := p.Carrier + ", paper " + p.Document
	if p.Reason != "" {
		words += ", opposite of a wrong entry: " + p.Reason
	}
	return words
}

func (p WastePage) wrongOptions() []Option {
	list := []Option{{Value: "", Label: "Choose"}}
	for _, e := range p.Entries {
		if e.Standing() {
			list = append(list, Option{Value: "in-" + idText(e.ID), Label: fmt.Sprintf("%s, %s, in %s", e.Kind, e.Kind.Measure().Format(e.Amount), p.When(e.At))})
		}
	}
	for _, t := range p.Pickups {
		if t.Standing() {
			list = append(list, Option{Value: "out-" + idText(t.ID), Label: fmt.Sprintf("%s, %s, taken away %s", t.Kind, t.Kind.Measure().Format(t.Amount), p.Date(t.TakenOn))})
		}
	}
	return list
}

func drainedPath(d stock.Drained) string {
	q := url.Values{"kind": {string(d.Kind)}, "amount": {stock.Volume.Field(d.Amount)}, "ticket": {num(d.JobNumber)}}
	return "/parts/waste?" + q.Encode() + "#log"
}

// filePath is the same span as a file.
func (p WasteSheetPage) filePath() string {
	return "/parts/waste/file?from=" + p.From.Format(time.DateOnly) + "&to=" + p.To.Format(time.DateOnly)
}

func (p WasteSheetPage) span() string { return fullDay(p.From) + " to " + fullDay(p.To) }

func fullDay(t time.Time) string { return t.Format("2 January 2006") }

// wasteRow is one kind over the span: what stood at its beginning, came, went and
// stands at its end.
type wasteRow struct {
	kind                      stock.WasteKind
	before, in, out, standing string
}

func (p WasteSheetPage) kinds() (rows []wasteRow) {
	for i, after := range p.After {
		before, show := p.Before[i], after.Kind.Measure().Format
		rows = append(rows, wasteRow{after.Kind, show(before.Left()), show(after.In - before.In), show(after.Out - before.Out), show(after.Left())})
	}
	return rows
}

// Rows are the entries as a table with its head: amounts in millilitres or grams,
// below zero for the opposite of a wrong one.
func (p WasteSheetPage) Rows() [][]string {
	rows := [][]string{{"day", "what", "kind", "amount", "unit", "container", "ticket", "carrier", "paper", "reason", "by"}}
	for _, e := range p.Entries {
		ticket := ""
		if e.JobNumber != 0 {
			ticket = num(e.JobNumber)
		}
		rows = append(rows, []string{p.FieldDay(e.At), "in", string(e.Kind), thousandths(e.Amount), smallUnit(e.Kind),
			cell(e.Container), ticket, "", "", cell(e.Reason), cell(e.Actor)})
	}
	for _, t := range p.Pickups {
		rows = append(rows, []string{t.TakenOn.Format(time.DateOnly), "taken away", string(t.Kind), thousandths(t.Amount), smallUnit(t.Kind),
			"", "", cell(t.Carrier), cell(t.Document), cell(t.Reason), cell(t.Actor)})
	}
	return rows
}

func thousandths(n int64) string { return strconv.FormatFloat(float64(n)/1000, 'f', -1, 64) }

func smallUnit(k stock.WasteKind) string {
	if k.Measure() == stock.Mass {
		return "g"
	}
	return "mL"
}

// cell keeps a spreadsheet from taking a text for a formula.
func cell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}
