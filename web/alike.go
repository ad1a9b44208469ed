package web

import (
	"context"
	"net/http"
	"net/url"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/find"
	"damperdesk/templates"
)

// dropOffAlike answers find.js with who may be the person that is being typed
// as new.
func (a *App) dropOffAlike(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Drop-off")
	if err != nil {
		return err
	}
	typed := r.URL.Query()
	page := templates.DropOffPage{Base: base, Count: askedIn(typed.Get).units, New: true}
	if page.Alike, err = alikeTo(r.Context(), a.pool, typed); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.DropOffAlike(page.AlikeFields()))
}

// alikeTo looks for the person whose fields were typed.
func alikeTo(ctx context.Context, q db.Querier, typed url.Values) ([]find.Alike, error) {
	d := customer.Details{Name: plain(typed.Get("name")), Phone: plain(typed.Get("phone")), Mail: plain(typed.Get("mail"))}
	return find.LikelySame(ctx, q, d, 0)
}

// asksWho stops a drop-off of somebody new who may be here already, until the
// desk chooses or says that it is somebody else.
func (a *App) asksWho(ctx context.Context, f *form, d customer.Details) error {
	if d.Name == "" || f.ticked("somebodyelse") {
		return nil
	}
	list, err := find.LikelySame(ctx, a.pool, d, 0)
	if err == nil && len(list) > 0 {
		f.wrong("somebodyelse", "Choose who it is, or say that it is somebody else.")
	}
	return err
}
