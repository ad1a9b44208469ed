package templates

import (
	"fmt"
	"strconv"
	"time"

	"damperdesk/internal/order"
	"damperdesk/internal/stock"
)

// ReceivePage counts what came of an order.
type ReceivePage struct {
	Base
	Order   order.Order
	Rows    []ReceiveRow
	Unknown Unknown
}

// ReceiveRow is what is counted of a line, of one batch; an item that was not
// ordered has a line without an id.
type ReceiveRow struct {
	order.Counted
	Line order.Line
}

// Unknown is what was scanned and refused, and why; empty for nothing.
type Unknown struct{ Code, Why string }

func (p ReceivePage) path() string { return orderPath(p.Order.ID) + "/receive" }

// DoneWords says what the last press did; scanned is the item that was.
func (p ReceivePage) DoneWords(done, scanned string) string {
	switch {
	case done == "kept":
		return "What is counted is kept. It is not on the shelf yet."
	case done == "prices":
		return "Some prices are not as ordered: look at them, then put it on the shelf."
	case scanned == "":
		return ""
	}
	sum, name := int64(0), ""
	m := stock.Each
	for _, r := range p.Rows {
		if itoa(r.Item) == scanned {
			sum, name, m = sum+r.Qty, r.Line.Name+" ("+r.Line.Code+")", r.Line.Measure
		}
	}
	if name == "" {
		return ""
	}
	return name + ": " + m.Format(sum) + " counted."
}

// total is how many lines something is counted of.
func (p ReceivePage) total() string {
	n := 0
	for _, r := range p.Rows {
		if r.Qty > 0 {
			n++
		}
	}
	if n == 0 {
		return "Nothing is counted yet."
	}
	return plural(n, "line") + " counted, nothing of it on the shelf yet."
}

func (r ReceiveRow) field(i int, name string) string { return fmt.Sprint(i, ".", name) }

// awaited says what is to come of a line.
func (r ReceiveRow) awaited() string {
	switch {
	case r.Line.ID == 0 || r.Line.Qty == 0:
		return ""
	case r.Line.Open() == 0:
		return "complete already"
	}
	return packsWords(r.Line.Measure, r.Line.Open(), r.Line.Pack) + " to come"
}

// standing is how what is counted of a line in all compares with what is to come.
func (p ReceivePage) standing(of ReceiveRow) (Shape, string) {
	var here int64
	for _, r := range p.Rows {
		if r.Item == of.Item && r.Line.ID == of.Line.ID {
			here += r.Qty
		}
	}
	open := of.Line.Open()
	switch {
	case here == 0:
		return Dotted, "none counted"
	case of.Line.ID == 0 || of.Line.Qty == 0:
		return OpenDiamond, "not ordered"
	case here < open:
		return HalfDisc, of.Line.Measure.Format(open-here) + " missing"
	case here == open:
		return Square, "complete"
	}
	return Triangle, of.Line.Measure.Format(here-open) + " too many"
}

// another says that the row is for a further batch of the row above.
func (p ReceivePage) another(i int) bool {
	return i > 0 && p.Rows[i].Line.ID != 0 && p.Rows[i-1].Line.ID == p.Rows[i].Line.ID
}

func (p ReceivePage) priceHint(r ReceiveRow) string {
	if r.Line.PriceMinor == nil {
		return "No price is known: type it."
	}
	if r.Line.ID == 0 {
		return "Known at " + p.linePrice(r.Line) + "; empty if so."
	}
	return "Ordered at " + p.linePrice(r.Line) + "; empty if so."
}

// changed says what became of a price: "£10.00 as ordered, £11.00 now, +10 %".
func (p ReceivePage) changed(r ReceiveRow) (words, noticed string) {
	c, ok := r.Line.Changed(r.Counted)
	if !ok {
		return "", ""
	}
	words = p.Prefs.Money(c.Was, "") + " as ordered, " + p.Prefs.Money(c.Is, "") + " now"
	if share := c.PerCent(); share != "" {
		words += ", " + share + "\u00a0%"
	}
	return words, strconv.FormatInt(c.Is, 10)
}

func (r ReceiveRow) shortOptions() []Option {
	words := map[string]string{order.Short: "less came", order.Wrong: "the wrong thing came", order.Broken: "it came broken"}
	options := []Option{{Value: "", Label: "nothing", Chosen: r.Short == ""}}
	for _, s := range order.Shorts {
		options = append(options, Option{Value: s, Label: words[s], Chosen: r.Short == s})
	}
	return options
}

// troubled says that the part about what is wrong is to be open.
func (p ReceivePage) troubled(r ReceiveRow, i int) bool {
	for _, name := range []string{"short", "words", "expected_on"} {
		if p.Error(r.field(i, name)) != "" || p.Typed != nil && p.Typed.Get(r.field(i, name)) != "" {
			return true
		}
	}
	return r.Short != ""
}

func dateField(day *time.Time) string {
	if day == nil {
		return ""
	}
	return day.Format(time.DateOnly)
}
