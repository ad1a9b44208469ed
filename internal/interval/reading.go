package interval

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The kinds of reading.
const (
	Stated = "stated" // Hours ridden from Since until it was said
	Habit  = "habit"  // RidesAWeek of HoursARide from Since on
)

// Sources of a reading, the usual first.
var Sources = []string{"rider", "bike computer", "our estimate"}

// Reading is what somebody said of the riding of a unit.
type Reading struct {
	ID         int64
	UnitID     int64
	Kind       string
	Hours      float64
	RidesAWeek float64
	HoursARide float64
	// Since is the day the hours count from or the habit began on; nil where
	// that is not known.
	Since  *time.Time
	Source string
	By     string // who wrote it down
	At     time.Time
}

// Said is what is asked of a rider: the hours ridden since the unit was last
// back from a service, and how often and how long they ride. What is not known
// is nil.
type Said struct {
	Hours      *float64
	RidesAWeek *float64
	HoursARide *float64
	// HoursSince is the day Hours count from, HabitSince the day the habit
	// began on; nil where that is not known.
	HoursSince *time.Time
	HabitSince *time.Time
	Source     string // of Sources; empty for the first
}

// Nothing reports whether nothing was said.
func (s Said) Nothing() bool { return s.Hours == nil && s.RidesAWeek == nil && s.HoursARide == nil }

const (
	mostSaid  = 5000 // hours since a service
	mostRides = 21   // a week
	mostRide  = 24   // hours
	mostYears = 30   // since a day that is said
)

// Check says by field ("hours", "rides", "each", "since", "source") what cannot
// be so on that day.
func (s Said) Check(today time.Time) map[string]string {
	faults := map[string]string{}
	add := func(wrong bool, field, sentence string) {
		if wrong && faults[field] == "" {
			faults[field] = sentence
		}
	}
	if h := s.Hours; h != nil {
		add(!(*h >= 0 && *h <= mostSaid), "hours", fmt.Sprintf("Type 0 to %d hours of riding.", mostSaid))
		if s.HoursSince != nil && !s.HoursSince.After(today) {
			n := days(*s.HoursSince, today) + 1
			add(*h > float64(24*n), "hours", fmt.Sprintf("Its hours count from %s; the days since then have only %d.", s.HoursSince.Format("2 January 2006"), 24*n))
		}
	}
	if r := s.RidesAWeek; r != nil {
		add(!(*r >= 0 && *r <= mostRides), "rides", fmt.Sprintf("Type 0 to %d rides a week.", mostRides))
		add(*r > 0 && s.HoursARide == nil, "each", "Say how long each ride is, such as 90 min.")
	}
	if e := s.HoursARide; e != nil {
		add(!(*e > 0 && *e <= mostRide), "each", fmt.Sprintf("A ride is at most %d hours long.", mostRide))
		add(s.RidesAWeek == nil, "rides", "Say how many rides a week it is.")
	}
	for _, since := range []*time.Time{s.HoursSince, s.HabitSince} {
		add(since != nil && since.After(today), "since", "That day is still to come.")
		add(since != nil && since.Before(today.AddDate(-mostYears, 0, 0)), "since", fmt.Sprintf("That is more than %d years ago: check the year.", mostYears))
	}
	add(s.Source != "" && !slices.Contains(Sources, s.Source), "source", "Choose one of those listed.")
	return faults
}

// Say writes down what was said of a unit, one reading for each kind; today is
// the shop's. Fields of fault.Invalid are those of Said.Check, "hours" also
// where nothing was said.
func Say(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, s Said, today time.Time) error {
	if s.Nothing() {
		return fault.Field("hours", "Say how many hours it was, or how often and how long it is ridden.")
	}
	if faults := s.Check(today); len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	var customer int64
	if err := tx.QueryRow(ctx, "select customer_id from unit where id = $1", unitID).Scan(&customer); err != nil {
		return fmt.Errorf("say hours of unit %d: %w", unitID, missing(err))
	}
	for _, r := range s.readings() {
		var id int64
		err := tx.QueryRow(ctx, `insert into hour_reading (unit_id, kind, hours, rides_a_week, hours_a_ride, since, source, actor_id, intent_id, at)
			values ($1, $2, $3, $4, $5, $6, $7, nullif($8, 0::bigint), $9, $10) returning id`,
			unitID, r.kind, r.hours, r.rides, r.each, r.since, s.source(), by.Staff, by.Intent, by.At).Scan(&id)
		if err == nil {
			err = history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: customer, Unit: unitID,
				Kind: "ride hours said", Detail: map[string]any{"reading": id, "kind": r.kind}})
		}
		if err != nil {
			return fmt.Errorf("say hours of unit %d: %w", unitID, err)
		}
	}
	return nil
}

func missing(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound("There is no such unit.")
	}
	return err
}

type row struct {
	kind               string
	hours, rides, each *float64
	since              *time.Time
}

// readings are the rows that what was said makes.
func (s Said) readings() []row {
	var list []row
	if s.Hours != nil {
		list = append(list, row{kind: Stated, hours: s.Hours, since: s.HoursSince})
	}
	if s.RidesAWeek != nil {
		each := s.HoursARide
		if each == nil {
			each = new(float64) // of no rides
		}
		list = append(list, row{kind: Habit, rides: s.RidesAWeek, each: each, since: s.HabitSince})
	}
	return list
}

func (s Said) source() string {
	if s.Source == "" {
		return Sources[0]
	}
	return s.Source
}

// Readings lists what was said of units, in the order it was said.
func Readings(ctx context.Context, q db.Querier, units ...int64) ([]Reading, error) {
	rows, err := q.Query(ctx, `select r.id, r.unit_id, r.kind, coalesce(r.hours, 0) as hours, coalesce(r.rides_a_week, 0) as rides_a_week,
			coalesce(r.hours_a_ride, 0) as hours_a_ride, r.since, r.source, coalesce(s.name, '') as by, r.at
		from hour_reading r left join staff s on s.id = r.actor_id
		where r.unit_id = any ($1) order by r.at, r.id`, units)
	list, err := db.All[Reading](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read ride hours: %w", err)
	}
	return list, nil
}
