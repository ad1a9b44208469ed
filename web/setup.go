package web

import (
	"context"
	"errors"
	"maps"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

// alreadySetUp is what the set-up page is from then on.
const alreadySetUp = fault.NotFound("There is no such page.")

func (a *App) setupForm(w http.ResponseWriter, r *http.Request) error {
	done, err := isSetUp(r.Context(), a.pool)
	if err != nil {
		return err
	}
	if done {
		return alreadySetUp
	}
	base := a.bareBase(r)
	base.Title = "Set up the desk"
	return render(w, r, http.StatusOK, templates.Setup(templates.SetupPage{Base: base, Code: r.URL.Query().Get("code")}))
}

// setup makes the shop and its first owner in one act.
func (a *App) setup(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	done, err := isSetUp(r.Context(), a.pool)
	if err != nil {
		return err
	}
	if done && person(r).ID != 0 { // pressed again after it had let them in
		http.Redirect(w, r, "/shop", http.StatusSeeOther)
		return nil
	}
	first := staff.New{Name: f.text("name"), Roles: []string{owner, mechanic, desk}, Passphrase: f.values.Get("passphrase")}
	settings := shop.Settings{Name: f.text("shop")}
	f.settings(&settings)
	if first.Passphrase != f.values.Get("passphrase-again") {
		f.wrong("passphrase-again", "This differs from the pass-phrase above.")
	}
	_, err = a.do(r, "set up", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/shop", f.with(begin(ctx, tx, by, f, settings, first))
	})
	if err == nil {
		return a.firstSignIn(w, r, first)
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		base.Title = "Set up the desk"
		return templates.Setup(templates.SetupPage{Base: base}), nil
	})
}

// firstSignIn leads the owner on without asking again for what was just typed;
// whoever sends the form a second time must know the pass-phrase still.
func (a *App) firstSignIn(w http.ResponseWriter, r *http.Request, first staff.New) error {
	p, err := staff.SignIn(r.Context(), a.pool, first.Name, first.Passphrase, r.RemoteAddr, a.Now())
	if _, safe := fault.Sentence(err); safe {
		http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
		return nil
	}
	if err == nil {
		err = a.letIn(r, p)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/shop", http.StatusSeeOther)
	return nil
}

// isSetUp asks for the shop, not for people: a command can add those before.
func isSetUp(ctx context.Context, q db.Querier) (bool, error) {
	_, err := shop.Get(ctx, q)
	if errors.As(err, new(fault.NotFound)) {
		return false, nil
	}
	return err == nil, err
}

// begin gathers in f what is wrong with the shop and its owner, once the code
// is right.
func begin(ctx context.Context, tx pgx.Tx, by history.By, f *form, settings shop.Settings, first staff.New) error {
	done, err := isSetUp(ctx, tx)
	if err != nil {
		return err
	}
	if done {
		return alreadySetUp
	}
	if err := staff.UseSetupCode(ctx, tx, by, f.text("code")); err != nil {
		return err
	}
	err = f.with(renamed(shop.Save(ctx, tx, by, settings), "name", "shop"))
	if err != nil && !errors.As(err, new(*fault.Invalid)) {
		return err
	}
	_, err = staff.Add(ctx, tx, by, first)
	return err
}

// renamed gives the sentence about one field to the field that asked for it.
func renamed(err error, from, to string) error {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) || invalid.Fields[from] == "" {
		return err
	}
	fields := maps.Clone(invalid.Fields)
	fields[to] = fields[from]
	delete(fields, from)
	return &fault.Invalid{Fields: fields}
}
