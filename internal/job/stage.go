package job

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The stages of a job.
const (
	Booked     = "booked"
	DroppedOff = "dropped off"
	Arrived    = "arrived" // by post
	InQueue    = "in the queue"
	OnBench    = "on the bench"
	FinalCheck = "final check"
	Ready      = "ready for pickup"
	PickedUp   = "picked up"
	SentBack   = "sent back"
	Cancelled  = "cancelled"
)

// OpenStages in the order a job goes through them.
var OpenStages = []string{Booked, DroppedOff, Arrived, InQueue, OnBench, FinalCheck, Ready}

func isClosed(stage string) bool {
	return slices.Contains([]string{PickedUp, SentBack, Cancelled}, stage)
}

// via says which act makes a move.
type via int

const (
	byHand   via = iota // somebody says so
	byBench             // work on the bench sheet
	byEnd               // HandOver or Cancel
	byComing            // ComeIn, of its visit
)

// move is a step from one stage to another and who may make it.
type move struct {
	from, to string
	roles    []string
	via      via
	reason   bool // has to be given
}

var (
	anybody  = []string{"desk", "mechanic", "owner"}
	counter  = []string{"desk", "owner"}
	mechanic = []string{"mechanic"}
)

// moves is every legal one.
var moves = []move{
	{from: Booked, to: DroppedOff, roles: counter, via: byComing},
	{from: Booked, to: Arrived, roles: counter, via: byComing},
	{from: DroppedOff, to: InQueue, roles: anybody},
	{from: Arrived, to: InQueue, roles: anybody},
	{from: DroppedOff, to: OnBench, roles: mechanic, via: byBench},
	{from: Arrived, to: OnBench, roles: mechanic, via: byBench},
	{from: InQueue, to: OnBench, roles: mechanic, via: byBench},
	{from: OnBench, to: FinalCheck, roles: mechanic, via: byBench},
	{from: FinalCheck, to: OnBench, roles: mechanic, via: byBench, reason: true},
	{from: FinalCheck, to: Ready, roles: mechanic, via: byBench},
	{from: Ready, to: FinalCheck, roles: mechanic, via: byBench, reason: true},
	{from: Ready, to: PickedUp, roles: anybody, via: byEnd},
	{from: Ready, to: SentBack, roles: anybody, via: byEnd},
	{from: Booked, to: Cancelled, roles: counter, via: byEnd},
	{from: DroppedOff, to: Cancelled, roles: counter, via: byEnd},
	{from: Arrived, to: Cancelled, roles: counter, via: byEnd},
	{from: InQueue, to: Cancelled, roles: counter, via: byEnd},
	{from: OnBench, to: Cancelled, roles: counter, via: byEnd},
	{from: FinalCheck, to: Cancelled, roles: counter, via: byEnd},
	{from: Ready, to: Cancelled, roles: counter, via: byEnd},
}

// legal finds the move if these roles may make it.
func legal(from, to string, roles []string) (move, error) {
	i := slices.IndexFunc(moves, func(m move) bool { return m.from == from && m.to == to })
	if i < 0 {
		return move{}, fault.Conflict(fmt.Sprintf("A job that is %s cannot become %s.", from, to))
	}
	m := moves[i]
	if !slices.ContainsFunc(roles, func(r string) bool { return slices.Contains(m.roles, r) }) {
		return move{}, fault.Forbidden(fmt.Sprintf("To make a job %s is for: %s.", to, strings.Join(m.roles, ", ")))
	}
	return m, nil
}

// ByHand lists the stages that somebody with these roles may simply say a job
// has reached; work on the bench sheet, ComeIn, HandOver and Cancel bring about
// the others.
func ByHand(from string, roles []string) []string {
	var list []string
	for _, m := range moves {
		if m.from == from && m.via == byHand {
			if _, err := legal(from, m.to, roles); err == nil {
				list = append(list, m.to)
			}
		}
	}
	return list
}

// MoveByHand makes a move of ByHand, for a page.
func MoveByHand(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, stage string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	m, err := legal(j.stage, stage, by.Roles)
	if err != nil {
		return err
	}
	if m.via == byComing {
		return fault.Conflict("What is booked comes in on the page of its visit.")
	}
	if m.via != byHand {
		return fault.Conflict(fmt.Sprintf("A job becomes %s by the work on its bench sheet or by handing it over.", stage))
	}
	return j.reach(ctx, tx, by, stage, "")
}

// Move makes a move on the way from drop-off to ready for pickup, for the
// bench: it does not ask what the sheet says. A job with an open hold does not
// become ready.
func Move(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, stage, reason string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	m, err := legal(j.stage, stage, by.Roles)
	if err != nil {
		return err
	}
	reason = strings.TrimSpace(reason)
	switch {
	case m.via == byEnd:
		return fault.Conflict("A job leaves by being handed over or cancelled.")
	case m.via == byComing:
		return fault.Conflict("What is booked comes in on the page of its visit.")
	case m.reason && reason == "":
		return fault.Field("reason", "Say why in a few words.")
	}
	if stage == OnBench {
		if err := j.mayOpen(ctx, tx); err != nil {
			return err
		}
	}
	if stage == Ready {
		if err := j.mustNotWait(ctx, tx); err != nil {
			return err
		}
	}
	return j.reach(ctx, tx, by, stage, reason)
}

// reach records that the job reached an open stage.
func (j locked) reach(ctx context.Context, tx pgx.Tx, by history.By, stage, reason string) error {
	batch := &pgx.Batch{}
	j.record(batch, by, stage, reason)
	batch.Queue(`update job set stage = $2, version = version + 1,
			started_at = case when $2 = 'on the bench' then coalesce(started_at, $3) else started_at end,
			ready_at = case when $2 = 'ready for pickup' then $3::timestamptz end
		where id = $1`, j.id, stage, by.At)
	history.Queue(batch, by, j.event("job moved", map[string]any{"from": j.stage, "to": stage}))
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("move job: %w", db.Translate(err))
	}
	if stage == Ready {
		return tellReady(ctx, tx, by, j.visitID)
	}
	return nil
}

// record appends the stage change.
func (j locked) record(batch *pgx.Batch, by history.By, stage, reason string) {
	batch.Queue(`insert into stage_change (job_id, seq, stage, reason, actor_id, intent_id, at)
		select $1, coalesce(max(seq), 0) + 1, $2, $3, nullif($4, 0::bigint), $5, $6 from stage_change where job_id = $1`,
		j.id, stage, reason, by.Staff, by.Intent, by.At)
}
