package job

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// What a job can wait for, several at once.
const (
	WaitingOnParts    = "waiting on parts"
	WaitingOnCustomer = "waiting on customer"
	SentOut           = "sent out"
)

// HoldKinds in the order they are offered.
var HoldKinds = []string{WaitingOnParts, WaitingOnCustomer, SentOut}

// Wait is an open hold: a job waiting beside its stage.
type Wait struct {
	ID         int64
	JobID      int64
	Kind       string
	Tray       string     // where its parts lie meanwhile
	ExpectedOn *time.Time // a day, at midnight UTC; nil: not known
	ForNeeds   bool       // it ends by itself once what the job needs lies aside
	At         time.Time
	By         string // who said so
}

// openHoldSQL reads holds; those whose e.id is null are open.
const openHoldSQL = `select h.id, h.job_id, h.kind, h.tray, h.expected_on, h.for_needs, h.at, coalesce(p.name, '') as by
	from hold h left join staff p on p.id = h.actor_id left join hold_end e on e.hold_id = h.id`

func openHolds(ctx context.Context, q db.Querier, jobs []int64) (map[int64][]Wait, error) {
	rows, err := q.Query(ctx, openHoldSQL+" where h.job_id = any ($1) and e.id is null order by h.id", jobs)
	list, err := db.All[Wait](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read holds: %w", err)
	}
	byJob := map[int64][]Wait{}
	for _, h := range list {
		byJob[h.JobID] = append(byJob[h.JobID], h)
	}
	return byJob, nil
}

// Hold says that the job waits. Parts of a job under work need a tray. The
// expected day, at midnight UTC, may be left out, and may not be past anywhere
// on earth.
func Hold(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, kind, tray string, expected *time.Time) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	tray = strings.TrimSpace(tray)
	if faults := j.holdFaults(by.At, kind, tray, expected); len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	holds, err := openHolds(ctx, tx, []int64{jobID})
	if err != nil {
		return err
	}
	switch {
	case j.stage == Ready:
		return fault.Conflict("A job that is ready for pickup waits for nothing.")
	case slices.ContainsFunc(holds[jobID], func(h Wait) bool { return h.Kind == kind }):
		return fault.Conflict("This job is " + kind + " already.")
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into hold (job_id, kind, tray, expected_on, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7) returning id`,
		jobID, kind, tray, expected, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("hold job: %w", err)
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("hold job: %w", err)
	}
	return j.append(ctx, tx, by, "job waits", map[string]any{"hold": id, "for": kind})
}

// dayIsOver is how long after its midnight UTC a day has ended everywhere.
const dayIsOver = 36 * time.Hour

func (j locked) holdFaults(at time.Time, kind, tray string, expected *time.Time) map[string]string {
	faults := map[string]string{}
	if !slices.Contains(HoldKinds, kind) {
		faults["kind"] = "Choose what it waits for: " + strings.Join(HoldKinds, ", ") + "."
	}
	if kind == WaitingOnParts && tray == "" && (j.stage == OnBench || j.stage == FinalCheck) {
		faults["tray"] = "Say in which tray its parts lie."
	}
	if utf8.RuneCountInString(tray) > maxShort {
		faults["tray"] = tooLong(maxShort)
	}
	if expected != nil && !at.Before(expected.Add(dayIsOver)) {
		faults["expected"] = "That day is past: type the day it is expected, or leave it empty."
	}
	return faults
}

// EndHold ends one wait of the job.
func EndHold(ctx context.Context, tx pgx.Tx, by history.By, jobID, holdID int64) error {
	var known bool
	err := tx.QueryRow(ctx, "select exists (select from hold where id = $1 and job_id = $2)", holdID, jobID).Scan(&known)
	if err != nil {
		return fmt.Errorf("read hold: %w", err)
	}
	if !known {
		return fault.NotFound("There is no such wait on this job.")
	}
	j, err := lock(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if err := j.endHold(ctx, tx, by, holdID); err != nil {
		return err
	}
	return j.raise(ctx, tx)
}

func (j locked) endHold(ctx context.Context, tx pgx.Tx, by history.By, holdID int64) error {
	_, err := tx.Exec(ctx, `insert into hold_end (hold_id, actor_id, intent_id, at)
		values ($1, nullif($2, 0::bigint), $3, $4)`, holdID, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("end hold: %w", db.Translate(err))
	}
	return j.append(ctx, tx, by, "wait ended", map[string]any{"hold": holdID})
}

// endHolds ends whatever the job waits for.
func (j locked) endHolds(ctx context.Context, tx pgx.Tx, by history.By) error {
	holds, err := openHolds(ctx, tx, []int64{j.id})
	if err != nil {
		return err
	}
	for _, h := range holds[j.id] {
		if err := j.endHold(ctx, tx, by, h.ID); err != nil {
			return err
		}
	}
	return nil
}

func (j locked) mustNotWait(ctx context.Context, tx pgx.Tx) error {
	holds, err := openHolds(ctx, tx, []int64{j.id})
	if err != nil {
		return err
	}
	if list := holds[j.id]; len(list) > 0 {
		return fault.Conflict("This job is still " + list[0].Kind + "; end that first.")
	}
	return nil
}
