package templates

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
)

// VisitBill is the bill on the page of its visit.
type VisitBill struct {
	bill.Bill
	Offers []bill.Offer
	Parts  []bill.Part // used and not on it
	Rates  []bill.TaxRate
	Inside bool // prices are typed with their tax
	Forms  BillForms
}

// BillForms holds a Base for each form of a bill: an act of its own each.
type BillForms struct {
	Listed, Parts, Line, LineBack, Payment, PaymentBack Base
}

// BillPage is the bill on paper, for one payer.
type BillPage struct {
	Base
	Visit job.VisitWithJobs
	Desk  shop.Settings
	Bill  bill.Bill
	Payer bill.Payer
}

func billPath(visitID int64, payer bill.Payer) string {
	path := "/visits/" + itoa(visitID) + "/bill"
	if payer != bill.TheCustomer {
		path += "?payer=" + url.QueryEscape(payer.String())
	}
	return path
}

// customerAmount is a line as the customer pays it: nothing where somebody else
// does.
func (b Base) customerAmount(of bill.Bill, l bill.Line) string {
	if l.Payer != bill.ByCustomer {
		return b.amount(of, 0)
	}
	return b.amount(of, l.AmountMinor())
}

// amount is in the currency of the bill.
func (b Base) amount(of bill.Bill, minor int64) string { return b.Prefs.Money(minor, of.Currency) }

// lineWords says what a line counts up: "2 × £11.00, less £2.00 (club), tax A".
func (b Base) lineWords(l bill.Line) string {
	words := l.Kind + ", " + money.FormatTimes(l.QtyMilli) + " × " + b.Prefs.Money(l.UnitMinor, l.Currency)
	if l.DiscountMinor != 0 {
		words += ", " + b.lessWords(l)
	}
	if l.ShareBP != 0 {
		words += ", " + money.FormatRate(l.ShareBP) + " of the services"
	}
	words += ", tax " + l.TaxCode
	if l.TaxIncluded {
		words += " inside"
	}
	return words
}

// lineOf is the ticket that a line belongs to, if it does to one.
func lineOf(l bill.Line) string {
	if l.Number == 0 {
		return ""
	}
	return num(l.Number)
}

// others are who pays something of the visit beside the customer.
func (v VisitBill) others() []bill.Payer { return v.Bill.Payers()[1:] }

// owedWords says how the customer stands, and by which shape.
func (b Base) owedWords(balance bill.Balance) (Shape, string) {
	owed := b.Prefs.Money(max(balance.OwedMinor(), -balance.OwedMinor()), balance.Currency)
	switch {
	case balance.OwedMinor() > 0:
		return Triangle, owed + " owed"
	case balance.OwedMinor() < 0:
		return HalfDisc, owed + " paid ahead"
	case balance.Lines == 0:
		return Dotted, "no bill yet"
	case balance.BilledMinor == 0:
		return Square, "nothing to pay"
	}
	return Square, "all paid"
}

// limitLine says how the bill stands to what may be spent without asking.
func (b Base) limitLine(of bill.Bill) string {
	line := "Spending limit: " + b.limitWords(of.LimitMinor, of.Currency)
	if of.LimitMinor != nil {
		line += "; the bill comes to " + b.amount(of, of.Balance().BilledMinor)
	}
	return line + "."
}

// overLine asks for the customer's go-ahead where the bill is above the limit.
func (b Base) overLine(of bill.Bill) string {
	over := of.OverLimit()
	if over == 0 {
		return ""
	}
	return b.amount(of, over) + " over the limit: ask for the customer’s go-ahead before going on."
}

// priced and unpriced split what is not on the bill yet.
func (v VisitBill) priced() []bill.Offer {
	return slices.DeleteFunc(slices.Clone(v.Offers), func(o bill.Offer) bool { return o.Minor == nil })
}

func (v VisitBill) unpriced() []bill.Offer {
	return slices.DeleteFunc(slices.Clone(v.Offers), func(o bill.Offer) bool { return o.Minor != nil })
}

// lineFor is the value that a line by hand says what it is for by: a job, and
// the service it stands for.
func lineFor(jobID int64, service string) string {
	return strings.TrimSpace(itoa(jobID) + " " + service)
}

func (p VisitPage) lineForOptions() []Option {
	var options []Option
	for _, o := range p.Bill.unpriced() {
		options = append(options, Option{Value: lineFor(o.JobID, o.ServiceCode), Label: num(o.Number) + ", " + o.Service})
	}
	for _, j := range p.Visit.Jobs {
		options = append(options, Option{Value: lineFor(j.ID, ""), Label: num(j.Number) + ", " + j.Unit})
	}
	return append(options, Option{Value: lineFor(0, ""), Label: "the whole visit"})
}

// choices makes options of words that stand for themselves, the first chosen.
func choices(words []string) []Option {
	var options []Option
	for i, w := range words {
		options = append(options, Option{Value: w, Label: w, Chosen: i == 0})
	}
	return options
}

// lineKinds puts parts first: work is mostly on the price list.
func lineKinds() []Option { return choices(append(slices.Clone(bill.Kinds[1:]), bill.KindService)) }

func (b Base) standingLines(of bill.Bill) []Option {
	var options []Option
	for _, l := range of.Standing() {
		options = append(options, Option{Value: itoa(l.ID), Label: l.Words + ", " + b.amount(of, l.AmountMinor())})
	}
	return options
}

func standingPayments(of bill.Bill) []bill.Payment {
	return slices.DeleteFunc(slices.Clone(of.Payments), func(p bill.Payment) bool { return !p.Stands() })
}

// paymentsOf are those of one payer that stand.
func paymentsOf(of bill.Bill, payer bill.Payer) []bill.Payment {
	return slices.DeleteFunc(standingPayments(of), func(p bill.Payment) bool { return p.PaidBy() != payer })
}

// payers are who may pay something of the visit.
func (v VisitBill) payers() []Option {
	var names []string
	for _, p := range v.Bill.Payers() {
		if p.Kind != bill.ByUs {
			names = append(names, p.String())
		}
	}
	return choices(names)
}

// paymentOptions leave out what rounding left: that goes with its payment.
func (b Base) paymentOptions(of bill.Bill) []Option {
	var options []Option
	for _, p := range standingPayments(of) {
		if p.Rounds != 0 {
			continue
		}
		options = append(options, Option{Value: itoa(p.ID), Label: paymentWords(p, b.When(p.At)) + ", " + b.amount(of, p.MinorPaid)})
	}
	return options
}

// takenBack lists what was wrong, with why and by whom it was taken back.
func (b Base) takenBack(of bill.Bill) []string {
	var list []string
	for _, l := range of.Lines {
		if l.Reverses != 0 {
			list = append(list, fmt.Sprintf("%s, %s: “%s” (%s)", l.Words, b.amount(of, -l.AmountMinor()), l.Reason, cmp.Or(l.Actor, "the program")))
		}
	}
	for _, p := range of.Payments {
		if p.Reverses != 0 {
			list = append(list, fmt.Sprintf("payment of %s: “%s” (%s)", b.amount(of, -p.MinorPaid), p.Reason, cmp.Or(p.Actor, "the program")))
		}
	}
	return list
}

// mayBill says whether whoever looks may write the bill.
func (p VisitPage) mayBill() bool { return p.Person.Has("desk", "owner") }

func (p VisitPage) priceField(name, label, hint string) Field {
	return Field{Name: name, Label: label, Hint: hint, Unit: priceUnit(p.Bill.Currency, p.Bill.Inside), Keyboard: "decimal"}
}

func (p VisitPage) amountField() Field {
	f := Field{Name: "payment.amount", Label: "Amount", Unit: p.Bill.Currency, Keyboard: "decimal", Required: true}
	if owed := p.Bill.Balance().OwedMinor(); owed > 0 {
		f.Value = money.FormatNumber(owed, p.Bill.Currency)
		if coins := money.Cash(owed, p.Bill.Currency); coins != owed {
			f.Hint = "In cash " + money.Format(coins, p.Bill.Currency) + ", to the smallest coin."
		}
	}
	return f
}

// lines are those of a paper bill: the customer's has everybody's, at nothing
// where somebody else pays.
func (p BillPage) lines() []bill.Line {
	return slices.DeleteFunc(p.Bill.Standing(), func(l bill.Line) bool { return p.Payer != bill.TheCustomer && l.PaidBy() != p.Payer })
}

// own are the lines that the bill's payer pays.
func (p BillPage) own() []bill.Line {
	return slices.DeleteFunc(p.Bill.Standing(), func(l bill.Line) bool { return l.PaidBy() != p.Payer })
}

// nets is the net of each of the lines, by its id.
func (p BillPage) nets() map[int64]int64 {
	own, nets := p.own(), map[int64]int64{}
	for i, net := range bill.Nets(own) {
		nets[own[i].ID] = net
	}
	return nets
}

// holdsTax says whether any price on the bill holds its tax, so that what is
// typed and what is net differ.
func (p BillPage) holdsTax() bool {
	return slices.ContainsFunc(p.lines(), func(l bill.Line) bool { return l.TaxIncluded })
}

// amountOf is a line as the bill's payer pays it.
func (p BillPage) amountOf(l bill.Line) string {
	if l.PaidBy() != p.Payer {
		return p.amount(p.Bill, 0)
	}
	return p.amount(p.Bill, l.AmountMinor())
}

func (p BillPage) total() bill.Total { return bill.Sum(p.Bill.Lines, p.Payer) }

// to names who pays.
func (p BillPage) to() string {
	switch p.Payer.Kind {
	case bill.ByCustomer:
		return p.Visit.Customer
	case bill.ByUs:
		return p.Desk.Name
	}
	return upperFirst(p.Payer.String())
}

// writtenAt is when the bill became what it is, so that every print of it has
// one date.
func (p BillPage) writtenAt() time.Time {
	at := p.Visit.OpenedAt
	for _, l := range p.Bill.Lines {
		if l.At.After(at) {
			at = l.At
		}
	}
	return at
}

// visitWords says which visit is billed and, to others, whose it is.
func (p BillPage) visitWords() string {
	words := "Visit " + itoa(p.Visit.ID) + ", " + p.tickets() + ", taken in " + p.fullDate(p.Visit.OpenedAt)
	if p.Payer != bill.TheCustomer {
		words += ", brought by " + p.Visit.Customer
	}
	return words
}

// tickets lists the numbers of the visit.
func (p BillPage) tickets() string {
	var list []string
	for _, j := range p.Visit.Jobs {
		list = append(list, num(j.Number))
	}
	if len(list) == 1 {
		return "ticket " + list[0]
	}
	return "tickets " + joined(list)
}

// unit is what a line was done to.
func (p BillPage) unit(l bill.Line) string {
	for _, j := range p.Visit.Jobs {
		if j.ID == l.JobID {
			return num(j.Number) + " " + j.Unit
		}
	}
	return ""
}

// fullDate is a day with its year, fit for paper that is kept.
func (b Base) fullDate(t time.Time) string { return b.local(t).Format(b.Prefs.days().DateYear) }

// partBilled is a part with its amount.
func partBilled(p bill.Part) string {
	if p.Measure == stock.Each {
		return p.Measure.Format(p.Qty) + " " + p.Item
	}
	return p.Words()
}
