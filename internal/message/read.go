package message

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
)

// Entry is a message as the desk looks at it.
type Entry struct {
	ID         int64
	Kind       Kind
	CustomerID int64 // who they are now; 0: a test
	Customer   string
	Phone      string
	VisitID    int64 // 0: none
	UnitID     int64 // 0: none
	AgainOf    int64 // 0: none
	With       int   // how many others are written in its letter
	State      State
	Why        Why
	Mail       string
	Subject    string
	Body       string
	NotBefore  time.Time
	Tries      int
	SentAt     *time.Time
	At         time.Time
	// Told is who told it by voice, and when.
	ToldBy string
	ToldAt *time.Time
}

// Shown is which messages are looked at.
type Shown string

// What the outbox is narrowed to.
const (
	ShowAll     Shown = ""
	ShowWaiting Shown = "waiting"
	ShowSent    Shown = "sent"
	ShowLook    Shown = "look"
	ShowNotSent Shown = "not-sent"
)

// states are those of each.
var states = map[Shown][]State{
	ShowAll:     {Waiting, Sending, Sent, Doubtful, Failed, Dropped},
	ShowWaiting: {Waiting, Sending},
	ShowSent:    {Sent},
	ShowLook:    {Doubtful, Failed},
	ShowNotSent: {Dropped},
}

// Known reports whether there is such a list.
func (s Shown) Known() bool { return states[s] != nil }

// PageSize is how many List returns at most.
const PageSize = 50

const entries = `select m.id, m.kind, coalesce(c.now_id, 0) as customer_id, coalesce(c.name, '') as customer, coalesce(c.phone, '') as phone, coalesce(m.visit_id, 0) as visit_id,
		coalesce(m.unit_id, 0) as unit_id, coalesce(m.again_of, 0) as again_of, (select count(*)::int from message w where w.goes_with = m.id) as "with", m.state, m.why, m.mail, m.subject, m.body, m.not_before, m.tries, m.sent_at, m.at,
		coalesce(t.name, '') as told_by, m.told_at
	from message m left join customer_now c on c.id = m.customer_id left join staff t on t.id = m.told_by `

// List is the newest messages older than before (0: from the newest on), newest
// first, at most PageSize.
func List(ctx context.Context, q db.Querier, show Shown, before int64) ([]Entry, error) {
	rows, err := q.Query(ctx, entries+"where m.goes_with is null and m.state = any ($1) and ($2 = 0 or m.id < $2) and not ($4 and m.told_at is not null) order by m.id desc limit $3",
		states[show], before, PageSize, show == ShowLook)
	list, err := db.All[Entry](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read messages: %w", err)
	}
	return list, nil
}

// Get reads one.
func Get(ctx context.Context, q db.Querier, id int64) (Entry, error) {
	rows, err := q.Query(ctx, entries+"where m.id = $1", id)
	return db.One[Entry](rows, err, "message")
}

// LastTest is the newest test message; ok is false where there is none.
func LastTest(ctx context.Context, q db.Querier) (e Entry, ok bool, err error) {
	rows, err := q.Query(ctx, entries+"where m.kind = 'test' order by m.id desc limit 1")
	list, err := db.All[Entry](rows, err)
	if err != nil || len(list) == 0 {
		return Entry{}, false, wrapped("read test message", err)
	}
	return list[0], true, nil
}

// Standing is how many messages there are of each state that somebody may have
// to do something about.
type Standing struct {
	Waiting, Look int
	// StoppedAt is since when no message has gone out that was tried, for no mail
	// server was to be had, and StoppedWhy why the latest of those did not; nil: they go out.
	StoppedAt  *time.Time
	StoppedWhy Why
}

// Stand counts them.
func Stand(ctx context.Context, q db.Querier) (s Standing, err error) {
	err = q.QueryRow(ctx, `with stuck as (select failing_since, why, not_before from message
			where state in ('waiting', 'sending', 'failed') and told_at is null and why = any ($1)
				and failing_since > coalesce((select max(sent_at) from message), '-infinity'))
		select count(*) filter (where state in ('waiting', 'sending')), count(*) filter (where state in ('doubtful', 'failed') and told_at is null),
			(select min(failing_since) from stuck), coalesce((select why from stuck order by not_before desc limit 1), '')
		from message where goes_with is null and state in ('waiting', 'sending', 'doubtful', 'failed')`, noServer).
		Scan(&s.Waiting, &s.Look, &s.StoppedAt, &s.StoppedWhy)
	return s, wrapped("count messages", err)
}
