package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/letter"
	"damperdesk/internal/message"
	"damperdesk/templates"
)

// mostInvited is how many services one press invites for.
const mostInvited = 100

// nobodyTicked is said where none is left of those that were ticked.
const nobodyTicked = "Tick somebody on the due list first whose unit is not here, booked or put off."

// invitePage shows whom an invitation goes to, and as what; it sends none.
func (a *App) invitePage(w http.ResponseWriter, r *http.Request) error {
	chosen := r.URL.Query()["invite"]
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Title = "Invite"
		page := templates.InvitePage{Base: base}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
			rows, err := chosenDue(r.Context(), tx, base.Now, chosen)
			if err != nil {
				return err
			}
			if page.Guests, err = guests(r.Context(), tx, rows); err != nil {
				return err
			}
			return firstLetter(r.Context(), tx, &page)
		})
		if err == nil && len(page.Guests) == 0 {
			err = fault.NotFound(nobodyTicked)
		}
		return templates.Invite(page), err
	})
}

// firstLetter fills in the mail as it goes to the first who gets one.
func firstLetter(ctx context.Context, q db.Querier, p *templates.InvitePage) error {
	i := slices.IndexFunc(p.Guests, func(g templates.Guest) bool { return g.ByMail })
	if i < 0 {
		return nil
	}
	words, err := letter.Get(ctx, q, message.DueSoon)
	if err != nil {
		return err
	}
	var list []message.Message
	for _, r := range p.Guests[i].Rows {
		list = append(list, message.Message{Kind: message.DueSoon, CustomerID: r.CustomerID, UnitID: r.ID, Service: r.Code})
	}
	l, _, err := letter.Preview(ctx, q, p.Now, "", words.Words, list[0], list[1:]...)
	p.Letter = templates.Letter{To: p.Guests[i].Name, Subject: l.Subject, Text: l.Text}
	return err
}

// invite posts the invitations. Whoever heard of it for the same interval
// already is passed over. The due list says how many there were.
func (a *App) invite(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	return a.act(w, r, "invite", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		rows, err := chosenDue(ctx, tx, by.At, r.PostForm["invite"])
		if err != nil {
			return "", err
		}
		if len(rows) == 0 {
			return "", fault.Conflict(nobodyTicked)
		}
		count, err := message.PostDueSoon(ctx, tx, by, reminders(rows)...)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("/due?done=invited&mails=%d&rung=%d", count[message.Waiting], count[message.Dropped]), nil
	})
}

func reminders(rows []due.Row) (list []message.Reminder) {
	for _, row := range rows {
		r := message.Reminder{UnitID: row.ID, Service: row.Code}
		if row.Served != nil {
			r.Since.Done = row.Served.Left
		}
		if row.Asked != nil {
			r.Since.Asked = row.Asked.Day()
		}
		list = append(list, r)
	}
	return list
}

// chosenDue reads the services of units that keys of templates.InviteKey name,
// in their order, each once, without what is here, booked or put off by now.
func chosenDue(ctx context.Context, q db.Querier, now time.Time, keys []string) (rows []due.Row, err error) {
	if len(keys) > mostInvited {
		return nil, fault.Conflict("Invite at most " + strconv.Itoa(mostInvited) + " at a time.")
	}
	for i, key := range keys {
		text, code, _ := strings.Cut(key, ":")
		unit, err := strconv.ParseInt(text, 10, 64)
		if err != nil || slices.Contains(keys[:i], key) {
			continue
		}
		of, err := due.OfUnit(ctx, q, unit, now)
		if err != nil {
			return nil, err
		}
		for _, r := range of {
			if r.Code != code || r.OpenJobID != 0 {
				continue
			}
			off, err := due.IsOff(ctx, q, unit, code, r.Today)
			if err != nil {
				return nil, err
			}
			if !off {
				rows = append(rows, r)
			}
		}
	}
	return rows, nil
}

// guests puts rows together by customer.
func guests(ctx context.Context, q db.Querier, rows []due.Row) (list []templates.Guest, err error) {
	mail, _, err := due.Wanting(ctx, q, customersOf(rows))
	if err != nil {
		return nil, err
	}
	at := map[int64]int{}
	for _, r := range rows {
		i, ok := at[r.CustomerID]
		if !ok {
			i = len(list)
			at[r.CustomerID] = i
			list = append(list, templates.Guest{CustomerID: r.CustomerID, Name: r.Customer, Phone: r.Phone, ByMail: mail[r.CustomerID]})
		}
		list[i].Rows = append(list[i].Rows, r)
	}
	return list, nil
}
