package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// booked is the day of a drop-off that is booked; nil where it is taken in. A
// day that was typed and a press that does not go with it are asked about.
func (f *form) booked() *time.Time {
	day := f.day("booked")
	switch book := f.text("press") == "book"; {
	case book && f.text("booked") == "":
		f.wrong("booked", "Say which day it comes.")
	case !book && f.text("booked") != "":
		f.wrong("booked", "A day is typed here: press “Book it”, or clear the day.")
		return nil
	}
	return day
}

// answers are what was said to each question about the symptoms.
func (f *form) answers(prefix string) []job.Answer {
	var list []job.Answer
	for _, s := range job.Symptoms {
		for _, q := range s.Asks {
			list = append(list, job.Answer{Symptom: s.Code, Question: q.Code, Words: f.text(prefix + job.AskField(s.Code, q.Code))})
		}
	}
	return list
}

// bookingDone is what the page of the visit says after each of the two forms.
var bookingDone = map[string]string{
	"come-in": "It is here.",
	"rebook":  "It is booked for that day.",
}

// visitBooking reads which terms are still to be accepted for a visit that is
// to come.
func visitBooking(ctx context.Context, q db.Querier, base templates.Base, v job.VisitWithJobs, sent string) (b templates.VisitBooking, err error) {
	alone := func(form string) templates.Base { return base.Alone(uuid.NewString(), form == sent) }
	b.Here, b.Rebook = alone("come-in"), alone("rebook")
	if v.Booked() == 0 || v.TermsID != 0 {
		return b, nil
	}
	terms, err := shop.CurrentTerms(ctx, q)
	if errors.As(err, new(fault.NotFound)) {
		return b, nil
	}
	b.Terms = &terms
	return b, err
}

// comeIn makes a booked visit a drop-off.
func (a *App) comeIn(w http.ResponseWriter, r *http.Request) error {
	return a.onBooking(w, r, "come-in", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, _ *time.Location) error {
		return job.ComeIn(ctx, tx, by, id, job.Coming{
			Jobs: f.ids("here"), Came: f.text("came"), TermsID: f.number("termsid"), TermsBy: f.text("terms")})
	})
}

// rebook moves a booking to another day.
func (a *App) rebook(w http.ResponseWriter, r *http.Request) error {
	return a.onBooking(w, r, "rebook", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, zone *time.Location) error {
		day, promised := f.day("booked"), f.moment("promised", zone)
		if err := f.err(); err != nil {
			return err
		}
		if day == nil {
			day = &time.Time{}
		}
		return job.Rebook(ctx, tx, by, id, int(f.number("version")), *day, promised, zone)
	})
}

type bookingChange func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, zone *time.Location) error

// onBooking does the work of one of the two forms about a booking.
func (a *App) onBooking(w http.ResponseWriter, r *http.Request, name string, change bookingChange) error {
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
	return a.take(w, r, f, "visit "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return visitPath(id) + "?done=" + name, change(ctx, tx, by, id, f, settings.Location())
	}, func(base templates.Base) (templ.Component, error) {
		return a.visitPage(r, base, id, name)
	})
}
