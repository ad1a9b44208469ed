package templates

import (
	"net/url"
	"slices"
	"strings"

	"damperdesk/internal/money"
	"damperdesk/internal/stock"
)

// SuppliersPage lists whom the shop buys from.
type SuppliersPage struct {
	Base
	Suppliers []stock.Supplier
}

// SupplierPage is one of them with what is bought there. Leave is the form that
// ends it.
type SupplierPage struct {
	Base
	Supplier stock.Supplier
	Items    []stock.Item
	More     bool
	Leave    Base
}

func supplierPath(id int64) string { return "/suppliers/" + itoa(id) }

func (p SupplierPage) next() string {
	return supplierPath(p.Supplier.ID) + "?" + url.Values{"after": {p.Items[len(p.Items)-1].Key()}}.Encode() + "#bought"
}

var weekdayNames = []string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}

func orderDayOptions(days []int16) []Option {
	var options []Option
	for i, name := range weekdayNames {
		options = append(options, Option{Value: num(i + 1), Label: name, Chosen: slices.Contains(days, int16(i+1))})
	}
	return options
}

// orderDays are the days that orders are taken on: "Mon, Thu", "any day".
func orderDays(days []int16) string {
	if len(days) == 0 {
		return "any day"
	}
	var words []string
	for _, d := range days {
		words = append(words, weekdayNames[d-1][:3])
	}
	return strings.Join(words, ", ")
}

func supplierStanding(s stock.Supplier) (Shape, string) {
	if s.LeftOn != nil {
		return Dotted, "no longer bought from"
	}
	return Disc, "bought from"
}

func (b Base) minimumWords(s stock.Supplier) string {
	if s.MinimumMinor == nil {
		return "none"
	}
	return b.Prefs.Money(*s.MinimumMinor, "")
}

func (b Base) minimumField(s stock.Supplier) string {
	if s.MinimumMinor == nil {
		return ""
	}
	return money.FormatNumber(*s.MinimumMinor, b.Prefs.Currency)
}

// leadField is empty for a new one, whose days nobody has said.
func leadField(s stock.Supplier) string {
	if s.ID == 0 {
		return ""
	}
	return num(s.LeadDays)
}
