package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/tool"
	"damperdesk/internal/torque"
	"damperdesk/templates"
)

func (a *App) tools(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Title = "Torque tools"
		list, err := tool.List(r.Context(), a.pool)
		return templates.Tools(templates.ToolsPage{Base: base, Tools: list}), err
	})
}

func newToolPage(base templates.Base) (templ.Component, error) {
	base.Title = "Add a torque tool"
	return templates.NewTool(base), nil
}

func (a *App) newTool(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, newToolPage)
}

func (a *App) addTool(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	return a.take(w, r, f, "tool added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := tool.Add(ctx, tx, by, f.tool(base.Prefs))
		return toolPath(id, "added"), f.with(err)
	}, newToolPage)
}

// tool reads what stands on a torque tool. The step of its scale is in the unit
// of its range.
func (f *form) tool(prefs templates.Prefs) tool.Tool {
	t := tool.Tool{Name: f.text("name"), Kind: f.text("kind"), Serial: f.text("serial"), Lives: f.text("lives")}
	unit := prefs.Unit(quantity.KindTorque)
	low, high, ok := f.quantityRange("range", quantity.KindTorque, unit)
	if ok {
		t.RangeMinNm, t.RangeMaxNm, t.Unit = low.SI, high.SI, high.Unit
		unit = t.Unit
	}
	step := f.quantity("graduation", quantity.KindTorque, unit)
	switch {
	case step == nil:
		f.wrong("graduation", "Give the step between two marks of its scale, such as 0.1.")
	case !ok: // it can be right in the unit that is still to come
		t.Graduation = step.SI
	case step.Unit != t.Unit:
		f.wrong("graduation", "Its scale is in "+string(t.Unit)+": give the step in "+string(t.Unit)+" too.")
	default:
		t.Graduation = clean(quantity.Convert(quantity.KindTorque, step.SI, t.Unit))
	}
	return t
}

// clean drops the binary noise of a conversion there and back.
func clean(x float64) float64 { return math.Round(x*1e9) / 1e9 }

// toolDone is what the page of a tool says after each of its forms.
var toolDone = map[string]string{
	"added":       "Added. It serves for nothing until a calibration is recorded.",
	"change":      "It is corrected.",
	"calibration": "The calibration is recorded.",
	"out":         "It is out of use: the bench offers it for no torque.",
	"return":      "It is back in use.",
}

func toolPath(id int64, done string) string {
	return "/tools/" + strconv.FormatInt(id, 10) + "?done=" + done
}

func (a *App) oneTool(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = toolDone[r.URL.Query().Get("done")]
		return a.toolPage(r.Context(), base, id, "")
	})
}

// mostUses is how many sign-offs the page of a tool lists.
const mostUses = 25

func (a *App) toolPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	page := templates.ToolPage{Base: base, Out: base.Alone(uuid.NewString(), sent == "out")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Tool, err = tool.Get(ctx, tx, id); err != nil {
			return err
		}
		if page.Calibrations, err = tool.Calibrations(ctx, tx, id); err != nil {
			return err
		}
		if page.States, err = tool.StateChanges(ctx, tx, id); err != nil {
			return err
		}
		if page.Uses, err = bench.UsesOf(ctx, tx, id, mostUses); err != nil {
			return err
		}
		doubt, ok := tool.Doubted(page.Calibrations)
		if !ok {
			return nil
		}
		page.Doubt = &doubt
		till := base.Now
		if !doubt.Till.IsZero() { // the day it was found out is in doubt as well
			till = dayStart(doubt.Till.AddDate(0, 0, 1), base.Prefs.Zone)
		}
		page.Doubtful, err = bench.JobsOf(ctx, tx, id, dayStart(doubt.Since, base.Prefs.Zone), till)
		return err
	})
	page.Title = page.Tool.Name
	return templates.Tool(page), err
}

// dayStart is when a calendar day begins in a zone.
func dayStart(day time.Time, zone *time.Location) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, zone)
}

func (a *App) toolForms(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.toolFormsPage(r.Context(), base, id, "")
	})
}

func (a *App) toolFormsPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	t, err := tool.Get(ctx, a.pool, id)
	if err != nil {
		return nil, err
	}
	base.Title = "Calibrate or correct " + t.Name
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	return templates.ToolForms(templates.ToolFormsPage{
		Base: base, Tool: t, Change: form("change"), Calibration: form("calibration"), Return: form("return"),
	}), nil
}

// changeTool makes the handler of the form called name, which stands on the
// page that again shows.
func changeTool(name string, do change, again func(*App, context.Context, templates.Base, int64, string) (templ.Component, error)) handler {
	return changeBy("tool: "+name, do,
		func(id int64) string { return toolPath(id, name) },
		func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
			return again(a, ctx, base, id, name)
		})
}

// correctTool reads the range in the unit that the tool has.
func correctTool(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	before, err := tool.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	return f.with(tool.Change(ctx, tx, by, id, version, f.tool(templates.Prefs{TorqueUnit: before.Unit})))
}

func calibrateTool(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	t, err := tool.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	c := tool.NewCalibration{Certificate: f.text("certificate"), Passed: f.text("passed") == "yes"}
	if on := f.day("done_on"); on != nil {
		c.DoneOn = *on
	} else {
		f.wrong("done_on", "Say on which day it was calibrated, such as 2026-03-14.")
	}
	if !c.Passed && f.text("passed") != "no" {
		f.wrong("passed", "Say whether it passed.")
	}
	c.Share = f.share("share")
	for i := range torque.PointShares {
		if p := f.point(i, t.Unit); p != nil {
			c.Points = append(c.Points, *p)
		}
	}
	if err := f.err(); err != nil {
		return err
	}
	return tool.Calibrate(ctx, tx, by, id, c)
}

// share reads per cent; nil when nothing was typed.
func (f *form) share(name string) *float64 {
	percent := f.decimal(name, quantity.ParseNumber)
	if percent == nil {
		return nil
	}
	share := *percent / 100
	return &share
}

// point reads one of the points of a calibration, nil where it was left out.
func (f *form) point(i int, unit quantity.Unit) *torque.Point {
	set, reference := fmt.Sprintf("set%d", i), fmt.Sprintf("reference%d", i)
	s, r := f.quantity(set, quantity.KindTorque, unit), f.quantity(reference, quantity.KindTorque, unit)
	switch {
	case s == nil && r == nil:
		return nil
	case s == nil:
		f.wrong(set, "Say what it was set to, or showed.")
	case r == nil:
		f.wrong(reference, "Say what was applied.")
	default:
		return &torque.Point{Set: s.SI, Reference: r.SI}
	}
	return nil
}

func takeToolOut(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	state := f.text("state")
	if state == tool.Dropped || state == tool.Overloaded {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		return tool.Mishap(ctx, tx, by, id, state, f.text("reason"), by.At.In(settings.Location()))
	}
	if state == tool.InUse {
		state = "" // that has a form of its own, for which a PIN is not enough
	}
	return tool.SetState(ctx, tx, by, id, version, state, f.text("reason"))
}

func returnTool(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	return tool.SetState(ctx, tx, by, id, version, tool.InUse, f.text("reason"))
}

// toolsStand says how many tools serve on the shop's page.
func toolsStand(ctx context.Context, q db.Querier, b templates.Base) (string, error) {
	list, err := tool.List(ctx, q)
	if err != nil || len(list) == 0 {
		return "", err
	}
	return b.ToolsStanding(list), nil
}

func (a *App) toolLimits(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.toolLimitsPage(r, base, "")
	})
}

func (a *App) toolLimitsPage(r *http.Request, base templates.Base, sent string) (templ.Component, error) {
	base.Title = "What torque tools may be off"
	if r.URL.Query().Get("done") == "limit" {
		base.Done = "It is confirmed."
	}
	list, err := tool.Limits(r.Context(), a.pool)
	page := templates.ToolLimitsPage{Base: base}
	for _, l := range list {
		page.Limits = append(page.Limits, templates.ToolLimit{Limit: l, Form: base.Alone(uuid.NewString(), sent == l.Name())})
	}
	return templates.ToolLimits(page), err
}

// setToolLimit keeps one of the limits: each has a form of its own.
func (a *App) setToolLimit(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	l := tool.Limit{Kind: f.text("kind"), Small: f.text("small") == "yes", Version: int(f.number("version"))}
	if share := f.share("share"); share != nil {
		l.Share = *share
	}
	return a.take(w, r, f, "tool limit", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/tools/limits?done=limit", tool.SetLimit(ctx, tx, by, l)
	}, func(base templates.Base) (templ.Component, error) {
		return a.toolLimitsPage(r, base, l.Name())
	})
}
