package customer

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Part takes a merge back: whoever was merged stands for themselves again, with
// those who had been merged into them before. Their units and bikes go back, but
// for a unit that was put on a bike of the other one since. The other one has
// the details from before the merge again where nobody changed them since.
func Part(ctx context.Context, tx pgx.Tx, by history.By, from int64) error {
	m, err := lockMerge(ctx, tx, from)
	if err != nil {
		return err
	}
	if m.Erased {
		return errErased
	}
	batch := &pgx.Batch{}
	batch.Queue(`insert into customer_merge_undone (merge_id, actor_id, intent_id, at)
		values ($1, nullif($2, 0::bigint), $3, $4)`, m.ID, by.Staff, by.Intent, by.At)
	batch.Queue("update customer set merged_into = null, version = version + 1 where id = $1", from)
	batch.Queue(`with recursive under as (
			select from_id from `+liveMerge+` m where into_id = $1
			union select m.from_id from `+liveMerge+` m join under u on m.into_id = u.from_id)
		update customer set merged_into = $1, version = version + 1 where id in (select from_id from under)`, from)
	batch.Queue("update bike set customer_id = $2, version = version + 1 where id = any ($3) and customer_id = $1", m.Now, from, m.Bikes)
	batch.Queue("update unit set customer_id = $2 where id = any ($3) and customer_id = $1 and bike_id is null", m.Now, from, m.Units)
	batch.Queue("update unit set version = version + 1 where customer_id = $1", from)
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("take customers apart: %w", db.Translate(err))
	}
	if err := m.restore(ctx, tx); err != nil {
		return fmt.Errorf("take customers apart: %w", err)
	}
	return bothKnow(ctx, tx, by, m.Now, from, "customer taken apart", map[string]any{"from": from, "into": m.Now})
}

// kept is a merge that stands, with who has the units now.
type kept struct {
	ID, IntoID, Now int64
	Units, Bikes    []int64
	Was, Picked     Details
	Erased          bool
}

func lockMerge(ctx context.Context, tx pgx.Tx, from int64) (m kept, err error) {
	if _, err := tx.Exec(ctx, `select from customer where id = $1 or id = (select merged_into from customer where id = $1)
		order by id for update`, from); err != nil {
		return m, fmt.Errorf("lock customers: %w", db.Translate(err))
	}
	rows, err := tx.Query(ctx, `select m.id, m.into_id, c.merged_into as now, m.units, m.bikes,
			coalesce(w.was, '{}') as was, coalesce(w.picked, '{}') as picked, c.erased_at is not null as erased
		from customer c join `+liveMerge+` m on m.from_id = c.id left join customer_merge_words w on w.merge_id = m.id
		where c.id = $1 and c.merged_into is not null`, from)
	if m, err = db.One[kept](rows, err, "merge"); err != nil {
		if _, gone := err.(fault.NotFound); gone {
			return m, fault.Conflict("They are taken apart already.")
		}
		return m, fmt.Errorf("read merge: %w", err)
	}
	return m, nil
}

// restore undoes what the merge picked, field by field, where it still stands.
func (m kept) restore(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, "select id, name, phone, mail, address, version, erased_at from customer where id = $1 for update", m.IntoID)
	c, err := db.One[Customer](rows, err, "customer")
	if err != nil {
		return err
	}
	d := c.Details()
	for _, f := range []struct{ now, was, picked *string }{
		{&d.Name, &m.Was.Name, &m.Picked.Name}, {&d.Phone, &m.Was.Phone, &m.Picked.Phone}, {&d.Mail, &m.Was.Mail, &m.Picked.Mail}, {&d.Address, &m.Was.Address, &m.Picked.Address},
	} {
		if *f.now == *f.picked && *f.picked != "" || *f.now == "" {
			*f.now = *f.was
		}
	}
	return setDetails(ctx, tx, m.IntoID, d)
}
