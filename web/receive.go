package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/order"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// mostCounted bounds the lines of one delivery.
const mostCounted = 500

func (a *App) receiveForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.receivePage(r, base, id)
	})
}

// receivePage shows what is counted so far and every line that is open still; a form
// that comes back has the lines it was sent with.
func (a *App) receivePage(r *http.Request, base templates.Base, id int64) (templ.Component, error) {
	ctx, asked := r.Context(), r.URL.Query()
	page := templates.ReceivePage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Order, err = order.Get(ctx, tx, id); err != nil {
			return err
		}
		lines, err := order.Lines(ctx, tx, id)
		if err != nil {
			return err
		}
		counted, err := order.Unpacked(ctx, tx, id)
		if err != nil {
			return err
		}
		rows := order.ToCount(lines, counted)
		if base.Typed != nil {
			rows = sentRows(&form{values: base.Typed})
		}
		if page.Rows, err = receiveRows(ctx, tx, page.Order, lines, rows); err != nil {
			return err
		}
		if text := asked.Get("unknown"); text != "" && base.Typed == nil {
			_, _, err := order.Scanned(ctx, tx, page.Order, lines, counted, text)
			page.Unknown = templates.Unknown{Code: text, Why: scanFault(err)}
		}
		return nil
	})
	page.Title = fmt.Sprintf("Receive order %d", page.Order.Number)
	page.Done = page.DoneWords(asked.Get("done"), asked.Get("scanned"))
	return templates.Receive(page), err
}

// scanFault is the sentence that a scan was refused with; empty where it was not.
func scanFault(err error) string {
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		return invalid.Fields["scan"]
	}
	return ""
}

// receiveRows puts to what is counted the line that it is counted for.
func receiveRows(ctx context.Context, q db.Querier, o order.Order, lines []order.Line, counted []order.Counted) ([]templates.ReceiveRow, error) {
	var rows []templates.ReceiveRow
	for _, c := range counted {
		at := slices.IndexFunc(lines, func(l order.Line) bool { return l.ID == c.Line })
		if at >= 0 {
			rows = append(rows, templates.ReceiveRow{Counted: c, Line: lines[at]})
			continue
		}
		item, err := stock.Get(ctx, q, c.Item)
		if err != nil {
			return nil, err
		}
		extra, err := order.Extra(ctx, q, o, item)
		if err != nil {
			return nil, err
		}
		rows = append(rows, templates.ReceiveRow{Counted: c, Line: extra})
	}
	return rows, nil
}

// sentRows are the items and lines that a form was sent with.
func sentRows(f *form) []order.Counted {
	rows := []order.Counted{}
	for i := range min(f.number("rows"), mostCounted) {
		item, _ := strconv.ParseInt(f.text(fmt.Sprint(i, ".item")), 10, 64)
		line, _ := strconv.ParseInt(f.text(fmt.Sprint(i, ".line")), 10, 64)
		rows = append(rows, order.Counted{Item: item, Line: line})
	}
	return rows
}

// receive does what a button of the form says: what is scanned is counted, what is
// counted is kept, or it goes on the shelf.
func (a *App) receive(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	version := int(f.number("version"))
	return a.take(w, r, f, "delivery", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		o, err := order.Get(ctx, tx, id)
		if err != nil {
			return "", err
		}
		lines, err := order.Lines(ctx, tx, id)
		if err != nil {
			return "", err
		}
		counted, err := f.counted(ctx, tx, o, lines)
		if err != nil {
			return "", err
		}
		switch f.text("do") {
		case "shelve":
			return f.shelve(ctx, tx, by, id, version, lines, counted)
		case "keep":
			return receivePath(id, "done", "kept"), order.Unpack(ctx, tx, by, id, version, counted)
		}
		return f.scan(ctx, tx, by, o, version, lines, counted)
	}, func(base templates.Base) (templ.Component, error) { return a.receivePage(r, base, id) })
}

func receivePath(id int64, name, value string) string {
	return orderPath(id, "") + "/receive?" + url.Values{name: {value}}.Encode()
}

// counted reads what is typed of each line.
func (f *form) counted(ctx context.Context, q db.Querier, o order.Order, lines []order.Line) ([]order.Counted, error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return nil, err
	}
	rows, err := receiveRows(ctx, q, o, lines, sentRows(f))
	if err != nil {
		return nil, err
	}
	counted := []order.Counted{}
	for i, row := range rows {
		of := func(name string) string { return fmt.Sprint(i, ".", name) }
		c := row.Counted
		if f.text(of("qty")) != "" {
			c.Qty = f.amountOrNone(of("qty"), row.Line.Measure)
		}
		c.PriceMinor, c.KeepPrice = f.money(of("price"), settings.Currency), f.ticked(of("keep"))
		c.Batch, c.BestBefore = f.text(of("batch")), f.day(of("best"))
		c.Short, c.Words, c.Cancel, c.ExpectedOn = f.text(of("short")), f.text(of("words")), f.ticked(of("cancel")), f.day(of("expected_on"))
		counted = append(counted, c)
	}
	return counted, f.err()
}

// scan counts a pack of what was scanned. A code that nothing has is told on the
// page that comes, beside the field that takes the next one.
func (f *form) scan(ctx context.Context, tx pgx.Tx, by history.By, o order.Order, version int, lines []order.Line, counted []order.Counted) (string, error) {
	text := f.text("scan")
	if text == "" {
		return receivePath(o.ID, "done", "kept"), order.Unpack(ctx, tx, by, o.ID, version, counted)
	}
	counted, at, err := order.Scanned(ctx, tx, o, lines, counted, text)
	if scanFault(err) != "" {
		return receivePath(o.ID, "unknown", text), order.Unpack(ctx, tx, by, o.ID, version, counted)
	}
	if err != nil {
		return "", err
	}
	return receivePath(o.ID, "scanned", strconv.FormatInt(counted[at].Item, 10)), order.Unpack(ctx, tx, by, o.ID, version, counted)
}

// shelve puts what is counted on the shelf, once every price that differs from what
// was ordered has been seen.
func (f *form) shelve(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, lines []order.Line, counted []order.Counted) (string, error) {
	for i, c := range counted {
		at := slices.IndexFunc(lines, func(l order.Line) bool { return l.ID == c.Line })
		if at < 0 || c.Qty == 0 {
			continue
		}
		change, changed := lines[at].Changed(c)
		if changed && f.text(fmt.Sprint(i, ".noticed")) != strconv.FormatInt(change.Is, 10) {
			return receivePath(id, "done", "prices"), order.Unpack(ctx, tx, by, id, version, counted)
		}
	}
	items := itemsOf(lines) // those that came short too, so that every job that waits is held first
	for _, c := range counted {
		items = append(items, c.Item)
	}
	err := job.Supply(ctx, tx, by, items, func() error {
		_, err := order.Receive(ctx, tx, by, id, version, counted)
		return err
	})
	if err != nil {
		return "", err
	}
	return orderPath(id, "shelved"), job.AwaitAnew(ctx, tx, by, itemsOf(lines))
}

func itemsOf(lines []order.Line) []int64 {
	items := make([]int64, len(lines))
	for i, l := range lines {
		items[i] = l.ItemID
	}
	return items
}
