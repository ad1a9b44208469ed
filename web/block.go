package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/templates"
)

// blockDone is what the pages of a block say after each of its forms.
var blockDone = map[string]string{
	"begin": "The draft is begun.",
	"step":  "The step is in the draft.",
	"steps": "The draft is changed.",
	"drop":  "The draft is thrown away.",
	"force": "The revision is in force. Bench sheets that are begun from now on take it.",
	"take":  "The shipped revision is in force. Yours stays readable.",
}

func blockPath(code, rest string) string { return "/procedures/" + code + rest }

func (a *App) procedures(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "How the work is done")
	if err != nil {
		return err
	}
	base.Done = serviceDone[r.URL.Query().Get("done")]
	page := templates.ProceduresPage{Base: base}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Blocks, err = procedure.Revisions(r.Context(), tx, ""); err != nil {
			return err
		}
		page.Services, err = procedure.Services(r.Context(), tx)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Procedures(page))
}

func (a *App) block(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = blockDone[r.URL.Query().Get("done")]
		return a.blockPage(r.Context(), base, chi.URLParam(r, "code"))
	})
}

func (a *App) blockPage(ctx context.Context, base templates.Base, code string) (templ.Component, error) {
	page := templates.BlockPage{Base: base, Take: base.Alone(uuid.NewString(), false)}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Standing, err = procedure.Stand(ctx, tx, code); err != nil {
			return err
		}
		page.Revisions, err = procedure.Revisions(ctx, tx, code)
		return err
	})
	page.Title = page.InForce.Title
	return templates.BlockView(page), err
}

func (a *App) blockRevision(w http.ResponseWriter, r *http.Request) error {
	number, err := a.id(r, "revision")
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	page := templates.BlockRevisionPage{Base: base}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		code := chi.URLParam(r, "code")
		if page.Shown, err = procedure.Numbered(r.Context(), tx, code, int(number)); err != nil {
			return err
		}
		if page.Revisions, err = procedure.Revisions(r.Context(), tx, code); err != nil {
			return err
		}
		with, _ := strconv.Atoi(r.URL.Query().Get("with"))
		if with == 0 || with == int(number) {
			return nil
		}
		page.With, err = procedure.Numbered(r.Context(), tx, code, with)
		return err
	})
	if err != nil {
		return err
	}
	page.Title = page.Shown.Title + ", revision " + strconv.Itoa(page.Shown.Revision)
	return render(w, r, http.StatusOK, templates.BlockRevision(page))
}

// changeBlock makes the handler of the form of a block called name.
func changeBlock(name string, do func(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, f *form) error, to string,
	again func(a *App, r *http.Request, base templates.Base, name string) (templ.Component, error)) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(r)
		if err != nil {
			return err
		}
		code, version := chi.URLParam(r, "code"), int(f.number("version"))
		return a.take(w, r, f, "block: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return blockPath(code, to+"?done="+name), do(ctx, tx, by, code, version, f)
		}, func(base templates.Base) (templ.Component, error) { return again(a, r, base, name) })
	}
}

func againBlock(a *App, r *http.Request, base templates.Base, _ string) (templ.Component, error) {
	return a.blockPage(r.Context(), base, chi.URLParam(r, "code"))
}

func takeShipped(ctx context.Context, tx pgx.Tx, by history.By, code string, _ int, f *form) error {
	number := int(f.number("revision"))
	if err := f.err(); err != nil {
		return err
	}
	return procedure.TakeShipped(ctx, tx, by, code, number)
}

func beginBlockDraft(ctx context.Context, tx pgx.Tx, by history.By, code string, _ int, _ *form) error {
	return procedure.BeginDraft(ctx, tx, by, code)
}

func (a *App) blockDraft(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = blockDone[r.URL.Query().Get("done")]
		return a.blockDraftPage(r, base, "")
	})
}

// blockDraftPage is the draft of a block, or a refusal where there is none.
func (a *App) blockDraftPage(r *http.Request, base templates.Base, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.BlockDraftPage{Base: base, Lines: form("steps"), Force: form("force"), Drop: form("drop")}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		page.Standing, err = drafting(r.Context(), tx, chi.URLParam(r, "code"))
		return err
	})
	page.Title = page.InForce.Title + ", draft"
	return templates.BlockDraft(page), err
}

func drafting(ctx context.Context, q db.Querier, code string) (procedure.Standing, error) {
	st, err := procedure.Stand(ctx, q, code)
	if err == nil && st.Draft.ID == 0 {
		err = fault.NotFound("Nobody is at another revision of this block.")
	}
	return st, err
}

func againDraft(a *App, r *http.Request, base templates.Base, name string) (templ.Component, error) {
	return a.blockDraftPage(r, base, name)
}

// changeSteps does what the press of the list of steps says: "up:W3", "down:W3",
// "remove:W3", "place", "together" or "alone".
func changeSteps(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, f *form) error {
	press, key, _ := strings.Cut(f.text("press"), ":")
	draft, err := procedure.InState(ctx, tx, code, procedure.StateDraft)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(draft.Steps, func(s procedure.Step) bool { return s.Key == key }) + 1
	switch press {
	case "up":
		return procedure.MoveStep(ctx, tx, by, code, version, key, at-1)
	case "down":
		return procedure.MoveStep(ctx, tx, by, code, version, key, at+1)
	case "remove":
		return procedure.RemoveStep(ctx, tx, by, code, version, key)
	case "together", "alone":
		return procedure.GroupSteps(ctx, tx, by, code, version, f.list("step"), press == "together")
	}
	return placeSteps(ctx, tx, by, draft, version, f)
}

// placeSteps moves the steps whose number was typed over, one after the other.
func placeSteps(ctx context.Context, tx pgx.Tx, by history.By, draft procedure.Revision, version int, f *form) error {
	moved := 0
	for i, s := range draft.Steps {
		name := "to." + s.Key
		to := int(f.number(name))
		if !f.values.Has(name) || to == i+1 {
			continue
		}
		if to < 1 || to > len(draft.Steps) {
			f.wrong(name, "Type a number from 1 to "+strconv.Itoa(len(draft.Steps))+".")
		}
		if err := f.err(); err != nil {
			return err
		}
		if err := procedure.MoveStep(ctx, tx, by, draft.Code, version+moved, s.Key, to); err != nil {
			return err
		}
		moved++
	}
	if moved == 0 {
		return fault.Conflict("No number was typed over: type where a step goes, or use its arrows.")
	}
	return nil
}

func forceDraft(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, f *form) error {
	return procedure.PutInForce(ctx, tx, by, code, version, f.text("words"))
}

func dropBlockDraft(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, _ *form) error {
	return procedure.DropDraft(ctx, tx, by, code, version)
}
