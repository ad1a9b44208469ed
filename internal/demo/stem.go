package demo

import (
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// giveStem gives a stem its torque from the leaflet of its maker, which is
// another than the fork's.
func (s *seeder) giveStem(a *acting, t *task, step bench.Step, at time.Time) (bench.Step, error) {
	value, err := quantity.Parse(quantity.KindTorque, "5", quantity.NewtonMetre)
	if err != nil {
		return step, err
	}
	err = a.then(s.atBench(t.mechanic), at.Add(-30*time.Second), func(by history.By) error {
		return bench.GiveValue(a.ctx, a.tx, by, bench.Giving{StepID: step.ID, Value: value, MinusSI: 0.5, PlusSI: 0.5,
			SourceKind: spec.FromDocument, Source: "leaflet of the stem, page 2"})
	})
	if err != nil {
		return step, err
	}
	if err := t.hold(a); err != nil {
		return step, err
	}
	return *t.held.Sheet().Find(step.ID), nil
}
