package web

import (
	"context"
	"net/http"
	"slices"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/templates"
)

// adding puts a service on a job.
var adding = serviceChange{
	kind: "service added", title: "Add a service to ", told: "undoes", done: "service",
	page: func(ctx context.Context, q db.Querier, by history.By, s bench.Sheet, code *string) (drawn, error) {
		page := templates.AddServicePage{Sheet: s}
		offers, err := offersFor(ctx, q, s.Job)
		if page.Offers = offers; err == nil && code != nil {
			page.Chosen = *code
			page.Adds, err = bench.Preview(ctx, q, by, s, *code)
		}
		return func(base templates.Base) templ.Component {
			page.Base = base
			return templates.AddServiceForm(page)
		}, err
	},
	change: func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, told []int64) error {
		return bench.AddService(ctx, tx, by, id, f.text("service"), told)
	},
}

func (a *App) addServiceForm(w http.ResponseWriter, r *http.Request) error {
	return a.previewServices(w, r, adding)
}

func (a *App) addService(w http.ResponseWriter, r *http.Request) error {
	return a.changeServices(w, r, adding)
}

// offersFor lists the services for the job's unit that it has not.
func offersFor(ctx context.Context, q db.Querier, j job.Job) ([]procedure.Service, error) {
	all, err := procedure.Services(ctx, q)
	return offered(all, j), err
}

func offered(all []procedure.Service, j job.Job) []procedure.Service {
	return slices.DeleteFunc(slices.Clone(all), func(s procedure.Service) bool {
		return s.OutOfUse || !s.For(j.Kind) || !s.Suits(j.Spring) || slices.Contains(j.Services, s.Code)
	})
}
