package templates

import (
	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/erase"
	"damperdesk/internal/find"
)

// ErasePage asks an owner whether a customer is to be erased, and says what that
// takes.
type ErasePage struct {
	Base
	Who erase.Person
}

func erasePath(id int64) string { return customerPath(id) + "/erase" }

func exportPath(id int64) string { return customerPath(id) + "/export" }

// goes says what is blanked, leaving out what there is none of.
func (p ErasePage) goes() []string {
	list := []string{"Name, phone, mail and address, and with them every way to find them here"}
	add := func(n int, before, noun, after string) {
		if n > 0 {
			list = append(list, before+plural(n, noun)+after)
		}
	}
	w := p.Who
	add(w.Merged, "The ", "customer", " merged into them")
	add(w.Bikes, "What is written of ", "bike", "")
	add(w.Visits, "Words of ", "visit", ": the complaint, notes, who accepted, who fetched it and why, what the rider weighs")
	add(w.Payments, "Notes of ", "payment", "")
	add(w.Pictures, "", "picture", "; the files go within a day")
	add(w.Links, "", "link", " to their pages")
	return append(list, "Half-filled forms that name them, what messages to them said, and any other words in which their name, phone or mail stands")
}

// stays says what is left, under a number in place of the name.
func (p ErasePage) stays() []string {
	var list []string
	add := func(n int, noun, after string) {
		if n > 0 {
			list = append(list, plural(n, noun)+after)
		}
	}
	w := p.Who
	add(w.Units, "unit", " with serial, tag and service book")
	add(w.Jobs, "job", ": what was done, measured, signed and found")
	add(w.Lines, "line", " of bills, with amounts and tax")
	add(w.Payments, "payment", ", without notes")
	return append(list, "The history: what happened when, in codes and numbers")
}

// holdPath and holdWords lead to what has to be settled first.
func holdPath(h erase.Hold) string {
	if h.Kind == erase.OpenJob {
		return jobPath(h.JobID)
	}
	return "/visits/" + itoa(h.Visit)
}

func (p ErasePage) holdWords(h erase.Hold) string {
	switch {
	case h.Kind == erase.OpenJob:
		return "Ticket " + num(h.Number) + " is open: end the job"
	case h.Minor < 0:
		return "The shop owes " + p.Prefs.Money(-h.Minor, h.Money) + " to " + debtor(h.Payer) + ": pay it back, or take the payment back"
	}
	return upperFirst(debtor(h.Payer)) + " owes " + p.Prefs.Money(h.Minor, h.Money) + ": take the payment, or take the lines back"
}

func debtor(payer string) string {
	if payer == bill.ByCustomer {
		return "the customer"
	}
	return payer
}

// RetentionPage asks after how many years customers are erased.
type RetentionPage struct {
	Base
	Years   *int // nil: never
	Version int
	Today   []YearsCount
}

// YearsCount is how many customers would go today at so many years.
type YearsCount struct{ Years, Customers int }

// RetentionWords says how the setting stands.
func RetentionWords(years *int) string {
	if years == nil {
		return "never by itself"
	}
	return plural(*years, "year") + " after their last visit"
}

func yearsValue(years *int) string {
	if years == nil {
		return ""
	}
	return num(*years)
}

// SellPage asks who has a unit now.
type SellPage struct {
	Base
	Unit  customer.Unit
	From  customer.Customer
	Who   string // what was searched for
	Found []find.Person
}

func sellPath(id int64) string { return unitPath(id) + "/sell" }

// Answers to who has a unit now that are no customer.
const (
	NewOwner     = "new"
	UnknownOwner = "unknown"
)

func (p SellPage) owners() []Option {
	var list []Option
	for _, f := range p.Found {
		list = append(list, Option{Value: itoa(f.ID), Label: f.Name, Note: listed(f.Phone, f.Mail, plural(f.Units, "unit"))})
	}
	return append(list, Option{Value: NewOwner, Label: "Somebody new", Note: "their details below", Chosen: true},
		Option{Value: UnknownOwner, Label: "Nobody knows who", Note: "it can be said later, on the page that is made for them"})
}
