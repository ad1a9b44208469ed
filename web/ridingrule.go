package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// setFactors keeps what riding counts for.
func (a *App) setFactors(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	var factors []interval.Factor
	for _, kind := range append(slices.Clone(interval.Conditions), interval.AtMost) {
		field := templates.FactorField(kind)
		if _, asked := f.values[field]; !asked {
			continue
		}
		n := f.decimal(field, quantity.ParseNumber)
		if n == nil {
			f.wrong(field, "Type a number: 1 where it counts for nothing more.")
			continue
		}
		factors = append(factors, interval.Factor{Kind: kind, Factor: *n, Version: int(f.number(field + ".version"))})
	}
	return a.take(w, r, f, "ride factors", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		err := interval.SetFactors(ctx, tx, by, factors)
		return "/intervals?done=counts", fieldsAs(err, templates.FactorField)
	}, func(base templates.Base) (templ.Component, error) {
		return a.intervalsPage(r.Context(), base)
	})
}

// fieldsAs names the fields of a refusal as the form has them.
func fieldsAs(err error, name func(string) string) error {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	fields := map[string]string{}
	for field, sentence := range invalid.Fields {
		fields[name(field)] = sentence
	}
	return &fault.Invalid{Fields: fields}
}

// setSeason keeps when people ride.
func (a *App) setSeason(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	version, from, to := int(f.number("version")), f.yearDay("season_from"), f.yearDay("season_to")
	return a.take(w, r, f, "season", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/intervals?done=season", shop.SetSeason(ctx, tx, by, version, from, to)
	}, func(base templates.Base) (templ.Component, error) {
		return a.intervalsPage(r.Context(), base)
	})
}

// yearDay reads a day of every year from the field of its day and that of its
// month; none when both are empty.
func (f *form) yearDay(name string) shop.YearDay {
	day, month := f.text(name), f.text(name+"_month")
	if day == "" && month == "" {
		return shop.YearDay{}
	}
	if day == "" || month == "" {
		f.wrong(name, "Give the day and its month, or neither.")
		return shop.YearDay{}
	}
	d := shop.YearDay{Month: time.Month(f.number(name + "_month")), Day: int(f.number(name))}
	if d == (shop.YearDay{}) {
		f.wrong(name, "Give the day of the month, such as 15.")
	}
	return d
}

func (a *App) eventRuleForm(w http.ResponseWriter, r *http.Request) error {
	asks := r.URL.Query()
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.eventRulePage(r.Context(), base, asks.Get("kind"), asks.Get("service"))
	})
}

// eventRulePage is what a kind of event asks of a service.
func (a *App) eventRulePage(ctx context.Context, base templates.Base, kind, service string) (templ.Component, error) {
	page := templates.EventRulePage{Base: base, Rule: interval.EventRule{Kind: kind, ServiceCode: service}}
	if kind != interval.Watched && !slices.Contains(interval.Happenings, kind) {
		return nil, fault.NotFound("There is no such thing that happens.")
	}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		services, err := procedure.Services(ctx, tx)
		if err != nil {
			return err
		}
		known := false
		if page.Service, known = procedure.ByCode(services, service); !known {
			return fault.NotFound("There is no such service.")
		}
		rules, err := interval.ReadEventRules(ctx, tx)
		if i := slices.IndexFunc(rules, func(r interval.EventRule) bool { return r.Kind == kind && r.ServiceCode == service }); i >= 0 {
			page.Rule = rules[i]
		}
		return err
	})
	page.Title = strings.TrimSpace(page.Service.Name + " after " + kind)
	return templates.EventRule(page), err
}

// setEventRule keeps what a kind of event asks of a service.
func (a *App) setEventRule(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	rule := interval.EventRule{Kind: f.text("kind"), ServiceCode: f.text("service"), Months: int(f.number("months")), Hours: int(f.number("hours")),
		LeastMonths: int(f.number("least")), Hint: f.ticked("hint"), Version: int(f.number("version"))}
	if t := f.text("days"); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil {
			f.wrong("days", "Type a whole number of days, or nothing.")
		}
		rule.Days = &n
	}
	return a.take(w, r, f, "event rule", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/intervals?done=event", interval.SetEvent(ctx, tx, by, rule)
	}, func(base templates.Base) (templ.Component, error) {
		return a.eventRulePage(r.Context(), base, rule.Kind, rule.ServiceCode)
	})
}
