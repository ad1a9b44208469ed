package templates

import (
	"strings"

	"damperdesk/internal/bill"
	"damperdesk/internal/money"
)

// What a customer reads of money.

const (
	textToPay       = "To pay"
	textBill        = "What it is for"
	textBillGrows   = "So far: the work is not done yet."
	textWhat        = "What"
	textAmount      = "Amount"
	textTax         = "Tax"
	textTaxInIt     = "Tax in it"
	textInAll       = "In all"
	textForCustomer = "For the customer"
)

func withTax(words string) string { return words + ", with tax" }

// payerText is who pays a line that the customer does not.
var payerText = map[string]string{
	bill.ByUs:       "at our cost",
	bill.ByWarranty: "under warranty",
	bill.ByOther:    "on another bill",
}

// owesText says what is to pay, and what was paid of how much; nothing while
// there is no bill. Before all is done the bill may still grow.
func (p CustomerPage) owesText() (words, more string) {
	b := p.Bill.Balance()
	owed, billed, paid := b.OwedMinor(), p.amount(p.Bill, b.BilledMinor), p.amount(p.Bill, b.PaidMinor)
	switch {
	case b.Lines == 0 && b.PaidMinor == 0:
		return "", ""
	case b.Lines == 0 && owed < 0:
		return paid + " paid ahead.", ""
	case owed > 0 && b.PaidMinor > 0:
		words, more = p.amount(p.Bill, owed)+".", paid+" of "+billed+" is paid."
	case owed > 0:
		words = p.amount(p.Bill, owed) + "."
	case owed < 0:
		words, more = "Nothing.", "You paid "+p.amount(p.Bill, -owed)+" more than the bill; it is yours."
	case b.BilledMinor == 0:
		words = "Nothing."
	default:
		words, more = "Nothing more.", paid+" is paid, thank you."
	}
	if !p.worked() {
		more = strings.TrimSpace(more + " " + textBillGrows)
	}
	return words, more
}

// customerLineText says how a line comes to its amount, and who pays it if not
// the customer.
func (b Base) customerLineText(l bill.Line) string {
	words := b.Prefs.decimals(money.FormatTimes(l.QtyMilli)) + " × " + b.Prefs.Money(l.UnitMinor, l.Currency)
	if l.DiscountMinor != 0 {
		words += ", " + b.lessWords(l)
	}
	return listed(words, payerText[l.Payer])
}

// estimateNot is what an estimate does not cover; customers read it too.
const estimateNot = "It covers the services named, at the prices of that day. Parts and whatever is found once it is open are not in it: those are asked for, or go ahead inside the spending limit."

// estimateQuote is what becomes of the fee of a quote; customers read it too.
const estimateQuote = "not charged beside work that follows from it"

// estimateHead says what was told and when.
func (b Base) estimateHead(e bill.Estimate) string {
	words := "Told on " + b.Date(b.local(e.At)) + ": " + b.Prefs.Money(e.TotalMinor, e.Currency) + " with tax"
	if n := e.Unpriced(); n > 0 {
		words += ", and " + plural(n, "service") + " without a price yet"
	}
	return words
}

func (b Base) estimateAmount(e bill.Estimate, l bill.EstimateLine) string {
	if l.Minor == nil {
		return "not priced yet"
	}
	return b.Prefs.Money(*l.Minor, e.Currency)
}

// lessWords says what was taken off a line and for what: "less 10 %, £2.20 (club)".
func (b Base) lessWords(l bill.Line) string {
	words := "less "
	if l.DiscountBP != 0 {
		words += b.Prefs.decimals(money.FormatRate(l.DiscountBP)) + ", "
	}
	return words + b.Prefs.Money(max(l.DiscountMinor, -l.DiscountMinor), l.Currency) + " (" + l.DiscountReason + ")"
}

// payerWords is who pays a line, with the team or the claim; empty for the
// customer.
func payerWords(p bill.Payer) string { return listed(payerText[p.Kind], p.Words) }

// paymentWords says how and when money changed hands.
func paymentWords(p bill.Payment, when string) string {
	words := "paid"
	switch {
	case p.Kind == bill.CashRounding:
		return "rounded to the smallest coin"
	case p.MinorPaid < 0:
		words = "given back"
	case p.Deposit:
		words = "deposit, paid"
	}
	switch p.Kind {
	case "other":
	case "cash":
		words += " in cash"
	default:
		words += " by " + p.Kind
	}
	from := ""
	if p.PaidBy() != bill.TheCustomer {
		from = p.PaidBy().String()
	}
	return listed(words+" "+when, from, p.Words)
}

func (b Base) paidOn(p bill.Payment) string {
	return paymentWords(p, "on "+b.fullDate(p.At))
}
