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
	letters, first := map[State]int{}, map[int64]int64{}
	for _, r := range list {
		c, err := r.cause(ctx, tx)
		if err != nil {
			return nil, err
		}
		c.GoesWith = first[c.CustomerID]
		id, state, err := post(ctx, tx, by, c)
		if err == nil && state == "" {
			id, state, err = c.anew(ctx, tx, by)
		}
		if err != nil {
			return nil, err
		}
		switch {
		case state == "":
			letters[""]++
		case c.GoesWith == 0:
			first[c.CustomerID] = id
			letters[state]++
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
// would be, without what went with it; state is empty where there is none.
func (c Cause) anew(ctx context.Context, tx pgx.Tx, by history.By) (id int64, state State, err error) {
	state, why, mail, err := fate(ctx, tx, c.CustomerID, c.Kind)
	if err != nil {
		return 0, "", fmt.Errorf("post message anew: %w", err)
	}
	_, err = tx.Exec(ctx, `update message set goes_with = null
		where goes_with = (select id from message where cause = $1 and state in ('dropped', 'failed') and told_at is null)`, c.id())
	if err != nil {
		return 0, "", fmt.Errorf("post message anew: %w", err)
	}
	err = tx.QueryRow(ctx, `update message set state = $2, why = $3, mail = $4, tries = 0, failing_since = null, not_before = $5, at = $5, actor_id = nullif($6, 0::bigint), intent_id = $7,
			goes_with = nullif($8, 0::bigint)
		where cause = $1 and state in ('dropped', 'failed') and told_at is null returning id`,
		c.id(), state, why, mail, by.At, by.Staff, by.Intent, c.GoesWith).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, "", nil
	}
	if err == nil {
		err = c.posted(ctx, tx, by, id, state)
	}
	if err != nil {
		return 0, "", fmt.Errorf("post message anew: %w", err)
	}
	return id, state, nil
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
	return m.event(ctx, tx, by, "message dropped", Overtaken)
}
