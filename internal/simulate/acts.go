package simulate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/goahead"
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
		return errors.Join(intent.File(ctx, tx, act), do(tx, by), due.Settle(ctx, tx, by.At))
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
		w.benches = append(w.benches, &mechanic{by: by})
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
	if err := w.readHours(ctx); err != nil {
		return err
	}
	return w.stock(ctx)
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

func (w *world) callIn(ctx context.Context, m *mechanic, away shop.Break) error {
	return w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) error {
		return shop.AddAbsence(ctx, tx, by, shop.Absence{StaffID: m.by.Staff, Break: away, Words: "called in"})
	})
}

// arrive is the desk taking in a fork and promising what the plan proposes. One
// that is squeezed in is promised for the day, one that came back for the end of
// the next.
func (w *world) arrive(ctx context.Context, f *fork) error {
	f.came = w.now
	w.all = append(w.all, f)
	if err := w.catchAllUp(ctx); err != nil {
		return err
	}
	return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error {
		line, err := plan.Read(ctx, tx, w.now)
		if err != nil {
			return err
		}
		units := []plan.Unit{{Work: job.Work{Services: []string{f.service.code}, ModelID: w.model}, UnitID: f.unit,
			Facts: procedure.Facts{CameAs: job.CameAs[0], Symptoms: f.symptoms()}}}
		if err := plan.Recognize(ctx, tx, units); err != nil {
			return err
		}
		p := line.Propose(units, time.Time{})
		f.promised, f.sure = p.Promise, p.Slack.Enough()
		seen := job.Foreseen{Expected: p.Expected, Proposed: p.Promise}
		if f.squeezed || f.again != nil {
			f.promised = line.Closings(w.now, 2)[1]
			if f.squeezed {
				f.promised = line.Closings(w.now, 1)[0]
			}
			seen.Expected = line.Weigh(units, time.Time{}, f.promised).Expected
		}
		if !f.promised.After(w.now) {
			return fmt.Errorf("nothing is proposed for %.0f minutes", p.Minutes)
		}
		return w.takeIn(ctx, tx, by, f, seen)
	})
}

func (w *world) takeIn(ctx context.Context, tx pgx.Tx, by history.By, f *fork, seen job.Foreseen) (err error) {
	u := job.DropOffUnit{UnitID: f.unit, Services: []string{f.service.code}, Symptoms: f.symptoms(), Comeback: f.again != nil}
	if f.unit == 0 {
		u.NewUnit = customer.UnitDetails{Kind: "fork", ModelID: w.model, Serial: fmt.Sprint("S-", len(w.all))}
	}
	f.visit, err = job.TakeIn(ctx, tx, by, job.DropOff{CustomerID: w.customer, Currency: "GBP", Zone: w.zone, PromisedAt: f.promised,
		Foreseen: seen, Units: []job.DropOffUnit{u}})
	if err != nil {
		return err
	}
	v, err := job.Visit(ctx, tx, f.visit)
	if err != nil {
		return err
	}
	f.job, f.unit = v.Jobs[0].ID, v.Jobs[0].UnitID
	w.forks[f.job] = f
	pin := job.Pin{JobID: f.job, Kind: job.NextUp}
	switch {
	case f.squeezed:
		day := interval.Day(f.promised.Add(-1), w.zone)
		pin.Kind, pin.Day, pin.Reason = job.PinnedToDay, &day, "rides tonight"
	case f.again == nil:
		return nil
	}
	return job.PinJob(ctx, tx, by, pin)
}

// wait lets a fork wait for parts, or for its owner’s answer to what is proposed.
func (w *world) wait(ctx context.Context, m *mechanic, f *fork) error {
	if f.parts {
		day, come := w.parts()
		w.at(come, func(ctx context.Context) error { return w.act(ctx, w.desk, f.received(ctx)) })
		return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error {
			return job.Hold(ctx, tx, by, f.job, job.WaitingOnParts, "tray", &day)
		})
	}
	var proposal int64
	w.at(w.answered(), func(ctx context.Context) error {
		return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error {
			return goahead.Answer(ctx, tx, by, goahead.Said{ProposalID: proposal, Yes: w.r.Float64() < agrees, How: goahead.Hows[0], Who: "Customer"})
		})
	})
	return w.act(ctx, m.by, func(tx pgx.Tx, by history.By) error {
		found := bench.Found{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: "Worn"}
		if err := bench.AddFinding(ctx, tx, by, f.job, found); err != nil {
			return err
		}
		id, err := bench.FoundID(ctx, tx, f.job, nil, found)
		if err != nil {
			return err
		}
		if err := goahead.Propose(ctx, tx, by, false, goahead.New{FindingID: id, Words: "New ones", Minor: 4000}); err != nil {
			return err
		}
		return tx.QueryRow(ctx, "select max(id) from proposal where finding_id = $1", id).Scan(&proposal)
	})
}

// received ends the wait for parts.
func (f *fork) received(ctx context.Context) func(pgx.Tx, history.By) error {
	return func(tx pgx.Tx, by history.By) error {
		j, err := job.Get(ctx, tx, f.job)
		if err != nil {
			return err
		}
		return job.EndHold(ctx, tx, by, f.job, j.Holds[0].ID)
	}
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

// finish brings a fork to ready; its owner comes for it the next day.
func (w *world) finish(ctx context.Context, m *mechanic, f *fork) error {
	f.ready = w.now
	next, _, _ := w.open.Next(w.midnight(w.now, 1))
	w.at(next, func(ctx context.Context) error {
		if again, at := w.comeback(f); again != nil && at.Before(w.last) {
			w.at(at, func(ctx context.Context) error { return w.arrive(ctx, again) })
		}
		return w.act(ctx, w.desk, func(tx pgx.Tx, by history.By) error { return job.HandOver(ctx, tx, by, f.job, "") })
	})
	return w.act(ctx, m.by, func(tx pgx.Tx, by history.By) error {
		return errors.Join(job.SetRiderNote(ctx, tx, by, f.job, "It is done."), bench.MakeReady(ctx, tx, by, f.job))
	})
}
