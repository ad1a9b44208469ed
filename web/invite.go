package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

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
const mostInvited = due.AtOnce

// nobodyTicked is said where none is left of those that were ticked.
const nobodyTicked = "Tick somebody on the due list first whose unit is not here, booked or put off."

// invitePage shows whom an invitation goes to, and as what; it sends none.
func (a *App) invitePage(w http.ResponseWriter, r *http.Request) error {
	chosen := r.URL.Query()["invite"]
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.guestsPage(r.Context(), base, chosen, chosen)
	})
}

// guestsPage shows some services with the riders to invite, of which some are ticked.
func (a *App) guestsPage(ctx context.Context, base templates.Base, shown, ticked []string) (templ.Component, error) {
	base.Title = "Invite"
	page := templates.InvitePage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		rows, err := due.Chosen(ctx, tx, base.Now, inviteKeys(shown))
		if err != nil {
			return err
		}
		invited, err := invitedSince(ctx, tx, rows)
		if err != nil {
			return err
		}
		rows, page.Before = base.Uninvited(invited, rows)
		for _, r := range rows {
			if key := templates.InviteKey(r); slices.Contains(ticked, key) {
				page.Ticked = append(page.Ticked, key)
			}
		}
		room, err := readRoom(ctx, tx, base.Now)
		if err != nil {
			return err
		}
		page.Filling = room.fill(slices.DeleteFunc(slices.Clone(rows), func(r due.Row) bool { return !page.IsTicked(r) }))
		if page.Guests, err = guests(ctx, tx, rows); err != nil {
			return err
		}
		return firstLetter(ctx, tx, &page)
	})
	if err == nil && len(page.Guests) == 0 && page.Before == 0 {
		err = fault.NotFound(nobodyTicked)
	}
	return templates.Invite(page), err
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
	f, err := readForm(r)
	if err != nil {
		return err
	}
	chosen := r.PostForm["invite"]
	return a.take(w, r, f, "invite", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if len(chosen) > mostInvited {
			return "", fault.Conflict(fmt.Sprintf("Invite at most %d at a time.", mostInvited))
		}
		rows, err := due.Chosen(ctx, tx, by.At, inviteKeys(chosen))
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
		to := fmt.Sprintf("/due?done=invited&mails=%d&rung=%d", count[message.Waiting], count[message.Dropped])
		if before := count[""]; before > 0 {
			to += fmt.Sprintf("&before=%d", before)
		}
		return to, nil
	}, func(base templates.Base) (templ.Component, error) {
		page, err := a.guestsPage(r.Context(), base, append(slices.Clone(r.PostForm["shown"]), chosen...), chosen)
		if errors.As(err, new(fault.NotFound)) {
			err = fault.Conflict(nobodyTicked)
		}
		return page, err
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

// inviteKeys reads names of templates.InviteKey, without what is none.
func inviteKeys(names []string) (keys []due.Key) {
	for _, name := range names {
		unit, service, _ := strings.Cut(name, ":")
		if id, err := strconv.ParseInt(unit, 10, 64); err == nil {
			keys = append(keys, due.Key{Unit: id, Service: service})
		}
	}
	return keys
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
