package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// mostCounts is how many counts that ended are listed.
const mostCounts = 20

func countPath(id int64) string { return "/parts/count/" + strconv.FormatInt(id, 10) }

func (a *App) counts(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) { return a.countsPage(r.Context(), base) })
}

func (a *App) countsPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Counts of the shelf"
	page := templates.CountsPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Counts, err = stock.Stocktakes(ctx, tx, mostCounts); err != nil {
			return err
		}
		if page.ToCount, err = stock.ToCount(ctx, tx); err != nil {
			return err
		}
		if page.Unposted, err = partslist.AllUnposted(ctx, tx); err != nil {
			return err
		}
		page.Places, err = stock.PlacesToCount(ctx, tx)
		return err
	})
	return templates.Counts(page), err
}

// beginCount begins a count of a place, of chosen items, or of what the ledger
// cannot be right about.
func (a *App) beginCount(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "count begun", func(ctx context.Context, tx pgx.Tx, by history.By) (to string, err error) {
		var id int64
		switch f.text("what") {
		case "place":
			id, err = stock.BeginCount(ctx, tx, by, f.text("place"))
		case "items":
			id, err = stock.BeginChosen(ctx, tx, by, f.ids("item")...)
		case "wrong":
			id, err = stock.BeginToCount(ctx, tx, by)
		default:
			return "", fault.Field("place", "Choose what to count.")
		}
		return countPath(id), err
	}, func(base templates.Base) (templ.Component, error) { return a.countsPage(r.Context(), base) })
}

// count is where one is counted. The item whose line is open is named in the
// address; else it is the first that nobody has counted.
func (a *App) count(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.countPage(r.Context(), base, id, r.URL.Query())
	})
}

func (a *App) countPage(ctx context.Context, base templates.Base, id int64, query url.Values) (templ.Component, error) {
	page := templates.CountPage{Base: base, Typed: plain(query.Get("n"))}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Count, err = stock.GetCount(ctx, tx, id); err != nil {
			return err
		}
		page.List, err = stock.CountSheet(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	page.Title = page.Heading()
	item, _ := strconv.ParseInt(query.Get("item"), 10, 64)
	done, _ := strconv.ParseInt(query.Get("done"), 10, 64)
	for i, c := range page.List {
		if c.ItemID == done && c.LineID != 0 {
			page.Done = page.CountedWords(c)
		}
		if c.ItemID == item || page.Open == nil && item == 0 && c.LineID == 0 {
			page.Open = &page.List[i]
		}
	}
	return templates.Count(page), nil
}

// countLine keeps what was counted of the open line. Something scanned goes before:
// the same item again is one piece more; another one opens its own line, and what
// was typed into the line before is kept.
func (a *App) countLine(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "count line", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		line, err := f.openLine(ctx, tx)
		switch {
		case err != nil:
			return "", f.with(err)
		case f.text("scan") == "":
			return line.keep(ctx, tx, by, id)
		}
		return line.scanned(ctx, tx, by, id, f.text("scan"))
	}, func(base templates.Base) (templ.Component, error) {
		return a.countPage(r.Context(), base, id, url.Values{"item": {f.text("item")}})
	})
}

// openLine is the line of a count that stood open, and what was typed into it.
type openLine struct {
	item   stock.Item // zero: none was open
	typed  bool
	amount int64
}

func (f *form) openLine(ctx context.Context, tx pgx.Tx) (l openLine, err error) {
	id := f.number("item")
	if id == 0 || f.err() != nil {
		return l, f.err()
	}
	if l.item, err = stock.Get(ctx, tx, id); err != nil {
		return l, err
	}
	if text := f.text("counted"); text != "" {
		l.typed = true
		if l.amount, err = l.item.Measure.ParseZero(text); err != nil {
			f.wrong("counted", err.Error())
		}
	}
	return l, f.err()
}

func (l openLine) keep(ctx context.Context, tx pgx.Tx, by history.By, count int64) (string, error) {
	switch {
	case l.item.ID == 0:
		return "", fault.Field("scan", "Scan a label or type a code.")
	case !l.typed:
		return "", fault.Field("counted", "Say how much lies there: 0 if there is none.")
	}
	return fmt.Sprintf("%s?done=%d", countPath(count), l.item.ID), stock.TypeCount(ctx, tx, by, count, l.item.ID, l.amount)
}

func (l openLine) scanned(ctx context.Context, tx pgx.Tx, by history.By, count int64, text string) (string, error) {
	found, err := stock.Scan(ctx, tx, text)
	if err != nil {
		return "", err
	}
	next := l.amount
	if found.ID != l.item.ID {
		next = 0
		if err := stock.AddFound(ctx, tx, by, count, found.ID); err != nil {
			return "", err
		}
		if l.typed {
			if err := stock.TypeCount(ctx, tx, by, count, l.item.ID, l.amount); err != nil {
				return "", err
			}
		}
	}
	if found.Measure == stock.Each {
		next++
	}
	to := fmt.Sprintf("%s?item=%d", countPath(count), found.ID)
	if next > 0 {
		to += "&n=" + url.QueryEscape(found.Measure.Field(next))
	}
	if l.typed && found.ID != l.item.ID {
		to += fmt.Sprintf("&done=%d", l.item.ID)
	}
	return to, nil
}

// differences is what an owner reads before a count is posted.
func (a *App) differences(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.differencesPage(r.Context(), base, id)
	})
}

func (a *App) differencesPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.DifferencesPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Count, err = stock.GetCount(ctx, tx, id); err != nil {
			return err
		}
		page.List, err = stock.CountSheet(ctx, tx, id)
		return err
	})
	page.Title = "Differences: " + templates.CountOf(page.Count)
	return templates.Differences(page), err
}

var (
	postCount = changeBy("count posted", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
		sheet, err := stock.CountSheet(ctx, tx, id)
		if err != nil {
			return err
		}
		items := make([]int64, len(sheet))
		for i, c := range sheet {
			items[i] = c.ItemID
		}
		err = job.Supply(ctx, tx, by, items, func() error { return stock.PostCount(ctx, tx, by, id, f.text("mark")) })
		return err
	}, countPath, (*App).differencesPage)

	dropCount = changeBy("count dropped", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, _ *form) error {
		return stock.DropCount(ctx, tx, by, id)
	}, func(int64) string { return "/parts/count" }, func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
		return a.countPage(ctx, base, id, nil)
	})
)
