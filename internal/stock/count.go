package stock

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// MostCounted is how many items a count has at most when it begins. Of more at one
// place it takes those that were counted longest ago.
const MostCounted = 500

// mostPieces is how many pieces one count may give: a longer number is a barcode
// that went into the wrong field.
const mostPieces = 1_000_000

// countable is the items that lie at the place $1, those counted longest ago first:
// all that are kept, and those no longer kept of which the ledger has something.
const countable = `select i.id from item i left join balance b on b.item_id = i.id
	where i.place = $1 and (i.left_on is null or coalesce(b.qty, 0) <> 0)
	order by ` + lastCounted + ` nulls first, i.code_key limit $2`

// lastCounted is when the item i was counted last in a count that was posted.
const lastCounted = `(select max(l.at) from count_line l join stock_count c on c.id = l.count_id where l.item_id = i.id and c.state = 'posted')`

// BeginCount begins to count what lies at a place; an empty one is that of the items
// that have none.
func BeginCount(ctx context.Context, tx pgx.Tx, by history.By, place string) (id int64, err error) {
	place = strings.Join(strings.Fields(place), " ")
	return begin(ctx, tx, by, false, place, "insert into count_item (count_id, item_id) select $3, id from ("+countable+") i", place, MostCounted)
}

// BeginToCount begins to count what ToCount lists.
func BeginToCount(ctx context.Context, tx pgx.Tx, by history.By) (id int64, err error) {
	return begin(ctx, tx, by, true, "", "insert into count_item (count_id, item_id) select $2, i.id from item i join balance b on b.item_id = i.id where "+toCount+
		" order by i.code_key limit $1", MostCounted)
}

// BeginChosen begins to count these items.
func BeginChosen(ctx context.Context, tx pgx.Tx, by history.By, items ...int64) (id int64, err error) {
	return begin(ctx, tx, by, true, "", "insert into count_item (count_id, item_id) select $2, i.id from item i where i.id = any ($1)", items)
}

// begin takes the statement that says which items, whose last argument is the count.
func begin(ctx context.Context, tx pgx.Tx, by history.By, chosen bool, place, items string, args ...any) (id int64, err error) {
	if err := mayWrite(by, nil); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, "insert into stock_count (chosen, place, begun_by, begun_at) values ($1, $2, nullif($3, 0::bigint), $4) returning id",
		chosen, place, by.Staff, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("begin a count: %w", db.Translate(err))
	}
	tag, err := tx.Exec(ctx, items, append(args, id)...)
	if err != nil {
		return 0, fmt.Errorf("begin a count: %w", db.Translate(err))
	}
	if tag.RowsAffected() == 0 {
		return 0, fault.Field("place", "There is nothing to count.")
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "count", SubjectID: id, Kind: "count begun", Detail: map[string]any{"items": tag.RowsAffected()}})
}

// hold locks a count that is open for the running transaction, in that mode.
func hold(ctx context.Context, tx pgx.Tx, id int64, mode string) error {
	rows, err := tx.Query(ctx, "select state from stock_count where id = $1 for "+mode, id)
	c, err := db.One[struct{ State string }](rows, err, "count")
	switch {
	case err != nil:
		return fmt.Errorf("hold count %d: %w", id, err)
	case c.State != CountOpen:
		return fault.Conflict("This count was " + c.State + ".")
	}
	return nil
}

// AddFound adds an item to a count that was met where it is not kept.
func AddFound(ctx context.Context, tx pgx.Tx, by history.By, count, item int64) error {
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	if err := hold(ctx, tx, count, "share"); err != nil {
		return err
	}
	if _, err := Get(ctx, tx, item); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "insert into count_item (count_id, item_id, found) values ($1, $2, true) on conflict do nothing", count, item)
	if err != nil {
		return fmt.Errorf("add to a count: %w", db.Translate(err))
	}
	if tag.RowsAffected() == 0 {
		return nil
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "count", SubjectID: count, Kind: "count lengthened", Detail: map[string]any{"item": item}})
}

// TypeCount keeps how much somebody counted of an item, beside what the ledger says
// at this moment: what moves from now on has nothing to do with the difference. A
// later count of the item takes the place of an earlier one.
func TypeCount(ctx context.Context, tx pgx.Tx, by history.By, count, item, amount int64) error {
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	if err := hold(ctx, tx, count, "share"); err != nil {
		return err
	}
	s, err := Lock(ctx, tx, item)
	if err != nil {
		return err
	}
	h := s.Of(item)
	if amount < 0 || amount > mostAmount || h.Measure == Each && amount > mostPieces {
		return fault.Field("counted", "That cannot be how much lies there. Count again.")
	}
	tag, err := tx.Exec(ctx, `insert into count_line (count_id, item_id, counted, seq, ledger, actor_id, intent_id, at)
		select $1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8 where exists (select from count_item where count_id = $1 and item_id = $2)`,
		count, item, amount, h.Seq, h.Qty, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("keep what was counted: %w", db.Translate(err))
	}
	if tag.RowsAffected() == 0 {
		return fault.NotFound("That item is not on the list of this count.")
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "count", SubjectID: count, Kind: "item counted", Detail: map[string]any{"item": item, "counted": amount}})
}

// PostCount moves the difference of every line, as an owner approved the list that
// seen is the Mark of. What was not counted stays as it is.
func PostCount(ctx context.Context, tx pgx.Tx, by history.By, count int64, seen string) error {
	if !by.Has("owner") {
		return fault.Forbidden("An owner approves a count.")
	}
	if err := hold(ctx, tx, count, "update"); err != nil {
		return err
	}
	s, list, err := lockCounted(ctx, tx, count)
	if err != nil {
		return err
	}
	switch doubtful := firstDoubtful(list); {
	case len(list) == 0:
		return fault.Conflict("Nothing of it is counted yet.")
	case doubtful != "":
		return fault.Conflict(doubtful + ": the ledger was put right since it was counted, by a taking back or by another count. Count it again first.")
	case Mark(list) != seen:
		return fault.Conflict("The list of differences changed since you opened it. Nothing was posted: look again.")
	}
	for _, c := range list {
		d := c.Difference()
		if d == 0 {
			continue
		}
		if h := s.Of(c.ItemID); d < 0 && h.Qty+d < 0 && !s.below {
			return fault.Conflict(h.Name + ": more was used since than was counted there. Count it again first.")
		}
		_, err := s.Post(ctx, tx, by, Posting{Item: c.ItemID, Kind: Count, Qty: max(d, -d), Less: d < 0, CountLine: c.LineID})
		if err != nil {
			return err
		}
	}
	return end(ctx, tx, by, count, CountPosted)
}

// lockCounted takes the items of a count that were counted, and reads their lines
// under that lock, in the order of the items.
func lockCounted(ctx context.Context, tx pgx.Tx, count int64) (*Shelf, []Counted, error) {
	rows, err := tx.Query(ctx, "select distinct item_id from count_line where count_id = $1", count)
	ids, err := db.All[struct{ ItemID int64 }](rows, err)
	if err != nil {
		return nil, nil, fmt.Errorf("read a count: %w", err)
	}
	items := make([]int64, len(ids))
	for i, id := range ids {
		items[i] = id.ItemID
	}
	s, err := Lock(ctx, tx, items...)
	if err != nil {
		return nil, nil, err
	}
	list, err := Differences(ctx, tx, count)
	return s, list, err
}

func firstDoubtful(list []Counted) string {
	for _, c := range list {
		if c.Doubtful {
			return c.Name + " (" + c.Code + ")"
		}
	}
	return ""
}

// DropCount ends a count of which nothing is to be posted. What was counted stays
// on record.
func DropCount(ctx context.Context, tx pgx.Tx, by history.By, count int64) error {
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	if err := hold(ctx, tx, count, "update"); err != nil {
		return err
	}
	return end(ctx, tx, by, count, CountDropped)
}

func end(ctx context.Context, tx pgx.Tx, by history.By, count int64, state string) error {
	_, err := tx.Exec(ctx, "update stock_count set state = $2, ended_by = nullif($3, 0::bigint), ended_at = $4 where id = $1", count, state, by.Staff, by.At)
	if err != nil {
		return fmt.Errorf("end a count: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "count", SubjectID: count, Kind: "count " + state})
}
