package web

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/templates"
)

// line is one of the lines of a press as it was answered.
type line struct {
	step    *bench.Step
	signing bench.Signing
}

// lines reads the lines that were on the page, in the order of the sheet.
func (s stepSent) lines() []line {
	var list []line
	for i := range s.sheet.Steps {
		step := &s.sheet.Steps[i]
		field := func(name string) string { return bench.Line(step.ID, name) }
		if s.values.Has(field("outcome")) {
			list = append(list, line{step, s.signing(step, field)})
		}
	}
	return list
}

// later reports whether the line is left for another press: by its answer, or
// because the number or grade it is done with is not in yet.
func (l line) later() bool {
	g := l.signing
	needs := len(l.step.Grades) > 0 && g.Grade == "" || l.step.Kind == procedure.Count && !l.step.Named() && g.Count == nil ||
		l.step.Kind == procedure.Reading && len(l.step.Grades) == 0 && g.Value == nil && g.Words == ""
	return g.Outcome == templates.AnswerLater || g.Outcome == bench.OutcomeDone && len(g.Found) == 0 && needs
}

// signTogether signs the lines that are answered and filled in.
func signTogether(s stepSent) stepAct {
	var list []bench.Signing
	none := true
	for _, l := range s.lines() {
		none = none && l.signing.Outcome == templates.AnswerLater
		if !l.later() {
			list = append(list, l.signing)
		}
	}
	return func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error {
		if none {
			return nil
		}
		if err := bench.SignTogether(ctx, tx, by, s.base.Prefs.Zone, list); err != nil {
			return err
		}
		for _, g := range list {
			field := func(name string) string { return bench.Line(g.StepID, name) }
			if err := s.proposeLine(ctx, tx, by, g, field); err != nil {
				return err
			}
		}
		return nil
	}
}

// stillOpen is the step, or where that was signed meanwhile the first open line
// that shared its press, so that what was answered to the others is not lost.
func stillOpen(sheet bench.Sheet, step *bench.Step) *bench.Step {
	for _, line := range sheet.Together(step) {
		if line.Done == nil {
			return line
		}
	}
	return step
}

// goOn is where a press on the form called name leads: to the other side of
// the same thing, to a line that was forgotten, else to the next open step
// behind what was answered, so that what was left on purpose waits; at the end
// to the whole sheet.
func (s stepSent) goOn(name string, sheet bench.Sheet) string {
	next, _ := sheet.Next()
	switch name {
	case "sign":
		next = sheet.After(s.step.Seq)
		if twin := sheet.Twin(s.step); twin != nil && twin.Done == nil && sheet.BlockedBy(twin) == nil {
			next = twin
		}
	case "begin", "allow":
		next = s.step
	case "value":
		next = sheet.After(s.step.Seq - 1)
	case "together":
		next = s.behindLines(sheet)
	}
	if next != nil && next.ID == s.step.ID && s.text("outcome") == templates.AnswerLater {
		return benchPath(sheet.Job.ID)
	}
	return pathTo(sheet, next)
}

// pathTo leads to a step of the sheet; nil is its end.
func pathTo(sheet bench.Sheet, step *bench.Step) string {
	if step == nil {
		return benchPath(sheet.Job.ID) + "#ready"
	}
	return stepPath(sheet.Job.ID, step.ID)
}

func (s stepSent) behindLines(sheet bench.Sheet) *bench.Step {
	lines := s.lines()
	forgotten := slices.IndexFunc(lines, func(l line) bool {
		return l.signing.Outcome != templates.AnswerLater && sheet.Find(l.step.ID).Done == nil
	})
	switch {
	case len(lines) == 0:
		return sheet.After(s.step.Seq - 1)
	case forgotten >= 0:
		return sheet.After(lines[forgotten].step.Seq - 1)
	}
	return sheet.After(lines[len(lines)-1].step.Seq)
}
