package web

import (
	"context"
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
	"damperdesk/internal/message"
	"damperdesk/templates"
)

// mostInvited is how many services one press invites for.
const mostInvited = 100

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
			page.Guests, err = guests(r.Context(), tx, rows)
			return err
		})
		if err == nil && len(page.Guests) == 0 {
			err = fault.NotFound("Tick somebody on the due list first.")
		}
		return templates.Invite(page), err
	})
}

// invite posts the invitations. Whoever was invited for the same interval
// already is passed over.
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
			return "", fault.Conflict("Tick somebody on the due list first.")
		}
		for _, row := range rows {
			if _, _, err := message.Post(ctx, tx, by, invitation(row)); err != nil {
				return "", err
			}
		}
		return "/due?done=invited", nil
	})
}

// invitation is the cause of the message: one for a service and its interval,
// which is known by the day the service was done before.
func invitation(r due.Row) message.Cause {
	since := "never"
	if r.Served != nil {
		since = r.Served.Ready.Format(time.DateOnly)
	}
	return message.Cause{Kind: message.DueSoon, CustomerID: r.CustomerID, UnitID: r.ID, Service: r.Code, Key: since}
}

// chosenDue reads the services of units that keys of templates.InviteKey name,
// in their order, each once.
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
			if r.Code == code {
				rows = append(rows, r)
			}
		}
	}
	return rows, nil
}

// guests puts rows together by customer.
func guests(ctx context.Context, q db.Querier, rows []due.Row) (list []templates.Guest, err error) {
	mail, _, err := due.Wanting(ctx, q)
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
