package order

import (
	"context"
	"errors"
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
	"damperdesk/internal/stock"
)

// Ways in which a line is not as it was ordered.
const (
	Short  = "short"  // less came
	Wrong  = "wrong"  // something else came
	Broken = "broken" // it came broken
)

// Shorts in the order they are offered.
var Shorts = []string{Short, Wrong, Broken}

// Counted is what was counted of an item in a delivery, of one batch.
type Counted struct {
	Item       int64
	Line       int64 // 0: it was not ordered
	Qty        int64 // good, in the smallest unit; what is wrong or broken is not counted
	PriceMinor *int64
	KeepPrice  bool // as the supplier's from now on
	Batch      string
	BestBefore *time.Time
	Short      string // one of Shorts; empty: as ordered
	Words      string
	Cancel     bool // nothing more is awaited of the line
	ExpectedOn *time.Time
}

// Said reports whether anything is said of it.
func (c Counted) Said() bool {
	return c.Qty > 0 || c.Batch != "" || c.BestBefore != nil || c.PriceMinor != nil || c.Short != "" || c.Words != "" || c.Cancel || c.ExpectedOn != nil
}

// Unpacked is what was counted so far of the delivery of an order that is not on
// the shelf yet, by its lines; nothing where none is being unpacked.
func Unpacked(ctx context.Context, q db.Querier, order int64) ([]Counted, error) {
	rows, err := q.Query(ctx, `select c.item_id as item, coalesce(c.line_id, 0) as line, c.qty, c.price_minor, c.keep_price, c.batch, c.best_before,
			c.short, c.words, c.cancel, c.expected_on
		from delivery d join delivery_line c on c.delivery_id = d.id
		where d.purchase_id = $1 and d.shelved_at is null order by c.line_id nulls last, c.id`, order)
	list, err := db.All[Counted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what is unpacked: %w", err)
	}
	return list, nil
}

// Unpack keeps what is counted so far of a delivery in place of what was.
func Unpack(ctx context.Context, tx pgx.Tx, by history.By, order int64, version int, counted []Counted) error {
	if err := mayKeep(by); err != nil {
		return err
	}
	o, err := hold(ctx, tx, order, version)
	if err != nil {
		return err
	}
	if _, err := keepCounted(ctx, tx, by, o, counted); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "update purchase set version = version + 1 where id = $1", order); err != nil {
		return fmt.Errorf("unpack: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "order", SubjectID: order, Kind: "delivery counted"})
}

// keepCounted writes the delivery of an order that is held.
func keepCounted(ctx context.Context, tx pgx.Tx, by history.By, o Order, counted []Counted) (delivery int64, err error) {
	if !o.Awaited() {
		return 0, fault.Conflict("Nothing of this order is awaited: it is " + string(o.State) + ".")
	}
	if err := checkCounted(counted); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, "select id from delivery where purchase_id = $1 and shelved_at is null", o.ID).Scan(&delivery)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, "insert into delivery (purchase_id, begun_at) values ($1, $2) returning id", o.ID, by.At).Scan(&delivery)
	}
	if err != nil {
		return 0, fmt.Errorf("unpack: %w", db.Translate(err))
	}
	var batch pgx.Batch
	batch.Queue("delete from delivery_line where delivery_id = $1", delivery)
	for _, c := range counted {
		if c.Said() {
			batch.Queue(`insert into delivery_line (delivery_id, item_id, line_id, qty, price_minor, keep_price, batch, best_before, short, words, cancel, expected_on)
				values ($1, $2, nullif($3, 0::bigint), $4, $5, $6, $7, $8, $9, $10, $11, $12)`,
				delivery, c.Item, c.Line, c.Qty, c.PriceMinor, c.KeepPrice, c.Batch, c.BestBefore, c.Short, c.Words, c.Cancel, c.ExpectedOn)
		}
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return 0, fmt.Errorf("unpack: %w", db.Translate(err))
	}
	return delivery, nil
}

// checkCounted names the fields by the place of what was counted: "3.qty".
func checkCounted(counted []Counted) error {
	wrong := map[string]string{}
	for i, c := range counted {
		refuse := func(bad bool, field, sentence string) {
			if name := fmt.Sprint(i, ".", field); bad && wrong[name] == "" {
				wrong[name] = sentence
			}
		}
		refuse(c.Qty < 0 || c.Qty > mostAmount, "qty", "Give the amount that came, 0 for none.")
		refuse(c.PriceMinor != nil && *c.PriceMinor > mostMinor, "price", "That is too large for a price.")
		refuse(utf8.RuneCountInString(c.Batch) > 60, "batch", "At most 60 characters fit here.")
		refuse(utf8.RuneCountInString(c.Words) > mostWords, "words", fmt.Sprintf("Write at most %d characters.", mostWords))
		refuse(c.Short != "" && !slices.Contains(Shorts, c.Short), "short", "Choose what is wrong with it.")
		refuse(c.Short == "" && (c.Cancel || c.ExpectedOn != nil || c.Words != ""), "short", "Choose what is wrong with it.")
		refuse(c.Short != "" && c.Line == 0, "short", "That was not ordered: count what stays here of it.")
		refuse(c.Words == "" && (c.Cancel || c.Short == Wrong || c.Short == Broken), "words", "Say in a few words what is wrong.")
		refuse(c.Cancel && c.ExpectedOn != nil, "expected_on", "The rest is either awaited on a day or cancelled.")
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// Scanned adds a pack of what was scanned to what is counted and says at which
// place of it. Of the lines of an order, one that is not full yet comes first. What
// is not on it is counted as not ordered.
func Scanned(ctx context.Context, q db.Querier, o Order, lines []Line, counted []Counted, text string) (_ []Counted, at int, err error) {
	if at := lineScanned(lines, counted, text); at >= 0 {
		l := lines[at]
		counted, place := count(counted, l.ItemID, l.ID, l.Pack)
		return counted, place, nil
	}
	item, err := stock.Scan(ctx, q, text)
	if err != nil {
		return counted, 0, err
	}
	for _, l := range lines {
		if l.ItemID == item.ID {
			counted, at = count(counted, l.ItemID, l.ID, l.Pack)
			return counted, at, nil
		}
	}
	extra, err := Extra(ctx, q, o, item)
	if err != nil {
		return counted, 0, err
	}
	counted, at = count(counted, item.ID, 0, extra.Pack)
	return counted, at, nil
}

// lineScanned is the place of the line that a code stands for here, whatever other
// suppliers call by it; -1 for none.
func lineScanned(lines []Line, counted []Counted, text string) int {
	key := fold.Code(text)
	if _, id, ok := strings.Cut(text, "/parts/"); ok {
		key = "/" + strings.TrimSpace(id)
	}
	found := -1
	for i, l := range lines {
		names := []string{fold.Code(l.Code), fold.Code(l.Barcode), fold.Code(l.TheirCode), fold.Code(l.TheirBarcode), fmt.Sprint("/", l.ItemID)}
		if key == "" || !slices.Contains(names, key) {
			continue
		}
		here := int64(0)
		for _, c := range counted {
			if c.Line == l.ID {
				here += c.Qty
			}
		}
		if l.Open() > here {
			return i
		}
		if found < 0 {
			found = i
		}
	}
	return found
}

// count adds to the last batch that is counted of a line, or begins with it.
func count(counted []Counted, item, line, more int64) ([]Counted, int) {
	place := -1
	for i, c := range counted {
		if c.Item == item && c.Line == line && (place < 0 || c.Said()) {
			place = i
		}
	}
	if place < 0 {
		return append(counted, Counted{Item: item, Line: line, Qty: more}), len(counted)
	}
	counted[place].Qty += more
	return counted, place
}

// Extra is a line for an item that was not ordered: in the pack and at the price of
// that supplier, else in the pack of whoever sells it, else by the piece, the litre or
// the kilogram.
func Extra(ctx context.Context, q db.Querier, o Order, item stock.Item) (Line, error) {
	l := Line{PurchaseID: o.ID, ItemID: item.ID, Code: item.Code, Name: item.Name, Measure: item.Measure, Batched: item.Batched, Place: item.Place, Pack: item.Measure.Priced()}
	list, err := stock.Sources(ctx, q, item.ID)
	if err != nil {
		return Line{}, err
	}
	for i, s := range list {
		if s.SupplierID == o.SupplierID {
			l.Pack, l.PriceMinor, l.TheirCode = s.Pack, s.PriceMinor, s.Code
			break
		}
		if i == 0 {
			l.Pack = s.Pack
		}
	}
	return l, nil
}

// ToCount is what is counted so far of each line, with a place to count in for each
// that is open and has none, and for another batch of those that are kept by batch.
func ToCount(lines []Line, counted []Counted) []Counted {
	var all []Counted
	for _, l := range lines {
		here := 0
		for _, c := range counted {
			if c.Line == l.ID {
				all = append(all, c)
				here++
			}
		}
		if here == 0 && l.Open() > 0 || here > 0 && l.Batched && all[len(all)-1].Qty > 0 {
			all = append(all, Counted{Item: l.ItemID, Line: l.ID})
		}
	}
	for _, c := range counted {
		if c.Line == 0 {
			all = append(all, c)
		}
	}
	return all
}
