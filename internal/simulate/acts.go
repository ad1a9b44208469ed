package simulate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

// act does something as somebody at the moment of the run.
func (w *world) act(ctx context.Context, by history.By, do func(tx pgx.Tx, by history.By) error) error {
	by.At, by.Intent = w.now.UTC(), uuid.New()
	return pgx.BeginFunc(ctx, w.pool, func(tx pgx.Tx) error {
		act := intent.Act{ID: by.Intent, Kind: "simulate", Actor: by.Staff, Fingerprint: []byte(by.Intent.String()), At: by.At}
		return errors.Join(intent.File(ctx, tx, act), do(tx, by))
	})
}

func (w *world) hire(ctx context.Context, name string, roles ...string) (by history.By, err error) {
	err = w.act(ctx, history.By{}, func(tx pgx.Tx, as history.By) (err error) {
		by.Roles = roles
		by.Staff, err = staff.AddTold(ctx, tx, as, staff.New{Name: name, Roles: roles, Passphrase: "invented for a run of months"}, "592817")
		return err
	})
	return by, err
}

// openShop hires everybody and opens from Tuesday to Saturday, 10 to 18.
func (w *world) openShop(ctx context.Context) (err error) {
	if w.owner, err = w.hire(ctx, "Owner", "owner"); err != nil {
		return err
	}
	if w.desk, err = w.hire(ctx, "Desk", "desk"); err != nil {
		return err
	}
	for n := range mechanics {
		by, err := w.hire(ctx, fmt.Sprint("Mechanic ", n+1), "mechanic")
		if err != nil {
			return err
		}
		w.benches = append(w.benches, &bench{by: by})
	}
	err = w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) error {
		return errors.Join(
			shop.Save(ctx, tx, by, shop.Settings{Name: "A shop of a run", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
				TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}),
			shop.SetHours(ctx, tx, by, nil, shop.UsualWeeks[0]),
			procedure.Install(ctx, tx, by))
	})
	if err != nil {
		return err
	}
	err = w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) (err error) {
		w.customer, err = customer.Add(ctx, tx, by, customer.Details{Name: "Customer", Phone: "07700 900118"})
		return err
	})
	if err != nil {
		return err
	}
	return w.readHours(ctx)
}

// readHours reads who is at the bench when.
func (w *world) readHours(ctx context.Context) error {
	settings, err := shop.Get(ctx, w.pool)
	if err != nil {
		return err
	}
	w.zone = settings.Location()
	b, err := shop.GetBench(ctx, w.pool, interval.Day(w.now, w.zone))
	if err != nil {
		return err
	}
	w.open = b.Hours.Calendar(w.zone)
	for _, one := range w.benches {
		one.hours = b.Calendar(one.by.Staff, w.zone)
	}
	return nil
}

func (w *world) callIn(ctx context.Context, b *bench, away shop.Break) error {
	return w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) error {
		return shop.AddAbsence(ctx, tx, by, shop.Absence{StaffID: b.by.Staff, Break: away, Words: "called in"})
	})
}

// arrive is the desk taking in a fork and promising what the plan proposes; one
// that is squeezed in is promised for the day.
func (w *world) arrive(ctx context.Context) error {
	f := w.draw()
	f.came = w.now
	w.all = append(w.all, f)
	return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error {
		line, err := plan.Read(ctx, tx, w.now)
		if err != nil {
			return err
		}
		units := []plan.Unit{{Work: job.Work{Services: []string{f.service.code}}}}
		p := line.Propose(units, time.Time{})
		f.promised, f.proposed, f.sure = p.Promise, !f.squeezed, p.Slack.Enough()
		d := job.DropOff{CustomerID: w.customer, Currency: "GBP", Zone: w.zone, Foreseen: job.Foreseen{Expected: p.Expected, Proposed: p.Promise},
			Units: []job.DropOffUnit{{Services: []string{f.service.code}, Symptoms: []string{"sticky"},
				NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: fmt.Sprint("fork ", len(w.all)), Serial: fmt.Sprint("S-", len(w.all))}}}}
		if f.squeezed {
			f.promised = line.Closings(w.now, 1)[0]
			d.Foreseen.Expected = line.Weigh(units, time.Time{}, f.promised).Expected
		}
		if d.PromisedAt = f.promised; !f.promised.After(w.now) {
			return fmt.Errorf("nothing is proposed for %.0f minutes", p.Minutes)
		}
		return w.takeIn(ctx, tx, by, f, d)
	})
}

func (w *world) takeIn(ctx context.Context, tx pgx.Tx, by history.By, f *fork, d job.DropOff) (err error) {
	if f.visit, err = job.TakeIn(ctx, tx, by, d); err != nil {
		return err
	}
	v, err := job.Visit(ctx, tx, f.visit)
	if err != nil {
		return err
	}
	f.job = v.Jobs[0].ID
	w.forks[f.job] = f
	if !f.squeezed {
		return nil
	}
	day := interval.Day(f.promised.Add(-1), w.zone)
	return job.PinJob(ctx, tx, by, job.Pin{JobID: f.job, Kind: job.PinnedToDay, Day: &day, Reason: "rides tonight"})
}

// start takes a fork to the bench, or goes on with it.
func (w *world) start(ctx context.Context, b *bench, f *fork) error {
	err := w.act(ctx, b.by, func(tx pgx.Tx, by history.By) error {
		j, err := job.Get(ctx, tx, f.job)
		if err != nil || j.Stage == job.OnBench {
			return err
		}
		return errors.Join(job.Assign(ctx, tx, by, f.job, j.Version, &by.Staff), job.Move(ctx, tx, by, f.job, job.OnBench, ""))
	})
	if err == nil {
		w.work(b, f)
	}
	return err
}

// stop lets a fork wait for parts or for its owner's answer.
func (w *world) stop(ctx context.Context, f *fork) error {
	kind, tray, named, ends := job.WaitingOnCustomer, "", (*time.Time)(nil), w.answered()
	if f.parts {
		var day time.Time
		day, ends = w.parts()
		kind, tray, named = job.WaitingOnParts, "tray", &day
	}
	err := w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error { return job.Hold(ctx, tx, by, f.job, kind, tray, named) })
	w.at(ends, func(ctx context.Context) error {
		return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error {
			j, err := job.Get(ctx, tx, f.job)
			if err != nil {
				return err
			}
			return job.EndHold(ctx, tx, by, f.job, j.Holds[0].ID)
		})
	})
	return err
}

// answered is when the customer does: most within hours, some not for days.
func (w *world) answered() time.Time {
	hours := 6 * math.Exp(0.9*w.r.NormFloat64())
	if w.r.Float64() < silent {
		hours = 48 + 72*w.r.Float64()
	}
	at := w.now.Add(time.Duration(hours * float64(time.Hour)))
	from, _, _ := w.open.Next(at)
	if at.Before(from) {
		at = from // nobody is there to hear it
	}
	return at
}

// parts are named for a day and come on it, or late.
func (w *world) parts() (day, come time.Time) {
	noon := func(d time.Time) time.Time { return time.Date(d.Year(), d.Month(), d.Day(), 11, 30, 0, 0, w.zone) }
	at := w.now
	for range 1 + w.r.IntN(3) {
		at, _, _ = w.open.Next(noon(at.In(w.zone).AddDate(0, 0, 1)))
	}
	day = interval.Day(at, w.zone)
	if w.r.Float64() < partsInTime {
		return day, noon(day)
	}
	for range 1 + w.r.IntN(3) {
		at, _, _ = w.open.Next(noon(at.In(w.zone).AddDate(0, 0, 1)))
	}
	return day, noon(at.In(w.zone))
}

// finish brings a fork to ready.
func (w *world) finish(ctx context.Context, b *bench, f *fork) error {
	f.ready = w.now
	return w.act(ctx, b.by, func(tx pgx.Tx, by history.By) error {
		return errors.Join(job.Move(ctx, tx, by, f.job, job.FinalCheck, ""), job.Move(ctx, tx, by, f.job, job.Ready, ""))
	})
}
