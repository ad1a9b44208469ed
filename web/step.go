package web

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/stock"
	"damperdesk/internal/tool"
	"damperdesk/templates"
)

func (a *App) benchStep(w http.ResponseWriter, r *http.Request) error {
	jobID, stepID, err := a.stepIDs(r)
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Seen = r.Header.Get("Page-Seen")
		return a.stepPage(r.Context(), base, jobID, stepID, "", r.URL.Query().Get("tool"))
	})
}

func (a *App) stepIDs(r *http.Request) (jobID, stepID int64, err error) {
	if jobID, err = a.id(r, "job"); err != nil {
		return 0, 0, err
	}
	stepID, err = a.id(r, "step")
	return jobID, stepID, err
}

// stepPage shows what was typed in the form that was sent, if any, and the keys
// of the torque tool that was picked, if any.
func (a *App) stepPage(ctx context.Context, base templates.Base, jobID, stepID int64, sent, picked string) (templ.Component, error) {
	page := templates.StepPage{}
	base.Live = "job:" + strconv.FormatInt(jobID, 10)
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Sheet, page.Parked, err = bench.Open(ctx, tx, jobID, base.Person.ID); err != nil {
			return err
		}
		if page.Step, err = stepOf(page.Sheet, stepID); err != nil {
			return err
		}
		if sent == "together" {
			page.Step = stillOpen(page.Sheet, page.Step)
		}
		page.Lines = page.Sheet.Together(page.Step)
		return readBeside(ctx, tx, &page, base)
	})
	if err != nil {
		return nil, err
	}
	page.Opened, base.Seen = opened(base.Seen, page.Sheet)
	chooseTool(&page, &base, picked)
	base.Title = "Step " + strconv.Itoa(page.Step.Seq) + ", " + page.Step.Title
	form := func(names ...string) templates.Base {
		return base.Alone(uuid.NewString(), slices.Contains(names, sent))
	}
	page.Base = form("sign", "together")
	page.Value, page.Cross, page.Allow = form("value"), form("cross-out"), form("allow")
	page.Problem, page.Errors = base.Problem, base.Errors
	page.Among = sent == "together"
	page.Twin = page.Sheet.Twin(page.Step)
	page.Blocker = page.Sheet.BlockedBy(page.Step)
	return templates.BenchStep(page), nil
}

// readBeside reads what a step is signed with, and what is at hand beside it.
func readBeside(ctx context.Context, tx pgx.Tx, page *templates.StepPage, base templates.Base) (err error) {
	if page.Before, err = bench.EarlierAt(ctx, tx, page.Sheet, page.Lines); err != nil {
		return err
	}
	if page.Charted, err = bench.ChartedAt(ctx, tx, page.Sheet, base.Prefs.Unit(quantity.KindPressure)); err != nil {
		return err
	}
	if err := readShelf(ctx, tx, page); err != nil {
		return err
	}
	switch page.Step.Kind {
	case procedure.Torque:
		page.Choices, err = bench.Wrenches(ctx, tx, *page.Step, base.Now.In(base.Prefs.Zone))
	case procedure.Volume:
		page.Fluids, err = bench.Fluids(ctx, tx)
	}
	return err
}

// readShelf reads what the lines of a press take of the shelf.
func readShelf(ctx context.Context, tx pgx.Tx, page *templates.StepPage) (err error) {
	if !slices.ContainsFunc(page.Lines, func(s *bench.Step) bool { return s.TakesParts() }) {
		return nil
	}
	if page.Needs, err = partslist.OfJobs(ctx, tx, page.Sheet.Job.ID); err != nil || page.Step.Kind != procedure.Volume {
		return err
	}
	var items []int64
	for _, n := range page.Needs {
		items = append(items, n.ItemID)
	}
	page.Bottles, err = stock.OpenBottles(ctx, tx, items...)
	return err
}

// opened is the newest sign-off when the page was opened: as it says itself
// when it asks again, else the newest of all.
func opened(seen string, sheet bench.Sheet) (int64, string) {
	newest, err := strconv.ParseInt(seen, 10, 64)
	if err != nil {
		newest = 0
		for _, step := range sheet.Steps {
			if step.Done != nil {
				newest = max(newest, step.Done.ID)
			}
		}
	}
	return newest, strconv.FormatInt(newest, 10)
}

// chooseTool shows the keys of the tool that was picked, else of the one to
// begin with. Where the setting is asked for again, the mark nearest to the
// torque is chosen in place of what was sent.
func chooseTool(page *templates.StepPage, base *templates.Base, id string) {
	if begin, ok := page.Sheet.ToolFor(page.Choices); ok {
		page.Tool = &begin
	}
	picked := toolOf(page.Choices, id)
	if picked == nil {
		return
	}
	page.Tool = picked
	if base.Error("value") == "" || base.Typed.Get("keys") == base.Typed.Get("tool") {
		return
	}
	base.Typed = maps.Clone(base.Typed)
	base.Typed.Del("value")
	base.Typed.Del("value-other")
	w, _ := page.Step.Window()
	for _, m := range bench.Marks(picked.Tool, w) {
		if m.Nearest {
			base.Typed.Set("value", m.Entered())
		}
	}
}

// toolOf finds a tool by its id as sent, nil for none.
func toolOf(choices []tool.Choice, id string) *tool.Choice {
	i := slices.IndexFunc(choices, func(c tool.Choice) bool { return strconv.FormatInt(c.Tool.ID, 10) == id })
	if i < 0 {
		return nil
	}
	return &choices[i]
}

// stepSent is a form of a step as it came in.
type stepSent struct {
	*form
	base  templates.Base
	sheet bench.Sheet
	step  *bench.Step
	tools []tool.Choice // for a torque
}

// stepAct is what one form of a step does.
type stepAct func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error

// onStep makes the handler of the form called name: read reads the form before
// anything is written.
func onStep(name string, read func(s stepSent) stepAct) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		jobID, stepID, err := a.stepIDs(r)
		if err != nil {
			return err
		}
		s, err := a.stepSent(r, jobID, stepID)
		if err != nil {
			return err
		}
		if _, err := a.keepPictures(r, s.form, s.shot); err != nil {
			return err
		}
		do := read(s)
		return a.take(w, r, s.form, "step: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			if err := do(ctx, tx, by, s); err != nil {
				return "", err
			}
			sheet, err := bench.Get(ctx, tx, jobID)
			return s.goOn(name, sheet), err
		}, func(base templates.Base) (templ.Component, error) {
			return a.stepPage(r.Context(), base, jobID, stepID, name, s.text("tool"))
		})
	}
}

func (a *App) stepSent(r *http.Request, jobID, stepID int64) (s stepSent, err error) {
	if s.form, err = readForm(r); err != nil {
		return s, err
	}
	if s.base, err = a.base(r, ""); err != nil {
		return s, err
	}
	if s.sheet, err = bench.Get(r.Context(), a.pool, jobID); err != nil {
		return s, err
	}
	if s.step, err = stepOf(s.sheet, stepID); err != nil || s.step.Kind != procedure.Torque {
		return s, err
	}
	s.tools, err = bench.Wrenches(r.Context(), a.pool, *s.step, s.base.Now.In(s.base.Prefs.Zone))
	return s, err
}

// signStep reads the form of one step.
func signStep(s stepSent) stepAct {
	if s.text("outcome") == templates.AnswerLater {
		return func(context.Context, pgx.Tx, history.By, stepSent) error { return nil }
	}
	g := s.signing(s.step, func(field string) string { return field })
	g.How, g.Fluid, g.Instrument = s.text("how"), s.text("fluid"), s.text("instrument")
	if s.text("press") == "unknown" {
		g.Outcome = bench.OutcomeUnknown
	}
	if s.step.Kind == procedure.Torque {
		s.torque(&g)
	}
	return func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error {
		if s.step.Verdict() && g.Outcome != bench.OutcomeNot {
			return s.signVerdict(ctx, tx, by, g)
		}
		if err := bench.Sign(ctx, tx, by, s.base.Prefs.Zone, g); err != nil {
			return err
		}
		return s.proposeLine(ctx, tx, by, g, plainly)
	}
}

// signVerdict keeps the rider's note with the verdict, so that it is not
// forgotten.
func (s stepSent) signVerdict(ctx context.Context, tx pgx.Tx, by history.By, g bench.Signing) error {
	note := s.text("note")
	if note == "" {
		s.wrong("note", "Write the rider two or three sentences.")
	}
	if err := s.with(bench.Sign(ctx, tx, by, s.base.Prefs.Zone, g)); err != nil {
		return err
	}
	return job.SetRiderNote(ctx, tx, by, s.sheet.Job.ID, note)
}

// torque reads which wrench it was; the hand stands among them.
func (s stepSent) torque(g *bench.Signing) {
	if s.text("tool") == "hand" {
		g.How, g.Value = bench.HowByHand, nil
		return
	}
	g.ToolID = s.number("tool")
	if t := toolOf(s.tools, s.text("tool")); t != nil && g.Value != nil && !s.meantFor(t.Tool, g.Value.SI) {
		words := " is marked in " + string(t.Tool.Unit) + ": choose what it was set to."
		if !bench.Clicks(t.Tool) {
			words = " shows " + string(t.Tool.Unit) + ": type what it reads."
		}
		s.wrong("value", t.Tool.Name+words)
	}
}

// meantFor reports whether the number sent, si N·m, is one of that tool and not
// of the one whose keys were shown.
func (s stepSent) meantFor(t tool.Tool, si float64) bool {
	shown := toolOf(s.tools, s.text("keys"))
	pressed := shown != nil && bench.Clicks(shown.Tool) && s.text("value-other") == ""
	withUnit := strings.ContainsFunc(s.text(s.filled("value")), unicode.IsLetter)
	switch {
	case shown != nil && shown.Tool.ID == t.ID, withUnit && !pressed:
		return true
	case shown == nil:
		return s.unit(s.step) == t.Unit
	case bench.Clicks(shown.Tool) != bench.Clicks(t), shown.Tool.Unit != t.Unit:
		return false
	}
	return !pressed || bench.OnMark(t, si)
}

// signing reads the fields that every line may have, each by the name that
// field gives it. The numbers of a line that is not done, or does not apply,
// are not looked at.
func (s stepSent) signing(step *bench.Step, field func(string) string) bench.Signing {
	g := bench.Signing{
		StepID: step.ID, Outcome: s.text(field("outcome")), Grade: s.text(field("grade")), Reason: s.text(field("reason")),
		Words: s.text(field("words")),
	}
	s.found(&g, step, field)
	if step.Kind == procedure.Picture && (g.Outcome == "" || g.Outcome == bench.OutcomeDone) {
		g.Reason = s.text(field("without"))
	}
	if g.Outcome == templates.AnswerLater || g.Outcome == bench.OutcomeNot {
		return g
	}
	if name := s.filled(field("value")); name != "" && len(quantity.Units(step.Quantity)) > 0 {
		g.Value = s.quantity(name, step.Quantity, s.unit(step))
	}
	if name := s.filled(field("count")); name != "" {
		g.Count = s.decimal(name, quantity.ParseNumber)
	}
	return g
}

// filled is the field that counts of a row of keys: the one for another
// number before the keys; empty when neither is filled.
func (s stepSent) filled(name string) string {
	for _, n := range []string{name + "-other", name} {
		if s.text(n) != "" {
			return n
		}
	}
	return ""
}

// unit is what a number typed without its unit is in.
func (s stepSent) unit(step *bench.Step) quantity.Unit {
	if unit := quantity.Unit(s.text("unit")); unit.Kind() == step.Quantity && unit != "" {
		return unit
	}
	return s.base.Prefs.Unit(step.Quantity)
}

func allowTool(s stepSent) stepAct {
	id, reason := s.number("allow"), s.text("allow_reason")
	return func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error {
		return bench.AllowTool(ctx, tx, by, s.base.Prefs.Zone, s.step.ID, id, reason)
	}
}

func beginWait(stepSent) stepAct {
	return func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error {
		return bench.BeginWait(ctx, tx, by, s.step.ID)
	}
}

func crossOutStep(s stepSent) stepAct {
	id, reason := s.number("signoff"), s.text("reason")
	return func(ctx context.Context, tx pgx.Tx, by history.By, s stepSent) error {
		return bench.CrossOut(ctx, tx, by, s.sheet.Job.ID, id, reason)
	}
}

// giveValue reads a value with its window as its two ends.
func giveValue(s stepSent) stepAct {
	unit := s.unit(s.step)
	value := s.quantity("value", s.step.Quantity, unit)
	low, high := s.quantity("low", s.step.Quantity, unit), s.quantity("high", s.step.Quantity, unit)
	g := bench.Giving{
		StepID: s.step.ID, Fluid: s.text("fluid"), SourceKind: s.text("source_kind"), Source: s.text("source"), Confirmed: s.ticked("confirm"),
	}
	switch {
	case value == nil:
		s.wrong("value", "Type the value with its unit.")
	case (low == nil) != (high == nil):
		s.wrong("low", "Give both ends of the window, or neither.")
	case low != nil && (low.SI > value.SI || high.SI < value.SI):
		s.wrong("low", "The value has to lie between the two ends.")
	default:
		g.Value = *value
		if low != nil {
			g.MinusSI, g.PlusSI = value.SI-low.SI, high.SI-value.SI
		}
	}
	return func(ctx context.Context, tx pgx.Tx, by history.By, _ stepSent) error {
		return bench.GiveValue(ctx, tx, by, g)
	}
}
