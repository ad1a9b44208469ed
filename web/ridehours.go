package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// said reads what a rider says of their riding; what is not known is left empty.
func (f *form) said(prefix string) interval.Said {
	return interval.Said{
		Hours:      f.decimal(prefix+"hours", quantity.ParseNumber),
		RidesAWeek: f.decimal(prefix+"rides", quantity.ParseNumber),
		HoursARide: f.decimal(prefix+"each", interval.ParseRide),
		Season:     f.text(prefix + "part"),
		Meter:      f.decimal(prefix+"meter", quantity.ParseNumber),
		MeterOn:    f.day(prefix + "readon"),
		Indoor:     f.decimal(prefix+"indoor", quantity.ParseNumber),
		Conditions: f.list(prefix + "ridden"),
	}
}

// sayHappened writes down what somebody says happened to a unit.
func (a *App) sayHappened(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	happened := interval.Happened{Kind: f.text("what"), On: f.day("on"), Until: f.day("until")}
	return a.take(w, r, f, "what happened", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		today := interval.Day(by.At, settings.Location())
		return "/units/" + strconv.FormatInt(id, 10) + "?done=happened", interval.Happen(ctx, tx, by, id, happened, interval.AtDesk, today)
	}, func(base templates.Base) (templ.Component, error) {
		return a.unitBookPage(r, base)
	})
}

// sayHours writes down what somebody says on the page of a unit. Hours count
// from the day it was last back from a service, unless a day is given.
func (a *App) sayHours(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	said, zone := f.said(""), settings.Location()
	said.Source = f.text("source")
	since := f.day("since")
	return a.take(w, r, f, "ride hours", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		said.HoursSince, said.HabitSince = since, since
		if since == nil {
			day, ever, err := job.LastDone(ctx, tx, id, zone)
			if err != nil {
				return "", err
			}
			if ever {
				said.HoursSince = &day
			}
		}
		return "/units/" + strconv.FormatInt(id, 10) + "?done=hours", interval.Say(ctx, tx, by, id, said, interval.Day(by.At, zone))
	}, func(base templates.Base) (templ.Component, error) {
		return a.unitBookPage(r, base)
	})
}

// takeBack takes back what is wrong of a unit; part is the part of the page that its
// form is in, and which the field there that names it.
func takeBack(kind, part, which, done string, do func(ctx context.Context, tx pgx.Tx, by history.By, unitID, id int64, why string) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		unit, err := a.id(r, "id")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		wrong := f.number(part + "." + which)
		return a.take(w, r, f, kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return unitPath(unit) + "?done=" + done, within(part, do(ctx, tx, by, unit, wrong, f.text(part+".why")))
		}, func(base templates.Base) (templ.Component, error) {
			return a.unitBookPage(r, base)
		})
	}
}
