// Package erase takes a person out of the database, by hand or by age, and
// leaves the work that was done. Which words go and which stay is one list,
// internal/db/words.sql, which the guard of the append-only tables obeys too.
package erase

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/picture"
)

// Word is what somebody types to say that they mean it.
const Word = "ERASE"

// Person is what is kept of a customer, with whoever was merged into them.
type Person struct {
	customer.Customer
	Counts
	Merged int
	Holds  []Hold // what forbids it; none: it may be done
}

// Counts is how much of a person there is; of links those that work still.
type Counts struct{ Bikes, Units, Visits, Jobs, Pictures, Links, Lines, Payments int }

// Hold is something that keeps a customer from being erased.
type Hold struct {
	Kind   string // OpenJob or Owed
	JobID  int64  // of an open job
	Number int
	Visit  int64 // with money owed
	Payer  string
	Minor  int64 // what is owed; below zero: the shop owes it
	Money  string
}

// The kinds of Hold.
const (
	OpenJob = "open job"
	Owed    = "owed"
)

const group = "(select id from customer where id = $1 or merged_into = $1)"

// Look reads what erasing a customer would take now and what forbids it.
func Look(ctx context.Context, q db.Querier, id int64, now time.Time) (p Person, err error) {
	if p.Customer, err = customer.Get(ctx, q, id); err != nil {
		return p, err
	}
	err = q.QueryRow(ctx, `with v as (select id from visit where customer_id in `+group+`), j as (select id from job where visit_id in (select id from v))
		select (select count(*) - 1 from customer where id in `+group+`), (select count(*) from bike where customer_id in `+group+`),
			(select count(*) from unit where customer_id in `+group+`), (select count(*) from v), (select count(*) from j),
			(select count(*) from picture where job_id in (select id from j) and sha <> ''),
			(select count(*) from link where revoked_at is null and expires_at > $2
				and (visit_id in (select id from v) or unit_id in (select id from unit where customer_id in `+group+`))),
			(select count(*) from bill_line where visit_id in (select id from v)), (select count(*) from payment where visit_id in (select id from v))`, p.ID, now).
		Scan(&p.Merged, &p.Bikes, &p.Units, &p.Visits, &p.Jobs, &p.Pictures, &p.Links, &p.Lines, &p.Payments)
	if err != nil {
		return p, fmt.Errorf("read what is kept of a customer: %w", err)
	}
	of, err := holds(ctx, q, []int64{p.ID})
	p.Holds = of[p.ID]
	return p, err
}

// holds says of customers what forbids erasing each.
func holds(ctx context.Context, q db.Querier, ids []int64) (map[int64][]Hold, error) {
	of := map[int64][]Hold{}
	rows, err := q.Query(ctx, `select distinct n.now_id as customer_id, j.id, j.number from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id
		join customer_now n on n.id in (v.customer_id, u.customer_id)
		where j.closed_at is null and n.now_id = any ($1) order by j.number`, ids)
	open, err := db.All[struct {
		CustomerID, ID int64
		Number         int
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for open jobs: %w", err)
	}
	for _, j := range open {
		of[j.CustomerID] = append(of[j.CustomerID], Hold{Kind: OpenJob, JobID: j.ID, Number: j.Number})
	}
	rows, err = q.Query(ctx, "select n.now_id as customer_id, v.id from visit v join customer_now n on n.id = v.customer_id where n.now_id = any ($1) order by v.id", ids)
	visits, err := db.All[struct{ CustomerID, ID int64 }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for visits: %w", err)
	}
	whose, list := map[int64]int64{}, []int64{}
	for _, v := range visits {
		whose[v.ID], list = v.CustomerID, append(list, v.ID)
	}
	unsettled, err := bill.Unsettled(ctx, q, list)
	if err != nil {
		return nil, err
	}
	for _, u := range unsettled {
		c := whose[u.VisitID]
		of[c] = append(of[c], Hold{Kind: Owed, Visit: u.VisitID, Payer: u.Payer.String(), Minor: u.OwedMinor(), Money: u.Currency})
	}
	return of, nil
}

// Customer erases a customer with whoever was merged into them, once and for all:
// of one who was erased already it does nothing. The program does it by age, and
// else an owner.
func Customer(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	if by.Staff != 0 && !by.Has("owner") {
		return fault.Forbidden("Only an owner erases a customer.")
	}
	if _, err := tx.Exec(ctx, "select from customer where id = $1 for update", id); err != nil {
		return fmt.Errorf("erase customer: %w", db.Translate(err))
	}
	p, err := Look(ctx, tx, id, by.At)
	switch {
	case err != nil:
		return err
	case p.ErasedAt != nil:
		return nil
	case len(p.Holds) > 0:
		return fault.Conflict("This customer cannot be erased yet: see what has to be settled first.")
	}
	if err := forgetDrafts(ctx, tx, p.ID); err != nil {
		return err
	}
	if err := link.RevokeOf(ctx, tx, by, p.ID); err != nil {
		return err
	}
	if err := message.DropOf(ctx, tx, by, p.ID); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "select erase_customer($1, $2, $3, $4)", p.ID, by.Staff, by.Intent, by.At); err != nil {
		return fmt.Errorf("erase customer: %w", db.Translate(err))
	}
	return customer.RekeyUnits(ctx, tx)
}

// forgetDrafts throws half-filled forms away that name the person, with their
// pictures.
func forgetDrafts(ctx context.Context, tx pgx.Tx, id int64) error {
	rows, err := tx.Query(ctx, "select id, name, phone, mail, address, version, erased_at from customer where id = $1 or merged_into = $1", id)
	people, err := db.All[customer.Customer](rows, err)
	if err != nil {
		return fmt.Errorf("read customer: %w", err)
	}
	roots, err := job.ThrowDraftsOf(ctx, tx, people)
	if err != nil {
		return err
	}
	for _, root := range roots {
		if err := picture.Forget(ctx, tx, root); err != nil {
			return err
		}
	}
	return nil
}

// Aged erases a customer whose last visit was before that moment, if it still was
// and nobody is to ask them again.
func Aged(ctx context.Context, tx pgx.Tx, by history.By, id int64, before time.Time) error {
	if _, err := tx.Exec(ctx, "select from customer where id = $1 for update", id); err != nil {
		return fmt.Errorf("erase customer: %w", db.Translate(err))
	}
	list, err := aged(ctx, tx, before, by.At, []int64{id})
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return fault.Conflict("They were here meanwhile, or are to be asked again.")
	}
	return Customer(ctx, tx, by, id)
}

// Absent is somebody who was not here for long, and since when.
type Absent struct {
	ID   int64
	Last time.Time
}

// NotHereSince lists the customers whose last visit was before that moment and
// whom nothing keeps, those longest away first. A visit lasts until its last job
// has ended; who never had one counts from what last happened with them, and
// whoever bought a unit from that day. Whoever is to be asked again after now, as
// was said of a unit of theirs, is kept until then.
func NotHereSince(ctx context.Context, q db.Querier, before, now time.Time) ([]Absent, error) {
	return aged(ctx, q, before, now, nil)
}

func aged(ctx context.Context, q db.Querier, before, now time.Time, of []int64) ([]Absent, error) {
	rows, err := q.Query(ctx, `with seen as (
			select v.customer_id, greatest(v.opened_at, j.closed_at) as at from visit v left join job j on j.visit_id = v.id
			union all select to_customer, at from unit_sold
			union all select e.customer_id, e.at from event e where e.customer_id is not null and not exists (select from visit v where v.customer_id = e.customer_id)),
		last as (select n.now_id as id, max(s.at) as last from seen s join customer_now n on n.id = s.customer_id group by n.now_id)
		select l.id, l.last from last l join customer c on c.id = l.id where c.erased_at is null and l.last < $1 and ($2::bigint[] is null or c.id = any ($2))
			and not exists (select from put_off_now p join unit u on u.id = p.unit_id join customer_now o on o.id = u.customer_id where o.now_id = c.id and p.until > $3)
		order by l.last, l.id`, before, of, now.UTC().Format(time.DateOnly))
	list, err := db.All[Absent](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for customers not here for long: %w", err)
	}
	ids := make([]int64, len(list))
	for i, a := range list {
		ids[i] = a.ID
	}
	held, err := holds(ctx, q, ids)
	return slices.DeleteFunc(list, func(a Absent) bool { return len(held[a.ID]) > 0 }), err
}

// Since is the moment that so many years end at now.
func Since(now time.Time, years int) time.Time { return now.AddDate(-years, 0, 0) }
