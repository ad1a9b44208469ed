package due

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
)

// The ways in which a unit is not rung about.
const (
	Snoozed   = "snoozed"   // until a day
	Elsewhere = "elsewhere" // until it is taken in here again
	back      = "back"      // neither any more
)

// Reasons are why something is put off; the empty one is not known.
var Reasons = []string{"", "they asked", "not riding", "away", "no money now", "said it is fine"}

// mostAhead is how far something may be put off.
const mostAhead = 24 // months

// PutOff is that nobody is to ring about a unit. It ends by itself when the
// unit is taken in.
type PutOff struct {
	ID      int64
	UnitID  int64
	Service string // its code; empty: every one
	Kind    string
	Until   *time.Time // the day it ends on; nil unless snoozed
	Reason  string
	By      string
	At      time.Time
}

// Holds reports whether it keeps one service of the unit off the list on a day.
func (p PutOff) Holds(service string, today time.Time) bool {
	return (p.Service == "" || p.Service == service) && (p.Until == nil || today.Before(*p.Until))
}

// Put keeps that a unit is put off; today is the shop's. Fields of
// fault.Invalid are "put-until", "reason" and "kind".
func Put(ctx context.Context, tx pgx.Tx, by history.By, p PutOff, today time.Time) error {
	if faults := p.faults(today); len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	return p.add(ctx, tx, by)
}

func (p PutOff) faults(today time.Time) map[string]string {
	faults := map[string]string{}
	switch p.Kind {
	case Snoozed:
		switch {
		case p.Until == nil:
			faults["put-until"] = "Choose the day on which to ask again."
		case !p.Until.After(today):
			faults["put-until"] = "That day is over: choose one to come."
		case p.Until.After(interval.AddMonths(today, mostAhead)):
			faults["put-until"] = "That is more than two years away: check the year."
		}
	case Elsewhere:
		if p.Until != nil || p.Service != "" {
			faults["kind"] = "What is serviced elsewhere has no day and no single service."
		}
	default:
		faults["kind"] = "Choose one of those listed."
	}
	if !slices.Contains(Reasons, p.Reason) {
		faults["reason"] = "Choose one of those listed."
	}
	return faults
}

// TakeBack ends what puts a unit, or one service of it, off.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, service string) error {
	standing, err := PutOffs(ctx, tx, unitID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(standing, func(p PutOff) bool { return p.Service == service }) {
		return fault.Conflict("It is not put off any more.")
	}
	return PutOff{UnitID: unitID, Service: service, Kind: back}.add(ctx, tx, by)
}

func (p PutOff) add(ctx context.Context, tx pgx.Tx, by history.By) error {
	var customer, id int64
	err := tx.QueryRow(ctx, "select customer_id from unit where id = $1 for no key update", p.UnitID).Scan(&customer)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound("There is no such unit.")
	}
	if err == nil {
		err = tx.QueryRow(ctx, `insert into put_off (unit_id, service_code, kind, until, reason, actor_id, intent_id, at)
			values ($1, nullif($2, ''), $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
			p.UnitID, p.Service, p.Kind, p.Until, p.Reason, by.Staff, by.Intent, by.At).Scan(&id)
	}
	if err == nil {
		err = history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: p.UnitID, Customer: customer, Unit: p.UnitID,
			Kind: "reminder " + p.Kind, Detail: map[string]any{"put_off": id, "service": p.Service, "until": p.Until, "reason": p.Reason}})
	}
	if err != nil {
		return fmt.Errorf("put unit %d off: %w", p.UnitID, db.Translate(err))
	}
	return nil
}

// IsOff reports whether anything keeps one service of a unit off the list on a day.
func IsOff(ctx context.Context, q db.Querier, unitID int64, service string, today time.Time) (bool, error) {
	standing, err := PutOffs(ctx, q, unitID)
	return slices.ContainsFunc(standing, func(p PutOff) bool { return p.Holds(service, today) }), err
}

// PutOffs lists what stands for some units. Whether a day is over is asked of
// PutOff.Holds.
func PutOffs(ctx context.Context, q db.Querier, units ...int64) ([]PutOff, error) {
	rows, err := q.Query(ctx, `select p.id, p.unit_id, coalesce(p.service_code, '') as service, p.kind, p.until, p.reason, coalesce(s.name, '') as by, p.at
		from put_off_now p left join staff s on s.id = p.actor_id where p.unit_id = any ($1) order by p.unit_id, p.id`, units)
	list, err := db.All[PutOff](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what is put off: %w", err)
	}
	return list, nil
}
