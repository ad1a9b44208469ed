package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// intervalDone is what the page says after its forms.
var intervalDone = map[string]string{"kept": "The interval is kept.", "dropped": "The interval is taken away.",
	"counts": "What riding counts for is kept.", "season": "The season is kept.", "event": "What it asks for is kept."}

func (a *App) intervals(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = intervalDone[r.URL.Query().Get("done")]
		return a.intervalsPage(r.Context(), base)
	})
}

func (a *App) intervalsPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Intervals"
	page := templates.IntervalsPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Services, page.Models, page.Rules, err = readIntervals(ctx, tx); err != nil {
			return err
		}
		if page.Factors, err = interval.ReadFactors(ctx, tx); err != nil {
			return err
		}
		if page.After, err = interval.ReadEventRules(ctx, tx); err != nil {
			return err
		}
		page.Shop, err = shop.Get(ctx, tx)
		return err
	})
	page.Season = due.SeasonOf(page.Shop)
	return templates.Intervals(page), err
}

func readIntervals(ctx context.Context, q db.Querier) (services []procedure.Service, models []spec.Model, rules interval.Rules, err error) {
	if services, err = procedure.Services(ctx, q); err != nil {
		return services, models, rules, err
	}
	if models, err = spec.Models(ctx, q); err != nil {
		return services, models, rules, err
	}
	rules, err = interval.ReadRules(ctx, q)
	return services, models, rules, err
}

func (a *App) intervalForm(w http.ResponseWriter, r *http.Request) error {
	asks := r.URL.Query()
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.intervalPage(r.Context(), base, asks.Get("service"), asks.Get("model"))
	})
}

// intervalPage is the rule of a service for one model, or for every model where
// model is empty or 0.
func (a *App) intervalPage(ctx context.Context, base templates.Base, service, model string) (templ.Component, error) {
	id, err := strconv.ParseInt(model, 10, 64)
	if err != nil && model != "" {
		return nil, fault.NotFound("There is no such model.")
	}
	base.Title = "Interval"
	page := templates.IntervalPage{Base: base}
	err = db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		services, models, rules, err := readIntervals(ctx, tx)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(services, func(s procedure.Service) bool { return s.Code == service })
		if i < 0 {
			return fault.NotFound("There is no such service.")
		}
		page.Service, page.Default = services[i], rules.Default(service)
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		page.Season = due.SeasonOf(settings)
		if id == 0 {
			page.Rule = page.Default
			return nil
		}
		m := slices.IndexFunc(models, func(m spec.Model) bool { return m.ID == id })
		if m < 0 {
			return fault.NotFound("There is no such model.")
		}
		page.Model = &models[m]
		page.Rule, page.Sheet = rules.OfModel(service, id)
		return nil
	})
	return templates.Interval(page), err
}

// setInterval keeps a rule, or takes that of a model away.
func (a *App) setInterval(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	rule := interval.Rule{ServiceCode: f.text("service"), ModelID: f.number("model"), Hours: int(f.number("hours")),
		Months: int(f.number("months")), Season: f.ticked("season"), Version: int(f.number("version"))}
	if err = f.err(); err == nil {
		err = a.act(w, r, "interval", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			if f.text("press") == "drop" {
				return "/intervals?done=dropped", interval.Drop(ctx, tx, by, rule)
			}
			return "/intervals?done=kept", interval.Set(ctx, tx, by, rule)
		})
	}
	if err == nil {
		return nil
	}
	var invalid *fault.Invalid
	if errors.As(err, &invalid) && (invalid.Fields["service"] != "" || invalid.Fields["model"] != "") {
		return fault.NotFound("There is no such service or model.")
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		return a.intervalPage(r.Context(), base, f.text("service"), f.text("model"))
	})
}

// intervalsStand counts on the shop's page what comes due again.
func intervalsStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	services, _, rules, err := readIntervals(ctx, q)
	due := slices.DeleteFunc(services, func(s procedure.Service) bool { return !rules.Default(s.Code).Counts() })
	words := ""
	switch n := len(due); {
	case n == 1:
		words = "1 service comes due again"
	case n > 1:
		words = fmt.Sprintf("%d services come due again", n)
	}
	if n := len(rules.OfModels()); n > 0 {
		words += fmt.Sprintf(", single models with a rule of their own: %d", n)
	}
	return strings.TrimPrefix(words, ", "), err
}
