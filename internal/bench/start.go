package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// specMaximumPressure is the key of the pressure nothing is charged above.
const specMaximumPressure = "maximum pressure"

// Start begins the work on a job that waits for it: the steps of its services
// are merged, filled from the current spec sheet and copied, the job goes on
// the bench, and whoever starts it has it if nobody did.
func Start(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	switch {
	case len(sheet.Steps) > 0:
		return fault.Conflict("The bench sheet of this job exists already.")
	case !slices.Contains([]string{job.DroppedOff, job.Arrived, job.InQueue}, sheet.Job.Stage):
		return fault.Conflict("Work starts on a job that is here and waits for it; this one is " + sheet.Job.Stage + ".")
	}
	steps, err := prepare(ctx, tx, sheet.Job)
	if err != nil {
		return fmt.Errorf("start work: %w", err)
	}
	if err := insertSteps(ctx, tx, by, jobID, steps); err != nil {
		return fmt.Errorf("start work: %w", db.Translate(err))
	}
	if err := history.Append(ctx, tx, by, sheet.event("work started", map[string]any{"steps": len(steps)})); err != nil {
		return err
	}
	if sheet.Job.MechanicID == nil {
		if err := job.Assign(ctx, tx, by, jobID, sheet.Job.Version, &by.Staff); err != nil {
			return fmt.Errorf("start work: %w", err)
		}
	}
	if err := setAside(ctx, tx, by, jobID); err != nil {
		return fmt.Errorf("start work: %w", err)
	}
	if err := job.Move(ctx, tx, by, jobID, job.OnBench, ""); err != nil {
		return fmt.Errorf("start work: %w", err)
	}
	return nil
}

// prepare merges and fills the steps for the job as it is now.
func prepare(ctx context.Context, q db.Querier, j job.Job) ([]filled, error) {
	facts, sheet, err := known(ctx, q, j)
	if err != nil {
		return nil, err
	}
	services, err := wanted(ctx, q, j)
	if err != nil {
		return nil, err
	}
	blocks, err := procedure.Current(ctx, q, services)
	if err != nil {
		return nil, err
	}
	merged, err := procedure.Merge(services, blocks, facts)
	if err != nil {
		return nil, err
	}
	return fill(merged, sheet), nil
}

// known reads what is known of the job's unit: its model with the spec sheet in
// force, and over both how this unit is inside. Without any of them that is
// little.
func known(ctx context.Context, q db.Querier, j job.Job) (procedure.Facts, spec.Sheet, error) {
	inside, err := spec.InsideOf(ctx, q, j.UnitID)
	if err != nil {
		return procedure.Facts{}, spec.Sheet{}, err
	}
	facts := procedure.Facts{Kind: j.Kind, CameAs: j.CameAs, Spring: inside.Spring, Damper: inside.Damper}
	var sheet spec.Sheet
	if j.ModelID != nil {
		model, err := spec.GetModel(ctx, q, *j.ModelID)
		if err != nil {
			return procedure.Facts{}, spec.Sheet{}, err
		}
		facts = procedure.FactsOf(inside.On(model), j.CameAs)
		facts.Built = model.Spring
		if sheet, err = spec.Current(ctx, q, model.ID); err != nil && !errors.As(err, new(fault.NotFound)) {
			return procedure.Facts{}, spec.Sheet{}, err
		}
	}
	facts.Symptoms = j.Symptoms
	sheet = inside.Over(sheet, j.Kind)
	return facts.With(sheet), sheet, nil
}

// wanted picks the job's services out of those the shop offers.
func wanted(ctx context.Context, q db.Querier, j job.Job) ([]procedure.Service, error) {
	all, err := procedure.Services(ctx, q)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(s procedure.Service) bool { return !slices.Contains(j.Services, s.Code) }), nil
}

// filled is a step with the value the spec sheet has for it, if any.
type filled struct {
	procedure.Step
	quantity quantity.Kind
	unit     quantity.Unit
	value    *spec.Value
	rank     float64
	addedFor string // the code of the service, empty at the start
	again    int64  // the line that is asked again instead of a new one, 0 for none
}

// fill gives each step its kind of quantity, its unit and the sheet's value; an
// adjuster is counted in the form that the sheet counts it in. A
// step that records how the unit came gets no value, since nothing it finds is
// wrong.
func fill(steps []procedure.Step, sheet spec.Sheet) []filled {
	list := make([]filled, len(steps))
	for i, step := range steps {
		key, ok := spec.Find(step.SpecKey)
		if ok {
			key = key.InForm(sheet)
			step.SpecKey = key.ID
		}
		list[i].Step, list[i].rank = step, float64(i+1)
		if ok {
			list[i].quantity, list[i].unit = key.Kind, key.Unit
		} else if step.Kind == procedure.Torque {
			list[i].quantity, list[i].unit = quantity.KindTorque, quantity.NewtonMetre
		} else if step.Kind == procedure.Volume {
			list[i].quantity, list[i].unit = quantity.KindVolume, quantity.Millilitre
		}
		if v, ok := sheet.Value(step.SpecKey, step.Place); ok {
			list[i].unit = v.ShownUnit
			if step.Block != blockInspect && step.Block != blockStrip {
				list[i].value = &v
			}
		}
	}
	return list
}

// window is the value as copied to the step. A limit from above has no lower
// end, and a setting is the rider's, so it has no window.
func (f filled) window() (nominal *float64, minus, plus float64) {
	if f.value == nil {
		return nil, 0, 0
	}
	nominal, minus, plus = &f.value.NominalSI, f.value.MinusSI, f.value.PlusSI
	key, _ := spec.Find(f.SpecKey)
	switch {
	case key.Setting:
		minus, plus = 0, 0
	case key.NotOver:
		minus = *nominal
	case key.Form == "turns": // they are counted in quarters
		minus, plus = max(minus, quarterTurn), max(plus, quarterTurn)
	}
	return nominal, minus, plus
}

const quarterTurn = 0.25

func insertSteps(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, steps []filled) error {
	batch := &pgx.Batch{}
	for _, f := range steps {
		if f.again != 0 {
			queueAsked(batch, by, f.again, true, f.addedFor)
			continue
		}
		nominal, minus, plus := f.window()
		var source, fluid string
		var valueID *int64
		if f.value != nil {
			source, fluid = f.value.Source(), f.value.Fluid
			if f.value.OfUnit == "" {
				valueID = &f.value.ID
			}
		}
		grades := f.Grades
		if grades == nil {
			grades = []string{}
		}
		batch.Queue(`insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, caution, place, spec_key,
				quantity, nominal_si, minus_si, plus_si, shown_unit, fluid, source, grades, grp, stop_here, second_check,
				may_be_unknown, tools, parts, minutes, fasteners, unsure, step_id, sheet_value_id, added_for, actor_id, intent_id, at)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22,
				$23, $24, $25, $26, $27, $28, nullif($29, 0), $30, nullif($31, ''), nullif($32, 0), $33, $34)`,
			jobID, f.rank, f.Block, f.BlockTitle, f.Key, f.Kind, f.Title, f.Text, f.Caution, f.Place, f.SpecKey,
			f.quantity, nominal, minus, plus, f.unit, fluid, source, grades, f.Group, f.StopHere, f.SecondCheck,
			f.MayBeUnknown, f.Tools, f.Parts, f.Minutes, max(1, f.Fasteners), f.Unsure, f.ID, valueID, f.addedFor, by.Staff, by.Intent, by.At)
	}
	return tx.SendBatch(ctx, batch).Close()
}
