package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// bench is where a mechanic goes on: own open sheets, what to start, what the
// others have.
func (a *App) bench(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Bench")
	if err != nil {
		return err
	}
	base.Live = "board"
	page := templates.BenchPage{BoardPage: templates.BoardPage{Base: base}}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error { return readBoard(r.Context(), tx, &page.BoardPage) })
	if err != nil {
		return err
	}
	sortBench(&page)
	return render(w, r, http.StatusOK, templates.Bench(page))
}

// sortBench has each list in the order of the line.
func sortBench(page *templates.BenchPage) {
	for _, row := range page.All {
		mine := row.MechanicID != nil && *row.MechanicID == page.Person.ID
		switch waits := slices.Contains([]string{job.DroppedOff, job.Arrived, job.InQueue}, row.Stage); {
		case waits && (mine || row.MechanicID == nil):
			page.Queue = append(page.Queue, templates.QueueRow{BoardRow: row, Intent: uuid.NewString()})
		case row.Steps == 0 || row.Stage == job.Ready:
		case mine:
			page.Mine = append(page.Mine, row)
		default:
			page.Others = append(page.Others, row)
		}
	}
	slices.SortStableFunc(page.Queue, func(x, y templates.QueueRow) int { return page.Plan.Order(x.ID, y.ID) })
	for _, list := range [][]job.BoardRow{page.Mine, page.Others} {
		slices.SortStableFunc(list, func(x, y job.BoardRow) int { return page.Plan.Order(x.ID, y.ID) })
	}
}

func benchPath(jobID int64) string { return "/bench/" + strconv.FormatInt(jobID, 10) }

// startJob puts a job on the bench and opens its sheet.
func (a *App) startJob(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.act(w, r, "work started", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return benchPath(id), bench.Start(ctx, tx, by, id)
	})
}

func (a *App) benchSheet(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "job")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.sheetPage(r.Context(), base, id, "")
	})
}

// sheetPage shows what was typed in the form that was sent, if any.
func (a *App) sheetPage(ctx context.Context, base templates.Base, jobID int64, sent string) (templ.Component, error) {
	var (
		sheet    bench.Sheet
		offers   []procedure.Service
		parked   []bench.Parked
		inside   spec.Inside
		proposed []goahead.Proposal
	)
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if sheet, parked, err = bench.Open(ctx, tx, jobID, base.Person.ID); err != nil {
			return err
		}
		if inside, err = spec.InsideOf(ctx, tx, sheet.Job.UnitID); err != nil {
			return err
		}
		if len(sheet.Findings) > 0 { // nothing is proposed for nothing
			if proposed, err = goahead.OfVisit(ctx, tx, sheet.Job.VisitID); err != nil {
				return err
			}
		}
		offers, err = offersFor(ctx, tx, sheet.Job)
		return err
	})
	if err != nil {
		return nil, err
	}
	base.Title = "Bench sheet " + strconv.Itoa(sheet.Job.Number)
	base.Live = "job:" + strconv.FormatInt(jobID, 10)
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	return templates.BenchSheet(templates.SheetPage{
		Base: base, Sheet: sheet, Inside: inside, Parked: parked, Offers: offers, Note: form("note"), Ready: form("ready"), Reopen: form("reopen"),
		Proposed: proposed, Finding: form("finding"), Picture: form("picture"), Mend: form("mend"), Withdraw: form("withdraw"),
	}), nil
}

// sheetAct is what one form on the sheet does.
type sheetAct func(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error

func keepNote(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error {
	return job.SetRiderNote(ctx, tx, by, jobID, f.text("note"))
}

func makeReady(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, _ *form) error {
	return bench.MakeReady(ctx, tx, by, jobID)
}

func reopenSheet(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error {
	return bench.Reopen(ctx, tx, by, jobID, f.text("reason"))
}

// onSheet makes the handler of the form called name.
func onSheet(name string, do sheetAct) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "job")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		if _, err := a.keepPictures(r, f, func(string) shot { return shot{job: id} }); err != nil {
			return err
		}
		return a.take(w, r, f, "bench sheet: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return benchPath(id), do(ctx, tx, by, id, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.sheetPage(r.Context(), base, id, name)
		})
	}
}

func stepPath(jobID, stepID int64) string {
	return benchPath(jobID) + "/steps/" + strconv.FormatInt(stepID, 10)
}

// stepOf finds a step of a job's sheet.
func stepOf(sheet bench.Sheet, id int64) (*bench.Step, error) {
	step := sheet.Find(id)
	if step == nil {
		return nil, fault.NotFound("There is no such step on this sheet.")
	}
	return step, nil
}
