package web

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/find"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// customerLink is the address of a customer's page, of a visit or a unit's book, as
// a scanner types it.
var customerLink = regexp.MustCompile(`/([cb])/([A-Za-z0-9_-]{20,})/?\s*$`)

// code leads to what a code stands for that was scanned or typed: the job of a
// ticket, the visit of a customer's page, the unit of a serial, tag or frame
// number, the part of a label, code or barcode. Any other code is looked for as words are, and said to be unknown.
func (a *App) code(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Code")
	if err != nil {
		return err
	}
	base.Looked = plain(r.URL.Query().Get("code"))
	return a.lookUp(w, r, templates.FindPage{Base: base, Code: true})
}

// lookUp goes to what the text alone stands for, else lists what fits it.
func (a *App) lookUp(w http.ResponseWriter, r *http.Request, page templates.FindPage) error {
	to := ""
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if to, err = ofLink(r.Context(), tx, page.Base); err != nil || to != "" {
			return err
		}
		if page.Found, err = find.All(r.Context(), tx, page.Looked); err != nil {
			return err
		}
		if to = onlyPath(page.Found); to == "" && (page.Code || page.Found.Nothing()) {
			to, err = partOfCode(r.Context(), tx, page.Looked)
		}
		return err
	})
	if err != nil {
		return err
	}
	if to != "" {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	return render(w, r, http.StatusOK, templates.Find(page))
}

// ofLink is the visit or unit whose customer's page was looked for; empty for any
// other text.
func ofLink(ctx context.Context, q db.Querier, base templates.Base) (string, error) {
	m := customerLink.FindStringSubmatch(base.Looked)
	if m == nil {
		return "", nil
	}
	open, path := link.Open, visitPath
	if m[1] == "b" {
		open, path = link.OpenUnit, unitPath
	}
	id, err := open(ctx, q, m[2], base.Now)
	if errors.As(err, new(fault.NotFound)) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	return path(id), nil
}

// partOfCode is the item whose label, code or barcode it is; empty for none, and
// where several are meant.
func partOfCode(ctx context.Context, q db.Querier, text string) (string, error) {
	i, err := stock.Scan(ctx, q, text)
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	return partPath(i.ID), nil
}

// onlyPath is where a code leads that is one thing's alone; empty for none.
func onlyPath(found find.Result) string {
	switch {
	case found.OnlyJob != 0:
		return "/jobs/" + strconv.FormatInt(found.OnlyJob, 10)
	case found.OnlyUnit != 0:
		return "/units/" + strconv.FormatInt(found.OnlyUnit, 10)
	}
	return ""
}

// ticket is where the QR code of a ticket leads.
func (a *App) ticket(w http.ResponseWriter, r *http.Request) error {
	number, err := a.id(r, "number")
	if err != nil {
		return err
	}
	if number > 1<<31-1 {
		return fault.NotFound("There is no such ticket.")
	}
	j, err := job.ByNumber(r.Context(), a.pool, int(number))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/jobs/"+strconv.FormatInt(j.ID, 10), http.StatusSeeOther)
	return nil
}
