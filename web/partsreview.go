package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/review"
	"damperdesk/templates"
)

// partsReview shows what the shelf was used for in the period that is asked for,
// and how it stands.
func (a *App) partsReview(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Review of parts")
	if err != nil {
		return err
	}
	chosen := templates.ReviewPage{Base: base}
	period, err := reviewed(&chosen, r.URL.Query())
	status := http.StatusOK
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		status, chosen.Errors, chosen.Typed, err = http.StatusUnprocessableEntity, invalid.Fields, r.URL.Query(), nil
	}
	if err != nil {
		return err
	}
	page := templates.PartsReviewPage{Base: chosen.Base, Choice: chosen.Choice, Pick: chosen.Pick, Period: period, Idle: templates.IdleUsual}
	if n, err := strconv.Atoi(r.URL.Query().Get("idle")); err == nil && slices.Contains(templates.IdleMonths, n) {
		page.Idle = n
	}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		page.Parts, err = review.PartsOf(r.Context(), tx, period, page.Idle, base.Now)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, status, templates.PartsReview(page))
}
