package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
)

// visit is a customer bringing units, and what becomes of each.
type visit struct {
	id       int64
	name     string
	opened   time.Time
	promised time.Time
	expected time.Time // of those long past: when the line would have had it ready
	came     string
	back     string
	booked   *time.Time // a day as interval.Day makes it; nil: it came
	jobs     []*task
}

// task is one unit of a visit: what is wrong with it, who works on it when and
// how far.
type task struct {
	unit      *unit
	wants     string // a service; empty: the one the complaint asks for
	symptoms  []string
	complaint string
	hangs     string
	mechanic  string // empty: nobody yet
	riding    string
	said      interval.Said
	whole     bool // the whole bike

	comeback          bool
	payer, payerWords string // of the services; empty: the customer

	queued   time.Time
	started  time.Time
	evening  time.Time // before a night of standing; zero: none
	finished time.Time // of the work; for an unfinished one, of its last sign-off
	ago      *ago      // in place of both, for recent work
	left     time.Time
	ending   string // empty: done
	until    string // the first step that is not signed; empty: all are
	flaws    flaws
	found    []found
	done     string // answers a step in words
	note     string
	parts    *[2]time.Time // from when to when it waited for them in the queue

	id   int64
	r    *rand.Rand
	held *bench.Held // while it is worked on
}

// ago is between when and when work was done, in opening time before now.
type ago struct{ from, to time.Duration }

// flaws are what does not go smoothly at the bench.
type flaws struct {
	crossed bool // oil of one leg signed for the other, crossed out
	outside bool // more oil than the window has, with a reason
	unknown bool // pressure as received cannot be had
	changed bool // goes back with more pressure than it came with

	unchecked bool // its second checks wait
}

// pastSeasons are two seasons of finished work, in the order of the visits.
// Three of four forks come in each.
func pastSeasons(c clock, now time.Time, units []*unit) [][]*visit {
	r := lots(1 << 20)
	var seasons [][]*visit
	for n, days := range [][2]int{{640, 400}, {330, 40}} {
		var list []*visit
		for _, u := range units {
			if u.isNew() || modelOf(u.model) == nil || r.IntN(100) < 27 {
				continue
			}
			list = bring(list, u, pastOpening(c, now, days, r), r)
		}
		list = inTurn(list)
		for i, v := range list {
			v.name = fmt.Sprintf("season %d, visit %d", n+1, i+1)
			planPast(c, v, r)
		}
		seasons = append(seasons, list)
	}
	return seasons
}

// isNew is whether the unit's owner has never been here before today.
func (u *unit) isNew() bool {
	return slices.ContainsFunc(newcomers, func(p person) bool { return p.name == u.owner.name })
}

// pastOpening is a moment the shop was open, more often in the riding months.
func pastOpening(c clock, now time.Time, days [2]int, r *rand.Rand) time.Time {
	for {
		at := now.AddDate(0, 0, -days[1]-r.IntN(days[0]-days[1]))
		if m := at.Month(); (m < time.March || m > time.October) && r.IntN(2) == 0 {
			continue
		}
		return c.hour(c.at(at), 10).Add(time.Duration(10+5*r.IntN(36)) * time.Minute)
	}
}

// bring lets a unit come with another one of its owner when there is a visit
// of the season already, half of the time.
func bring(list []*visit, u *unit, at time.Time, r *rand.Rand) []*visit {
	for _, v := range list {
		if v.jobs[0].unit.owner == u.owner && r.IntN(2) == 0 {
			v.jobs = append(v.jobs, &task{unit: u})
			return list
		}
	}
	return append(list, &visit{opened: at, jobs: []*task{{unit: u}}})
}

// planPast dates everything up to the hand-over, mostly within the promise.
func planPast(c clock, v *visit, r *rand.Rand) {
	day := c.at(v.opened)
	v.promised = c.hour(day+3+r.IntN(3), 17)
	v.expected = c.hour(day+2, 15)
	if r.IntN(8) == 0 {
		v.came, v.back = "post", "post"
	}
	begin := day + 1 + r.IntN(3)
	ready := time.Time{}
	finds := lots(1<<22 + uint64(v.opened.Unix())) // of their own, so that the rest stays as it is
	for i, t := range v.jobs {
		planTask(t, r)
		findPast(t, finds)
		t.mechanic = pick(r, "Ines", "Ines", "Marit", "Marit", "Tobias", "Tobias", "Ragna")
		t.queued = v.opened.Add(time.Duration(5+r.IntN(20)) * time.Minute)
		t.started = c.hour(begin+i, 10).Add(time.Duration(5*r.IntN(24)) * time.Minute)
		t.finished = t.started.Add(time.Duration(62+r.IntN(40)) * time.Minute)
		if t.service() == "air-spring" {
			t.evening, t.finished = t.finished, c.hour(begin+i+1, 10).Add(30*time.Minute)
		}
		t.flaws = flaws{crossed: r.IntN(12) == 0, outside: r.IntN(10) == 0, unknown: r.IntN(9) == 0, changed: r.IntN(7) == 0}
		if ready.Before(t.finished) {
			ready = t.finished
		}
		if len(v.jobs) == 1 && r.IntN(25) == 0 {
			t.ending = pick(r, "no fault found", "not worth repairing", "returned undone")
			t.finished = t.started.Add(20 * time.Minute)
		}
	}
	left := c.hour(c.at(ready)+r.IntN(3), 18).Add(-time.Duration(5+r.IntN(40)) * time.Minute)
	if left.Before(ready) {
		left = ready.Add(10 * time.Minute)
	}
	for _, t := range v.jobs {
		t.left = left
		if t.ending != "" {
			t.left = t.finished.Add(time.Hour)
		}
	}
}

func pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// linkLasts is how long a customer's address works.
const linkLasts = 366 * 24 * time.Hour

// takeIn does what the desk does, once.
func (s *seeder) takeIn(ctx context.Context, v *visit) error {
	d := job.DropOff{
		CustomerID: v.jobs[0].unit.customerID, Came: v.came, GoesBack: v.back, PromisedAt: v.promised.UTC(), Currency: currency,
		Zone: zone, TermsID: s.terms, TermsBy: v.jobs[0].unit.owner.name, LimitMinor: limitOf(v.jobs[0].unit.owner), BookedFor: v.booked,
	}
	if !v.expected.IsZero() {
		d.Foreseen = job.Foreseen{Expected: v.expected.UTC(), Proposed: v.promised.UTC()}
	}
	for _, t := range v.jobs {
		d.Units = append(d.Units, s.dropOffOf(t))
	}
	answer, err := s.act(ctx, v.name, s.staff["Odile"], v.opened, func(a acting) (string, error) {
		id, err := job.TakeIn(a.ctx, a.tx, a.by, d)
		if err != nil {
			return "", err
		}
		if _, err := link.Make(a.ctx, a.tx, a.by, s.key, id, a.by.At.Add(linkLasts)); err != nil {
			return "", err
		}
		visit, err := job.Visit(a.ctx, a.tx, id)
		answer := fmt.Sprint(id)
		for _, j := range visit.Jobs {
			answer += fmt.Sprintf(" %d", j.ID)
		}
		return answer, err
	})
	if err != nil {
		return err
	}
	return v.numbered(answer)
}

func (s *seeder) dropOffOf(t *task) job.DropOffUnit {
	u := job.DropOffUnit{
		UnitID: t.unit.id, HangsAt: t.hangs, Riding: t.riding, Said: t.said, EBike: t.unit.bike == "e-bike",
		Symptoms: t.symptoms, Complaint: t.complaint,
		MechanicID: s.staff[t.mechanic].id, Comeback: t.comeback, Payer: t.payer, PayerWords: t.payerWords,
	}
	if kg := t.unit.owner.kg; kg > 0 {
		u.RiderKG, u.RiderEntered = &kg, text(kg)+" kg"
	}
	if t.whole {
		u.CameAs = "whole bike"
	}
	u.Services = []string{t.service()}
	return u
}

// service is what the complaint asks for.
func (t *task) service() string {
	switch {
	case t.wants != "":
		return t.wants
	case modelOf(t.unit.model) == nil:
		return "other"
	case slices.Contains(t.symptoms, losesAir):
		return "air-spring"
	}
	return "lower-leg"
}

// limitOf lets two of three customers name a limit.
func limitOf(p *person) *int64 {
	if len(p.name)%3 == 0 {
		return nil
	}
	limit := int64(8000 + 1000*(len(p.name)%5))
	return &limit
}
