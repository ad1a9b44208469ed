package job

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
)

// NotBrought is how a booking ends that never came in.
const NotBrought = "not brought"

// Lapsed says whether something was booked for a day that is over, and is not
// here. today is a day as interval.Day makes it.
func Lapsed(stage string, bookedFor *time.Time, today time.Time) bool {
	return stage == Booked && bookedFor != nil && bookedFor.Before(today)
}

// booking says what is wrong with the day something is to come and the promise
// that goes with it.
func booking(f faults, day, promised, today time.Time, zone *time.Location) {
	f.add("booked", day.Before(today), "That day is over: book a day to come.")
	f.add("booked", day.Sub(today) > longestAhead, "That is more than a year away: check the day.")
	f.add("promised", !promised.IsZero() && interval.Day(promised, zone).Before(day), "It is not here by then: promise a time after it comes.")
}

// heldVisit is what a writer knows of the visit whose row it holds.
type heldVisit struct {
	id, customerID, termsID int64
}

func lockVisit(ctx context.Context, tx pgx.Tx, id int64) (heldVisit, error) {
	v := heldVisit{id: id}
	err := tx.QueryRow(ctx, "select customer_id, coalesce(terms_id, 0) from visit where id = $1 for no key update", id).
		Scan(&v.customerID, &v.termsID)
	if errors.Is(err, pgx.ErrNoRows) {
		return v, db.NotThere("visit")
	}
	return v, err
}

func (v heldVisit) append(ctx context.Context, tx pgx.Tx, by history.By, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "visit", SubjectID: v.id, Customer: v.customerID, Kind: kind, Detail: detail})
}

// Coming is what is said when a booked visit is here.
type Coming struct {
	Jobs    []int64 // those that are here; empty: all that were booked
	Came    string  // counter (also for empty), post, other shop
	TermsID int64   // 0: none shown, or accepted when it was booked
	TermsBy string
}

// ComeIn makes a booked visit a drop-off, of those of its jobs that are here.
func ComeIn(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, c Coming) error {
	c.Came, c.TermsBy = orFirst(c.Came, Comings), strings.TrimSpace(c.TermsBy)
	v, err := lockVisit(ctx, tx, visitID)
	if err != nil {
		return fmt.Errorf("come in: %w", err)
	}
	f := faults{}
	f.add("came", !slices.Contains(Comings, c.Came), unknownOne)
	f.add("terms", v.termsID == 0 && c.TermsID != 0 && c.TermsBy == "", "Type who accepted the terms.")
	f.long("terms", c.TermsBy, maxShort)
	if err := f.err(); err != nil {
		return err
	}
	jobs, err := bookedJobs(ctx, tx, visitID)
	if err != nil {
		return err
	}
	if len(c.Jobs) > 0 {
		jobs = slices.DeleteFunc(jobs, func(id int64) bool { return !slices.Contains(c.Jobs, id) })
	}
	for _, id := range jobs {
		if err := comeIn(ctx, tx, by, id, arrivedBy(c.Came)); err != nil {
			return err
		}
	}
	if err := v.come(ctx, tx, by, c, len(jobs)); err != nil || len(jobs) == 0 {
		return err
	}
	return tellReceived(ctx, tx, by, visitID, fmt.Sprint(jobs[0]))
}

// arrivedBy is the stage of a unit that has come that way.
func arrivedBy(came string) string {
	if came == "post" {
		return Arrived
	}
	return DroppedOff
}

// bookedJobs are those of a visit that have not come in; none is a conflict.
func bookedJobs(ctx context.Context, tx pgx.Tx, visitID int64) ([]int64, error) {
	rows, err := tx.Query(ctx, "select id from job where visit_id = $1 and stage = $2 order by id", visitID, Booked)
	if err != nil {
		return nil, fmt.Errorf("read booked jobs: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return nil, fmt.Errorf("read booked jobs: %w", err)
	}
	if len(list) == 0 {
		return nil, fault.Conflict("Nothing of this visit is booked any more.")
	}
	return list, nil
}

func comeIn(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, stage string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if _, err := legal(j.stage, stage, by.Roles); err != nil {
		return err
	}
	if err := j.reach(ctx, tx, by, stage, ""); err != nil {
		return err
	}
	return link.Lengthen(ctx, tx, by, j.unitID)
}

// come keeps how it came, and who accepted which terms where nobody had.
func (v heldVisit) come(ctx context.Context, tx pgx.Tx, by history.By, c Coming, units int) error {
	terms := v.termsID
	if terms == 0 {
		terms = c.TermsID
	}
	batch := &pgx.Batch{}
	batch.Queue("update visit set came = $2, terms_id = nullif($3, 0::bigint), version = version + 1 where id = $1", v.id, c.Came, terms)
	if v.termsID == 0 && c.TermsID != 0 {
		batch.Queue(`insert into visit_words (visit_id, terms_by) values ($1, $2)
			on conflict (visit_id) do update set terms_by = excluded.terms_by`, v.id, c.TermsBy)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("come in: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, "visit came in", map[string]any{"units": units, "came": c.Came, "terms": terms})
}

// Rebook moves a booking to another day, with another promise, of a visit that
// is still at the version the person saw.
func Rebook(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, version int, day, promised time.Time, zone *time.Location) error {
	v, err := lockVisit(ctx, tx, visitID)
	if err != nil {
		return fmt.Errorf("rebook: %w", err)
	}
	f := faults{}
	f.add("booked", day.IsZero(), "Say which day it comes.")
	checkPromise(f, by.At, promised)
	if len(f) == 0 {
		booking(f, day, promised, interval.Day(by.At, zone), zone)
	}
	if err := f.err(); err != nil {
		return err
	}
	if _, err := bookedJobs(ctx, tx, visitID); err != nil {
		return err
	}
	err = db.Changed(tx.Exec(ctx, "update visit set booked_for = $3, promised_at = $4, version = version + 1 where id = $1 and version = $2",
		visitID, version, day, promised))
	if err != nil {
		return fmt.Errorf("rebook: %w", err)
	}
	if _, err := keepPromise(ctx, tx, by, visitID, promised, "booked for another day", Foreseen{}, zone); err != nil {
		return err
	}
	return v.append(ctx, tx, by, "visit rebooked", map[string]any{"for": day.Format(time.DateOnly)})
}
