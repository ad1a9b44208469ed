package interval

import (
	"cmp"
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
	Habit  = "habit"  // RidesAWeek of HoursARide outdoors from Since on
	Meter  = "meter"  // a meter showed Hours in all on OnDay
)

// The parts of the year a habit may be of.
const (
	AllYear   = "all year"
	InSeason  = "in the season"
	OffSeason = "off the season"
)

// Seasons lists them, the usual first.
var Seasons = []string{AllYear, InSeason, OffSeason}

// byComputer is the one of Sources that counts.
const byComputer = "bike computer"

// Sources of a reading, the usual first.
var Sources = []string{"rider", byComputer, "our estimate"}

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
	Since *time.Time
	OnDay *time.Time // a meter was read
	// Season is which of Seasons a habit is of; empty for the first.
	Season     string
	Conditions []string // of Conditions; none: not said
	// IndoorHours are those of Hours on a trainer, of a meter those since it was
	// read before. They do not count.
	IndoorHours float64
	Source      string
	By          string // who wrote it down
	At          time.Time
	// Own says that whoever has the unit now added it in its book.
	Own bool
	// BackAt is when it was taken back, since when it counts for nothing; nil where
	// it stands. BackBy is who did, empty for its rider; BackWhy says what is wrong.
	BackAt  *time.Time
	BackBy  string
	BackWhy string
}

// Standing reports whether it was not taken back.
func (r Reading) Standing() bool { return r.BackAt == nil }

// Said is what is asked of a rider: the hours ridden since the unit was last
// back from a service, and how often and how long they ride. What is not known
// is nil.
type Said struct {
	Hours      *float64
	RidesAWeek *float64
	HoursARide *float64
	Season     string   // of the habit, of Seasons; empty for the first
	Meter      *float64 // the hours it shows in all
	Indoor     *float64 // of Hours, else of the meter's since it was read before, on a trainer
	Conditions []string // what it is ridden in
	// MeterOn is the day the meter was read; nil for today.
	MeterOn *time.Time
	// HoursSince is the day Hours count from, HabitSince the day the habit
	// began on; nil where that is not known.
	HoursSince *time.Time
	HabitSince *time.Time
	Source     string // of Sources; empty for the first
}

// Nothing reports whether nothing was said.
func (s Said) Nothing() bool { return !s.amount() && s.Indoor == nil && len(s.Conditions) == 0 }

// amount reports whether it was said how much it is ridden.
func (s Said) amount() bool {
	return s.Hours != nil || s.RidesAWeek != nil || s.HoursARide != nil || s.Meter != nil
}

const (
	mostSaid  = 5000 // hours since a service
	mostMeter = 50000
	mostRides = 21 // a week
	mostRide  = 24 // hours
	mostYears = 30 // since a day that is said
)

// sentences are those of fields; of one field the first stays.
type sentences map[string]string

func (f sentences) add(wrong bool, field, sentence string) {
	if wrong && f[field] == "" {
		f[field] = sentence
	}
}

// Check says by field ("hours", "rides", "each", "part", "meter", "readon",
// "indoor", "ridden", "since", "source") what cannot be so on that day.
func (s Said) Check(today time.Time) map[string]string {
	faults := sentences{}
	s.checkAmount(faults, today)
	s.checkMeter(faults, today)
	add := faults.add
	for _, since := range []*time.Time{s.HoursSince, s.HabitSince} {
		add(since != nil && since.After(today), "since", "That day is still to come.")
		add(since != nil && since.Before(today.AddDate(-mostYears, 0, 0)), "since", fmt.Sprintf("That is more than %d years ago: check the year.", mostYears))
	}
	known := func(c string) bool { return slices.Contains(Conditions, c) }
	add(!s.amount() && s.Indoor != nil, "indoor", "Say also how many hours it was in all.")
	add(!s.amount() && len(s.Conditions) > 0, "ridden", "Say also how much it is ridden, or clear these.")
	add(slices.ContainsFunc(s.Conditions, func(c string) bool { return !known(c) }), "ridden", "One of those is not on the list: choose again.")
	add(s.Season != "" && !slices.Contains(Seasons, s.Season), "part", "Choose one of those listed.")
	add(s.Source != "" && !slices.Contains(Sources, s.Source), "source", "Choose one of those listed.")
	return faults
}

func (s Said) checkAmount(faults sentences, today time.Time) {
	add := faults.add
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
}

func (s Said) checkMeter(faults sentences, today time.Time) {
	add := faults.add
	if m := s.Meter; m != nil {
		add(!(*m >= 0 && *m <= mostMeter), "meter", fmt.Sprintf("A meter shows 0 to %d hours.", mostMeter))
	}
	add(s.MeterOn != nil && s.Meter == nil, "meter", "Say what the meter showed on that day.")
	add(s.MeterOn != nil && s.MeterOn.After(today), "readon", "That day is still to come.")
	add(s.MeterOn != nil && s.MeterOn.Before(today.AddDate(-mostYears, 0, 0)), "readon", fmt.Sprintf("That is more than %d years ago: check the year.", mostYears))
	if in := s.Indoor; in != nil {
		add(!(*in >= 0), "indoor", "Type 0 or more hours.")
		add(s.Hours != nil && *in > *s.Hours, "indoor", "That is more than the hours ridden.")
		add(s.Meter != nil && *in > *s.Meter, "indoor", "That is more than the meter shows.")
		add(s.Hours == nil && s.Meter == nil, "indoor", "A habit is of rides outdoors only: leave this empty.")
	}
}

// Say writes down what was said of a unit, one reading for each kind; today is
// the shop's. Fields of fault.Invalid are those of Said.Check, "hours" also
// where nothing was said, "meter" also where it ran on faster than days do.
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
	for _, r := range s.readings(today) {
		if r.Kind == Meter {
			if err := ranOn(ctx, tx, unitID, r); err != nil {
				return fmt.Errorf("say hours of unit %d: %w", unitID, err)
			}
		}
		if err := r.insert(ctx, tx, by, unitID, customer); err != nil {
			return fmt.Errorf("say hours of unit %d: %w", unitID, err)
		}
	}
	return nil
}

// SaidLately counts what was added to a unit in the day before that moment by
// nobody of the shop. It holds the unit until the act ends, so that acts of one
// moment count each other.
func SaidLately(ctx context.Context, tx pgx.Tx, unitID int64, now time.Time) (n int, err error) {
	if _, err := tx.Exec(ctx, "select from unit where id = $1 for no key update", unitID); err != nil {
		return 0, fmt.Errorf("hold unit %d: %w", unitID, db.Translate(err))
	}
	err = tx.QueryRow(ctx, "select count(*) from hour_reading where unit_id = $1 and actor_id is null and at >= $2", unitID, now.Add(-24*time.Hour)).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("count hours said of unit %d: %w", unitID, err)
	}
	return n, nil
}

func (r Reading) insert(ctx context.Context, tx pgx.Tx, by history.By, unitID, customer int64) error {
	var hours, rides, each *float64
	if r.Kind == Habit {
		rides, each = &r.RidesAWeek, &r.HoursARide
	} else {
		hours = &r.Hours
	}
	conditions := append([]string{}, r.Conditions...)
	var id int64
	err := tx.QueryRow(ctx, `insert into hour_reading (unit_id, kind, hours, rides_a_week, hours_a_ride, since, source, actor_id, intent_id, at,
			on_day, season, conditions, indoor_hours)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8, 0::bigint), $9, $10, $11, $12, $13, $14) returning id`,
		unitID, r.Kind, hours, rides, each, r.Since, r.Source, by.Staff, by.Intent, by.At,
		r.OnDay, r.Season, conditions, r.IndoorHours).Scan(&id)
	if err != nil {
		return err
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: customer, Unit: unitID,
		Kind: "ride hours said", Detail: map[string]any{"reading": id, "kind": r.Kind}})
}

// ranOn refuses a meter that shows more hours than have passed since it was
// last read.
func ranOn(ctx context.Context, q db.Querier, unitID int64, r Reading) error {
	var hours float64
	var on time.Time
	err := q.QueryRow(ctx, `select hours, on_day from hour_reading where unit_id = $1 and kind = $2 and source = $3 and on_day <= $4
			and not exists (select from reading_taken_back b where b.reading_id = hour_reading.id)
		order by on_day desc, id desc limit 1`, unitID, Meter, r.Source, r.OnDay).Scan(&hours, &on)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	if passed := 24 * (days(on, *r.OnDay) + 1); err == nil && r.Hours-hours > float64(passed) {
		return fault.Field("meter", fmt.Sprintf("It showed %.0f h on %s; only %d hours have passed since: check the number.", hours, on.Format("2 January 2006"), passed))
	}
	return err
}

func missing(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound("There is no such unit.")
	}
	return err
}

// readings are what was said, by kind. Indoor hours are of those stated, where
// there are any.
func (s Said) readings(today time.Time) []Reading {
	var list []Reading
	each := Reading{Season: AllYear, Conditions: s.Conditions, Source: cmp.Or(s.Source, Sources[0])}
	var indoor float64
	if s.Indoor != nil {
		indoor = *s.Indoor
	}
	if s.Hours != nil {
		r := each
		r.Kind, r.Hours, r.Since, r.IndoorHours = Stated, *s.Hours, s.HoursSince, indoor
		list = append(list, r)
	}
	if s.RidesAWeek != nil {
		r := each
		r.Kind, r.RidesAWeek, r.Since, r.Season = Habit, *s.RidesAWeek, s.HabitSince, cmp.Or(s.Season, AllYear)
		if s.HoursARide != nil { // nil: of no rides
			r.HoursARide = *s.HoursARide
		}
		list = append(list, r)
	}
	if s.Meter != nil {
		r := each
		r.Kind, r.Hours, r.OnDay = Meter, *s.Meter, s.MeterOn
		if r.OnDay == nil {
			r.OnDay = &today
		}
		if s.Hours == nil {
			r.IndoorHours = indoor
		}
		list = append(list, r)
	}
	return list
}

// Readings lists what was said of units, in the order it was said, with what was
// taken back.
func Readings(ctx context.Context, q db.Querier, units ...int64) ([]Reading, error) {
	rows, err := q.Query(ctx, `select r.id, r.unit_id, r.kind, coalesce(r.hours, 0) as hours, coalesce(r.rides_a_week, 0) as rides_a_week,
			coalesce(r.hours_a_ride, 0) as hours_a_ride, r.since, r.on_day, r.season, r.conditions, r.indoor_hours,
			r.source, coalesce(s.name, '') as by, r.at,
			r.actor_id is null and not exists (select from unit_sold o where o.unit_id = r.unit_id and o.at >= r.at) as own,
			b.at as back_at, coalesce(o.name, '') as back_by, coalesce(b.reason, '') as back_why
		from hour_reading r left join staff s on s.id = r.actor_id
		left join reading_taken_back b on b.reading_id = r.id left join staff o on o.id = b.actor_id
		where r.unit_id = any ($1) order by r.at, r.id`, units)
	list, err := db.All[Reading](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read ride hours: %w", err)
	}
	return list, nil
}
