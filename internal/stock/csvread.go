package stock

import (
	"errors"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/fault"
	"damperdesk/internal/money"
)

// csvRow is a row of the parts' file.
type csvRow struct{ csvfile.Row }

func readCSV(data []byte, refuse func(line int, column, why string)) ([]csvRow, error) {
	format := csvfile.Format{Needed: []string{"code"}}
	for _, c := range Columns {
		format.Columns = append(format.Columns, c.Name)
	}
	read, err := csvfile.Read(data, format, refuse)
	rows := make([]csvRow, len(read))
	for i, r := range read {
		rows[i] = csvRow{r}
	}
	return rows, err
}

// say refuses the row for every field that is wrong, under the column of that field.
func (r csvRow) say(err error) {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return
	}
	for field, why := range invalid.Fields {
		column := field
		if field == "price" {
			column = "pack_price"
		}
		r.Wrong(column, why)
	}
}

// onlyFirst refuses in a further line what stands in the first line of an item.
func (r csvRow) onlyFirst() {
	for _, c := range Columns {
		if c.First && r.Text(c.Name) != "" {
			r.Wrong(c.Name, "This stands in the first line of the item: leave it empty in a further one.")
			return
		}
	}
}

// money reads an amount; nil for an empty cell, and for one it refuses.
func (r csvRow) money(column, currency string) *int64 {
	t := r.Decimal(column)
	if t == "" {
		return nil
	}
	minor, err := money.Parse(t, currency)
	if err != nil {
		sentence := "That is not an amount."
		if bad := new(money.ParseError); errors.As(err, &bad) {
			sentence = bad.Message
		}
		r.Wrong(column, sentence)
		return nil
	}
	return &minor
}

// amount reads an amount from zero; nil for an empty cell, and for one it refuses.
func (r csvRow) amount(column string, m Measure) *int64 {
	t := r.Decimal(column)
	if t == "" || !slices.Contains(Measures, m) {
		return nil
	}
	amount, err := m.ParseZero(t)
	if err != nil {
		r.Wrong(column, err.Error())
		return nil
	}
	return &amount
}

// details reads what the first line says of an item but for other things.
func (r csvRow) details(currency string) Details {
	d := Details{
		Code: r.Text("code"), Name: r.Text("name"), Kind: Sort(r.Text("kind")), Measure: Measure(r.Text("measure")), Place: r.Text("place"),
		Barcode: r.Text("barcode"), SaleMinor: r.money("sale", currency), TaxCode: r.Text("tax"),
		ShelfDays: r.Count("shelf_days"), OpenedDays: r.Count("opened_days"), Nu40: r.Number("nu40"), Nu100: r.Number("nu100"),
	}
	d.Low, d.High = r.amount("low", d.Measure), r.amount("high", d.Measure)
	switch strings.ToLower(r.Text("batched")) {
	case "yes":
		d.Batched = true
	case "", "no":
	default:
		r.Wrong("batched", "Type yes, or leave it empty.")
	}
	return d.tidied()
}

func (r csvRow) source(m Measure, currency string) Source {
	s := Source{Code: r.Text("supplier_code"), Barcode: r.Text("supplier_barcode"), PriceMinor: r.money("pack_price", currency)}
	if pack := r.amount("pack", m); pack != nil {
		s.Pack = *pack
	}
	return s
}

// opening reads how much there is; nothing for an empty cell or zero.
func (r csvRow) opening(d Details, currency string) Opening {
	amount, cost := r.amount("stock", d.Measure), r.money("cost", currency)
	if amount == nil || *amount == 0 {
		for _, column := range []string{"cost", "batch", "best_before"} {
			if r.Text(column) != "" && r.Text("stock") == "" {
				r.Wrong(column, "This goes with an amount in the column stock.")
				break
			}
		}
		return Opening{}
	}
	o := Opening{Line: r.Line, Qty: *amount, Batch: r.Text("batch"), BestBefore: r.day("best_before")}
	switch {
	case cost != nil:
		o.Priced = *cost
	case r.Text("cost") == "":
		r.Wrong("cost", "Say what a "+d.Measure.PricedWord()+" of it cost, 0 if nothing.")
	}
	switch {
	case d.Batched && o.Batch == "":
		r.Wrong("batch", "It is kept by batch: give the batch that stands on it.")
	case !d.Batched && (o.Batch != "" || o.BestBefore != nil):
		r.Wrong("batch", "It is not kept by batch: leave the batch and its day empty, or say yes in the column batched.")
	}
	return o
}

func (r csvRow) day(column string) *time.Time {
	t := r.Text(column)
	if t == "" {
		return nil
	}
	day, err := time.Parse(time.DateOnly, t)
	if err != nil {
		r.Wrong(column, "Give a day, such as 2026-03-14.")
		return nil
	}
	return &day
}
