package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// Held is a sheet that a transaction has locked and keeps in step with what it
// signs, so that many presses in a row read it once. It is good until the
// transaction ends, crosses something out or gives a value.
type Held struct{ sheet Sheet }

// Hold locks the sheet of a job for a mechanic.
func Hold(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) (*Held, error) {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return nil, err
	}
	return &Held{sheet}, nil
}

// Sheet is the sheet with what has been signed on it so far.
func (h *Held) Sheet() Sheet { return h.sheet }

// Sign is the function Sign on the held sheet.
func (h *Held) Sign(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, g Signing) error {
	if err := h.of(by, g); err != nil {
		return err
	}
	so, err := h.sheet.sign(ctx, tx, by, zone, g)
	if err != nil {
		return err
	}
	return h.keep(ctx, tx, by, []*Signoff{so}, g)
}

// SignTogether is the function SignTogether on the held sheet.
func (h *Held) SignTogether(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, list []Signing) error {
	if err := h.of(by, list...); err != nil {
		return err
	}
	steps := make([]*Step, len(list))
	for i, g := range list {
		steps[i] = h.sheet.Find(g.StepID)
	}
	if err := refuseTogether(steps); err != nil {
		return err
	}
	var signed []*Signoff
	wrong := fields{}
	for i, g := range list {
		g.Role = RoleDone
		so, err := h.sheet.sign(ctx, tx, by, zone, g)
		if err := wrong.line(steps[i], err); err != nil {
			return err
		}
		if err == nil && len(list) > 1 {
			so.Together = &by.Intent
		}
		signed = append(signed, so)
	}
	if err := wrong.err(); err != nil {
		return err
	}
	return h.keep(ctx, tx, by, signed, list...)
}

// keep stores what has been signed and what follows from it.
func (h *Held) keep(ctx context.Context, tx pgx.Tx, by history.By, signed []*Signoff, list ...Signing) error {
	if err := h.sheet.store(ctx, tx, by, signed); err != nil {
		return err
	}
	if err := h.sheet.useParts(ctx, tx, by, signed); err != nil {
		return err
	}
	if err := h.sheet.recordFound(ctx, tx, by, list...); err != nil {
		return err
	}
	return h.proved(ctx, tx, by)
}

// MakeReady is the function MakeReady on the held sheet. The job is read again,
// for its note and its holds.
func (h *Held) MakeReady(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	if err := mechanicOnly(by); err != nil {
		return err
	}
	if h.sheet.Job, err = job.Get(ctx, tx, h.sheet.Job.ID); err != nil {
		return fmt.Errorf("make ready: %w", err)
	}
	return h.sheet.makeReady(ctx, tx, by)
}

// of refuses whoever does not work at the bench, and steps of another sheet.
func (h *Held) of(by history.By, list ...Signing) error {
	for _, g := range list {
		if h.sheet.Find(g.StepID) == nil {
			return fault.NotFound("There is no such step on this sheet.")
		}
	}
	return mechanicOnly(by)
}

func (h *Held) proved(ctx context.Context, tx pgx.Tx, by history.By) error {
	if err := h.sheet.proved(ctx, tx, by); err != nil {
		return err
	}
	if h.sheet.Proving() {
		h.sheet.Job.Stage = job.FinalCheck
	}
	return nil
}
