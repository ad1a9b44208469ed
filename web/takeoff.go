package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/templates"
)

// takingOff takes a service off a job again.
var takingOff = serviceChange{
	kind: "service taken off", title: "Take a service off ", told: "goes", done: "service-off",
	page: func(ctx context.Context, q db.Querier, by history.By, s bench.Sheet, code *string) (drawn, error) {
		page := templates.TakeOffPage{Sheet: s}
		var err error
		if code != nil {
			page.Chosen = *code
			page.Goes, err = bench.PreviewTakeOff(ctx, q, by, s, *code)
		}
		return func(base templates.Base) templ.Component {
			page.Base = base
			return templates.TakeOff(page)
		}, err
	},
	change: func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, told []int64) error {
		return bench.TakeOffService(ctx, tx, by, id, f.text("service"), f.text("reason"), told)
	},
}

func (a *App) takeOffForm(w http.ResponseWriter, r *http.Request) error {
	return a.previewServices(w, r, takingOff)
}

func (a *App) takeOff(w http.ResponseWriter, r *http.Request) error {
	return a.changeServices(w, r, takingOff)
}
