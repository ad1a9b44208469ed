package web

import (
	"net/http"

	"damperdesk/templates"
)

// find lists what fits the text. A ticket, serial, tag or frame number that is
// nothing else's leads straight to its job or unit, and the address of a
// customer's page to its visit.
func (a *App) find(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Find")
	if err != nil {
		return err
	}
	base.Looked = plain(r.URL.Query().Get("q"))
	return a.lookUp(w, r, templates.FindPage{Base: base})
}
