package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// putOff keeps that nobody is to ring about a unit for some time.
func (a *App) putOff(w http.ResponseWriter, r *http.Request) error {
	return a.unitAct(w, r, "put off", func(ctx context.Context, tx pgx.Tx, by history.By, f *form, unit int64) error {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		p := due.PutOff{UnitID: unit, Service: f.text("put-off-service"), Kind: f.text("kind"), Until: f.day("put-until"), Reason: f.text("reason")}
		if p.Kind == due.Elsewhere {
			p.Until, p.Service = nil, ""
		}
		if err := f.err(); err != nil {
			return err
		}
		return due.Put(ctx, tx, by, p, interval.Day(by.At, settings.Location()))
	})
}

func (a *App) ringAgain(w http.ResponseWriter, r *http.Request) error {
	return a.unitAct(w, r, "ring again", func(ctx context.Context, tx pgx.Tx, by history.By, f *form, unit int64) error {
		return due.TakeBack(ctx, tx, by, unit, f.text("service"))
	})
}

// unitAct takes a form of the page of a unit.
func (a *App) unitAct(w http.ResponseWriter, r *http.Request, kind string, do func(context.Context, pgx.Tx, history.By, *form, int64) error) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/units/" + strconv.FormatInt(id, 10) + "?done=put-off", do(ctx, tx, by, f, id)
	}, func(base templates.Base) (templ.Component, error) {
		return a.unitBookPage(r, base)
	})
}
