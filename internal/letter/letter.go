package letter

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/shop"
	"damperdesk/internal/summary"
)

// linkLasts is how long the address in a letter works, at least.
const linkLasts = 366 * 24 * time.Hour

// Write writes the letter of a message to whoever its customer is now, with a
// link to the visit under baseURL that works. It is message.ErrMoot for one that says
// nothing any more; nothing is written then.
func Write(ctx context.Context, tx pgx.Tx, by history.By, key []byte, baseURL string, m message.Message) (message.Letter, error) {
	f, err := read(ctx, tx, by.At, m)
	if err != nil {
		return message.Letter{}, wrap(err)
	}
	if m.Kind == message.DueSoon {
		if err := f.remind(ctx, tx, by, m); err != nil {
			return message.Letter{}, wrap(err)
		}
	}
	late, err := isStale(ctx, tx, by.At, m.ID)
	switch {
	case err != nil:
		return message.Letter{}, wrap(err)
	case late || f.moot() || f.overtaken(m.At):
		return message.Letter{}, message.ErrMoot
	}
	if m.VisitID != 0 {
		token, err := link.Make(ctx, tx, by, key, m.VisitID, by.At.Add(linkLasts))
		if err != nil {
			return message.Letter{}, wrap(err)
		}
		f.link = baseURL + "/c/" + token
	}
	w, err := Get(ctx, tx, m.Kind)
	if err != nil {
		return message.Letter{}, wrap(err)
	}
	return w.Render(f.values()), nil
}

func wrap(err error) error { return fmt.Errorf("write letter: %w", err) }

// isStale reports whether a message is late by more than it lasts, such as where
// nobody had set a mail server: then it is no news.
func isStale(ctx context.Context, q db.Querier, now time.Time, id int64) (late bool, err error) {
	err = q.QueryRow(ctx, "select coalesce((select not_before < $2 from message where id = $1), false)", id, now.Add(-message.Lasts)).Scan(&late)
	return late, err
}

// Preview is what a message would say if it were sent now, in words that may not
// be kept yet; link stands for the address of the customer's page, and with is
// what else is written in it. Nothing is written. moot says that there would be
// nothing to tell.
func Preview(ctx context.Context, q db.Querier, now time.Time, link string, w Words, m message.Message, with ...message.Message) (l message.Letter, moot bool, err error) {
	f, err := read(ctx, q, now, m, with...)
	if err != nil {
		return l, false, fmt.Errorf("preview letter: %w", err)
	}
	f.link = link
	return w.Render(f.values()), f.moot(), nil
}

// Draft is what a message says as things stand.
type Draft struct {
	message.Letter
	Spoken string // to read out, in one line
	Moot   bool   // there is nothing to tell any more
}

// DraftOf is the draft of a message to a customer, whether it was sent or not;
// link stands for the address of the customer's page. Nothing is written.
func DraftOf(ctx context.Context, q db.Querier, now time.Time, link string, id int64) (d Draft, err error) {
	m, err := message.About(ctx, q, id)
	if err != nil {
		return d, err
	}
	with, err := message.Together(ctx, q, id)
	if err != nil {
		return d, err
	}
	w, err := Get(ctx, q, m.Kind)
	if err != nil {
		return d, err
	}
	f, err := read(ctx, q, now, m, with...)
	if err != nil {
		return d, fmt.Errorf("draft letter: %w", err)
	}
	f.link = link
	if d.Moot = f.moot(); !d.Moot {
		d.Letter, d.Spoken = w.Render(f.values()), f.spoken()
	}
	return d, nil
}

func read(ctx context.Context, q db.Querier, now time.Time, m message.Message, with ...message.Message) (f facts, err error) {
	f = facts{kind: m.Kind}
	if f.shop, err = shop.Get(ctx, q); err != nil {
		return f, err
	}
	if f.hours, err = shop.GetHours(ctx, q); err != nil {
		return f, err
	}
	way, err := customer.GetWay(ctx, q, m.CustomerID)
	if err != nil {
		return f, err
	}
	f.prefs = prefsOf(f.shop, way, now)
	if err = q.QueryRow(ctx, "select name from customer_now where id = $1", m.CustomerID).Scan(&f.customer); err != nil {
		return f, fmt.Errorf("read customer: %w", err)
	}
	if m.VisitID == 0 {
		f.reminds, err = readReminders(ctx, q, now, append([]message.Message{m}, with...))
		return f, err
	}
	s, err := summary.Visit(ctx, q, m.VisitID, now)
	if err != nil {
		return f, err
	}
	f.visit, f.prefs.Currency = &s, s.Visit.Currency
	if f.given, err = readGiven(ctx, q, m.VisitID); err != nil {
		return f, err
	}
	f.past, err = readPast(ctx, q, m.VisitID)
	return f, err
}

// readGiven reads the promises of a visit, the newest first.
func readGiven(ctx context.Context, q db.Querier, visitID int64) ([]given, error) {
	rows, err := q.Query(ctx, `select p.id, p.promised_at,
			exists (select from proposal_answer a where a.intent_id = p.intent_id and a.yes) as agreed,
			exists (select from proposal_answer a where a.intent_id = p.intent_id and not a.yes) as refused
		from promise p where p.visit_id = $1 order by p.id desc`, visitID)
	list, err := db.All[given](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read promises: %w", err)
	}
	unheard, err := message.OvertakenKeys(ctx, q, message.Moved, visitID)
	for i := range list {
		list[i].Unheard = slices.Contains(unheard, fmt.Sprint(list[i].ID))
	}
	return list, err
}

// readPast reads which units of a visit are here on another, or have been sold
// since.
func readPast(ctx context.Context, q db.Querier, visitID int64) (map[int64]bool, error) {
	rows, err := q.Query(ctx, `select u.id from job j join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id
			join unit u on u.id = j.unit_id join customer_now o on o.id = u.customer_id
		where v.id = $1 and (o.now_id <> c.now_id or exists (select from job o where o.unit_id = u.id and o.closed_at is null and o.visit_id <> v.id))`, visitID)
	if err != nil {
		return nil, fmt.Errorf("read what is asked about no more: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	past := map[int64]bool{}
	for _, id := range list {
		past[id] = true
	}
	return past, err
}
