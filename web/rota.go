package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// rotaDone is what the page of the bench says after each of its forms.
var rotaDone = map[string]string{
	"week":    "The week is set.",
	"away":    "They are away then.",
	"back":    "They are there after all.",
	"reserve": "That much is kept free.",
	"sure":    "The next promises are worked out so.",
	"does":    "The line goes by that from now on.",
}

func (a *App) rota(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = rotaDone[r.URL.Query().Get("done")]
		who, _ := strconv.ParseInt(r.URL.Query().Get("who"), 10, 64)
		return a.rotaPage(r.Context(), base, "", who)
	})
}

// rotaPage shows what was typed in the form that was sent, if any, and the week
// of one mechanic, the first unless who names another.
func (a *App) rotaPage(ctx context.Context, base templates.Base, sent string, who int64) (templ.Component, error) {
	base.Title = "Who is at the bench"
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.RotaPage{Base: base, Week: form("week"), Away: form("away"), Back: form("back"), Reserve: form("reserve"), Sure: form("sure"), Does: form("does")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		page.Version = settings.Version
		if page.Bench, err = shop.GetBench(ctx, tx, base.ShopDay()); err != nil {
			return err
		}
		if page.Services, err = procedure.Services(ctx, tx); err != nil {
			return err
		}
		page.Mechanics, err = mechanics(ctx, tx)
		return err
	})
	page.Choose(who)
	return templates.Rota(page), err
}

// changeRota is the handler of the form of the page called name.
func changeRota(name string, do func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(r)
		if err != nil {
			return err
		}
		who, _ := strconv.ParseInt(f.text("who"), 10, 64)
		return a.take(w, r, f, "rota: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			to := "/shop/rota?done=" + name
			if name == "week" || name == "does" {
				to += "&who=" + strconv.FormatInt(who, 10)
			}
			return to, do(ctx, tx, by, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.rotaPage(r.Context(), base, name, who)
		})
	}
}

func setRota(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	from := f.day("from")
	if from == nil {
		f.wrong("from", "Say from which day on, such as 2026-03-14.")
	}
	r := shop.Rota{StaffID: f.number("who"), AsShop: f.ticked("as_shop")}
	seen := f.number("seen")
	if !r.AsShop {
		r.Spans = f.week()
	}
	if err := f.err(); err != nil {
		return err
	}
	r.From = *from
	return shop.SetRota(ctx, tx, by, r, seen)
}

func addAbsence(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	s, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	absence := shop.Absence{StaffID: f.number("who"), Break: f.closing(by.At.In(s.Location())), Words: f.text("words")}
	if err := f.err(); err != nil {
		return err
	}
	return shop.AddAbsence(ctx, tx, by, absence)
}

func removeAbsence(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	id := f.number("absence")
	if err := f.err(); err != nil {
		return err
	}
	return shop.RemoveAbsence(ctx, tx, by, id)
}

func setReserve(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	percent, version := f.number("reserve"), f.number("version")
	if f.text("reserve") == "" {
		f.wrong("reserve", "Type per cent, such as 15; 0 keeps nothing free.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return shop.SetReserve(ctx, tx, by, int(version), int(percent))
}

func setSure(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	percent, version := f.number("sure"), f.number("version")
	if f.text("sure") == "" {
		f.wrong("sure", "Type how many in a hundred, such as 85.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return shop.SetSure(ctx, tx, by, int(version), int(percent))
}

func setDoes(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	services, err := procedure.Services(ctx, tx)
	if err != nil {
		return err
	}
	var not []string
	for _, s := range procedure.Offered(services) {
		if !slices.Contains(f.list("does"), s.Code) {
			not = append(not, s.Code)
		}
	}
	who := f.number("who")
	if err := f.err(); err != nil {
		return err
	}
	return shop.SetNotDone(ctx, tx, by, who, not, f.list("not"))
}
