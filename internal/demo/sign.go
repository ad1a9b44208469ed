package demo

import (
	"fmt"
	"math"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// setting is how one rider's fork came.
type setting struct {
	psi                           float64
	rebound, compression, lockout int
	preload                       int
}

// settings are near the manual's for the rider's weight.
func (t *task) settings() setting {
	m := modelOf(t.unit.model)
	if m == nil {
		return setting{}
	}
	firmer := 0.02 * float64(len(t.unit.owner.name)%5-2) // as riders differ, by something that stays theirs
	return setting{
		psi:         math.Round(m.psi * (0.25 + 0.01*t.unit.owner.kg) * (1 + firmer)),
		rebound:     m.rebound + t.r.IntN(5) - 2,
		compression: m.compression + t.r.IntN(5) - 2,
		preload:     m.preload,
	}
}

// signPress signs what goes with one press, and lives through the flaws.
func (s *seeder) signPress(a *acting, t *task, p press, at time.Time, as setting) error {
	var list []bench.Signing
	for _, step := range p {
		g, err := s.answer(a, t, step, at, as)
		if err != nil {
			return err
		}
		list = append(list, g)
	}
	who := s.atBench(t.mechanic)
	if t.flaws.crossed && p[0].Key == "Z3" {
		if err := s.signWrongly(a, t, at, list[0]); err != nil {
			return err
		}
	}
	err := a.then(who, at, func(by history.By) error {
		if len(list) > 1 {
			return t.held.SignTogether(a.ctx, a.tx, by, zone, list)
		}
		return t.held.Sign(a.ctx, a.tx, by, zone, list[0])
	})
	if err != nil || !p[0].SecondCheck || t.flaws.unchecked {
		return err
	}
	return a.then(s.second(t), at.Add(time.Minute), func(by history.By) error {
		return t.held.Sign(a.ctx, a.tx, by, zone, bench.Signing{StepID: p[0].ID, Role: bench.RoleChecked})
	})
}

// second is somebody else who works at the bench.
func (s *seeder) second(t *task) worker {
	if t.mechanic == "Ines" {
		return s.atBench("Marit")
	}
	return s.atBench("Ines")
}

// signWrongly signs a step and crosses it out again.
func (s *seeder) signWrongly(a *acting, t *task, at time.Time, g bench.Signing) error {
	who := s.atBench(t.mechanic)
	err := a.then(who, at.Add(-90*time.Second), func(by history.By) error { return t.held.Sign(a.ctx, a.tx, by, zone, g) })
	if err != nil {
		return err
	}
	wrong := t.held.Sheet().Find(g.StepID).Done.ID
	err = a.then(who, at.Add(-time.Minute), func(by history.By) error {
		return bench.CrossOut(a.ctx, a.tx, by, t.id, wrong, "The oil went into the other leg first.")
	})
	if err != nil {
		return err
	}
	return t.hold(a)
}

// hold reads the sheet, again after something that was no sign-off.
func (t *task) hold(a *acting) (err error) {
	t.held, err = bench.Hold(a.ctx, a.tx, a.by, t.id)
	return err
}

// answer is what the mechanic states for a step.
func (s *seeder) answer(a *acting, t *task, step bench.Step, at time.Time, as setting) (bench.Signing, error) {
	g := bench.Signing{StepID: step.ID, Found: t.foundAt(step)}
	if len(step.Grades) > 0 {
		g.Grade = t.grade(step)
	}
	switch step.Kind {
	case procedure.Torque:
		return s.torque(a, t, g, step, at)
	case procedure.Volume:
		return t.volume(g, step)
	case procedure.Reading:
		return t.reading(g, step, as)
	case procedure.Count:
		count := float64(as.count(step))
		g.Count = &count
		if step.Named() {
			g.Grade = step.Grades[min(as.lockout, len(step.Grades)-1)]
		}
	}
	return g, nil
}

func (t *task) grade(step bench.Step) string {
	if step.Key == "W5" && t.ago == nil && lots(1<<24+uint64(t.id)).IntN(3) == 0 {
		return "new" // wipers are not new at every service
	}
	if step.Kind == procedure.Fit && t.r.IntN(6) > 0 {
		return step.Grades[0]
	}
	switch step.Key {
	case "A8", "A10", "C3", "C4", "C5", "C6", "D2.3", "U8": // nobody leaves with these wrong
		return step.Grades[0]
	case "V9": // the mildest verdict that nothing stands against
		for _, verdict := range step.Grades {
			if t.held.Sheet().Belied(verdict) == "" {
				return verdict
			}
		}
	case "A11":
		if t.complaint == "" {
			return step.Grades[0] // no complaint
		}
		return step.Grades[1] // felt here too
	}
	if n := t.r.IntN(10); n > 6 {
		return step.Grades[1]
	}
	if step.Key[:1] == "S" && step.Kind == procedure.Reading {
		return step.Grades[2] // about right
	}
	return step.Grades[0]
}

// torque is set on the best wrench to the value of the sheet, or of the stem.
func (s *seeder) torque(a *acting, t *task, g bench.Signing, step bench.Step, at time.Time) (bench.Signing, error) {
	if step.Key == "R5" && step.NeedsValue() {
		given, err := s.giveStem(a, t, step, at)
		if err != nil {
			return g, err
		}
		step = given
	}
	choices, err := bench.Wrenches(a.ctx, a.tx, step, at.In(zone))
	if err != nil {
		return g, err
	}
	if len(choices) == 0 || !choices[0].Usable {
		return g, fmt.Errorf("no wrench serves for step %s", step.Key)
	}
	window, _ := step.Window()
	g.ToolID = choices[0].Tool.ID
	for _, m := range bench.Marks(choices[0].Tool, window) {
		if m.Nearest {
			v, err := quantity.Parse(quantity.KindTorque, m.Entered(), m.Unit)
			g.Value = &v
			return g, err
		}
	}
	g.Value, err = enter(step, *step.NominalSI)
	return g, err
}

func (t *task) volume(g bench.Signing, step bench.Step) (bench.Signing, error) {
	si := *step.NominalSI
	if t.flaws.outside && step.Key == "Z4" {
		si += step.PlusSI + 1e-6
		g.Reason = "New foams, put in dry: they take up the rest."
	}
	var err error
	g.Value, err = enter(step, si)
	return g, err
}

func (t *task) reading(g bench.Signing, step bench.Step, as setting) (bench.Signing, error) {
	var err error
	switch {
	case step.Key == keyOvernight:
		var v quantity.Value
		v, err = quantity.Parse(quantity.KindPressure, "1", quantity.PSI)
		g.Value = &v
	case step.Quantity == quantity.KindPressure && step.Key[:1] == "A" && t.flaws.unknown:
		g.Outcome = bench.OutcomeUnknown
	case step.Quantity == quantity.KindPressure:
		psi := as.psi
		if t.flaws.changed && step.Key[:1] == "V" {
			psi += 3
		}
		var v quantity.Value
		v, err = quantity.Parse(quantity.KindPressure, text(psi), quantity.PSI)
		g.Value = &v
	case step.InWords():
		g.Words = t.done
	case step.NominalSI != nil:
		g.Value, err = enter(step, *step.NominalSI)
	}
	return g, err
}

// enter types a value as the step shows it.
func enter(step bench.Step, si float64) (*quantity.Value, error) {
	v, err := quantity.Parse(step.Quantity, quantity.FormatNumber(step.Quantity, si, step.ShownUnit), step.ShownUnit)
	return &v, err
}

// count is the setting of the adjuster that the step is about.
func (as setting) count(step bench.Step) int {
	switch step.SpecKey {
	case "rebound clicks":
		return as.rebound
	case "compression clicks":
		return as.compression
	case "lockout positions":
		return as.lockout
	case "preload turns":
		return as.preload
	}
	if step.NominalSI != nil {
		return int(*step.NominalSI)
	}
	return 0
}
