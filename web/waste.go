package web

import (
	"context"
	"encoding/csv"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

const (
	wasteListed  = 50 // entries on the page of the log
	wasteOnSheet = 5000
	drainedDays  = 14 // that bench sheets are looked back for what was drained
)

func (a *App) waste(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = map[string]string{"log": "It is logged.", "pickup": "It is kept what was taken away.", "back": "It is taken back."}[r.URL.Query().Get("done")]
		return a.wastePage(r.Context(), base, "", r.URL.Query())
	})
}

// wastePage fills the form of an entry with what the address proposes of a bench
// sheet. sent names the form that came back.
func (a *App) wastePage(ctx context.Context, base templates.Base, sent string, query url.Values) (templ.Component, error) {
	base.Title = "Used oil, solvent and rags"
	now := base.Now
	page := templates.WastePage{Base: base, Log: base.Alone(base.Intent, sent == "log"), Taken: base.Alone(uuid.NewString(), sent == "pickup"), Back: base.Alone(uuid.NewString(), sent == "back"),
		Kind: plain(query.Get("kind")), Amount: plain(query.Get("amount")), Ticket: plain(query.Get("ticket"))}
	zone := base.Prefs.Zone
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		tomorrow := now.In(zone).AddDate(0, 0, 1)
		if page.Standing, err = stock.WasteStanding(ctx, tx, tomorrow, tomorrow); err != nil {
			return err
		}
		if page.Entries, err = stock.WasteBetween(ctx, tx, time.Time{}, tomorrow, wasteListed); err != nil {
			return err
		}
		if page.Pickups, err = stock.PickupsBetween(ctx, tx, now.In(zone).AddDate(-1, 0, 0), tomorrow); err != nil {
			return err
		}
		page.Drained, err = stock.DrainedSince(ctx, tx, now.AddDate(0, 0, -drainedDays), zone)
		return err
	})
	return templates.Waste(page), err
}

// wasteForm makes the handler of one of the forms of the log.
func wasteForm(name string, do func(a *App, ctx context.Context, tx pgx.Tx, by history.By, f *form) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "waste: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return "/parts/waste?done=" + name, do(a, ctx, tx, by, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.wastePage(r.Context(), base, name, nil)
		})
	}
}

func logWaste(_ *App, ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	n := stock.NewWaste{Kind: stock.WasteKind(f.text("kind")), Container: f.text("container")}
	n.Amount = f.wasteAmount("amount", n.Kind)
	if ticket := f.number("ticket"); ticket != 0 {
		j, err := job.ByNumber(ctx, tx, int(min(ticket, 1<<31-1)))
		if err != nil {
			f.wrong("ticket", "There is no such ticket.")
		}
		n.Job = j.ID
	}
	if f.err() != nil {
		return f.err()
	}
	return f.with(stock.LogWaste(ctx, tx, by, n))
}

// wasteAmount reads an amount of a kind; an empty one is 0.
func (f *form) wasteAmount(name string, kind stock.WasteKind) int64 {
	text := f.text(name)
	if text == "" {
		return 0
	}
	amount, err := kind.Measure().ParseZero(text)
	if err != nil {
		f.wrong(name, err.Error())
	}
	return amount
}

func takeWaste(_ *App, ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	n := stock.NewPickup{Carrier: f.text("carrier"), Document: f.text("document"), Amounts: map[stock.WasteKind]int64{}}
	if day := f.day("taken_on"); day != nil {
		n.TakenOn = *day
	}
	for i, kind := range stock.WasteKinds {
		n.Amounts[kind] = f.wasteAmount("amount"+strconv.Itoa(i), kind)
	}
	if f.err() != nil {
		return f.err()
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	return f.with(stock.TakeWaste(ctx, tx, by, n, by.At.In(settings.Location())))
}

// takeWasteBack answers an entry, "in-12", or a pickup, "out-12".
func takeWasteBack(_ *App, ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	which, number, _ := strings.Cut(f.text("wrong"), "-")
	id, err := strconv.ParseInt(number, 10, 64)
	switch {
	case err == nil && which == "in":
		return stock.TakeBackWaste(ctx, tx, by, id, f.text("reason"))
	case err == nil && which == "out":
		return stock.TakeBackPickup(ctx, tx, by, id, f.text("reason"))
	}
	return fault.Field("wrong", "Choose which one is wrong.")
}

// wasteSpan reads the first and the last day of the carrier's sheet: this year as
// far as it went unless others are asked for.
func wasteSpan(base templates.Base, query url.Values) (from, to time.Time, err error) {
	to = base.Now.In(base.Prefs.Zone)
	from = time.Date(to.Year(), 1, 1, 0, 0, 0, 0, base.Prefs.Zone)
	if query.Has("from") || query.Has("to") {
		if from, to, err = daysOf(query); err != nil {
			return from, to, err
		}
	}
	if to.Before(from) {
		return from, to, &fault.Invalid{Fields: map[string]string{"to": "The last day is before the first one."}}
	}
	return from, to, nil
}

// readWaste reads what the sheet and the file of a span have.
func (a *App) readWaste(ctx context.Context, page *templates.WasteSheetPage) error {
	zone := page.Prefs.Zone
	start, end := dayStart(page.From, zone), dayStart(page.To.AddDate(0, 0, 1), zone)
	return db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Before, err = stock.WasteStanding(ctx, tx, start, page.From); err != nil {
			return err
		}
		if page.After, err = stock.WasteStanding(ctx, tx, end, page.To.AddDate(0, 0, 1)); err != nil {
			return err
		}
		if page.Entries, err = stock.WasteBetween(ctx, tx, start, end, wasteOnSheet); err != nil {
			return err
		}
		if page.Pickups, err = stock.PickupsBetween(ctx, tx, page.From, page.To); err != nil {
			return err
		}
		page.Desk, err = shop.Get(ctx, tx)
		return err
	})
}

// wasteSheet is the paper for the carrier.
func (a *App) wasteSheet(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Waste sheet for the carrier")
	if err != nil {
		return err
	}
	page := templates.WasteSheetPage{Base: base}
	status := http.StatusOK
	if page.From, page.To, err = wasteSpan(base, r.URL.Query()); err != nil {
		var invalid *fault.Invalid
		if !errors.As(err, &invalid) {
			return err
		}
		status, page.Errors, page.Typed = http.StatusUnprocessableEntity, invalid.Fields, r.URL.Query()
		page.From, page.To, _ = wasteSpan(base, nil)
	}
	if err := a.readWaste(r.Context(), &page); err != nil {
		return err
	}
	return render(w, r, status, templates.WasteSheet(page))
}

// wasteFile is the same as a table for a spreadsheet, a row for each entry.
func (a *App) wasteFile(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Waste")
	if err != nil {
		return err
	}
	page := templates.WasteSheetPage{Base: base}
	if page.From, page.To, err = wasteSpan(base, r.URL.Query()); err != nil {
		return err
	}
	if err := a.readWaste(r.Context(), &page); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", `attachment; filename="waste.csv"`)
	out := csv.NewWriter(w)
	if err := out.WriteAll(page.Rows()); err != nil {
		return err
	}
	return out.Error()
}
