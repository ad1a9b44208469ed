package stock

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db"
	"damperdesk/internal/money"
)

// Column is a column of the parts as a CSV file; First says that it stands in the
// first line of an item alone.
type Column struct {
	Name  string
	First bool
	Words string
}

// Columns are those of the file in their order. Amounts are with their unit, money
// is in the shop's currency, for a piece, a litre or a kilogram.
var Columns = []Column{
	{"code", false, "our code; a further line of the same code has its next supplier or batch, and the columns of the first line are empty there"},
	{"name", true, "what it is called"},
	{"kind", true, strings.Join(sortNames(), ", ")},
	{"measure", true, "each, volume or mass: counted in pieces, by volume or by mass"},
	{"place", true, "where it lies; may be empty"},
	{"barcode", true, "on the piece itself; may be empty"},
	{"sale", true, "what a customer pays for a piece, a litre or a kilogram; empty: not sold by itself"},
	{"tax", true, "the letter of its tax; empty: the shop’s usual one"},
	{"low", true, "ordered below this, such as 4, 500 mL or 2 kg; empty: nobody said"},
	{"high", true, "filled up to this"},
	{"batched", true, "yes where every delivery names its batch"},
	{"shelf_days", true, "days it keeps closed"},
	{"opened_days", true, "days it keeps open, of a fluid or grease"},
	{"nu40", true, "viscosity at 40 °C in mm²/s, of a fluid or grease"},
	{"nu100", true, "viscosity at 100 °C in mm²/s"},
	{"fits", true, "models of the library that it fits, as they are listed there, with | between them; empty: whatever it is listed for"},
	{"replaced_by", true, "our code of what is bought instead"},
	{"supplier", false, "name of a supplier on the list; the first one of an item is its first choice"},
	{"supplier_code", false, "under which code it is bought there"},
	{"supplier_barcode", false, "barcode of the supplier’s pack"},
	{"pack", false, "how much a pack holds, such as 10 or 1 L"},
	{"pack_price", false, "price of a pack before tax; may be empty"},
	{"stock", false, "how much there is; taken in only for an item that nothing has moved of yet"},
	{"cost", false, "what a piece, a litre or a kilogram of it cost before tax"},
	{"batch", false, "which batch that is, of an item kept by batch"},
	{"best_before", false, "the last day the batch is good for, such as 2026-03-14"},
}

func sortNames() []string {
	names := make([]string, len(Sorts))
	for i, s := range Sorts {
		names[i] = string(s)
	}
	return names
}

// betweenModels parts the models in a cell.
const betweenModels = " | "

// lot is what is left of one batch, or of an item that is not kept by batch.
type lot struct {
	ItemID     int64
	Code       string
	BestBefore *time.Time
	Left       int64
}

// listed is an item with what else the file says of it.
type listed struct {
	Item
	Instead string // the code of what is bought in its place
	Fits    []string
	Sources []Source `db:"-"`
	Lots    []lot    `db:"-"`
}

const selectListed = "select " + itemColumns + `, coalesce((select r.code from item r where r.id = i.replaced_by), '') as instead,
		array(select ` + modelName + ` from item_model f join model m on m.id = f.model_id where f.item_id = i.id order by 1) as fits
	from item i left join balance b on b.item_id = i.id`

// modelName is how a model is listed.
const modelName = `m.maker || ' ' || m.name || case when m.years = '' then '' else ', ' || m.years end`

// readListed reads the items with those keys, or with nil all that are kept, in the
// order of their codes.
func readListed(ctx context.Context, q db.Querier, keys []string) ([]listed, error) {
	where := "i.left_on is null and $1::text[] is null"
	if keys != nil {
		where = "i.code_key = any ($1)"
	}
	rows, err := q.Query(ctx, selectListed+" where "+where+" order by i.code_key", keys)
	list, err := db.All[listed](rows, err)
	if err != nil {
		return nil, err
	}
	ids, at := make([]int64, len(list)), map[int64]int{}
	for i, of := range list {
		ids[i], at[of.ID] = of.ID, i
	}
	sources, err := Sources(ctx, q, ids...)
	if err != nil {
		return nil, err
	}
	for _, s := range sources {
		of := &list[at[s.ItemID]]
		of.Sources = append(of.Sources, s)
	}
	rows, err = q.Query(ctx, `select m.item_id, b.code, b.best_before, sum(m.qty)::bigint as left from move m join batch b on b.id = m.batch_id
		where m.item_id = any ($1) group by m.item_id, b.id having sum(m.qty) > 0 order by m.item_id, b.best_before nulls last, b.id`, ids)
	lots, err := db.All[lot](rows, err)
	for _, l := range lots {
		of := &list[at[l.ItemID]]
		of.Lots = append(of.Lots, l)
	}
	return list, err
}

// Export writes the items that are kept, with whom they are bought from and what
// there is of them, as a CSV file. Money is in the currency of that code.
func Export(ctx context.Context, q db.Querier, currency string) ([]byte, error) {
	list, err := readListed(ctx, q, nil)
	if err != nil {
		return nil, fmt.Errorf("export parts: %w", err)
	}
	header := make([]string, len(Columns))
	for i, c := range Columns {
		header[i] = c.Name
	}
	records := [][]string{header}
	for _, of := range list {
		for _, cells := range of.lines(currency) {
			record := make([]string, len(Columns))
			for i, c := range Columns {
				record[i] = cells[c.Name]
			}
			records = append(records, record)
		}
	}
	return csvfile.Write(records)
}

// lines are the rows of one item by the names of their columns.
func (of listed) lines(currency string) []map[string]string {
	lots := of.stockLots()
	list := []map[string]string{of.cells(currency)}
	for n := range max(len(of.Sources), len(lots), 1) {
		if n > 0 {
			list = append(list, map[string]string{"code": of.Code})
		}
		if n < len(of.Sources) {
			for name, cell := range of.Sources[n].cells(of.Measure, currency) {
				list[n][name] = cell
			}
		}
		if n < len(lots) {
			l := lots[n]
			list[n]["stock"], list[n]["cost"] = of.Measure.Field(l.Left), money.FormatNumber(of.CostPriced(), currency)
			list[n]["batch"], list[n]["best_before"] = l.Code, dayCell(l.BestBefore)
		}
	}
	return list
}

// stockLots are what there is by batch, and the rest that no batch is known of.
func (of listed) stockLots() []lot {
	rest, lots := of.Qty, []lot{}
	for _, l := range of.Lots {
		if l.Left = min(l.Left, rest); of.Batched && l.Left > 0 {
			lots, rest = append(lots, l), rest-l.Left
		}
	}
	if rest > 0 {
		lots = append(lots, lot{Left: rest})
	}
	return lots
}

func (of listed) cells(currency string) map[string]string {
	level := func(n *int64) string {
		if n == nil {
			return ""
		}
		return of.Measure.Field(*n)
	}
	batched := ""
	if of.Batched {
		batched = "yes"
	}
	return map[string]string{
		"code": of.Code, "name": of.Name, "kind": string(of.Kind), "measure": string(of.Measure), "place": of.Place, "barcode": of.Barcode,
		"sale": moneyCell(of.SaleMinor, currency), "tax": of.TaxCode, "low": level(of.Low), "high": level(of.High), "batched": batched,
		"shelf_days": countCell(of.ShelfDays), "opened_days": countCell(of.OpenedDays), "nu40": decimalCell(of.Nu40), "nu100": decimalCell(of.Nu100),
		"fits": strings.Join(of.Fits, betweenModels), "replaced_by": of.Instead,
	}
}

func (s Source) cells(m Measure, currency string) map[string]string {
	return map[string]string{"supplier": s.Supplier, "supplier_code": s.Code, "supplier_barcode": s.Barcode,
		"pack": m.Field(s.Pack), "pack_price": moneyCell(s.PriceMinor, currency)}
}

func moneyCell(minor *int64, currency string) string {
	if minor == nil {
		return ""
	}
	return money.FormatNumber(*minor, currency)
}

func countCell(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func decimalCell(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

func dayCell(day *time.Time) string {
	if day == nil {
		return ""
	}
	return day.Format(time.DateOnly)
}

// Difference is a cell that a file changes.
type Difference struct{ Column, Before, Now string }

// differences are the cells that differ, in the order of the columns.
func differences(before, now map[string]string) (list []Difference) {
	for name := range now {
		if before[name] != now[name] {
			list = append(list, Difference{name, before[name], now[name]})
		}
	}
	slices.SortFunc(list, func(a, b Difference) int { return cmp.Compare(columnAt(a.Column), columnAt(b.Column)) })
	return list
}

func columnAt(name string) int {
	return slices.IndexFunc(Columns, func(c Column) bool { return c.Name == name })
}
