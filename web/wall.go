package web

import (
	"net/http"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/templates"
)

// wall is the board for a screen on the wall: whoever is signed in, or a tablet
// of the shop where nobody is.
func (a *App) wall(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Wall board")
	if err != nil {
		return err
	}
	base.Live = "board"
	page := templates.WallPage{BoardPage: templates.BoardPage{Base: base}}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		return readBoard(r.Context(), tx, &page.BoardPage)
	})
	if err != nil {
		return err
	}
	n, _ := strconv.Atoi(r.URL.Query().Get("page"))
	return render(w, r, http.StatusOK, templates.Wall(page.Turned(n)))
}
