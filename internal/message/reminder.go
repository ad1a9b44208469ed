package message

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Reminder is that a service of a unit comes due again.
type Reminder struct {
	UnitID  int64
	Service string // its code
	Since   Since
}

// Since is what a service comes due by: the day it was last done, zero for never
// here, and that of the event that asks for it, zero for none.
type Since struct{ Done, Asked time.Time }

// key has the day it was last done first.
func (s Since) key() string {
	key := "never"
	if !s.Done.IsZero() {
		key = s.Done.Format(time.DateOnly)
	}
	if !s.Asked.IsZero() {
		key += asked + s.Asked.Format(time.DateOnly)
	}
	return key
}

const asked = " asked "

// Since is the day on which what is due was last done, or never, as its cause has
// it, and whether an event asks for it.
func (m Message) Since() (done string, isAsked bool) {
	done, rest, _ := strings.Cut(m.Key(), " ")
	return done, strings.HasPrefix(" "+rest, asked)
}

// PostDueSoon tells the owners of units that services come due again, each owner
// once for each time a service was done last and each event since: all that is
// new to one owner is one letter. What nobody heard of, for it was dropped or
// failed, is posted anew. letters counts those posted, by their state, and under
// the empty one the services that they were told of before.
func PostDueSoon(ctx context.Context, tx pgx.Tx, by history.By, list ...Reminder) (letters map[State]int, err error) {
	letters = map[State]int{}
	fates, first := map[int64]fate{}, map[int64]int64{}
	for _, r := range list {
		c, err := r.cause(ctx, tx)
		if err != nil {
			return nil, err
		}
		f, known := fates[c.CustomerID]
		if !known {
			if f, err = fateOf(ctx, tx, c.CustomerID, DueSoon); err != nil {
				return nil, fmt.Errorf("post reminder: %w", err)
			}
			fates[c.CustomerID] = f
		}
		c.GoesWith = first[c.CustomerID]
		id, posted, err := c.post(ctx, tx, by, f)
		if err == nil && !posted {
			id, posted, err = c.anew(ctx, tx, by, f)
		}
		switch {
		case err != nil:
			return nil, err
		case !posted:
			letters[""]++
		case c.GoesWith == 0:
			first[c.CustomerID] = id
			letters[f.State]++
		}
	}
	return letters, nil
}

func (r Reminder) cause(ctx context.Context, q db.Querier) (Cause, error) {
	c := Cause{Kind: DueSoon, UnitID: r.UnitID, Service: r.Service}
	var as int64 // who they were when they last heard of the unit: a merge makes nobody a new owner
	err := q.QueryRow(ctx, `select c.now_id, coalesce((select m.customer_id from message m where m.kind = 'due soon' and m.unit_id = u.id
				and m.customer_id in (select id from customer where id = c.now_id or merged_into = c.now_id) order by m.id desc limit 1), c.now_id)
		from unit u join customer_now c on c.id = u.customer_id where u.id = $1`, r.UnitID).Scan(&c.CustomerID, &as)
	if errors.Is(err, pgx.ErrNoRows) {
		return c, db.NotThere("unit")
	}
	if err != nil {
		return c, fmt.Errorf("read whose unit it is: %w", err)
	}
	c.Key = fmt.Sprintf("%s of %d", r.Since.key(), as)
	return c, nil
}

// anew puts the message of a cause that nobody heard of back to where a new one
// would be, without what went with it; posted is false where there is none.
func (c Cause) anew(ctx context.Context, tx pgx.Tx, by history.By, f fate) (id int64, posted bool, err error) {
	err = tx.QueryRow(ctx, `select id from message where cause = $1 and state in ('dropped', 'failed') and told_at is null for no key update`, c.id()).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, false, nil
	}
	if err == nil {
		_, err = tx.Exec(ctx, "update message set goes_with = null where goes_with = $1", id)
	}
	if err == nil {
		_, err = tx.Exec(ctx, `update message set customer_id = $2, goes_with = nullif($3, 0::bigint), state = $4, why = $5, mail = $6, tries = 0, failing_since = null,
				not_before = $7, at = $7, actor_id = nullif($8, 0::bigint), intent_id = $9 where id = $1`,
			id, c.CustomerID, c.GoesWith, f.State, f.Why, f.Mail, by.At, by.Staff, by.Intent)
	}
	if err == nil {
		err = c.posted(ctx, tx, by, id, f.State)
	}
	if err != nil {
		return 0, false, fmt.Errorf("post message anew: %w", err)
	}
	return id, true, nil
}

// LetterOf is the message in whose letter another one is written: itself, mostly.
func LetterOf(ctx context.Context, q db.Querier, id int64) (letter int64, err error) {
	err = q.QueryRow(ctx, "select coalesce(goes_with, id) from message where id = $1", id).Scan(&letter)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, db.NotThere("message")
	}
	return letter, wrapped("read whose letter it is in", err)
}

// about is what a message to a customer is about.
const about = `select m.id, m.kind, c.now_id as customer_id, coalesce(m.visit_id, 0) as visit_id, coalesce(m.unit_id, 0) as unit_id, coalesce(m.service_code, '') as service, m.cause,
		c.mail, c.name as to_name, m.tries, m.lease, m.failing_since, m.intent_id::text as intent, m.at
	from message m join customer_now c on c.id = m.customer_id `

// About is a message to a customer, as far as its letter needs it.
func About(ctx context.Context, q db.Querier, id int64) (Message, error) {
	rows, err := q.Query(ctx, about+"where m.id = $1", id)
	return db.One[Message](rows, err, "message")
}

// Together are the messages that are written in the letter of another one, in
// the order of their causes.
func Together(ctx context.Context, q db.Querier, id int64) ([]Message, error) {
	rows, err := q.Query(ctx, about+"where m.goes_with = $1 order by m.id", id)
	list, err := db.All[Message](rows, err)
	return list, wrapped("read what goes with a message", err)
}

// ErrMoot is that a message says nothing any more by the time it is written.
var ErrMoot = errors.New("there is nothing to tell any more")

// Moot drops a leased message that says nothing any more. What was to be written
// in its letter waits to have one of its own.
func (m Message) Moot(ctx context.Context, tx pgx.Tx, by history.By) error {
	_, err := tx.Exec(ctx, `with rest as (select min(id) as first from message where goes_with = $1)
		update message set state = 'waiting', leased_until = null, goes_with = nullif(rest.first, id) from rest where goes_with = $1`, m.ID)
	if err != nil {
		return fmt.Errorf("part messages: %w", err)
	}
	return m.settle(ctx, tx, by, Dropped, Overtaken)
}

// Leave drops one that was to be written in the letter of another, leased one,
// and says nothing any more.
func (m Message) Leave(ctx context.Context, tx pgx.Tx, by history.By) error {
	_, err := tx.Exec(ctx, "update message set state = 'dropped', why = $2, leased_until = null, goes_with = null where id = $1 and goes_with is not null", m.ID, Overtaken)
	if err != nil {
		return fmt.Errorf("drop what went with a message: %w", err)
	}
	return m.ownEvent(ctx, tx, by, "message dropped", Overtaken)
}
