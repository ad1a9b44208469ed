package web

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"damperdesk/internal/fault"
)

// id reads a number from the address; anything else is no such page.
func (a *App) id(r *http.Request, name string) (int64, error) {
	n, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || n < 1 {
		return 0, fault.NotFound("There is no such page.")
	}
	return n, nil
}

func unitPath(id int64) string { return "/units/" + strconv.FormatInt(id, 10) }
