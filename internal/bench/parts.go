package bench

import (
	"context"
	"math"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
)

// TakesParts reports whether signing the step takes something off the shelf.
func (s Step) TakesParts() bool { return s.Kind == procedure.Fit || s.Kind == procedure.Volume }

// microlitres is a volume in m³ as the ledger counts it.
func microlitres(si float64) int64 { return int64(math.Round(si * 1e9)) }

// setAside sets the parts and fluids aside that the sheet of a job names.
func setAside(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) error {
	if err := job.SetPartsAside(ctx, tx, by, jobID); err != nil {
		return err
	}
	s, err := Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	var pours []partslist.Pour
	for _, step := range s.Steps {
		if step.Kind == procedure.Volume && step.Done == nil && step.NominalSI != nil && step.Fluid != "" {
			pours = append(pours, partslist.Pour{Step: step.Key, Fluid: step.Fluid, Qty: microlitres(*step.NominalSI)})
		}
	}
	return job.Pour(ctx, tx, by, jobID, pours)
}

// useParts takes off the shelf what signed steps took.
func (s Sheet) useParts(ctx context.Context, tx pgx.Tx, by history.By, signed []*Signoff) error {
	for _, so := range signed {
		step := s.Find(so.StepID)
		if so.Role != RoleDone || !step.TakesParts() {
			continue
		}
		if so.Outcome != OutcomeDone {
			if err := partslist.PutBack(ctx, tx, s.Job.ID, step.Key); err != nil {
				return err
			}
			continue
		}
		d := partslist.Signed{Job: s.Job.ID, StepID: so.StepID, Step: step.Key, Choice: choiceOf(so.Grade), Condition: so.Grade}
		if step.Kind == procedure.Volume {
			if so.ValueSI == nil || *so.ValueSI <= 0 {
				continue
			}
			d.Fluid, d.Qty = so.Fluid, microlitres(*so.ValueSI)
		}
		if err := partslist.Use(ctx, tx, by, d); err != nil {
			return err
		}
		if slices.ContainsFunc(s.Job.Holds, func(h job.Wait) bool { return h.ForNeeds }) {
			// It waited for what is in the fork now, whatever the ledger had.
			if err := job.ChangeNeeds(ctx, tx, by, s.Job.ID, func() error { return nil }); err != nil {
				return err
			}
		}
	}
	return nil
}

// choiceOf is what becomes of the old part by the grade of a fit step; empty where
// it says nothing of that.
func choiceOf(grade string) string {
	switch {
	case strings.HasPrefix(grade, "kept"):
		return partslist.Kept
	case grade == "customer’s own":
		return partslist.CustomerOwn
	case grade == "new":
		return partslist.New
	}
	return ""
}
