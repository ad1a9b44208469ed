package simulate

import (
	"context"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// signed is a step and when it was done.
type signed struct {
	step bench.Step
	at   time.Time
}

// sign signs steps of a fork's sheet, as their mechanic does them.
func (w *world) sign(ctx context.Context, b *mechanic, f *fork, list []signed) error {
	if len(list) == 0 {
		return nil
	}
	return w.act(ctx, b.by, func(tx pgx.Tx, by history.By) error {
		held, err := bench.Hold(ctx, tx, by, f.job)
		if err != nil {
			return err
		}
		for _, s := range list {
			by.At = s.at.UTC()
			if err := held.Sign(ctx, tx, by, w.zone, w.answer(held.Sheet(), s.step, f)); err != nil {
				return fmt.Errorf("sign %s: %w", s.step.Key, err)
			}
			if !s.step.SecondCheck {
				continue
			}
			second := w.other(b).by
			second.At, second.Intent = by.At, by.Intent
			if err := held.Sign(ctx, tx, second, w.zone, bench.Signing{StepID: s.step.ID, Role: bench.RoleChecked}); err != nil {
				return fmt.Errorf("check %s: %w", s.step.Key, err)
			}
		}
		return nil
	})
}

// other is somebody else at the bench, for second checks.
func (w *world) other(b *mechanic) *mechanic {
	for _, o := range w.benches {
		if o != b {
			return o
		}
	}
	return b
}

// answer is what is stated for a step when nothing is wrong.
func (w *world) answer(sheet bench.Sheet, step bench.Step, f *fork) bench.Signing {
	g := bench.Signing{StepID: step.ID}
	if len(step.Grades) > 0 {
		g.Grade = step.Grades[0]
	}
	switch {
	case step.Verdict():
		minutes := 5 * math.Max(1, math.Round(f.minutes/5))
		g.Count = &minutes
		for _, verdict := range step.Grades {
			if sheet.Belied(verdict) == "" {
				g.Grade = verdict
				break
			}
		}
	case step.Kind == procedure.Torque:
		g.ToolID = w.wrenches[0]
		if *step.NominalSI > 15 {
			g.ToolID = w.wrenches[1]
		}
		g.Value = stated(step)
	case step.Kind == procedure.Volume:
		g.Value = stated(step)
	case step.Kind == procedure.Count && !step.Named():
		count := math.Round(usual(step))
		g.Count = &count
	case step.Kind == procedure.Reading && step.InWords():
		g.Words = "Done as asked."
	case step.Kind == procedure.Reading && len(step.Grades) == 0:
		g.Value = stated(step)
	}
	return g
}

func stated(step bench.Step) *quantity.Value {
	return &quantity.Value{SI: usual(step), Unit: step.ShownUnit, Entered: "as named"}
}

// usual is the value of the sheet, else the middle of what is usual.
func usual(step bench.Step) float64 {
	if step.NominalSI != nil {
		return *step.NominalSI
	}
	key, _ := spec.Find(step.SpecKey)
	return (key.UsualLow + key.UsualHigh) / 2
}
