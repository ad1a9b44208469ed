package partslist

import (
	"context"
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

// one reads a need of a job under the lock of its item, as somebody saw it.
func one(ctx context.Context, tx pgx.Tx, job, id int64, version int, items ...int64) (Need, *stock.Shelf, error) {
	rows, err := tx.Query(ctx, selectNeed+" where n.id = $1 and n.job_id = $2", id, job)
	n, err := db.One[Need](rows, err, "part of this job")
	if err != nil {
		return n, nil, err
	}
	s, err := lockAll(ctx, tx, []Need{n}, items...)
	if err == nil && n.Version != version {
		err = fault.Conflict("Somebody else changed this since you opened it; look again.")
	}
	return n, s, err
}

func (n *Need) choose(ctx context.Context, tx pgx.Tx, s *stock.Shelf, choice, condition string) error {
	if choice != New && n.Aside > 0 {
		if err := keepAside(ctx, tx, s, n, -n.Aside); err != nil {
			return err
		}
	}
	n.Choice = choice
	if choice != Kept {
		condition = ""
	}
	_, err := tx.Exec(ctx, "update need set choice = $2, condition = $3, version = version + 1 where id = $1", n.ID, choice, condition)
	if err != nil {
		return fmt.Errorf("choose what becomes of a part: %w", err)
	}
	if more := min(n.Open(), max(s.Of(n.ItemID).Free(), 0)); more > 0 {
		return keepAside(ctx, tx, s, n, more)
	}
	return nil
}

func (n Need) drop(ctx context.Context, tx pgx.Tx, s *stock.Shelf) error {
	if err := s.SetAside(ctx, tx, n.ItemID, -n.Aside); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "delete from need where id = $1", n.ID); err != nil {
		return fmt.Errorf("take a part off a job: %w", err)
	}
	return nil
}

// mostCondition bounds the words on what is kept, in characters.
const mostCondition = 200

// Change is what somebody says of a need: a new part, the old one kept, or one the
// customer brought; another item in its place; the amount.
type Change struct {
	Job       int64
	Need      int64
	Version   int
	Choice    string
	Condition string // of what is kept
	Item      int64  // in its place; 0: as it is
	Qty       int64  // 0: as it is
}

// Keep changes a need that nothing was used of yet.
func Keep(ctx context.Context, tx pgx.Tx, by history.By, c Change) error {
	n, s, err := one(ctx, tx, c.Job, c.Need, c.Version, given(c.Item)...)
	if err != nil {
		return err
	}
	c.Condition = strings.TrimSpace(c.Condition)
	switch {
	case !slices.Contains(Choices, c.Choice):
		return fault.Field("choice", "Say whether it is new, kept or the customer’s own.")
	case c.Choice == Kept && c.Condition == "":
		return fault.Field("condition", "Say in a few words how the old one is.")
	case utf8.RuneCountInString(c.Condition) > mostCondition:
		return fault.Field("condition", fmt.Sprintf("Write at most %d characters.", mostCondition))
	case n.Used+n.Unposted > 0:
		return fault.Conflict("It is used already: cross out its step first.")
	}
	if c.Item != 0 && c.Item != n.ItemID || c.Qty > 0 && c.Qty != n.Qty {
		if err := n.swap(ctx, tx, s, c); err != nil {
			return err
		}
	}
	if err := n.choose(ctx, tx, s, c.Choice, c.Condition); err != nil {
		return err
	}
	return said(ctx, tx, by, n, "part chosen")
}

func given(item int64) []int64 {
	if item == 0 {
		return nil
	}
	return []int64{item}
}

// swap puts another item or amount in a need, which then has nothing aside.
func (n *Need) swap(ctx context.Context, tx pgx.Tx, s *stock.Shelf, c Change) error {
	if err := keepAside(ctx, tx, s, n, -n.Aside); err != nil {
		return err
	}
	other := n.OtherID
	if c.Item != 0 && c.Item != n.ItemID {
		if other == 0 {
			other = n.ItemID
		}
		if other == c.Item {
			other = 0 // back to what it was
		}
		n.ItemID = c.Item
	}
	if c.Qty > 0 {
		n.Qty = c.Qty
	}
	_, err := tx.Exec(ctx, `update need set item_id = $2, instead_of = nullif($3, 0::bigint), qty = $4, origin = $5, version = version + 1
		where id = $1`, n.ID, n.ItemID, other, n.Qty, ofHand) // so that no list undoes it
	if err != nil {
		return fmt.Errorf("put another part in its place: %w", db.Translate(err))
	}
	return nil
}

// Add has a job need an item by hand.
func Add(ctx context.Context, tx pgx.Tx, by history.By, job int64, w Want) error {
	if w.Qty <= 0 {
		return fault.Field("qty", "Give an amount above zero.")
	}
	s, err := stock.Lock(ctx, tx, w.ItemID)
	if err != nil {
		return err
	}
	n := Need{JobID: job, ItemID: w.ItemID, Qty: w.Qty, Choice: New}
	err = tx.QueryRow(ctx, `insert into need (job_id, item_id, step_key, origin, qty, must) values ($1, $2, $3, $4, $5, $6) returning id`,
		job, w.ItemID, w.Step, ofHand, w.Qty, w.Must).Scan(&n.ID)
	if err != nil {
		return fmt.Errorf("add a part to a job: %w", db.Translate(err))
	}
	if more := min(w.Qty, max(s.Of(w.ItemID).Free(), 0)); more > 0 {
		if err := keepAside(ctx, tx, s, &n, more); err != nil {
			return err
		}
	}
	return said(ctx, tx, by, n, "part added")
}

// Remove takes a need off that nothing was used of.
func Remove(ctx context.Context, tx pgx.Tx, by history.By, job, id int64, version int) error {
	n, s, err := one(ctx, tx, job, id, version)
	if err != nil {
		return err
	}
	if n.Used+n.Unposted > 0 {
		return fault.Conflict("It is used already: cross out its step, or take its move back.")
	}
	if n.Origin == ofHand {
		err = n.drop(ctx, tx, s)
	} else { // it stays, so that the list does not bring it back
		err = n.choose(ctx, tx, s, Kept, "not needed")
	}
	if err != nil {
		return err
	}
	return said(ctx, tx, by, n, "part taken off")
}

func said(ctx context.Context, tx pgx.Tx, by history.By, n Need, kind string) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "job", SubjectID: n.JobID, Job: n.JobID, Kind: kind,
		Detail: map[string]any{"item": n.ItemID, "qty": n.Qty, "choice": n.Choice}})
}
