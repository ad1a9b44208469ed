package goahead

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// Ask is a proposal that the desk has to bring forward with its customer.
type Ask struct {
	Proposal
	VisitID    int64
	CustomerID int64
	Customer   string
	Phone      string
	Mail       string
	PromisedAt time.Time
}

// Asks lists what customers of open jobs have said nothing to, and who asks to
// be rung: those first, then by when each is to be reminded.
func Asks(ctx context.Context, q db.Querier) ([]Ask, error) {
	rows, err := q.Query(ctx, `select p.*, v.id as visit_id, u.now_id as customer_id, u.name as customer, u.phone, u.mail, v.promised_at
		from (`+proposalSQL+`and j.closed_at is null) p
		join job o on o.id = p.job_id join visit v on v.id = o.visit_id join customer_now u on u.id = v.customer_id order by p.id`)
	list, err := db.All[Ask](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what was asked: %w", err)
	}
	list = slices.DeleteFunc(list, func(a Ask) bool { return !a.AsksCall() && !a.Waits() })
	slices.SortStableFunc(list, func(a, b Ask) int {
		if a.AsksCall() != b.AsksCall() {
			return cmp.Compare(rank(b), rank(a))
		}
		return a.RemindAt().Compare(b.RemindAt())
	})
	return list, nil
}

func rank(a Ask) int {
	if a.AsksCall() {
		return 1
	}
	return 0
}

// Remind keeps that the desk reached for the customer about a proposal, and with
// whom it spoke; empty for nobody. What waits goes on waiting: silence is no
// answer. What was spoken of is not written any more. The fields are how and who.
func Remind(ctx context.Context, tx pgx.Tx, by history.By, proposalID int64, how, who string) error {
	p, a, err := lockForDesk(ctx, tx, by, proposalID)
	if err != nil {
		return err
	}
	who = strings.TrimSpace(who)
	wrong := map[string]string{}
	if !slices.Contains(ReminderHows, how) {
		wrong["how"] = "Choose how they were reached for."
	}
	if utf8.RuneCountInString(who) > mostWho {
		wrong["who"] = fmt.Sprintf("Keep it under %d characters.", mostWho)
	}
	switch {
	case len(wrong) > 0:
		return &fault.Invalid{Fields: wrong}
	case !p.Waits() && !p.AsksCall():
		return fault.Conflict("They have answered by now: there is nothing to remind them of.")
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into proposal_reminder (proposal_id, how, who, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6) returning id`, proposalID, how, who, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("store reminder: %w", db.Translate(err))
	}
	if who != "" {
		if err := message.TellNewest(ctx, tx, by, a.visitID, message.GoAhead); err != nil {
			return err
		}
	}
	return a.append(ctx, tx, by, "customer reminded", map[string]any{"proposal": proposalID, "reminder": id})
}
