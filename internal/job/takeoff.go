package job

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// TakenOff is a service that was taken off a job again.
type TakenOff struct {
	Service string // its name
	Reason  string
	By      string // empty for nobody
	At      time.Time
}

// takenOffSQL reads what was taken off jobs.
const takenOffSQL = `select e.name as service, t.reason, coalesce(p.name, '') as by, t.at
	from service_taken_off t join service e on e.code = t.service_code left join staff p on p.id = t.actor_id`

// CheckTakeOff says why a service cannot be taken off a job; else its name. One
// stays at least, and one that is billed is taken off the bill first.
func CheckTakeOff(ctx context.Context, q db.Querier, j Job, code string) (name string, err error) {
	at := slices.Index(j.Services, code)
	switch {
	case code == "":
		return "", fault.Field("service", "Choose a service.")
	case at < 0:
		return "", fault.Conflict("This job does not have that service any more.")
	case len(j.Services) == 1:
		return "", fault.Field("service", fmt.Sprintf("“%s” is the only service of this job: add the right one first, then take this one off.", j.ServiceNames[at]))
	}
	var billed bool
	err = q.QueryRow(ctx, `select exists (select from bill_line l where l.job_id = $1 and l.service_code = $2 and l.reverses is null
		and not exists (select from bill_line x where x.reverses = l.id))`, j.ID, code).Scan(&billed)
	if err != nil {
		return "", fmt.Errorf("check what is taken off: %w", err)
	}
	if billed {
		return "", fault.Conflict(fmt.Sprintf("“%s” is on the bill: take its line back there first.", j.ServiceNames[at]))
	}
	return j.ServiceNames[at], nil
}

// TakeOffService takes a service off an open job. What it means for a bench
// sheet is the bench's to say.
func TakeOffService(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, code, reason string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(anybody, by.Has) {
		return fault.Forbidden("A service is taken off by the desk or a mechanic.")
	}
	now, err := Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if _, err := CheckTakeOff(ctx, tx, now, code); err != nil {
		return err
	}
	wrong := faults{}
	reason = strings.TrimSpace(reason)
	wrong.add("reason", reason == "", "Say why it is taken off.")
	wrong.long("reason", reason, maxLong)
	if err := wrong.err(); err != nil {
		return err
	}
	batch := &pgx.Batch{}
	batch.Queue("delete from job_service where job_id = $1 and service_code = $2", jobID, code)
	batch.Queue(`insert into service_taken_off (job_id, service_code, reason, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0), $5, $6)`, jobID, code, reason, by.Staff, by.Intent, by.At)
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("take off service: %w", db.Translate(err))
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("take off service: %w", err)
	}
	if err := j.append(ctx, tx, by, "service taken off", map[string]any{"service": code}); err != nil {
		return err
	}
	return j.setPartsAside(ctx, tx, by)
}
