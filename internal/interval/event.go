package interval

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// What may happen to a unit outside the shop.
const (
	Stored     = "stored"
	JetWash    = "jet wash"
	UnderWater = "under water"
	Crash      = "crash"
	New        = "new" // first ridden on that day
)

// Watched is what a finding "keep an eye on" is, from the day the unit left.
const Watched = "finding"

// Happenings are what can be said to have happened.
var Happenings = []string{Stored, JetWash, UnderWater, Crash, New}

// How it came to be said.
const (
	AtDesk = "desk" // by one of the staff
	OnPage = "page" // on the customer's own page
)

// Event is something that happened to a unit.
type Event struct {
	ID     int64 // of a finding its own
	UnitID int64
	Kind   string // of Happenings, or Watched
	OnDay  time.Time
	Until  *time.Time // Stored: the day it came out
	How    string
	By     string // who wrote it down
	At     time.Time
	// Services are those a finding's block belongs to, of which a unit may have
	// one; empty where that is not known.
	Services []string
	JobID    int64 // where a finding was made
}

// Day is the one that limits count from: of Stored the day it came out.
func (e Event) Day() time.Time {
	if e.Until != nil {
		return *e.Until
	}
	return e.OnDay
}

// Answered reports whether a service that was last done then, nil for never,
// came after it. On one and the same day what was written later came later.
func (e Event) Answered(s *Served) bool {
	switch {
	case s == nil || s.Ready.Before(e.Day()):
		return false
	case s.Ready.Equal(e.Day()):
		return s.Done.After(e.At)
	}
	return true
}

// Happened is what somebody says.
type Happened struct {
	Kind  string
	On    *time.Time // nil: that day; of Stored the day it was put away
	Until *time.Time // Stored: nil for that day
}

// storedMonths is how long at least it was stored where that is all that is
// said. Common practice (no source).
const storedMonths = 3

// JustNow is what is said at the counter by a tick: that day, or stored for
// three months until then.
func JustNow(kind string, today time.Time) Happened {
	h := Happened{Kind: kind, On: &today}
	if kind == Stored {
		from := AddMonths(today, -storedMonths)
		h.On = &from
	}
	return h
}

// Check says by field ("what", "on", "until") what cannot be so on that day.
func (h Happened) Check(today time.Time) map[string]string {
	f := sentences{}
	f.add(!slices.Contains(Happenings, h.Kind), "what", "Choose what happened.")
	if h.Kind == Stored {
		f.add(h.On == nil, "on", "Say since when it was stored.")
		f.add(h.On != nil && h.Until != nil && h.Until.Before(*h.On), "until", "That is before it was put away.")
	} else {
		f.add(h.Until != nil, "until", "Only of being stored: leave it empty.")
	}
	for field, day := range map[string]*time.Time{"on": h.On, "until": h.Until} {
		f.add(day != nil && day.After(today), field, "That day is still to come.")
		f.add(day != nil && day.Before(today.AddDate(-mostYears, 0, 0)), field, fmt.Sprintf("That is more than %d years ago: check the year.", mostYears))
	}
	return f
}

// Happen writes down what happened to a unit; today is the shop's. Fields of
// fault.Invalid are those of Happened.Check.
func Happen(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, h Happened, how string, today time.Time) error {
	if wrong := h.Check(today); len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	if h.On == nil {
		h.On = &today
	}
	if h.Kind == Stored && h.Until == nil {
		h.Until = &today
	}
	var customer, id int64
	if err := tx.QueryRow(ctx, "select customer_id from unit where id = $1", unitID).Scan(&customer); err != nil {
		return fmt.Errorf("say what happened to unit %d: %w", unitID, missing(err))
	}
	err := tx.QueryRow(ctx, `insert into unit_event (unit_id, kind, on_day, until, how, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
		unitID, h.Kind, h.On, h.Until, how, by.Staff, by.Intent, by.At).Scan(&id)
	if err == nil {
		err = history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: customer, Unit: unitID,
			Kind: "unit event said", Detail: map[string]any{"happened": id, "kind": h.Kind}})
	}
	if err != nil {
		return fmt.Errorf("say what happened to unit %d: %w", unitID, err)
	}
	return nil
}

// blockServices are the services that renew what a block works on, of which a
// unit can have one at most; blocks of every service are not among them.
var blockServices = map[string][]string{"W": {"lower-leg"}, "U": {"lower-leg"}, "P": {"air-spring", "coil-spring"},
	"D1": {"damper"}, "D2": {"damper"}, "C": {"crown-steerer"}, "K": {"air-can"}}

// Events lists what happened to units, the findings to keep an eye
// on with it that nobody took back or put right, in the order of their days. A
// finding counts from the day its job ended, in the zone.
func Events(ctx context.Context, q db.Querier, zone *time.Location, units ...int64) ([]Event, error) {
	rows, err := q.Query(ctx, `select e.id, e.unit_id, e.kind, e.on_day, e.until, e.how, coalesce(s.name, '') as by, e.at,
			'{}'::text[] as services, 0::bigint as job_id
		from unit_event e left join staff s on s.id = e.actor_id where e.unit_id = any ($1) order by e.id`, units)
	list, err := db.All[Event](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what happened: %w", err)
	}
	type finding struct {
		ID, UnitID, JobID int64
		Block, By         string
		ClosedAt          time.Time
	}
	rows, err = q.Query(ctx, `select f.id, j.unit_id, j.id as job_id, coalesce(s.block, '') as block, a.name as by, j.closed_at
		from finding f join job j on j.id = f.job_id join staff a on a.id = f.actor_id left join sheet_step s on s.id = f.step_id
		where f.grade = 'keep an eye on' and j.closed_at is not null and j.unit_id = any ($1)
			and not exists (select from finding_answer w where w.finding_id = f.id)`, units)
	found, err := db.All[finding](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what to keep an eye on: %w", err)
	}
	for _, f := range found {
		list = append(list, Event{ID: f.ID, UnitID: f.UnitID, Kind: Watched, OnDay: Day(f.ClosedAt, zone), How: AtDesk,
			By: f.By, At: f.ClosedAt, Services: blockServices[f.Block], JobID: f.JobID})
	}
	slices.SortStableFunc(list, func(a, b Event) int { return a.Day().Compare(b.Day()) })
	return list, nil
}
