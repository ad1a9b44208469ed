package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// hoursDone is what the page of the hours says after each of its forms.
var hoursDone = map[string]string{
	"hours":  "The hours are set.",
	"closed": "The shop is closed then.",
	"opened": "The shop is open then again, as the week has it.",
	"region": "The holidays are set.",
	"day":    "That holiday is settled.",
}

func (a *App) hours(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = hoursDone[r.URL.Query().Get("done")]
		return a.hoursPage(r.Context(), base, "")
	})
}

// hoursPage shows what was typed in the form that was sent, if any.
func (a *App) hoursPage(ctx context.Context, base templates.Base, sent string) (templ.Component, error) {
	base.Title = "Opening hours"
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.HoursPage{Base: base, Week: form("week"), Closing: form("closing"), Opening: form("opening"),
		Region: form("region"), Holiday: form("holiday")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Hours, err = shop.GetHours(ctx, tx); err != nil {
			return err
		}
		page.Shut, err = promisedWhenShut(ctx, tx, page.Hours, base)
		return err
	})
	return templates.Hours(page), err
}

// promisedWhenShut are the open jobs that are promised for a day, from today
// on, on which the shop closes before the promise or does not open.
func promisedWhenShut(ctx context.Context, q db.Querier, h shop.Hours, b templates.Base) ([]job.BoardRow, error) {
	if len(h.Openings) == 0 {
		return nil, nil
	}
	open := h.Calendar(b.Prefs.Zone)
	rows, err := job.Board(ctx, q, job.BoardFilter{})
	return slices.DeleteFunc(rows, func(row job.BoardRow) bool {
		return b.FieldDay(row.PromisedAt) < b.FieldDay(b.Now) || open.OpenUntil(row.PromisedAt)
	}), err
}

// setHours takes the week as it was typed, or one of the usual weeks whose
// button was pressed.
func (a *App) setHours(w http.ResponseWriter, r *http.Request) error {
	return a.changeHours(w, r, "week", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (string, error) {
		to, week := "/shop/hours?done=hours", f.week()
		if n, err := strconv.Atoi(f.text("usual")); err == nil && n >= 0 && n < len(shop.UsualWeeks) {
			to, week = "/shop?done=hours", shop.UsualWeeks[n]
		}
		if err := f.err(); err != nil {
			return "", err
		}
		return to, shop.SetHours(ctx, tx, by, f.weekBefore(), week)
	})
}

func (a *App) closeShop(w http.ResponseWriter, r *http.Request) error {
	return a.changeHours(w, r, "closing", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (string, error) {
		s, err := shop.Get(ctx, tx)
		if err != nil {
			return "", err
		}
		b := f.closing(by.At.In(s.Location()))
		if err := f.err(); err != nil {
			return "", err
		}
		return "/shop/hours?done=closed", shop.AddBreak(ctx, tx, by, b)
	})
}

func (a *App) openShop(w http.ResponseWriter, r *http.Request) error {
	return a.changeHours(w, r, "opening", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (string, error) {
		b, err := templates.BreakOf(f.text("break"))
		if err != nil {
			return "", fault.Conflict("Choose a closure that is on the page.")
		}
		return "/shop/hours?done=opened", shop.RemoveBreak(ctx, tx, by, b)
	})
}

func (a *App) setHolidays(w http.ResponseWriter, r *http.Request) error {
	return a.changeHours(w, r, "region", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (string, error) {
		return "/shop/hours?done=region#holidays", shop.SetHolidays(ctx, tx, by, f.text("was"), f.text("region"))
	})
}

func (a *App) settleHoliday(w http.ResponseWriter, r *http.Request) error {
	return a.changeHours(w, r, "holiday", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (string, error) {
		name := "open"
		if f.text(name) == "" {
			name = "close"
		}
		day := f.day(name)
		if day == nil {
			return "", fault.Conflict("Choose a holiday that is on the page.")
		}
		return "/shop/hours?done=day#holidays", shop.OpenOnHoliday(ctx, tx, by, *day, name == "open")
	})
}

// changeHours does what a form of the page of the hours asks for.
func (a *App) changeHours(w http.ResponseWriter, r *http.Request, name string,
	do func(ctx context.Context, tx pgx.Tx, by history.By, f *form) (to string, err error)) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "hours: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return do(ctx, tx, by, f)
	}, func(base templates.Base) (templ.Component, error) {
		return a.hoursPage(r.Context(), base, name)
	})
}

func (f *form) week() []shop.Opening {
	var week []shop.Opening
	for day := time.Sunday; day <= time.Saturday; day++ {
		spans, err := shop.ParseDay(day, f.text(shop.DayField(day)))
		if f.with(err) == nil {
			week = append(week, spans...)
		}
	}
	return week
}

// weekBefore is the week that stood when the page was opened.
func (f *form) weekBefore() []shop.Opening {
	var week []shop.Opening
	for _, text := range f.list("was") {
		var o shop.Opening
		if _, err := fmt.Sscanf(text, templates.OpeningForm, &o.Weekday, &o.OpenMin, &o.CloseMin); err == nil {
			week = append(week, o)
		}
	}
	return week
}

// closing reads a closure: without a last day of one day, without times of
// whole days.
func (f *form) closing(today time.Time) shop.Break {
	b := shop.Break{FromMin: f.clock("from", 0), ToMin: f.clock("until", shop.DayEnd)}
	if b.ToMin == 0 {
		b.ToMin = shop.DayEnd
	}
	first, last := f.day("first"), f.day("last")
	if first == nil {
		f.wrong("first", "Say the first day, such as 2026-12-24.")
		return b
	}
	b.First, b.Last = *first, *first
	ends := "first"
	if last != nil {
		b.Last, ends = *last, "last"
	}
	if b.Last.Format(time.DateOnly) < today.Format(time.DateOnly) {
		f.wrong(ends, "That day has passed.")
	}
	return b
}

// clock reads a time of day as a minute; other when the field is empty.
func (f *form) clock(name string, other int) int {
	t := f.text(name)
	if t == "" {
		return other
	}
	minute, ok := shop.ParseClock(t)
	if !ok {
		f.wrong(name, "That is not a time of day, such as 13:00 or 1 pm.")
	}
	return minute
}
