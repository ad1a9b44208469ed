package stock

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
	"damperdesk/internal/oil"
)

// Sort is what kind of thing an item is.
type Sort string

// Sorts that rules ask for.
const (
	Fluid  Sort = "fluid"
	Grease Sort = "grease"
)

// Sorts in the order they are offered.
var Sorts = []Sort{"wiper", "foam ring", "crush washer", "seal set", "bushing", "cartridge", "spring", "spacer", Fluid, Grease, "consumable", "other part"}

// Details is what people say of an item. Amounts are in the smallest unit of its
// measure, prices for a piece, a litre or a kilogram, in the shop's currency.
type Details struct {
	Code       string
	Name       string
	Kind       Sort
	Measure    Measure
	Place      string // on the shelf
	Barcode    string
	SaleMinor  *int64 // nil: not sold by itself
	TaxCode    string // empty: the shop's usual one
	Low        *int64 // it is ordered below this; nil: nobody said
	High       *int64 // and filled up to this
	Batched    bool   // every delivery names its batch
	ShelfDays  *int   // it keeps so long closed, from its delivery
	OpenedDays *int   // a bottle keeps so long once it is open
	Nu40       *float64
	Nu100      *float64 // mm²/s at 40 and 100 °C
	ReplacedBy int64    // the item that is bought instead; 0: none
	Models     []int64  // that it fits; none: whatever it is listed for
}

// Item is one thing the shop keeps, and how much of it there is.
type Item struct {
	ID int64
	Details
	LeftOn  *time.Time // no longer kept since
	Version int
	Qty     int64
	Value   int64
	Aside   int64
	Seq     int
	// The last price paid, and the amount it was paid for.
	PaidMinor int64
	PaidQty   int64
}

// Free is what is there and not set aside.
func (i Item) Free() int64 { return i.Qty - i.Aside }

// Balance is what its moves come to.
func (i Item) Balance() Balance {
	return Balance{Qty: i.Qty, Value: i.Value, Seq: i.Seq, PaidMinor: i.PaidMinor, PaidQty: i.PaidQty}
}

// CostPriced is what a piece, a litre or a kilogram of it costs now.
func (i Item) CostPriced() int64 { return i.Balance().Cost(i.Measure.Priced()) }

// Show prints an amount of it.
func (i Item) Show(amount int64) string { return i.Measure.Format(amount) }

const (
	mostName  = 120 // characters
	mostCode  = 60
	mostWords = 500
	// MostReason bounds the reason of a move.
	MostReason = mostWords
	mostMinor  = 100_000_000_000
)

// keying is the revision of what an item is found by, as for customers.
const keying = 1

func (d Details) tidied() Details {
	for _, s := range []*string{&d.Code, &d.Name, &d.Place, &d.Barcode} {
		*s = strings.Join(strings.Fields(*s), " ")
	}
	slices.Sort(d.Models)
	d.Models = slices.Compact(d.Models)
	return d
}

// check names the fields by those of Details in lower case.
func (d Details) check() error {
	wrong := map[string]string{}
	for name, f := range map[string]struct {
		text string
		most int
	}{"code": {d.Code, mostCode}, "name": {d.Name, mostName}, "place": {d.Place, mostCode}, "barcode": {d.Barcode, mostCode}} {
		if utf8.RuneCountInString(f.text) > f.most {
			wrong[name] = fmt.Sprintf("At most %d characters fit here.", f.most)
		}
	}
	refuse := func(bad bool, field, sentence string) {
		if bad {
			wrong[field] = sentence
		}
	}
	refuse(fold.Code(d.Code) == "", "code", "Give it the code that stands on its label, with letters or digits.")
	refuse(d.Name == "", "name", "Give it a name.")
	refuse(!slices.Contains(Sorts, d.Kind), "kind", "Choose what it is.")
	refuse(!slices.Contains(Measures, d.Measure), "measure", "Choose what it is counted in.")
	refuse(d.SaleMinor != nil && (*d.SaleMinor < 0 || *d.SaleMinor > mostMinor), "sale", "That is too large for a price.")
	refuse(d.Low != nil && d.High != nil && *d.High < *d.Low, "high", "It is filled up to at least what it is ordered below.")
	refuse(d.High != nil && *d.High == 0, "high", "Give an amount above zero, or leave it empty.")
	for name, days := range map[string]*int{"shelf_days": d.ShelfDays, "opened_days": d.OpenedDays} {
		refuse(days != nil && (*days < 1 || *days > 7300), name, "Give the days, from 1 to 7300.")
	}
	d.checkFluid(refuse)
	if err := CheckBarcode(d.Barcode); err != nil {
		wrong["barcode"] = err.Error()
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

func (d Details) checkFluid(refuse func(bool, string, string)) {
	if d.Kind != Fluid && d.Kind != Grease {
		refuse(d.Nu40 != nil || d.Nu100 != nil, "nu40", "Only a fluid has a viscosity.")
		refuse(d.OpenedDays != nil, "opened_days", "Only a fluid or a grease is opened.")
		return
	}
	refuse(d.Nu40 != nil && (*d.Nu40 < 1 || *d.Nu40 > 10000), "nu40", "Give mm²/s at 40 °C, from 1 to 10000.")
	refuse(d.Nu100 != nil && (*d.Nu100 < 0.5 || *d.Nu100 > 1000), "nu100", "Give mm²/s at 100 °C, from 0.5 to 1000.")
	refuse(d.Nu100 != nil && d.Nu40 == nil, "nu40", "Give the viscosity at 40 °C too.")
	refuse(d.Nu40 != nil && d.Nu100 != nil && *d.Nu100 >= *d.Nu40, "nu100", "At 100 °C it is thinner than at 40 °C.")
}

// ViscosityIndex is that of a fluid whose viscosity is known at both temperatures.
func (d Details) ViscosityIndex() (float64, bool) {
	if d.Nu40 == nil || d.Nu100 == nil {
		return 0, false
	}
	vi, err := oil.Index(*d.Nu40, *d.Nu100)
	return vi, err == nil
}

// grams is what an item is looked up by.
func (d Details) grams() []string {
	words := strings.Join([]string{d.Name, string(d.Kind), d.Place, d.Code, fold.Code(d.Code), d.Barcode}, " ")
	return fold.AllGrams(fold.Text(words))
}

const itemColumns = `i.id, i.code, i.name, i.kind, i.measure, i.place, i.barcode, i.sale_minor, coalesce(i.tax_code, '') as tax_code,
	i.low, i.high, i.batched, i.shelf_days, i.opened_days, i.nu40, i.nu100, coalesce(i.replaced_by, 0) as replaced_by, i.left_on, i.version,
	array(select model_id from item_model f where f.item_id = i.id order by model_id) as models,
	coalesce(b.qty, 0) as qty, coalesce(b.value_minor, 0) as value, coalesce(b.aside, 0) as aside, coalesce(b.seq, 0) as seq,
	coalesce(b.paid_minor, 0) as paid_minor, coalesce(b.paid_qty, 0) as paid_qty`

const selectItem = "select " + itemColumns + " from item i left join balance b on b.item_id = i.id"

// Get reads one item.
func Get(ctx context.Context, q db.Querier, id int64) (Item, error) {
	rows, err := q.Query(ctx, selectItem+" where i.id = $1", id)
	i, err := db.One[Item](rows, err, "item")
	if err != nil {
		return Item{}, fmt.Errorf("get item %d: %w", id, err)
	}
	return i, nil
}

// Add puts an item on the shelf; there is none of it until some is received.
func Add(ctx context.Context, tx pgx.Tx, by history.By, d Details) (id int64, err error) {
	d = d.tidied()
	if err := mayWrite(by, d.check); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, `insert into item (code, code_key, name, kind, measure, place, barcode, barcode_key, sale_minor, tax_code, low, high,
			batched, shelf_days, opened_days, nu40, nu100, replaced_by, grams, keyed)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, nullif($10, ''), $11, $12, $13, $14, $15, $16, $17, nullif($18, 0::bigint), $19, $20) returning id`,
		append(d.row(), keying)...).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add item: %w", db.Translate(err))
	}
	if _, err := tx.Exec(ctx, "insert into balance (item_id) values ($1)", id); err != nil {
		return 0, fmt.Errorf("add item: %w", err)
	}
	if err := d.fit(ctx, tx, id); err != nil {
		return 0, err
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: id, Kind: "item added"})
}

func (d Details) row() []any {
	return []any{d.Code, fold.Code(d.Code), d.Name, d.Kind, d.Measure, d.Place, d.Barcode, fold.Code(d.Barcode), d.SaleMinor, d.TaxCode, d.Low, d.High,
		d.Batched, d.ShelfDays, d.OpenedDays, d.Nu40, d.Nu100, d.ReplacedBy, d.grams()}
}

// Change corrects what is said of an item. What it is counted in stays once
// something of it moved.
func Change(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, d Details) error {
	d = d.tidied()
	if err := mayWrite(by, d.check); err != nil {
		return err
	}
	was, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	if was.Seq > 0 && was.Measure != d.Measure {
		return fault.Field("measure", "Some of it moved already: what it is counted in stays.")
	}
	if d.ReplacedBy == id {
		return fault.Field("replaced_by", "An item does not take its own place.")
	}
	tag, err := tx.Exec(ctx, `update item set code = $1, code_key = $2, name = $3, kind = $4, measure = $5, place = $6, barcode = $7, barcode_key = $8,
			sale_minor = $9, tax_code = nullif($10, ''), low = $11, high = $12, batched = $13, shelf_days = $14, opened_days = $15, nu40 = $16, nu100 = $17,
			replaced_by = nullif($18, 0::bigint), grams = $19, keyed = $20, version = version + 1
		where id = $21 and version = $22`, append(d.row(), keying, id, version)...)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("change item %d: %w", id, db.Translate(err))
	}
	if err := d.fit(ctx, tx, id); err != nil {
		return err
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: id, Kind: "item changed"})
}

// fit keeps which models an item fits.
func (d Details) fit(ctx context.Context, tx pgx.Tx, id int64) error {
	var batch pgx.Batch
	batch.Queue("delete from item_model where item_id = $1 and model_id <> all ($2)", id, append([]int64{}, d.Models...))
	batch.Queue("insert into item_model (item_id, model_id) select $1, m from unnest($2::bigint[]) m on conflict do nothing", id, append([]int64{}, d.Models...))
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("fit item %d: %w", id, db.Translate(err))
	}
	return nil
}

// Retire takes an item off the lists on a day, or with nil puts it back. What lies
// there of it stays in the ledger.
func Retire(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, day *time.Time) error {
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	err := db.Changed(tx.Exec(ctx, "update item set left_on = $3, version = version + 1 where id = $1 and version = $2", id, version, day))
	if err != nil {
		return fmt.Errorf("retire item %d: %w", id, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: id, Kind: "item retired", Detail: map[string]any{"left": day != nil}})
}

// mayWrite refuses whoever is no member of staff, then what the check refuses.
func mayWrite(by history.By, check func() error) error {
	if !by.Has("desk") && !by.Has("mechanic") && !by.Has("owner") {
		return fault.Forbidden("Parts are kept by the people of the shop.")
	}
	if check == nil {
		return nil
	}
	return check()
}
