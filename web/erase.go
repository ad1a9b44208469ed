package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/erase"
	"damperdesk/internal/export"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// eraseForm says what erasing a customer takes, and what has to come first.
func (a *App) eraseForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	var who erase.Person
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		who, err = erase.Look(r.Context(), tx, id, a.Now())
		return err
	})
	if err != nil {
		return err
	}
	if who.ErasedAt != nil {
		http.Redirect(w, r, customerPath(who.ID, ""), http.StatusSeeOther)
		return nil
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return erasePage(base, who), nil
	})
}

func erasePage(base templates.Base, who erase.Person) templ.Component {
	base.Title = "Erase " + who.Name
	return templates.Erase(templates.ErasePage{Base: base, Who: who})
}

func (a *App) erase(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if !strings.EqualFold(f.text("confirm"), erase.Word) {
		f.wrong("confirm", "Type "+erase.Word+" to say that you mean it.")
	}
	return a.take(w, r, f, "erase customer", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, "erased"), erase.Customer(ctx, tx, by, id)
	}, func(base templates.Base) (templ.Component, error) {
		who, err := erase.Look(r.Context(), a.pool, id, base.Now)
		return erasePage(base, who), err
	})
}

// exportTime is how long the file of a customer may take on its way, with all
// their pictures over patchy Wi-Fi.
const exportTime = 5 * time.Minute

// export sends what is kept of a customer. It is a form, for the history says who
// took the file; pressed again it sends the file again.
func (a *App) export(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	var file export.File
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		file, err = export.Of(r.Context(), tx, id, a.Now().UTC())
		return err
	})
	if err != nil {
		return err
	}
	_, err = a.do(r, "export customer", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, ""), export.Log(ctx, tx, by, id)
	})
	if err != nil {
		return err
	}
	http.NewResponseController(w).SetWriteDeadline(time.Now().Add(exportTime))
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="`+file.Name()+`"`)
	if err := file.Write(w, a.Pictures); err != nil {
		a.Log.Warn("the file of a customer was not sent whole", "customer", id, "error", err)
		panic(http.ErrAbortHandler) // half a file must not pass for a whole one
	}
	return nil
}

// retentionYears are those that the page counts for, beside what is set.
var retentionYears = []int{1, 2, 3, 5, 7, 10}

func (a *App) retention(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.retentionPage(r.Context(), base)
	})
}

func (a *App) retentionPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "How long customers are kept"
	page := templates.RetentionPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		s, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		page.Years, page.Version = s.EraseAfterYears, s.Version
		absent, err := erase.NotHereSince(ctx, tx, erase.Since(base.Now.UTC(), 1), base.Now)
		for _, years := range yearsCounted(s.EraseAfterYears) {
			n := 0
			for _, c := range absent {
				if c.Last.Before(erase.Since(base.Now.UTC(), years)) {
					n++
				}
			}
			page.Today = append(page.Today, templates.YearsCount{Years: years, Customers: n})
		}
		return err
	})
	return templates.Retention(page), err
}

func (a *App) setRetention(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	var years *int
	if f.text("years") != "" {
		n, err := strconv.Atoi(f.text("years"))
		if err != nil {
			f.wrong("years", fmt.Sprintf("Give 1 to %d whole years, or nothing for never.", shop.MostEraseYears))
		}
		years = &n
	}
	version := int(f.number("version"))
	return a.take(w, r, f, "retention", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/shop?done=retention", shop.SetEraseAfter(ctx, tx, by, version, years)
	}, func(base templates.Base) (templ.Component, error) { return a.retentionPage(r.Context(), base) })
}

func retentionStands(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	s, err := shop.Get(ctx, q)
	return templates.RetentionWords(s.EraseAfterYears), err
}

// yearsCounted are retentionYears with what is set among them.
func yearsCounted(set *int) []int {
	list := slices.Clone(retentionYears)
	if set != nil && !slices.Contains(list, *set) {
		list = append(list, *set)
		slices.Sort(list)
	}
	return list
}
