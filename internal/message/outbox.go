package message

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Message is one that is to be sent.
type Message struct {
	ID         int64
	Kind       Kind
	CustomerID int64 // who they are now; 0: a test
	VisitID    int64 // 0: none
	UnitID     int64 // 0: none
	Service    string
	Cause      string
	Mail       string // the address as it is now
	ToName     string // whose it is; empty: a test
	Tries      int    // with this one, since somebody last had it sent again
	// FailingSince is when the first try failed; nil: none has.
	FailingSince *time.Time
	Lease        int64
	Intent       string // of the act that caused it
	At           time.Time
}

// Key is that of its cause, or of the first one where it is sent once more.
func (m Message) Key() string {
	key, _, _ := strings.Cut(strings.TrimPrefix(m.Cause, Cause{Kind: m.Kind, VisitID: m.VisitID, UnitID: m.UnitID, Service: m.Service}.id()), again)
	return key
}

// Letter is what a message says. HTML may be empty.
type Letter struct{ Subject, Text, HTML string }

const (
	// leased is how long a server has to hand a message over to the mail server.
	leased = 3 * time.Minute
	// awaited is how long the mail server may take to say that it has it, more
	// than whoever sends waits.
	awaited = 7 * time.Minute
)

// pauses are between one try and the next, the last of them from then on: soon
// twice in the first hour, then every two or three hours, by RFC 5321 4.5.4.1.
var pauses = []time.Duration{time.Minute, 5 * time.Minute, 30 * time.Minute, 3 * time.Hour}

// Lasts is how long a message is tried, and how late it may be: RFC 5321 4.5.4.1
// wants four to five days at least, which a long weekend with a holiday needs too.
const Lasts = 5 * 24 * time.Hour

// noServer are the reasons that are no message’s own.
var noServer = []Why{Unreachable, NotSecure, SignIn}

// ErrLost is that somebody else has the message to send, or has settled it.
var ErrLost = errors.New("the message is not this sender’s any more")

const due = `goes_with is null and (state = 'waiting' and not_before <= $1 or state = 'sending' and handed_over_at is null and leased_until < $1) and (kind = 'test' or not $2)`

// Due reports whether Take would find one.
func Due(ctx context.Context, q db.Querier, now time.Time, quiet bool) (some bool, err error) {
	err = q.QueryRow(ctx, "select exists (select from message where "+due+")", now, quiet).Scan(&some)
	if err != nil {
		return false, fmt.Errorf("look for messages: %w", err)
	}
	return some, nil
}

// Take leases the next message that is due, the longest due first, past those
// that others are taking. In quiet hours only tests are. What is not wanted or
// has no address by now is dropped instead; ok is false where none is left.
func Take(ctx context.Context, tx pgx.Tx, by history.By, quiet bool) (m Message, ok bool, err error) {
	for {
		rows, err := tx.Query(ctx, `update message m set state = 'sending', lease = lease + 1, tries = tries + 1, leased_until = $3, why = ''
			where id = (select id from message where `+due+` order by not_before, id limit 1 for update skip locked)
			returning id, kind, coalesce((select now_id from customer_now where id = m.customer_id), 0) as customer_id,
				coalesce((select name from customer_now where id = m.customer_id), '') as to_name,
				coalesce(visit_id, 0) as visit_id, coalesce(unit_id, 0) as unit_id, coalesce(service_code, '') as service, cause, mail, tries, failing_since, lease,
				intent_id::text as intent, at`, by.At, quiet, by.At.Add(leased))
		list, err := db.All[Message](rows, err)
		if err != nil || len(list) == 0 {
			return Message{}, false, wrapped("take message", err)
		}
		m = list[0]
		why, mail, err := m.fate(ctx, tx)
		if err != nil {
			return Message{}, false, wrapped("take message", err)
		}
		if why == "" {
			m.Mail = mail
			return m, true, nil
		}
		if err := m.settle(ctx, tx, by, Dropped, why); err != nil {
			return Message{}, false, err
		}
	}
}

// fate locks a leased message, and says why it is not to be sent any more, or
// where it goes; ErrLost where the lease is another’s. A newer one of its kind about
// its visit says it all.
func (m Message) fate(ctx context.Context, tx pgx.Tx) (why Why, mail string, err error) {
	var told, newer bool
	err = tx.QueryRow(ctx, `select told_at is not null, mail, exists (select from message n where n.visit_id = m.visit_id and n.kind = m.kind and n.id > m.id)
		from message m where id = $1 and lease = $2 for no key update`, m.ID, m.Lease).Scan(&told, &mail, &newer)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return "", "", ErrLost
	case err != nil || m.Kind == Test:
		return "", mail, err
	case told:
		return Told, "", nil
	case newer:
		return Overtaken, "", nil
	}
	f, err := fateOf(ctx, tx, m.CustomerID, m.Kind)
	return f.Why, f.Mail, err
}

func wrapped(what string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", what, err)
}

// secrets are the parts of addresses that open a page to whoever has them.
var secrets = regexp.MustCompile(`/(c|m)/[A-Za-z0-9_-]{16,}`)

// Write keeps what a leased message says and where it goes.
func (m Message) Write(ctx context.Context, tx pgx.Tx, l Letter) error {
	tag, err := tx.Exec(ctx, "update message set subject = $3, body = $4, mail = $5 where id = $1 and lease = $2 and state = 'sending'",
		m.ID, m.Lease, l.Subject, secrets.ReplaceAllString(l.Text, "/$1/…"), m.Mail)
	if err == nil && tag.RowsAffected() == 0 {
		return ErrLost
	}
	return wrapped("write message", err)
}

// HandOver looks at the message once more, and keeps that it is about to be handed
// over whole. Only once that is committed may the last dot go out: from then on
// nobody sends it again unless a person says so. ok is false where it is not to be
// sent any more, which is kept. It is ErrLost for whoever was too slow, and where
// the address is another by now: then the message is taken again.
func (m Message) HandOver(ctx context.Context, tx pgx.Tx, by history.By) (ok bool, err error) {
	why, mail, err := m.fate(ctx, tx)
	switch {
	case err != nil:
		return false, wrapped("hand message over", err)
	case why != "":
		return false, m.settle(ctx, tx, by, Dropped, why)
	case mail != m.Mail:
		return false, ErrLost
	}
	tag, err := tx.Exec(ctx, `update message set handed_over_at = $3, leased_until = $4
		where id = $1 and lease = $2 and state = 'sending' and handed_over_at is null and leased_until > $3`, m.ID, m.Lease, by.At, by.At.Add(awaited))
	if err == nil && tag.RowsAffected() == 0 {
		return false, ErrLost
	}
	return err == nil, wrapped("hand message over", err)
}

// Sent keeps that the mail server has it, also where that was in doubt
// meanwhile, or is waiting to be sent again because it was.
func (m Message) Sent(ctx context.Context, tx pgx.Tx, by history.By) error {
	tag, err := tx.Exec(ctx, `update message set state = 'sent', why = '', sent_at = $3, failing_since = null, handed_over_at = coalesce(handed_over_at, $3), leased_until = null
		where id = $1 and lease = $2 and state in ('sending', 'doubtful', 'waiting')`, m.ID, m.Lease, by.At)
	if err != nil || tag.RowsAffected() == 0 {
		return wrapped("keep that a message is sent", err)
	}
	return m.event(ctx, tx, by, "message sent", "")
}

const held = `goes_with is null and state = 'waiting' and why = any ($2) and not_before > $1`

// Held reports whether Release would find any.
func Held(ctx context.Context, q db.Querier, now time.Time) (some bool, err error) {
	err = q.QueryRow(ctx, "select exists (select from message where "+held+")", now, noServer).Scan(&some)
	return some, wrapped("look for messages that are held up", err)
}

// Release makes what waits because no mail server was to be had due again, now that
// there is one.
func Release(ctx context.Context, tx pgx.Tx, by history.By) error {
	_, err := tx.Exec(ctx, "update message set not_before = $1 where id in (select id from message where "+held+" for update skip locked)", by.At, noServer)
	return wrapped("release messages", err)
}

// PutOff keeps that the message was certainly not sent, and why. It waits for
// its next try, unless it is final, has been tried for as long as it Lasts, or is not
// to be sent any more; a test has one try.
func (m Message) PutOff(ctx context.Context, tx pgx.Tx, by history.By, why Why, final bool) error {
	not, _, err := m.fate(ctx, tx)
	switch {
	case errors.Is(err, ErrLost):
		return nil
	case err != nil:
		return wrapped("put message off", err)
	case not != "":
		return m.settle(ctx, tx, by, Dropped, not)
	}
	since := by.At
	if m.FailingSince != nil {
		since = *m.FailingSince
	}
	next := by.At.Add(pauses[min(max(m.Tries, 1), len(pauses))-1])
	if final || m.Kind == Test || next.Sub(since) > Lasts {
		return m.settle(ctx, tx, by, Failed, why)
	}
	tag, err := tx.Exec(ctx, `update message set state = 'waiting', why = $3, not_before = $4, failing_since = $5, leased_until = null, handed_over_at = null
		where id = $1 and lease = $2 and state in ('sending', 'doubtful')`, m.ID, m.Lease, why, next, since)
	if err != nil || tag.RowsAffected() == 0 {
		return wrapped("put message off", err)
	}
	return m.event(ctx, tx, by, "message put off", why)
}

// Doubt keeps that the message may have been sent.
func (m Message) Doubt(ctx context.Context, tx pgx.Tx, by history.By, why Why) error {
	return m.settle(ctx, tx, by, Doubtful, why)
}

func (m Message) settle(ctx context.Context, tx pgx.Tx, by history.By, state State, why Why) error {
	tag, err := tx.Exec(ctx, `update message set state = $3, why = $4, leased_until = null,
			handed_over_at = case when $3 = 'doubtful' then handed_over_at end
		where id = $1 and lease = $2 and state in ('sending', 'doubtful')`, m.ID, m.Lease, state, why)
	if err != nil || tag.RowsAffected() == 0 {
		return wrapped("settle message", err)
	}
	return m.event(ctx, tx, by, "message "+string(state), why)
}

// event happened to the message, and to those written in its letter.
func (m Message) event(ctx context.Context, tx pgx.Tx, by history.By, kind string, why Why) error {
	list := []Message{m}
	if m.Kind == DueSoon {
		with, err := Together(ctx, tx, m.ID)
		if err != nil {
			return err
		}
		list = append(list, with...)
	}
	for _, m := range list {
		if err := m.ownEvent(ctx, tx, by, kind, why); err != nil {
			return err
		}
	}
	return nil
}

func (m Message) ownEvent(ctx context.Context, tx pgx.Tx, by history.By, kind string, why Why) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "message", SubjectID: m.ID, Customer: m.CustomerID, Unit: m.UnitID,
		Kind: kind, Detail: map[string]any{"message": m.ID, "kind": m.Kind, "why": why}})
}

const abandoned = `goes_with is null and state = 'sending' and handed_over_at is not null and leased_until < $1`

// Abandoned reports whether GiveUp would find any.
func Abandoned(ctx context.Context, q db.Querier, now time.Time) (some bool, err error) {
	err = q.QueryRow(ctx, "select exists (select from message where "+abandoned+")", now).Scan(&some)
	return some, wrapped("look for abandoned messages", err)
}

// GiveUp makes doubtful what was handed over by somebody who never came back to
// say how it went.
func GiveUp(ctx context.Context, tx pgx.Tx, by history.By) error {
	rows, err := tx.Query(ctx, `update message set state = 'doubtful', why = $2, leased_until = null where `+abandoned+`
		returning id, kind, coalesce(customer_id, 0) as customer_id, coalesce(unit_id, 0) as unit_id`, by.At, Stopped)
	type given struct {
		ID         int64
		Kind       Kind
		CustomerID int64
		UnitID     int64
	}
	list, err := db.All[given](rows, err)
	if err != nil {
		return wrapped("give up messages", err)
	}
	for _, g := range list {
		m := Message{ID: g.ID, Kind: g.Kind, CustomerID: g.CustomerID, UnitID: g.UnitID}
		if err := m.event(ctx, tx, by, "message doubtful", Stopped); err != nil {
			return err
		}
	}
	return nil
}
