package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

func (a *App) people(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.peoplePage(r.Context(), base)
	})
}

func (a *App) peoplePage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "People"
	list, err := staff.List(ctx, a.pool)
	return templates.People(templates.PeoplePage{Base: base, People: list}), err
}

func (a *App) addPerson(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "person added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := staff.Add(ctx, tx, by, staff.New{
			Name: f.text("name"), Roles: f.list("roles"), Passphrase: f.values.Get("passphrase"),
		})
		return personPath(id, "added"), err
	}, func(base templates.Base) (templ.Component, error) {
		return a.peoplePage(r.Context(), base)
	})
}

// peopleDone is what the page of a person says after each of its forms.
var peopleDone = map[string]string{
	"added":      "Added. Tell them their pass-phrase in person.",
	"roles":      "The roles are set.",
	"passphrase": "The pass-phrase is set, and they are signed out everywhere.",
	"sign-out":   "They are signed out everywhere.",
	"leave":      "They can no longer sign in.",
	"return":     "They can sign in again.",
}

func personPath(id int64, done string) string {
	return "/people/" + strconv.FormatInt(id, 10) + "?done=" + done
}

func (a *App) somebody(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = peopleDone[r.URL.Query().Get("done")]
		return a.somebodyPage(r.Context(), base, id, "")
	})
}

// somebodyPage shows what was typed in the form that was sent, if any.
func (a *App) somebodyPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	who, err := staff.Get(ctx, a.pool, id)
	if err != nil {
		return nil, err
	}
	base.Title = who.Name
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	return templates.Somebody(templates.SomebodyPage{
		Base: base, Who: who,
		Roles: form("roles"), Passphrase: form("passphrase"), Out: form("sign-out"), Leaves: form("leave"),
	}), nil
}

// change is what one form on the page of a person or a tablet does.
type change func(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error

func setRoles(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	return staff.SetRoles(ctx, tx, by, id, version, f.list("roles"))
}

func resetPassphrase(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	return staff.ResetPassphrase(ctx, tx, by, id, f.values.Get("passphrase"))
}

func signOutPerson(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, _ *form) error {
	return staff.SignOutEverywhere(ctx, tx, by, id)
}

func leave(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	on := f.day("on")
	if on == nil {
		f.wrong("on", "Say which was the last day, such as 2026-03-14.")
		return f.err()
	}
	return staff.Leave(ctx, tx, by, id, version, *on)
}

func comeBack(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, _ *form) error {
	return staff.Return(ctx, tx, by, id, version)
}

// changePerson makes the handler of the form called name.
func changePerson(name string, do change) handler {
	return changeBy("person: "+name, do,
		func(id int64) string { return personPath(id, name) },
		func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
			return a.somebodyPage(ctx, base, id, name)
		})
}

// changeBy makes the handler of a form about something that has a version: to
// leads on, again shows the form as it was sent.
func changeBy(kind string, do change, to func(id int64) string,
	again func(*App, context.Context, templates.Base, int64) (templ.Component, error)) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		version := int(f.number("version"))
		return a.take(w, r, f, kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return to(id), do(ctx, tx, by, id, version, f)
		}, func(base templates.Base) (templ.Component, error) {
			return again(a, r.Context(), base, id)
		})
	}
}
