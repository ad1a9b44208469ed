package web

import (
	"net/http"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/find"
	"damperdesk/templates"
)

// find lists what fits the text. A ticket, serial, tag or frame number that is
// nothing else's leads straight to its job or unit.
func (a *App) find(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Find")
	if err != nil {
		return err
	}
	base.Looked = plain(r.URL.Query().Get("q"))
	page := templates.FindPage{Base: base}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		page.Found, err = find.All(r.Context(), tx, base.Looked)
		return err
	})
	switch {
	case err != nil:
		return err
	case page.Found.OnlyJob != 0:
		http.Redirect(w, r, "/jobs/"+strconv.FormatInt(page.Found.OnlyJob, 10), http.StatusSeeOther)
	case page.Found.OnlyUnit != 0:
		http.Redirect(w, r, "/units/"+strconv.FormatInt(page.Found.OnlyUnit, 10), http.StatusSeeOther)
	default:
		return render(w, r, http.StatusOK, templates.Find(page))
	}
	return nil
}
