package demo

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/bill"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// planBench is what the owner has said of the bench: who is there when, and what an
// hour of it costs.
func (s *seeder) planBench(ctx context.Context, at time.Time) error {
	_, err := s.act(ctx, "plan the bench", s.staff["Ragna"], at, func(a acting) (string, error) {
		if err := shop.SetHolidays(a.ctx, a.tx, a.by, "", "GB-EAW"); err != nil {
			return "", err
		}
		from := interval.Day(at, zone)
		short := shop.Rota{StaffID: s.staff["Marit"].id, From: from}
		for _, day := range week[:4] { // Tuesday to Friday, not on Saturdays
			short.Spans = append(short.Spans, shop.Opening{Weekday: day.Weekday, OpenMin: 10 * 60, CloseMin: 15 * 60})
		}
		if err := shop.SetRota(a.ctx, a.tx, a.by, short, 0); err != nil {
			return "", err
		}
		// An owner is at the bench when somebody is away.
		if err := shop.SetRota(a.ctx, a.tx, a.by, shop.Rota{StaffID: s.staff["Ragna"].id, From: from}, 0); err != nil {
			return "", err
		}
		rate := int64(6000)
		return "", bill.SetHour(a.ctx, a.tx, a.by, bill.Hour{Minor: &rate, Currency: currency})
	})
	return err
}

// atCounter is what the desk has besides the board: somebody away, bookings, a
// comeback, a claim, and a drop-off that was begun.
func (s *seeder) atCounter(ctx context.Context, units []*unit) error {
	if err := s.away(ctx); err != nil {
		return err
	}
	for _, c := range []func(context.Context, []*unit) error{s.book, s.comeBack, s.claim, s.halfFill} {
		if err := c(ctx, units); err != nil {
			return err
		}
	}
	return nil
}

// away lets Tobias be at a course.
func (s *seeder) away(ctx context.Context) error {
	_, err := s.act(ctx, "Tobias is away", s.staff["Ragna"], s.clock.before(2*openDay), func(a acting) (string, error) {
		day := interval.Day(s.clock.day(3, 12), zone)
		return "", shop.AddAbsence(a.ctx, a.tx, a.by, shop.Absence{StaffID: s.staff["Tobias"].id, Words: "course",
			Break: shop.Break{First: day, Last: day, ToMin: shop.DayEnd}})
	})
	return err
}

// bookings are visits that are not here: one to come, one that never came.
var bookings = []struct {
	owner, model, symptom, words string
	told                         time.Duration // in opening time before now
	comes, promised              int           // opening days from now
}{
	{"Oda Marshall", "Sill", "sticky", "Wants it back before the long ride.", 5 * time.Hour, 2, 4},
	{"Maeve Sorley", "Sill", job.JustDue, "", 6 * openDay, -2, 3},
}

func (s *seeder) book(ctx context.Context, units []*unit) error {
	for _, b := range bookings {
		t := &task{unit: unitOf(units, b.owner, b.model), symptoms: []string{b.symptom}, complaint: b.words, riding: "trails", said: habit(2, 1.5)}
		day := interval.Day(s.clock.day(b.comes, 12), zone)
		v := &visit{name: "booking of " + b.owner, opened: s.clock.before(b.told), promised: s.clock.day(b.promised, 16), booked: &day, jobs: []*task{t}}
		if err := s.takeIn(ctx, v); err != nil {
			return err
		}
	}
	return nil
}

// comeBack brings a unit again that was done here lately, where one was.
func (s *seeder) comeBack(ctx context.Context, units []*unit) error {
	recent, err := job.RecentOf(ctx, s.pool, ids(units), interval.Day(s.now, zone), zone)
	if err != nil {
		return err
	}
	here, err := job.Board(ctx, s.pool, job.BoardFilter{})
	if err != nil {
		return err
	}
	i := slices.IndexFunc(units, func(u *unit) bool {
		r, ok := recent[u.id]
		return ok && !slices.Contains(r.Symptoms, job.JustDue) && !slices.ContainsFunc(here, func(row job.BoardRow) bool { return row.UnitID == u.id })
	})
	if i < 0 {
		return nil
	}
	t := &task{unit: units[i], symptoms: recent[units[i].id].Symptoms, complaint: "As before, only less: it was better for three rides.", hangs: "hook 9",
		riding: "trails", said: habit(2, 1.5), comeback: true}
	return s.takeIn(ctx, &visit{name: "comeback", opened: s.clock.before(3 * time.Hour), promised: s.clock.day(1, 17), jobs: []*task{t}})
}

// claim brings a unit that its maker is to pay for, if they agree.
func (s *seeder) claim(ctx context.Context, units []*unit) error {
	t := &task{unit: unitOf(units, "Thea Rowan", "Sill"), symptoms: []string{"rebound"}, complaint: "Rebound has done nothing since it was new.", hangs: "shelf G",
		riding: "trails", said: habit(1, 2), payer: job.PaysWarranty, payerWords: "asked on the phone"}
	return s.takeIn(ctx, &visit{name: "claim", opened: s.clock.before(90 * time.Minute), promised: s.clock.day(4, 17), jobs: []*task{t}})
}

// halfFill leaves a drop-off of somebody new half filled.
func (s *seeder) halfFill(ctx context.Context, _ []*unit) error {
	_, err := s.act(ctx, "half a drop-off", s.staff["Odile"], s.clock.before(20*time.Minute), func(a acting) (string, error) {
		fields := url.Values{"units": {"1"}, "customer": {"new"}, "name": {"Ottilie Brandreth"}, "phone": {"07700 900 172"},
			"unit0.unit": {"new"}, "unit0.kind": {"fork"}, "unit0.words": {"fork of an old touring bike"}, "unit0.symptoms": {"sticky"}, "unit0.complaint": {"Has stood in a shed for two winters."}}
		_, err := job.KeepDraft(a.ctx, a.tx, job.Draft{ID: idOf("draft"), About: "Ottilie Brandreth", Fields: fields.Encode(),
			ActID: uuid.Nil, StaffID: a.by.Staff, KeptAt: a.by.At})
		return "", err
	})
	return err
}

// unitOf is the fork of that model that somebody owns.
func unitOf(units []*unit, owner, model string) *unit {
	i := slices.IndexFunc(units, func(u *unit) bool { return u.owner.name == owner && u.model == model })
	if i < 0 {
		panic(fmt.Sprintf("nobody called %s has a %s", owner, model))
	}
	return units[i]
}

func ids(units []*unit) []int64 {
	list := make([]int64, len(units))
	for i, u := range units {
		list[i] = u.id
	}
	return list
}
