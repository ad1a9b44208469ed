package order

import (
	"strconv"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/money"
)

// Columns of an order as a file, for the supplier.
var Columns = []string{"supplier code", "our code", "name", "packs", "amount", "price of a pack"}

// File is an order as CSV in the currency of the shop, with what was ordered alone.
func File(lines []Line, currency string) ([]byte, error) {
	head := append([]string{}, Columns...)
	head[len(head)-1] += ", " + currency
	rows := [][]string{head}
	for _, l := range lines {
		if l.Qty == 0 {
			continue
		}
		price := ""
		if l.PriceMinor != nil {
			price = money.FormatNumber(*l.PriceMinor, currency)
		}
		rows = append(rows, []string{l.TheirCode, l.Code, l.Name, strconv.FormatInt(l.Packs(), 10), l.Measure.Field(l.Qty), price})
	}
	return csvfile.Write(rows)
}
