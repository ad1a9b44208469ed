package bench

import (
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
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/tool"
)

// Sign stores one sign-off. A step that is signed already is a Conflict that
// says by whom and when, by the clock of zone. The first sign-off of the final
// check, everything before it being live, moves the job there.
func Sign(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, g Signing) error {
	sheet, err := lockByStep(ctx, tx, by, g.StepID)
	if err != nil {
		return err
	}
	return (&Held{sheet}).Sign(ctx, tx, by, zone, g)
}

// SignTogether stores a sign-off for each of at most six plain lines of one
// block, all or none. They share the intent's id as their group. Every
// field that is wrong is named by its line, such as "line12.grade" for step 12.
func SignTogether(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, list []Signing) error {
	if len(list) == 0 {
		return fault.Conflict("Nothing is answered and filled in yet.")
	}
	sheet, err := lockByStep(ctx, tx, by, list[0].StepID)
	if err != nil {
		return err
	}
	return (&Held{sheet}).SignTogether(ctx, tx, by, zone, list)
}

// sign puts a sign-off on the sheet as it is read; store writes it down.
func (s *Sheet) sign(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, g Signing) (*Signoff, error) {
	step := s.Find(g.StepID)
	if g.Role == "" {
		g.Role = RoleDone
	}
	if err := s.refuse(step, g.Role, by.At, zone); err != nil {
		return nil, err
	}
	if g.Role == RoleDone && g.Outcome == OutcomeNot {
		if err := s.refuseNot(step); err != nil {
			return nil, err
		}
	}
	if err := s.refuseVerdict(step, g); err != nil {
		return nil, err
	}
	so, err := settleFor(ctx, tx, by, zone, step, g)
	if err != nil {
		return nil, err
	}
	if err := s.settleWait(step, &so, g.Reason, by.At); err != nil {
		return nil, err
	}
	so.ActorID, so.At = by.Staff, by.At
	if so.Role == RoleDone {
		step.Done = &so
	} else {
		step.Checked = &so
	}
	return &so, nil
}

func settleFor(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, step *Step, g Signing) (Signoff, error) {
	if g.Role == RoleChecked {
		so, err := step.settleCheck(g, by)
		if err == nil && so.Alone {
			err = refuseEarly(ctx, tx, by, zone, step)
		}
		return so, err
	}
	var choices []tool.Choice
	if step.Kind == procedure.Torque && !step.NeedsValue() {
		var err error
		if choices, err = Wrenches(ctx, tx, *step, by.At.In(zone)); err != nil {
			return Signoff{}, err
		}
	}
	g.owner = by.Has("owner")
	return step.settle(g, choices)
}

// Wrenches judges the shop's torque tools for a torque step that has its
// value, best first.
func Wrenches(ctx context.Context, q db.Querier, step Step, today time.Time) ([]tool.Choice, error) {
	w, ok := step.Window()
	if !ok {
		return nil, nil
	}
	tools, err := tool.List(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("wrenches for a step: %w", err)
	}
	return step.allow(tool.Choices(tools, w.Nominal, w.Minus, w.Plus, today)), nil
}

// store writes sign-offs of one press and their events, and numbers them.
func (s *Sheet) store(ctx context.Context, tx pgx.Tx, by history.By, list []*Signoff) error {
	batch := &pgx.Batch{}
	for _, so := range list {
		insertSignoff(batch, by, s.Find(so.StepID), so)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("store sign-off: %w", db.Translate(err))
	}
	events := make([]history.Event, len(list))
	for i, so := range list {
		events[i] = s.event("step signed", map[string]any{
			"step": so.StepID, "key": s.Find(so.StepID).Key, "signoff": so.ID, "role": so.Role, "in_window": so.InWindow, "alone": so.Alone,
		})
	}
	return history.Append(ctx, tx, by, events...)
}

func insertSignoff(batch *pgx.Batch, by history.By, step *Step, so *Signoff) {
	var ofID, ofActor *int64
	if so.Role == RoleChecked {
		ofID, ofActor = &step.Done.ID, &step.Done.ActorID
	}
	batch.Queue(`insert into signoff (step_id, role, outcome, how, value_si, count, grade, entered, shown_unit,
			tool_id, fluid, in_window, reason, together, replaces, of_id, of_actor_id, alone, actor_id, intent_id, at, instrument)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, nullif($15, 0), $16, $17, $18, $19, $20, $21, $22)
		returning id`,
		so.StepID, so.Role, so.Outcome, so.How, so.ValueSI, so.Count, so.Grade, so.Entered, so.ShownUnit,
		so.ToolID, so.Fluid, so.InWindow, so.Reason, so.Together, step.replaces(so.Role), ofID, ofActor, so.Alone,
		by.Staff, by.Intent, by.At, so.Instrument).QueryRow(func(row pgx.Row) error { return row.Scan(&so.ID) })
}

// proved moves the job to its final check once that has begun.
func (s Sheet) proved(ctx context.Context, tx pgx.Tx, by history.By) error {
	if s.Job.Stage != job.OnBench || !s.Proving() {
		return nil
	}
	if err := job.Move(ctx, tx, by, s.Job.ID, job.FinalCheck, ""); err != nil {
		return fmt.Errorf("begin the final check: %w", err)
	}
	return nil
}

// CrossOut answers a wrong sign-off of the job with a reason. The original stays. With it
// go, for the same reason, the second check of what was done and, for a
// stop-here, every live sign-off after it. The stage stays as it is.
func CrossOut(ctx context.Context, tx pgx.Tx, by history.By, jobID, signoffID int64, reason string) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	if !sheet.has(signoffID) {
		return fault.NotFound("There is no such sign-off on this job.")
	}
	reason = strings.TrimSpace(reason)
	undone := sheet.Undone(signoffID)
	switch {
	case sheet.Job.Stage == job.Ready:
		return fault.Conflict("This job is ready for pickup; take it back to its final check first.")
	case !open(sheet.Job.Stage):
		return fault.Conflict("This job is " + sheet.Job.Stage + "; its sheet stays as it is.")
	case len(undone) == 0:
		return fault.Conflict("This sign-off is crossed out already.")
	case reason == "":
		return fault.Field("reason", "Say why it is crossed out.")
	case utf8.RuneCountInString(reason) > mostFound:
		return fault.Field("reason", fmt.Sprintf("Write at most %d characters.", mostFound))
	}
	parts := false
	for _, so := range undone {
		if err := sheet.crossOut(ctx, tx, by, so, reason, ""); err != nil {
			return err
		}
		step := sheet.Find(so.StepID)
		parts = parts || step != nil && step.TakesParts()
	}
	if !parts {
		return nil
	}
	return setAside(ctx, tx, by, jobID)
}

// has reports whether a sign-off is of this sheet, live or crossed out.
func (s Sheet) has(signoffID int64) bool {
	return slices.ContainsFunc(s.Steps, func(step Step) bool {
		return slices.ContainsFunc(step.live(), func(so Signoff) bool { return so.ID == signoffID }) ||
			slices.ContainsFunc(step.Crossed, func(c Crossed) bool { return c.ID == signoffID })
	})
}

// crossOut stores one crossing-out, by hand or for an added service.
func (s Sheet) crossOut(ctx context.Context, tx pgx.Tx, by history.By, so Signoff, reason, added string) error {
	var id int64
	err := tx.QueryRow(ctx, `insert into cross_out (signoff_id, step_id, role, reason, added_service, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, ''), nullif($6, 0), $7, $8) returning id`,
		so.ID, so.StepID, so.Role, reason, added, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("cross out: %w", db.Translate(err))
	}
	if step := s.Find(so.StepID); step != nil && so.Role == RoleDone && step.TakesParts() {
		if err := partslist.Unuse(ctx, tx, by, s.Job.ID, so.StepID, step.Key, reason); err != nil {
			return err
		}
	}
	return history.Append(ctx, tx, by, s.event("sign-off crossed out", map[string]any{
		"step": so.StepID, "signoff": so.ID, "role": so.Role,
	}))
}
