// Package partslist says which items a service takes on a model, and keeps what a
// job needs of them: what lies aside for it, what its steps used, and what it waits
// for.
//
// Writers hold the row of the job, then the balances of the items.
package partslist

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// Line is an item that a service takes.
type Line struct {
	ID      int64
	Service string
	ModelID int64 // 0: on any model
	Model   string
	ItemID  int64
	Code    string
	Item    string
	Kind    stock.Sort
	Measure stock.Measure
	Step    string // the key of the step that uses it; empty: by hand
	Qty     int64
	Must    bool // the work waits for it
}

const selectLine = `select l.id, l.service_code as service, coalesce(l.model_id, 0) as model_id, coalesce(m.maker || ' ' || m.name, '') as model,
		l.item_id, i.code, i.name as item, i.kind, i.measure, l.step_key as step, l.qty, l.must
	from parts_line l join item i on i.id = l.item_id left join model m on m.id = l.model_id`

// Lines reads the parts list of a service, those for any model first.
func Lines(ctx context.Context, q db.Querier, service string) ([]Line, error) {
	rows, err := q.Query(ctx, selectLine+` where l.service_code = $1
		order by l.model_id is not null, model, l.model_id, l.step_key, i.code_key`, service)
	list, err := db.All[Line](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the parts list of %s: %w", service, err)
	}
	return list, nil
}

// Counts is how many lines the parts list of each service has.
func Counts(ctx context.Context, q db.Querier) (map[string]int, error) {
	rows, err := q.Query(ctx, "select service_code as service, count(*)::int as n from parts_line group by service_code")
	list, err := db.All[struct {
		Service string
		N       int
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("count parts lists: %w", err)
	}
	counts := map[string]int{}
	for _, c := range list {
		counts[c.Service] = c.N
	}
	return counts, nil
}

// Put keeps a line: the item at that step is there once, and then with this
// amount.
func Put(ctx context.Context, tx pgx.Tx, by history.By, l Line) error {
	wrong := map[string]string{}
	if l.ItemID == 0 {
		wrong["item"] = "Scan the item or type its code."
	}
	if l.Qty <= 0 {
		wrong["qty"] = "Give an amount above zero."
	}
	switch {
	case !by.Has("mechanic") && !by.Has("owner"):
		return fault.Forbidden("Parts lists are kept by a mechanic or the owner.")
	case len(wrong) > 0:
		return &fault.Invalid{Fields: wrong}
	}
	_, err := tx.Exec(ctx, `insert into parts_line (service_code, model_id, item_id, step_key, qty, must)
		values ($1, nullif($2, 0::bigint), $3, $4, $5, $6)
		on conflict on constraint parts_line_once do update set qty = $5, must = $6`, l.Service, l.ModelID, l.ItemID, l.Step, l.Qty, l.Must)
	if err != nil {
		return fmt.Errorf("keep a line of the parts list: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "parts list changed",
		Detail: map[string]any{"service": l.Service, "model": l.ModelID, "item": l.ItemID, "qty": l.Qty}})
}

// Drop takes a line off. What jobs have already set aside stays with them.
func Drop(ctx context.Context, tx pgx.Tx, by history.By, service string, id int64) error {
	if !by.Has("mechanic") && !by.Has("owner") {
		return fault.Forbidden("Parts lists are kept by a mechanic or the owner.")
	}
	tag, err := tx.Exec(ctx, "delete from parts_line where id = $1 and service_code = $2", id, service)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("take a line off the parts list: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "parts list changed",
		Detail: map[string]any{"service": service, "line": id}})
}

// Want is an item that a job takes at a step.
type Want struct {
	ItemID int64
	Step   string
	Qty    int64
	Must   bool
}

// WantedOf is what the lines of several services come to on a model (0: not known).
// A step is on the bench sheet once, whichever services bring it, so that of one item
// at one step the largest amount counts; without a step amounts add up. A line for
// the model stands in place of those for any that are of its kind at its step.
func WantedOf(lines []Line, model int64) []Want {
	var list []Want
	for _, l := range lines {
		if l.ModelID != 0 && l.ModelID != model {
			continue
		}
		if l.ModelID == 0 && slices.ContainsFunc(lines, func(o Line) bool {
			return o.ModelID == model && model != 0 && o.Step == l.Step && o.Kind == l.Kind
		}) {
			continue
		}
		at := slices.IndexFunc(list, func(w Want) bool { return w.ItemID == l.ItemID && w.Step == l.Step })
		switch {
		case at < 0:
			list = append(list, Want{l.ItemID, l.Step, l.Qty, l.Must})
			continue
		case l.Step == "":
			list[at].Qty += l.Qty
		default:
			list[at].Qty = max(list[at].Qty, l.Qty)
		}
		list[at].Must = list[at].Must || l.Must
	}
	return list
}
