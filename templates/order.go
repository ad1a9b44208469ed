package templates

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/money"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
)

// OrdersPage lists orders: those to do something about, then a page of the others.
type OrdersPage struct {
	Base
	Open, Over []order.Order
	Before     int // the number the page begins behind; 0: at the newest
	More       bool
	Suppliers  []stock.Supplier
}

// OrderPage is one order. Its forms are acts of their own.
type OrderPage struct {
	Base
	Order    order.Order
	Lines    []order.Line
	Changes  []order.Change
	Shorts   []order.Fault
	Supplier stock.Supplier
	Lead     order.LeadTime
	Waiting  []partslist.Ticket // jobs that want more of its items than lies aside
	Counting bool               // a delivery is being unpacked
	Forms    OrderForms
	Desk     shop.Settings // on paper
}

// OrderForms holds a Base for each form of an order.
type OrderForms struct{ Add, Lines, Send, Await, Note, Close Base }

func orderPath(id int64) string { return "/orders/" + itoa(id) }

// itemCodes are what an item is known by, here and there, and whom it is for.
func itemCodes(l order.Line) string {
	theirs := ""
	if l.TheirCode != "" {
		theirs = "theirs " + l.TheirCode
	}
	return listed(l.Code, theirs, lineForWords(l))
}

func (p OrderPage) path() string { return orderPath(p.Order.ID) }

func orderTitle(o order.Order) string { return "Order " + num(o.Number) }

// today is the shop's day at midnight UTC, as date columns have it.
func (b Base) today() time.Time { return order.Day(b.Now, b.Prefs.zone()) }

// orderStanding is the state of an order in a word and a shape.
func (b Base) orderStanding(o order.Order) (Shape, string) {
	switch {
	case o.State == order.Draft:
		return Dotted, "draft"
	case o.Late(b.today()):
		return Triangle, string(o.State) + ", late"
	case o.State == order.Sent:
		return Circle, "sent"
	case o.State == order.PartReceived:
		return HalfDisc, "part received"
	case o.State == order.Received:
		return Square, "received"
	case o.SentAt == nil:
		return Arrow, "thrown away"
	}
	return Arrow, "closed"
}

func (b Base) orderSum(o order.Order) string {
	switch {
	case o.Count == 0:
		return "nothing yet"
	case o.Unpriced == o.Count:
		return "price not known"
	case o.Unpriced > 0:
		return b.Prefs.Money(o.SumMinor, "") + " and " + plural(o.Unpriced, "line") + " without a price"
	}
	return b.Prefs.Money(o.SumMinor, "")
}

// supplierOptions are those that something is bought from.
func (p OrdersPage) supplierOptions() []Option {
	options := []Option{{Value: "", Label: "choose"}}
	for _, s := range p.Suppliers {
		if s.LeftOn == nil {
			options = append(options, Option{Value: itoa(s.ID), Label: s.Name})
		}
	}
	return options
}

func (p OrderPage) maySend() bool { return p.Person.Has("desk", "owner") }

func (p OrderPage) draft() bool { return p.Order.State == order.Draft }

// packsWords says how an amount comes: "2 packs of 5 pieces".
func packsWords(m stock.Measure, qty, pack int64) string {
	if pack == 1 && m == stock.Each {
		return m.Format(qty)
	}
	return plural(int((qty+pack-1)/pack), "pack") + " of " + m.Format(pack)
}

// packLabel is what a price is for: "a pack of 5 pieces", "a piece".
func packLabel(m stock.Measure, pack int64) string {
	if pack == 1 && m == stock.Each {
		return "a piece"
	}
	return "a pack of " + m.Format(pack)
}

func (b Base) lineSum(l order.Line) string {
	sum, ok := l.SumMinor()
	if !ok {
		return "price not known"
	}
	return b.Prefs.Money(sum, "")
}

func (b Base) linePrice(l order.Line) string {
	if l.PriceMinor == nil {
		return "not known"
	}
	return b.Prefs.Money(*l.PriceMinor, "")
}

// minorField fills a field for an amount of the shop's currency.
func (b Base) minorField(minor *int64) string {
	if minor == nil {
		return ""
	}
	return money.FormatNumber(*minor, b.Prefs.Currency)
}

// lineForWords says what a line is for, where that is not the shelf.
func lineForWords(l order.Line) string {
	if l.JobNumber == 0 {
		return ""
	}
	return "for ticket " + num(l.JobNumber)
}

// minimum says how an order stands to the smallest one its supplier takes.
func (p OrderPage) minimum() (Shape, string) {
	least := p.Supplier.MinimumMinor
	switch {
	case least == nil || *least == 0:
		return Disc, "none"
	case p.Order.SumMinor >= *least:
		return Disc, p.Prefs.Money(*least, "") + ", reached"
	}
	return Triangle, p.Prefs.Money(*least, "") + ": " + p.Prefs.Money(*least-p.Order.SumMinor, "") + " lacking"
}

var weekdayWords = []string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}

// orderDays says when a supplier takes orders and which day is next.
func (p OrderPage) orderDays() string {
	next := stock.OrderDay(p.today(), p.Supplier.OrderDays)
	words := "next: " + p.Date(next)
	if next.Equal(p.today()) {
		words = "today is one"
	}
	if len(p.Supplier.OrderDays) == 0 {
		return "any day"
	}
	var days []string
	for _, d := range p.Supplier.OrderDays {
		days = append(days, weekdayWords[d-1])
	}
	return strings.Join(days, ", ") + "; " + words
}

// leadWords says how long deliveries took.
func leadWords(l order.LeadTime) string {
	if !l.Known() {
		return "not enough history: " + deliveries(l.N)
	}
	return strconv.FormatFloat(l.Median, 'f', -1, 64) + " days at the median, " + plural(l.Worst, "day") + " at worst, of the last " + deliveries(l.N)
}

func deliveries(n int) string {
	switch n {
	case 0:
		return "no delivery yet"
	case 1:
		return "1 delivery"
	}
	return num(n) + " deliveries"
}

// expectedField proposes the day that the supplier promises.
func (p OrderPage) expectedField(of time.Time) Field {
	return Field{Name: "expected_on", Label: "Expected on", Type: "date", Value: of.Format(time.DateOnly), Required: true}
}

// openLine says what is still to come of a line of a sent order.
func (p OrderPage) openLine(l order.Line) string {
	switch {
	case l.Qty == 0:
		return "not ordered"
	case !p.Order.Awaited() || l.Open() == 0:
		return "none"
	}
	words := l.Measure.Format(l.Open())
	if l.ExpectedOn != nil {
		words += ", " + p.Date(*l.ExpectedOn)
	}
	return words
}

// ordered is how much of a line was ordered.
func ordered(l order.Line) string {
	if l.Qty == 0 {
		return "none"
	}
	return packsWords(l.Measure, l.Qty, l.Pack)
}

// faultWords says what was wrong with a line: "broken: One is bent".
func (b Base) faultWords(f order.Fault, m stock.Measure) string {
	words := f.Kind
	if f.Words != "" {
		words += ": " + f.Words
	}
	if f.Cancelled > 0 {
		words += " (" + m.Format(f.Cancelled) + " not awaited any more)"
	} else if f.ExpectedOn != nil {
		words += " (expected " + b.Date(*f.ExpectedOn) + ")"
	}
	return words
}

func (p OrderPage) faultsOf(l order.Line) (list []order.Fault) {
	for _, f := range p.Shorts {
		if f.LineID == l.ID {
			list = append(list, f)
		}
	}
	return list
}

// changeLine is a line of what became of an order: "sent by Odile, today 14:12".
func (p OrderPage) changeLine(c order.Change) string {
	word := map[order.State]string{order.Draft: "draft begun", order.Closed: "closed"}[c.State]
	words := cmp.Or(word, string(c.State)) + ", " + p.When(c.At)
	if c.By != "" {
		words += ", " + c.By
	}
	if c.Reason != "" {
		words += ": " + c.Reason
	}
	return words
}

func lineField(id int64, name string) string { return fmt.Sprint(id, ".", name) }

// paperDay is when it was sent, of a draft today.
func (p OrderPage) paperDay() string {
	if p.Order.SentAt != nil {
		return p.fullDate(*p.Order.SentAt)
	}
	return p.fullDate(p.Now)
}
