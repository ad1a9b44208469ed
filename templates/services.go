package templates

import (
	"damperdesk/internal/bill"
	"damperdesk/internal/money"
	"damperdesk/internal/spec"
)

// ServicesPage is the price list and the kinds of tax. Each form has a Base of
// its own.
type ServicesPage struct {
	Base
	Prices  []bill.Price // on any model
	InForce bill.List
	Models  []spec.Model
	Rates   []bill.TaxRate
	Inside  bool // prices hold their tax
	ByLine  bool // tax is rounded for each line of a bill
	Settled bool // and that stays so
	Version int  // of the shop's settings

	List, Model, Tax, Holds, Round Base
}

// TaxPage changes one kind of tax.
type TaxPage struct {
	Base
	Rate bill.TaxRate
}

func taxPath(code string) string { return "/services/tax/" + code }

// rateWords is a kind of tax in a line: "A, full rate, 20 %".
func rateWords(code, name string, bp int) string {
	return code + ", " + name + ", " + money.FormatRate(bp)
}

// priceUnit says what a price is counted in and what it holds.
func priceUnit(currency string, inside bool) string {
	if inside {
		return currency + ", with tax"
	}
	return currency + ", before tax"
}

// ByBookTime is what a form says where a service is charged by book time.
const ByBookTime = "time"

func chargedField(suffix string) Field { return Field{Name: "charged" + suffix, Label: "Charged"} }

func chargedOptions(byTime bool) []Option {
	return []Option{{Value: "price", Label: "at a price", Chosen: !byTime}, {Value: ByBookTime, Label: "by book time", Chosen: byTime}}
}

// hourField asks for the hourly rate.
func (p ServicesPage) hourField() Field {
	f := Field{Name: "hour", Label: "An hour at the bench", Unit: priceUnit(p.Prefs.Currency, p.Inside), Keyboard: "decimal",
		Hint: "For services charged by book time."}
	if h := p.InForce.Hour; h.Minor != nil && h.Currency == p.Prefs.Currency {
		f.Value = money.FormatNumber(*h.Minor, h.Currency)
	}
	return f
}

// timeWords says what book time comes to: "45 min at £60.00 an hour: £45.00".
func (p ServicesPage) timeWords(of bill.Price) string {
	c := p.InForce.For(of.ServiceCode, of.ModelID, p.Prefs.Currency)
	if c.Minor == nil {
		return "No hourly rate: no price."
	}
	return p.InForce.Hour.Words(c.Minutes) + ": " + money.Format(*c.Minor, p.Prefs.Currency)
}

// modelPrice is a row of what costs otherwise on a model.
type modelPrice struct{ name, service, price string }

func (p ServicesPage) modelPrices() []modelPrice {
	var list []modelPrice
	for _, of := range p.InForce.OfModels() {
		row := modelPrice{service: of.Service}
		if of.ByTime {
			row.price = p.timeWords(of)
		} else {
			row.price = money.Format(*of.Minor, of.Currency)
		}
		for _, m := range p.Models {
			if m.ID == of.ModelID {
				row.name = m.Title()
			}
		}
		list = append(list, row)
	}
	return list
}

func (p ServicesPage) serviceOptions() []Option {
	var list []Option
	for _, of := range p.Prices {
		list = append(list, Option{Value: of.ServiceCode, Label: of.Service})
	}
	return list
}

// modelsOf has every model to choose from, and none chosen.
func modelsOf(models []spec.Model) []Option {
	list := []Option{{Value: "", Label: "choose one"}}
	for _, m := range models {
		list = append(list, Option{Value: itoa(m.ID), Label: m.Title()})
	}
	return list
}

// listedField is the price of a service. One in another currency than the
// shop's is only told of.
func (p ServicesPage) listedField(of bill.Price) Field {
	f := Field{Name: "price." + of.ServiceCode, Label: "Price", Unit: priceUnit(p.Prefs.Currency, p.Inside), Keyboard: "decimal"}
	switch {
	case of.ByTime:
		f.Hint = p.timeWords(of)
	case of.Minor == nil:
	case of.Currency == p.Prefs.Currency:
		f.Value = money.FormatNumber(*of.Minor, of.Currency)
	default:
		f.Hint = "It was " + money.Format(*of.Minor, of.Currency) + " before the shop’s currency changed."
	}
	return f
}

func (p ServicesPage) taxOptions(chosen string) []Option { return rateOptions(p.Rates, chosen) }

// rateOptions chooses the first kind where none is.
func rateOptions(rates []bill.TaxRate, chosen string) []Option {
	var options []Option
	for i, r := range rates {
		options = append(options, Option{Value: r.Code, Label: rateWords(r.Code, r.Name, r.BP), Chosen: r.Code == chosen || chosen == "" && i == 0})
	}
	return options
}

func rateField(value string) Field {
	return Field{Name: "rate", Label: "Rate", Unit: "per cent", Value: value, Keyboard: "decimal", Required: true, Hint: "0 for what is sold without tax."}
}

func taxNameField(value string) Field {
	return Field{Name: "name", Label: "Name", Value: value, Required: true, Hint: "As it stands on a bill."}
}

func roundOptions(byLine bool) []Option {
	return []Option{
		{Value: "bill", Label: "For the whole bill", Note: "What is sold under one tax is added up, then its tax is rounded.", Chosen: !byLine},
		{Value: "line", Label: "For each line", Note: "The tax of each line is rounded, then added up.", Chosen: byLine},
	}
}

// roundWords says how it stays once a bill is written.
func (p ServicesPage) roundWords() string {
	if p.ByLine {
		return "Tax is rounded for each line of a bill. Bills are written, so that stays."
	}
	return "Tax is rounded once for all that is sold under it on a bill. Bills are written, so that stays."
}

func insideOptions(inside bool) []Option {
	return []Option{
		{Value: "no", Label: "Before tax", Note: "Tax is added on the bill.", Chosen: !inside},
		{Value: "yes", Label: "With tax", Note: "The bill says how much of it is tax.", Chosen: inside},
	}
}
