package order

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

const (
	mostAmount = 1_000_000_000_000
	mostMinor  = 100_000_000_000
	mostWords  = 500 // characters
)

// Whole is an amount rounded up to whole packs.
func Whole(amount, pack int64) int64 { return (amount + pack - 1) / pack * pack }

// Begin is the open draft of a supplier, made where there is none. Nobody else
// writes in it until the transaction ends.
func Begin(ctx context.Context, tx pgx.Tx, by history.By, supplier int64) (id int64, err error) {
	if err := mayKeep(by); err != nil {
		return 0, err
	}
	s, err := stock.GetSupplier(ctx, tx, supplier)
	if errors.As(err, new(fault.NotFound)) {
		return 0, fault.Field("supplier", "Choose the supplier.")
	}
	if err != nil {
		return 0, err
	}
	if s.LeftOn != nil {
		return 0, fault.Field("supplier", "Nothing is bought from "+s.Name+" any more.")
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock(hashtextextended('purchase number', 0))"); err != nil {
		return 0, fmt.Errorf("begin an order: %w", err)
	}
	err = tx.QueryRow(ctx, "select id from purchase where supplier_id = $1 and state = 'draft' for update", supplier).Scan(&id)
	if !errors.Is(err, pgx.ErrNoRows) {
		return id, err
	}
	err = tx.QueryRow(ctx, `insert into purchase (number, supplier_id, made_by, made_at)
		values ((select coalesce(max(number), 0) + 1 from purchase), $1, nullif($2, 0::bigint), $3) returning id`, supplier, by.Staff, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("begin an order: %w", db.Translate(err))
	}
	return id, come(ctx, tx, by, id, Draft, "")
}

// Wish is something to order.
type Wish struct {
	Item     int64
	Supplier int64 // 0: its first source
	Qty      int64 // rounded up to whole packs
	Job      int64 // it is for; 0: the shelf
}

// AddLine puts a wish on the draft of its supplier and gives that draft. What is on
// it for the same purpose already grows.
func AddLine(ctx context.Context, tx pgx.Tx, by history.By, w Wish) (order int64, err error) {
	if err := mayKeep(by); err != nil {
		return 0, err
	}
	if w.Qty <= 0 || w.Qty > mostAmount {
		return 0, fault.Field("qty", "Give an amount above zero.")
	}
	from, err := w.source(ctx, tx)
	if err != nil {
		return 0, err
	}
	if order, err = Begin(ctx, tx, by, from.SupplierID); err != nil {
		return 0, err
	}
	var before int64
	err = tx.QueryRow(ctx, "select qty from purchase_line where purchase_id = $1 and item_id = $2 and job_id is not distinct from nullif($3, 0::bigint)",
		order, w.Item, w.Job).Scan(&before)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return 0, fmt.Errorf("order an item: %w", err)
	}
	var batch pgx.Batch
	batch.Queue(`insert into purchase_line (purchase_id, item_id, job_id, qty, pack, price_minor) values ($1, $2, nullif($3, 0::bigint), $4, $5, $6)
		on conflict on constraint purchase_line_once do update set qty = excluded.qty, pack = excluded.pack, price_minor = excluded.price_minor`,
		order, w.Item, w.Job, Whole(before+w.Qty, from.Pack), from.Pack, from.PriceMinor)
	batch.Queue("update purchase set version = version + 1 where id = $1", order)
	history.Queue(&batch, by, history.Event{SubjectKind: "order", SubjectID: order, Kind: "order line put", Detail: map[string]any{"item": w.Item, "qty": w.Qty}})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return 0, fmt.Errorf("order an item: %w", db.Translate(err))
	}
	return order, nil
}

// source is how the wish is bought.
func (w Wish) source(ctx context.Context, q db.Querier) (stock.Source, error) {
	item, err := stock.Get(ctx, q, w.Item)
	if err != nil {
		return stock.Source{}, err
	}
	if item.LeftOn != nil {
		return stock.Source{}, fault.Field("item", item.Name+" is no longer kept.")
	}
	list, err := stock.Sources(ctx, q, w.Item)
	if err != nil {
		return stock.Source{}, err
	}
	at := slices.IndexFunc(list, func(s stock.Source) bool { return w.Supplier == 0 || s.SupplierID == w.Supplier })
	if at < 0 {
		return stock.Source{}, fault.Field("item", "It is not said how "+item.Name+" ("+item.Code+") is bought there: its page takes the pack and the price.")
	}
	return list[at], nil
}

// LineChange is a line of a draft as it is to be.
type LineChange struct {
	ID         int64
	Qty        int64 // rounded up to whole packs; 0 takes it off
	PriceMinor *int64
}

// ChangeLines changes lines of a draft. Errors name the field "qty" or "price" of
// the line by its id: "12.qty".
func ChangeLines(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, changes []LineChange) error {
	if err := mayKeep(by); err != nil {
		return err
	}
	if err := inDraft(ctx, tx, id, version); err != nil {
		return err
	}
	wrong := map[string]string{}
	var batch pgx.Batch
	for _, c := range changes {
		if c.Qty < 0 || c.Qty > mostAmount {
			wrong[fmt.Sprint(c.ID, ".qty")] = "Give an amount, or 0 to take it off."
		}
		if c.PriceMinor != nil && (*c.PriceMinor < 0 || *c.PriceMinor > mostMinor) {
			wrong[fmt.Sprint(c.ID, ".price")] = "That is too large for a price."
		}
		if c.Qty == 0 {
			batch.Queue("delete from purchase_line where purchase_id = $1 and id = $2", id, c.ID)
			continue
		}
		batch.Queue("update purchase_line set qty = ($3 + pack - 1) / pack * pack, price_minor = $4 where purchase_id = $1 and id = $2", id, c.ID, c.Qty, c.PriceMinor)
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	batch.Queue("update purchase set version = version + 1 where id = $1", id)
	history.Queue(&batch, by, history.Event{SubjectKind: "order", SubjectID: id, Kind: "order lines changed"})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("change lines of order %d: %w", id, db.Translate(err))
	}
	return nil
}

// inDraft holds an order that is a draft still.
func inDraft(ctx context.Context, tx pgx.Tx, id int64, version int) error {
	o, err := hold(ctx, tx, id, version)
	if err == nil && o.State != Draft {
		err = fault.Conflict("This order is no draft any more: what was ordered stays as it was sent.")
	}
	return err
}

// Note keeps words with an order.
func Note(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, words string) error {
	if err := mayKeep(by); err != nil {
		return err
	}
	words = strings.TrimSpace(words)
	if utf8.RuneCountInString(words) > mostWords {
		return fault.Field("note", fmt.Sprintf("Write at most %d characters.", mostWords))
	}
	if _, err := hold(ctx, tx, id, version); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "update purchase set note = $2, version = version + 1 where id = $1", id, words); err != nil {
		return fmt.Errorf("note on order %d: %w", id, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "order", SubjectID: id, Kind: "order noted"})
}
