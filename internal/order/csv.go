package order

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"damperdesk/internal/money"
)

// Columns of an order as a file, for the supplier.
var Columns = []string{"supplier code", "our code", "name", "packs", "amount", "price of a pack"}

// File is an order as CSV in the currency of the shop, with what was ordered alone.
func File(lines []Line, currency string) ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	head := append([]string{}, Columns...)
	head[len(head)-1] += ", " + currency
	if err := w.Write(head); err != nil {
		return nil, err
	}
	for _, l := range lines {
		if l.Qty == 0 {
			continue
		}
		price := ""
		if l.PriceMinor != nil {
			price = money.FormatNumber(*l.PriceMinor, currency)
		}
		row := []string{cell(l.TheirCode), cell(l.Code), cell(l.Name), strconv.FormatInt(l.Packs(), 10), l.Measure.Field(l.Qty), price}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

// cell keeps a spreadsheet from reading words as a formula.
func cell(text string) string {
	if strings.ContainsAny(text[:min(1, len(text))], "=+-@\t\r") {
		return "'" + text
	}
	return text
}
