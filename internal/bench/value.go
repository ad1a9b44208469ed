package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// Giving is a value with its source, for a torque or volume step that the spec
// sheet has none for.
type Giving struct {
	StepID     int64
	Value      quantity.Value
	MinusSI    float64
	PlusSI     float64
	Fluid      string // for a volume
	SourceKind string // spec.FromDocument, FromMeasuring or FromJudgement
	Source     string // the document and page; how it was measured; what it was compared with
	Confirmed  bool   // an unusual value is meant
}

// GiveValue stores a value and its source for one job's step. The newest one
// counts; it is refused once the step is signed and where the spec sheet has a
// value. An unusual value needs Confirmed.
func GiveValue(ctx context.Context, tx pgx.Tx, by history.By, g Giving) error {
	sheet, err := lockByStep(ctx, tx, by, g.StepID)
	if err != nil {
		return err
	}
	step := sheet.Find(g.StepID)
	if !open(sheet.Job.Stage) {
		return fault.Conflict("This job is " + sheet.Job.Stage + "; its sheet stays as it is.")
	}
	if err := step.refuseValue(g); err != nil {
		return err
	}
	var name string
	if err := tx.QueryRow(ctx, "select name from staff where id = $1", by.Staff).Scan(&name); err != nil {
		return fmt.Errorf("give a value: %w", err)
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into step_value (step_id, nominal_si, minus_si, plus_si, entered, shown_unit, fluid,
			source_kind, source, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) returning id`,
		step.ID, g.Value.SI, g.MinusSI, g.PlusSI, g.Value.Entered, g.Value.Unit, strings.TrimSpace(g.Fluid),
		g.SourceKind, g.sentence(name), by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("give a value: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, sheet.event("step value given", map[string]any{
		"step": step.ID, "key": step.Key, "value": id, "source": g.SourceKind,
	}))
}

// sentence is the source as it stands on the sheet from now on.
func (g Giving) sentence(name string) string {
	words := strings.TrimSpace(g.Source)
	return spec.Value{SourceKind: g.SourceKind, DocumentTitle: words, SourceWords: words, By: name}.Source()
}

// refuseValue says what is wrong with a value given for the step.
func (s Step) refuseValue(g Giving) error {
	switch {
	case s.Kind != procedure.Torque && s.Kind != procedure.Volume:
		return fault.Conflict("Only a torque or an amount is given at the bench.")
	case s.NominalSI != nil && !s.GivenHere:
		return fault.Conflict("The spec sheet has a value for this step.")
	case s.Done != nil:
		return fault.Conflict("This step is signed; cross its sign-off out before giving another value.")
	}
	f := fields{}
	switch {
	case !s.measuredIn(g.Value.Unit):
		f["value"] = "That is in " + string(g.Value.Unit) + ", which does not measure this."
	case g.Value.SI <= 0:
		f["value"] = "Type a value above zero."
	}
	if g.MinusSI < 0 || g.PlusSI < 0 || g.MinusSI > g.Value.SI {
		f["window"] = "The window begins below the value and not under zero, and ends above it."
	}
	if s.Kind == procedure.Volume && strings.TrimSpace(g.Fluid) == "" {
		f["fluid"] = "Say which fluid it is."
	}
	s.refuseSource(g, f)
	f.bound("fluid", g.Fluid)
	f.bound("source", g.Source)
	return f.err()
}

// refuseSource judges where a value comes from and whether it is likely.
func (s Step) refuseSource(g Giving, f fields) {
	key, known := spec.Find(s.SpecKey)
	words := strings.TrimSpace(g.Source)
	switch {
	case !slices.Contains([]string{spec.FromDocument, spec.FromMeasuring, spec.FromJudgement}, g.SourceKind):
		f["source_kind"] = "Say whether it comes from a document, a measurement or your judgement."
	case known && key.SourceFault(g.SourceKind) != "":
		f["source_kind"] = key.SourceFault(g.SourceKind)
	case g.SourceKind == spec.FromJudgement && words == "":
		f["source"] = "Say what you compared it with."
	case g.SourceKind == spec.FromDocument && words == "":
		f["source"] = "Say which document, and the page if it has one."
	}
	if question := key.Question(g.Value.SI, g.Value.Unit); known && question != "" && !g.Confirmed && f["value"] == "" {
		f["confirm"] = question
	}
}
