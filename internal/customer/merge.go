package customer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Merge says that two customers are one person. Units and bikes go over to
// Into; visits and all that only grows stay with From, whose readers follow.
type Merge struct {
	Into, From               int64
	IntoVersion, FromVersion int      // as the person saw them
	Theirs                   []string // fields taken from From: "name", "phone", "mail", "address"
}

var (
	errMerged = fault.Conflict("This customer was merged with another one since you opened it; look again.")
	errErased = fault.Conflict("This customer was erased: nothing is kept of who they were.")
	errSelf   = fault.Field("with", "That is the same customer: choose another one.")
)

// Picked is what Into is called and how they are reached after the merge.
func (m Merge) Picked(into, from Details) Details {
	pick := func(field, ours, theirs string) string {
		if slices.Contains(m.Theirs, field) {
			return theirs
		}
		return ours
	}
	return Details{
		Name:    pick("name", into.Name, from.Name),
		Phone:   pick("phone", into.Phone, from.Phone),
		Mail:    pick("mail", into.Mail, from.Mail),
		Address: pick("address", into.Address, from.Address),
	}
}

// Details is what the desk asks of a person, as kept.
func (c Customer) Details() Details {
	return Details{Name: c.Name, Phone: c.Phone, Mail: c.Mail, Address: c.Address}
}

// Now is the id of who a customer is now, whom no merge and no erasing can take
// away before the end of the transaction. Nothing is begun for one who was erased.
func Now(ctx context.Context, tx pgx.Tx, id int64) (now int64, err error) {
	for now = id; ; {
		var into *int64
		var erased bool
		err := tx.QueryRow(ctx, "select merged_into, erased_at is not null from customer where id = $1 for key share", now).Scan(&into, &erased)
		if errors.Is(err, pgx.ErrNoRows) {
			return 0, db.NotThere("customer")
		}
		if err != nil {
			return 0, fmt.Errorf("read customer: %w", db.Translate(err))
		}
		if erased {
			return 0, errErased
		}
		if into == nil {
			return now, nil
		}
		now = *into
	}
}

// Join merges two customers that are still as the person saw them.
func Join(ctx context.Context, tx pgx.Tx, by history.By, m Merge) error {
	if m.Into == m.From {
		return errSelf
	}
	into, from, err := m.lock(ctx, tx)
	if err != nil {
		return err
	}
	units, bikes, err := moveAll(ctx, tx, m)
	if err != nil {
		return fmt.Errorf("merge customers: %w", err)
	}
	for _, sql := range []string{
		"update customer set merged_into = $2, version = version + 1 where merged_into = $1", // so that one step leads to who they are
		"update customer set merged_into = $2, version = version + 1 where id = $1",
	} {
		if _, err := tx.Exec(ctx, sql, m.From, m.Into); err != nil {
			return fmt.Errorf("merge customers: %w", db.Translate(err))
		}
	}
	picked := m.Picked(into.Details(), from.Details())
	if err := setDetails(ctx, tx, m.Into, picked); err != nil {
		return fmt.Errorf("merge customers: %w", err)
	}
	_, err = tx.Exec(ctx, `with m as (insert into customer_merge (from_id, into_id, units, bikes, actor_id, intent_id, at)
			values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7) returning id)
		insert into customer_merge_words (merge_id, was, picked) select id, $8, $9 from m`,
		m.From, m.Into, units, bikes, by.Staff, by.Intent, by.At, into.Details(), picked)
	if err != nil {
		return fmt.Errorf("merge customers: %w", err)
	}
	return bothKnow(ctx, tx, by, m.Into, m.From, "customer merged", map[string]any{"from": m.From, "into": m.Into, "units": len(units)})
}

// bothKnow appends the event to the histories of both, worded for each.
func bothKnow(ctx context.Context, tx pgx.Tx, by history.By, into, from int64, kind string, detail map[string]any) error {
	event := func(id int64, kind string) history.Event {
		return history.Event{SubjectKind: "customer", SubjectID: id, Customer: id, Kind: kind, Detail: detail}
	}
	return history.Append(ctx, tx, by, event(from, kind), event(into, "other "+kind))
}

// lock holds both against every other merge and drop-off.
func (m Merge) lock(ctx context.Context, tx pgx.Tx) (into, from Customer, err error) {
	rows, err := tx.Query(ctx, `select id, name, phone, mail, address, version, erased_at from customer
		where id = any ($1) and merged_into is null order by id for update`, []int64{m.Into, m.From})
	list, err := db.All[Customer](rows, err)
	if err != nil {
		return into, from, fmt.Errorf("lock customers: %w", db.Translate(err))
	}
	if len(list) < 2 {
		return into, from, errMerged
	}
	if into, from = list[0], list[1]; into.ID != m.Into {
		into, from = from, into
	}
	if into.ErasedAt != nil || from.ErasedAt != nil {
		return into, from, errErased
	}
	if into.Version != m.IntoVersion || from.Version != m.FromVersion {
		return into, from, fault.Conflict("Somebody else changed one of the two since you opened this; look again.")
	}
	return into, from, nil
}

// moveAll gives the bikes and units of From to Into. A bike takes its units
// along, and whoever has a unit open sees that it changed.
func moveAll(ctx context.Context, tx pgx.Tx, m Merge) (units, bikes []int64, err error) {
	if units, err = ids(tx.Query(ctx, "update unit set version = version + 1 where customer_id = $1 returning id", m.From)); err != nil {
		return nil, nil, err
	}
	if bikes, err = ids(tx.Query(ctx, "update bike set customer_id = $2, version = version + 1 where customer_id = $1 returning id", m.From, m.Into)); err != nil {
		return nil, nil, err
	}
	_, err = tx.Exec(ctx, "update unit set customer_id = $2 where customer_id = $1", m.From, m.Into)
	return units, bikes, err
}

func ids(rows pgx.Rows, err error) ([]int64, error) {
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	slices.Sort(list)
	return list, err
}

// Merged is somebody who was merged into a customer.
type Merged struct {
	ID    int64
	Name  string
	Phone string
	Mail  string
	At    time.Time
	By    string
}

// liveMerge is the merges that nobody took back.
const liveMerge = "(select m.* from customer_merge m where not exists (select from customer_merge_undone u where u.merge_id = m.id))"

// MergedInto lists who was merged into a customer, the newest first.
func MergedInto(ctx context.Context, q db.Querier, id int64) ([]Merged, error) {
	rows, err := q.Query(ctx, `select c.id, c.name, c.phone, c.mail, m.at, coalesce(s.name, '') as by
		from customer c join `+liveMerge+` m on m.from_id = c.id left join staff s on s.id = m.actor_id
		where c.merged_into = $1 order by m.id desc`, id)
	list, err := db.All[Merged](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read merged customers: %w", err)
	}
	return list, nil
}
