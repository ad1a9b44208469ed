package templates

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/money"
	"damperdesk/internal/oil"
	"damperdesk/internal/spec"
	"damperdesk/internal/stock"
)

// PartPage is one item with what is on record about it. Each form has a Base of
// its own.
type PartPage struct {
	Base
	Item    stock.Item
	Instead *stock.Item // what is bought in its place
	Models  []spec.Model
	Sources []stock.Source
	Batches []stock.Batch
	Bottle  *stock.Bottle // the open one
	Entries []stock.Entry
	Before  int  // the move that the ledger shown begins behind; 0: none
	Inside  bool // prices hold their tax

	Receive, Out, Open, Back Base
}

// PartFormsPage has the forms about what an item is and where it is bought.
type PartFormsPage struct {
	Base
	Item      stock.Item
	Instead   string // the code of what is bought in its place
	Models    []spec.Model
	Places    []string
	Rates     []bill.TaxRate
	Suppliers []stock.Supplier
	Sources   []SourceForm
	Inside    bool

	Change, Retire Base
}

// SourceForm is how an item is bought from a supplier, with its form; the Source of
// a new one is empty.
type SourceForm struct {
	stock.Source
	Form Base
}

// What a cost is typed for, beside the pack of a supplier.
const (
	PerAll    = "all"
	PerPriced = "priced"
)

// perOptions are what a cost may be for.
func (p PartPage) perOptions() []Option {
	options := []Option{{Value: PerAll, Label: "for all of it", Chosen: true}, {Value: PerPriced, Label: "a " + p.Item.Measure.PricedWord()}}
	for _, s := range p.Sources {
		options = append(options, Option{Value: itoa(s.SupplierID), Label: "a pack of " + p.Item.Show(s.Pack) + ", as from " + s.Supplier})
	}
	return options
}

func outHowOptions() []Option {
	return []Option{
		{Value: string(stock.Use), Label: "Used in the workshop", Chosen: true},
		{Value: string(stock.SendBack), Label: "Sent back", Note: "To the supplier. Say why."},
		{Value: string(stock.WriteOff), Label: "Written off", Note: "Too old, broken. Say why."},
		{Value: string(stock.Waste), Label: "Wasted", Note: "Spilled, spoiled in the work. Say why."},
	}
}

// batchOptions are the batches that something is left of.
func (p PartPage) batchOptions(none string) []Option {
	options := []Option{{Value: "", Label: none}}
	for _, b := range p.left() {
		options = append(options, Option{Value: itoa(b.ID), Label: b.Code + ", " + p.Item.Show(b.Left) + " left"})
	}
	return options
}

func (p PartPage) left() []stock.Batch {
	return slices.DeleteFunc(slices.Clone(p.Batches), func(b stock.Batch) bool { return b.Left == 0 })
}

// gone counts the batches of which nothing is left.
func (p PartPage) gone() int { return len(p.Batches) - len(p.left()) }

// opened says whether the item is one of those that a bottle is opened of.
func (p PartPage) opened() bool { return p.Item.Kind == stock.Fluid || p.Item.Kind == stock.Grease }

// soonOver is how many days before its last one something is said to be soon over
// (common practice, no source).
const soonOver = 30

// goodTill is how a last day stands to today, in words and a shape.
func (b Base) goodTill(day *time.Time) (Shape, string) {
	if day == nil {
		return Dotted, "no date known"
	}
	switch left := dayNumber(*day) - dayNumber(b.local(b.Now)); {
	case left < 0:
		return Triangle, "past: was good till " + b.Date(*day)
	case left == 0:
		return HalfDisc, "good till today"
	case left <= soonOver:
		return HalfDisc, "soon over: good till " + b.Date(*day)
	}
	return Disc, "good till " + b.Date(*day)
}

func (p PartPage) bottleTill() (Shape, string) {
	return p.goodTill(p.Bottle.GoodTill(p.Prefs.zone()))
}

// fits names the models that an item fits.
func (p PartPage) fits() string {
	var names []string
	for _, m := range p.Models {
		if slices.Contains(p.Item.Models, m.ID) {
			names = append(names, listed(m.Title(), m.Years))
		}
	}
	return strings.Join(names, "; ")
}

// viscosity says how thick a fluid is, with its index and grade.
func viscosity(d stock.Details) string {
	if d.Nu40 == nil {
		return ""
	}
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	words := []string{number(*d.Nu40) + " mm²/s at 40 °C"}
	if d.Nu100 != nil {
		words = append(words, number(*d.Nu100)+" at 100 °C")
	}
	if vi, ok := d.ViscosityIndex(); ok {
		words = append(words, fmt.Sprintf("viscosity index %d (ASTM D2270)", oil.Report(vi)))
	}
	if vg, ok := oil.Grade(*d.Nu40); ok {
		words = append(words, fmt.Sprintf("ISO VG %d", vg))
	} else {
		words = append(words, "between two ISO grades")
	}
	return strings.Join(words, ", ")
}

// levels say what an item is ordered below and filled up to.
func levels(i stock.Item) string {
	var words []string
	if i.Low != nil {
		words = append(words, "below "+i.Show(*i.Low))
	}
	if i.High != nil {
		words = append(words, "up to "+i.Show(*i.High))
	}
	return strings.Join(words, ", ")
}

// keeps says how long an item keeps.
func keeps(i stock.Item) string {
	var words []string
	if i.ShelfDays != nil {
		words = append(words, plural(*i.ShelfDays, "day")+" closed")
	}
	if i.OpenedDays != nil {
		words = append(words, plural(*i.OpenedDays, "day")+" open")
	}
	return strings.Join(words, ", ")
}

func (b Base) lastPaid(i stock.Item) string {
	if i.PaidQty == 0 {
		return "never bought"
	}
	return b.Prefs.Money(i.PaidMinor, "") + " for " + i.Show(i.PaidQty) + " before tax"
}

// ledgerWords are what kind of move it was.
func ledgerWords(e stock.Entry) string {
	words := map[stock.Kind]string{stock.Receive: "received", stock.Use: "used", stock.Return: "put back", stock.SendBack: "sent back",
		stock.Count: "counted", stock.WriteOff: "written off", stock.Waste: "wasted"}[e.Kind]
	if e.Reverses != 0 {
		return "taken back"
	}
	return cmp.Or(words, string(e.Kind))
}

// signed is an amount with its sign, so that in and out are told apart.
func signedAmount(i stock.Item, amount int64) string {
	if amount > 0 {
		return "+" + i.Show(amount)
	}
	return i.Show(amount)
}

// costOf is what a move cost, without its sign.
func (b Base) costOf(e stock.Entry) string { return b.Prefs.Money(max(e.CostMinor, -e.CostMinor), "") }

// standing are the moves shown that can be taken back.
func (p PartPage) standing() []Option {
	var options []Option
	for _, e := range p.Entries {
		if e.Standing() {
			options = append(options, Option{Value: itoa(e.ID), Label: fmt.Sprintf("%d: %s %s, %s", e.Seq, ledgerWords(e), p.Item.Show(max(e.Qty, -e.Qty)), p.When(e.At))})
		}
	}
	return options
}

// older is the address of what is behind the ledger shown; empty for nothing.
func (p PartPage) older() string {
	if n := len(p.Entries); n > 0 && p.Entries[n-1].Seq > 1 {
		return partPath(p.Item.ID) + "?before=" + num(p.Entries[n-1].Seq) + "#ledger"
	}
	return ""
}

// packPrice is what a supplier asks for a pack.
func (b Base) packPrice(s stock.Source) string {
	if s.PriceMinor == nil {
		return "not known"
	}
	return b.Prefs.Money(*s.PriceMinor, "")
}

func (p PartFormsPage) measureOptions() []Option {
	var options []Option
	for _, m := range stock.Measures {
		label := map[stock.Measure]string{stock.Each: "pieces", stock.Volume: "millilitres and litres", stock.Mass: "grams and kilograms"}[m]
		options = append(options, Option{Value: string(m), Label: label, Note: "priced by the " + m.PricedWord(), Chosen: m == p.Item.Measure,
			Disabled: p.Item.Seq > 0 && m != p.Item.Measure})
	}
	return options
}

func (p PartFormsPage) taxOptions() []Option {
	options := []Option{{Value: "", Label: "the shop’s usual one", Chosen: p.Item.TaxCode == ""}}
	for _, r := range p.Rates {
		options = append(options, Option{Value: r.Code, Label: rateWords(r.Code, r.Name, r.BP), Chosen: r.Code == p.Item.TaxCode})
	}
	return options
}

func (p PartFormsPage) modelOptions() []Option {
	var options []Option
	for _, m := range p.Models {
		options = append(options, Option{Value: itoa(m.ID), Label: listed(m.Title(), m.Years), Chosen: slices.Contains(p.Item.Models, m.ID)})
	}
	return options
}

// saleField asks for the price; a measure that is still to be chosen is said in words.
func (p PartFormsPage) saleField() Field {
	return Field{Name: "sale", Label: "Sale price", Unit: priceUnit(p.Prefs.Currency, p.Inside), Keyboard: "decimal", Value: p.moneyField(p.Item.SaleMinor),
		Hint: "For a piece, a litre or a kilogram. Empty: not sold by itself."}
}

func (p PartFormsPage) moneyField(minor *int64) string {
	if minor == nil {
		return ""
	}
	return money.FormatNumber(*minor, p.Prefs.Currency)
}

func (p PartFormsPage) amountField(amount *int64) string {
	if amount == nil {
		return ""
	}
	return p.Item.Measure.Field(*amount)
}

func decimalField(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

// wrongIn says whether one of the fields has a sentence beside it, so that it is
// not folded away.
func wrongIn(b Base, names ...string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return b.Error(n) != "" })
}

// newSuppliers are those that the item is not bought from yet.
func (p PartFormsPage) newSuppliers() []Option {
	options := []Option{{Value: "", Label: "choose one"}}
	for _, s := range p.Suppliers {
		known := slices.ContainsFunc(p.Sources, func(of SourceForm) bool { return of.SupplierID == s.ID })
		if !known && s.LeftOn == nil {
			options = append(options, Option{Value: itoa(s.ID), Label: s.Name})
		}
	}
	return options
}

// amountHint says how an amount may be typed.
func amountHint(m stock.Measure) string {
	return map[stock.Measure]string{stock.Each: "Pieces.", stock.Volume: "mL, or with its unit: 1.5 L.", stock.Mass: "g, or with its unit: 1.5 kg."}[m]
}

func (p PartPage) bestHint() string {
	if p.Item.ShelfDays == nil {
		return "Empty where none is printed."
	}
	return "Empty: " + plural(*p.Item.ShelfDays, "day") + " from today, as it keeps closed."
}

func (p PartFormsPage) measureHint() string {
	if p.Item.Seq > 0 {
		return "Some of it moved already, so that stays."
	}
	return "It stays once some of it moved."
}

func (s SourceForm) heading() string {
	switch {
	case s.Version == 0:
		return "Add a supplier of it"
	case s.First:
		return s.Supplier + ", first choice"
	}
	return s.Supplier
}

// field tells the fields of one supplier's form from those of another's.
func (s SourceForm) field(f Field) Field {
	f.Apart = apart(s.Form, itoa(s.SupplierID))
	return f
}

func (s SourceForm) packField(m stock.Measure) string {
	if s.Pack == 0 {
		return ""
	}
	return m.Field(s.Pack)
}
