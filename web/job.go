package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/picture"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

func (a *App) job(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = jobDone[r.URL.Query().Get("done")]
		return a.jobPage(r, base, id, "")
	})
}

// jobPage shows what was typed in the form that was sent, if any.
func (a *App) jobPage(r *http.Request, base templates.Base, id int64, sent string) (templ.Component, error) {
	before, err := pageBefore(r, "before")
	if err != nil {
		return nil, err
	}
	page := templates.JobPage{}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if err := readJob(r.Context(), tx, &page, id, base.Now); err != nil {
			return err
		}
		if sent == "propose" && base.Typed.Get("finding") != "" {
			if page.Effect, err = readEffect(r.Context(), tx, &base, page.Job, plainly); err != nil {
				return err
			}
		}
		page.History, err = readHistory(r.Context(), tx, history.OfJob, id, before)
		return err
	})
	if err != nil {
		return nil, err
	}
	base.Title = strconv.Itoa(page.Job.Number) + " " + page.Job.Unit
	base.Live = "job:" + strconv.FormatInt(id, 10)
	page.Base = base
	page.Next = job.ByHand(page.Job.Stage, base.Person.Roles)
	page.Forms = jobForms(base, sent)
	return templates.Job(page), nil
}

// readJob reads a job with what was found on it, and how its visit stands.
func readJob(ctx context.Context, q db.Querier, page *templates.JobPage, id int64, now time.Time) (err error) {
	if page.Job, err = job.Get(ctx, q, id); err != nil {
		return err
	}
	if page.Original, err = original(ctx, q, page.Job); err != nil {
		return err
	}
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return err
	}
	page.Offers, page.Quoting = offered(services, page.Job), procedure.Quoting(services, page.Job.Services)
	if page.Row, err = boardRow(ctx, q, id); err != nil {
		return err
	}
	if page.Row.ID != 0 {
		if page.Plan, err = plan.Read(ctx, q, now); err != nil {
			return err
		}
	}
	if page.Mechanics, err = mechanics(ctx, q); err != nil {
		return err
	}
	pins, err := job.Pins(ctx, q)
	if err != nil {
		return err
	}
	page.Pin = pins[id]
	if page.Findings, err = bench.Findings(ctx, q, id); err != nil {
		return err
	}
	if page.Needs, err = partslist.OfJobs(ctx, q, id); err != nil {
		return err
	}
	if page.Pictures, err = picture.OfJob(ctx, q, id); err != nil {
		return err
	}
	if page.Proposals, page.Standing, err = proposals(ctx, q, page.Job.VisitID); err != nil {
		return err
	}
	if page.Rates, err = bill.TaxRates(ctx, q); err != nil {
		return err
	}
	owed, err := bill.Owed(ctx, q, []int64{page.Job.VisitID})
	page.Owed = owed[page.Job.VisitID]
	return err
}

func jobForms(base templates.Base, sent string) templates.JobForms {
	alone := func(form string) templates.Base { return base.Alone(uuid.NewString(), form == sent) }
	return templates.JobForms{
		Move: alone("move"), Assign: alone("assign"), Start: alone("start"), Hold: alone("hold"),
		EndHold: alone("hold-end"), HandOver: alone("hand-over"), Cancel: alone("cancel"),
		Propose: alone("propose"), Answer: alone("answer"), Billed: alone("billed"),
		Pin:     alone("pin"),
		WhyBack: alone("why-back"), Authorise: alone("authorise"), Mark: alone("mark"), Picture: alone("pictures"),
	}
}

// boardRow is the job as the board has it; the zero row for a closed one.
func boardRow(ctx context.Context, q db.Querier, id int64) (job.BoardRow, error) {
	rows, err := job.Board(ctx, q, job.BoardFilter{})
	if err != nil {
		return job.BoardRow{}, err
	}
	i := slices.IndexFunc(rows, func(r job.BoardRow) bool { return r.ID == id })
	if i < 0 {
		return job.BoardRow{}, nil
	}
	return rows[i], nil
}

// mechanics are those who work here now.
func mechanics(ctx context.Context, q db.Querier) ([]staff.Person, error) {
	people, err := staff.List(ctx, q)
	return slices.DeleteFunc(people, func(p staff.Person) bool { return p.LeftOn != nil || !p.Has(mechanic) }), err
}

// jobDone is what the page says after each of its forms.
var jobDone = map[string]string{
	"move":      "Moved on.",
	"assign":    "It is settled who does it.",
	"hold":      "It waits.",
	"hold-end":  "It no longer waits.",
	"hand-over": "Handed over.",
	"cancel":    "The job has ended.",
	"service":   "The service is added.",
	"change":    "It is changed.",
	"propose":   "It is proposed.",
	"answer":    "What they said is kept.",
	"billed":    "It is on the bill.",
	"pin":       "Its place in the line is set.",
	"why-back":  "It is kept why it came back.",
	"authorise": "The claim may be opened.",
	"mark":      "The mark is kept.",
	"pictures":  "The pictures are kept.",

	"change-both": "It is changed. Somebody else changed something beside it meanwhile, and that stands too.",
	"service-off": "The service is taken off.",
}

// jobChange does the work of one form of the page.
type jobChange func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error

// changeJob is the handler of a form of the page of a job.
func changeJob(name string, change jobChange) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "job "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			to := "/jobs/" + strconv.FormatInt(id, 10) + "?done=" + name
			return to, change(ctx, tx, by, id, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.jobPage(r, base, id, name)
		})
	}
}

func moveJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	return job.MoveByHand(ctx, tx, by, id, f.text("stage"))
}

func assignJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	who, version := f.number("mechanic"), f.number("version")
	if err := f.err(); err != nil {
		return err
	}
	if who == 0 {
		return job.Assign(ctx, tx, by, id, int(version), nil)
	}
	return job.HandOn(ctx, tx, by, id, int(version), who, f.text("know"))
}

func holdJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	expected := f.day("expected")
	if err := f.err(); err != nil {
		return err
	}
	return job.Hold(ctx, tx, by, id, f.text("kind"), f.text("tray"), expected)
}

func endHold(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	hold := f.number("hold")
	if err := f.err(); err != nil {
		return err
	}
	return job.EndHold(ctx, tx, by, id, hold)
}

func handOver(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	if err := bench.Tell(ctx, tx, by, id, f.ids("told"), f.text("toldwho")); err != nil {
		return err
	}
	switch f.text("how") {
	case job.PickedUp:
		return job.HandOver(ctx, tx, by, id, f.text("takenby"))
	case job.SentBack:
		return bill.SendBack(ctx, tx, by, id, job.Parcel{Carrier: f.text("carrier"), Tracking: f.text("tracking"), AirOut: f.ticked("airout"), Unpaid: f.text("unpaid")})
	}
	return fault.Field("how", "Say whether it was picked up or sent back.")
}

func cancelJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	if err := bench.Tell(ctx, tx, by, id, f.ids("told"), f.text("toldwho")); err != nil {
		return err
	}
	return job.Cancel(ctx, tx, by, id, f.text("ending"), f.text("words"))
}
