package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/plan"
	"damperdesk/internal/review"
	"damperdesk/templates"
)

// review shows the period that is asked for. Days that cannot stand come back
// in their form, above the usual period.
func (a *App) review(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Review")
	if err != nil {
		return err
	}
	page := templates.ReviewPage{Base: base}
	period, err := reviewed(&page, r.URL.Query())
	status := http.StatusOK
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		status, page.Errors, page.Typed, err = http.StatusUnprocessableEntity, invalid.Fields, r.URL.Query(), nil
	}
	if err != nil {
		return err
	}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Mishaps, err = bench.Mishaps(r.Context(), tx); err != nil {
			return err
		}
		line, err := plan.Read(r.Context(), tx, base.Now)
		if err != nil {
			return err
		}
		page.Broken = len(line.Broken())
		page.Review, err = review.Read(r.Context(), tx, period, base.Now)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, status, templates.Review(page))
}

// seeMishap says that an owner has seen what happened here.
func (a *App) seeMishap(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id := f.number("finding")
	if err := f.err(); err != nil {
		return err
	}
	return a.act(w, r, "happened here seen", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/review#happened", bench.See(ctx, tx, by, id)
	})
}

// pickDays is the choice of a first and a last day.
const pickDays = "pick"

// reviewed reads which period is asked for. One of days that cannot stand is
// the usual period and a fault.Invalid.
func reviewed(page *templates.ReviewPage, query url.Values) (review.Period, error) {
	now, zone := page.Now, page.Prefs.Zone
	code := query.Get("p")
	usual := review.FullWeeks(review.Usual.Weeks, now, zone)
	switch i := slices.IndexFunc(review.Choices, func(c review.Choice) bool { return c.Code == code }); {
	case i >= 0:
		page.Choice = review.Choices[i]
		return review.FullWeeks(page.Choice.Weeks, now, zone), nil
	case code == "":
		page.Choice = review.Usual
		return usual, nil
	case code != pickDays:
		return usual, fault.NotFound("There is no such period.")
	}
	page.Pick = true
	if !query.Has("from") && !query.Has("to") {
		return usual, nil
	}
	from, to, err := daysOf(query)
	if err != nil {
		return usual, err
	}
	picked, err := review.Between(from, to, now, zone)
	if err != nil {
		return usual, err
	}
	return picked, nil
}

// daysOf reads the first and the last day.
func daysOf(query url.Values) (from, to time.Time, err error) {
	fields := map[string]string{}
	day := func(name string) time.Time {
		t, err := time.Parse(time.DateOnly, plain(query.Get(name)))
		if err != nil || t.Year() < 1900 {
			fields[name] = "Type a day, such as 2026-10-13."
		}
		return t
	}
	from, to = day("from"), day("to")
	if len(fields) > 0 {
		return from, to, &fault.Invalid{Fields: fields}
	}
	return from, to, nil
}
