package shop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/worktime"
)

// Rota is somebody's week at the bench from a day on.
type Rota struct {
	ID      int64
	StaffID int64
	From    time.Time // at midnight UTC
	AsShop  bool      // whenever the shop is open
	Spans   []Opening `db:"-"` // none of a week that is not: never at the bench
}

// Bench is who is at the bench when, how much of it is promised to nobody, and
// how sure a promise is to be.
type Bench struct {
	Hours
	Reserve  int       // per cent of each day
	Sure     int       // per cent of the promises, to be kept
	Rotas    []Rota    // by person, the earliest first
	Absences []Absence // the earliest first
	NotDone  []NotDone // what whom
}

// ReserveUsual is the reserve of a new shop: common practice (no source).
const ReserveUsual = 15

// mostReserve leaves something to promise.
const mostReserve = 80

// SureUsual is how many promises in a hundred are to be kept by a new shop:
// common practice (no source).
const SureUsual = 85

// From even chances on a promise is one; all of them nobody can keep.
const leastSure, mostSure = 50, 99

// Of are the weeks of one person, the earliest first; before the first of them,
// and without any, it is the opening hours.
func (b Bench) Of(staffID int64) []Rota {
	var list []Rota
	for _, r := range b.Rotas {
		if r.StaffID == staffID {
			list = append(list, r)
		}
	}
	return list
}

// On is the week of a person on a day.
func (b Bench) On(staffID int64, day time.Time) []Opening {
	week := b.Openings
	for _, r := range b.Of(staffID) {
		if r.From.Format(time.DateOnly) > day.Format(time.DateOnly) {
			break
		}
		week = b.week(r)
	}
	return week
}

func (b Bench) week(r Rota) []Opening {
	if r.AsShop {
		return b.Openings
	}
	return r.Spans
}

// Calendar counts the time of one person at the bench: their week, less the
// closures and holidays of the shop and their own absences. The reserve is in
// it. Hours that cannot stand are never.
func (b Bench) Calendar(staffID int64, zone *time.Location) worktime.Calendar {
	shut := b.shut()
	for _, a := range b.Absences {
		if a.StaffID == staffID {
			shut = append(shut, a.closures()...)
		}
	}
	c, err := worktime.New(zone, weekOf(b.Openings), shut)
	if err != nil {
		return worktime.Calendar{}
	}
	for _, r := range b.Of(staffID) {
		if c, err = c.From(r.From, weekOf(b.week(r))); err != nil {
			return worktime.Calendar{}
		}
	}
	return c
}

// GetBench reads the hours, the reserve, how sure promises are to be, every rota,
// who does not do what, and the absences that are not over on a day.
func GetBench(ctx context.Context, q db.Querier, day time.Time) (Bench, error) {
	var (
		bench Bench
		spans []struct {
			RotaID   int64
			Weekday  time.Weekday
			OpenMin  int
			CloseMin int
		}
		set  []struct{ ReservePercent, SurePercent int }
		away []absenceRow
		b    pgx.Batch
	)
	hours := queueHours(&b)
	db.Queue(&b, &set, "select reserve_percent, sure_percent from shop")
	db.Queue(&b, &bench.Rotas, `select id, staff_id, from_day as "from", as_shop from rota order by staff_id, from_day`)
	db.Queue(&b, &spans, "select rota_id, weekday, from_min as open_min, to_min as close_min from rota_span order by rota_id, weekday, from_min")
	db.Queue(&b, &bench.NotDone, "select staff_id, service_code from not_done order by staff_id, service_code")
	db.Queue(&b, &away, absenceSQL+" where last_day >= $1 order by first_day, from_min, id", day)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Bench{}, fmt.Errorf("read who is at the bench: %w", err)
	}
	bench.Hours, bench.Reserve, bench.Sure = hours(), ReserveUsual, SureUsual
	for _, s := range set {
		bench.Reserve, bench.Sure = s.ReservePercent, s.SurePercent
	}
	for _, a := range away {
		bench.Absences = append(bench.Absences, a.absence())
	}
	for _, s := range spans {
		i := slices.IndexFunc(bench.Rotas, func(r Rota) bool { return r.ID == s.RotaID })
		bench.Rotas[i].Spans = append(bench.Rotas[i].Spans, Opening{s.Weekday, s.OpenMin, s.CloseMin})
	}
	return bench, nil
}

// SetRota gives a person another week from a day on, in place of one that began
// on that day. seen is the newest id of their weeks when the page was opened.
func SetRota(ctx context.Context, tx pgx.Tx, by history.By, r Rota, seen int64) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if r.AsShop {
		r.Spans = nil
	}
	if err := checkWeek(r.Spans); err != nil {
		return err
	}
	if err := rotasAsSeen(ctx, tx, r.StaffID, seen); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "delete from rota where staff_id = $1 and from_day = $2", r.StaffID, r.From); err != nil {
		return fmt.Errorf("set rota: %w", err)
	}
	err := tx.QueryRow(ctx, "insert into rota (staff_id, from_day, as_shop) values ($1, $2, $3) returning id",
		r.StaffID, r.From, r.AsShop).Scan(&r.ID)
	if err != nil {
		return fmt.Errorf("set rota: %w", err)
	}
	for _, o := range r.Spans {
		_, err := tx.Exec(ctx, "insert into rota_span (rota_id, weekday, from_min, to_min) values ($1, $2, $3, $4)",
			r.ID, int(o.Weekday), o.OpenMin, o.CloseMin)
		if err != nil {
			return fmt.Errorf("set rota: %w", err)
		}
	}
	return tell(ctx, tx, by, "rota set", map[string]any{
		"staff": r.StaffID, "from": r.From.Format(time.DateOnly), "as_shop": r.AsShop, "spans": len(r.Spans)})
}

// rotasAsSeen holds the person's weeks and refuses where a newer one stands, or
// where there is no such mechanic.
func rotasAsSeen(ctx context.Context, tx pgx.Tx, staffID, seen int64) error {
	if _, err := tx.Exec(ctx, "lock table rota in share row exclusive mode"); err != nil {
		return fmt.Errorf("set rota: %w", err)
	}
	if err := worksAtBench(ctx, tx, staffID); err != nil {
		return err
	}
	var newest int64
	err := tx.QueryRow(ctx, "select coalesce(max(id), 0) from rota where staff_id = $1", staffID).Scan(&newest)
	if err != nil {
		return fmt.Errorf("set rota: %w", err)
	}
	if newest != seen {
		return fault.Conflict("Somebody else changed this week since you opened it; look again.")
	}
	return nil
}

func worksAtBench(ctx context.Context, q db.Querier, staffID int64) error {
	var works bool
	err := q.QueryRow(ctx, "select exists (select from staff where id = $1 and 'mechanic' = any (roles) and left_on is null)", staffID).Scan(&works)
	if err != nil {
		return fmt.Errorf("read who works at the bench: %w", err)
	}
	if !works {
		return fault.Field("who", "Choose somebody who works here as a mechanic.")
	}
	return nil
}

// SetReserve sets what share of each day is promised to nobody, over the
// version of the shop that was seen.
func SetReserve(ctx context.Context, tx pgx.Tx, by history.By, version, percent int) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if percent < 0 || percent > mostReserve {
		return fault.Field("reserve", fmt.Sprintf("Type per cent from 0 to %d.", mostReserve))
	}
	err := db.Changed(tx.Exec(ctx, "update shop set reserve_percent = $1, version = version + 1 where version = $2", percent, version))
	if err != nil {
		return fmt.Errorf("set reserve: %w", err)
	}
	return tell(ctx, tx, by, "reserve set", map[string]any{"percent": percent})
}

// SetSure sets how many promises in a hundred are to be kept, over the version
// of the shop that was seen. Promises that are given stay.
func SetSure(ctx context.Context, tx pgx.Tx, by history.By, version, percent int) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if percent < leastSure || percent > mostSure {
		return fault.Field("sure", fmt.Sprintf("Type a number from %d to %d.", leastSure, mostSure))
	}
	err := db.Changed(tx.Exec(ctx, "update shop set sure_percent = $1, version = version + 1 where version = $2", percent, version))
	if err != nil {
		return fmt.Errorf("set how sure promises are: %w", err)
	}
	return tell(ctx, tx, by, "sureness set", map[string]any{"percent": percent})
}
