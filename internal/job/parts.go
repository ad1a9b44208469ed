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
	"damperdesk/internal/interval"
	"damperdesk/internal/partslist"
)

// SetPartsAside brings what lies aside for an open job in line with its services and
// its model. Where the shelf lacks something that the work needs, the job waits on
// parts until the day they can be here.
func SetPartsAside(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	return j.setPartsAside(ctx, tx, by)
}

func (j locked) setPartsAside(ctx context.Context, tx pgx.Tx, by history.By) error {
	p := partslist.Job{ID: j.id}
	err := tx.QueryRow(ctx, `select coalesce(u.model_id, 0), array(select service_code from job_service where job_id = $1),
			array(select key from sheet_step where job_id = $1)
		from unit u where u.id = $2`, j.id, j.unitID).Scan(&p.ModelID, &p.Services, &p.Steps)
	if err != nil {
		return fmt.Errorf("set parts aside: %w", err)
	}
	lacks, err := partslist.Settle(ctx, tx, p)
	if err != nil {
		return err
	}
	return j.wait(ctx, tx, by, lacks)
}

// Pour sets aside the fluids that the bench sheet of a job names.
func Pour(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, pours []partslist.Pour) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	lacks, err := partslist.SettlePours(ctx, tx, jobID, pours)
	if err != nil {
		return err
	}
	return j.wait(ctx, tx, by, lacks)
}

// wait has a job wait for what it lacks, until another day where that changed, or no
// longer. A wait that somebody wrote down stays as it is.
func (j locked) wait(ctx context.Context, tx pgx.Tx, by history.By, lacks []partslist.Need) error {
	holds, err := openHolds(ctx, tx, []int64{j.id})
	if err != nil {
		return err
	}
	at := slices.IndexFunc(holds[j.id], func(h Wait) bool { return h.Kind == WaitingOnParts })
	var now Wait
	if at >= 0 {
		now = holds[j.id][at]
	}
	switch {
	case at >= 0 && !now.ForNeeds, at < 0 && len(lacks) == 0, at < 0 && j.stage == Ready:
		return nil
	case len(lacks) == 0:
		return j.endHold(ctx, tx, by, now.ID)
	}
	day, err := partslist.ExpectedOn(ctx, tx, lacks, interval.Day(by.At, time.UTC))
	if err != nil {
		return err
	}
	if at >= 0 {
		if sameDay(day, now.ExpectedOn) {
			return nil
		}
		if err := j.endHold(ctx, tx, by, now.ID); err != nil {
			return err
		}
	}
	return j.holdForNeeds(ctx, tx, by, now.Tray, day)
}

func (j locked) holdForNeeds(ctx context.Context, tx pgx.Tx, by history.By, tray string, day *time.Time) error {
	var id int64
	err := tx.QueryRow(ctx, `insert into hold (job_id, kind, tray, expected_on, for_needs, actor_id, intent_id, at)
		values ($1, $2, $3, $4, true, nullif($5, 0::bigint), $6, $7) returning id`,
		j.id, WaitingOnParts, tray, day, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("wait for parts: %w", db.Translate(err))
	}
	return j.append(ctx, tx, by, "job waits", map[string]any{"hold": id, "for": WaitingOnParts})
}

// PutInTray says in which tray the parts of a job lie that waits for what it lacks.
func PutInTray(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, tray string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	tray = strings.TrimSpace(tray)
	switch {
	case tray == "":
		return fault.Field("tray", "Say in which tray its parts lie.")
	case utf8.RuneCountInString(tray) > maxShort:
		return fault.Field("tray", tooLong(maxShort))
	}
	holds, err := openHolds(ctx, tx, []int64{jobID})
	if err != nil {
		return err
	}
	at := slices.IndexFunc(holds[jobID], func(h Wait) bool { return h.ForNeeds })
	if at < 0 {
		return fault.Conflict("This job waits for no parts any more.")
	}
	if err := j.endHold(ctx, tx, by, holds[jobID][at].ID); err != nil {
		return err
	}
	return j.holdForNeeds(ctx, tx, by, tray, holds[jobID][at].ExpectedOn)
}

func sameDay(a, b *time.Time) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Equal(*b)
}

// AwaitAnew has the jobs that want items wait until those can be here now: an order
// went out, came short or was put off.
func AwaitAnew(ctx context.Context, tx pgx.Tx, by history.By, items []int64) error {
	waiting, err := partslist.Waiting(ctx, tx, items...)
	if err != nil {
		return err
	}
	for _, id := range slices.Sorted(slices.Values(waiting)) {
		j, err := lock(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := j.waitAsItIs(ctx, tx, by); err != nil {
			return err
		}
	}
	return nil
}

// Supply has items come in by post, and sets them aside for the jobs that want them,
// in the order of their promise. A job that lacks nothing any more waits on parts no
// longer; those are given back. The rows of the jobs are held before the items, as
// everywhere.
func Supply(ctx context.Context, tx pgx.Tx, by history.By, items []int64, post func() error) (whole []int64, err error) {
	waiting, err := partslist.Waiting(ctx, tx, items...)
	if err != nil {
		return nil, err
	}
	held := map[int64]locked{}
	for _, id := range slices.Sorted(slices.Values(waiting)) {
		j, err := lock(ctx, tx, id)
		if err != nil {
			return nil, err
		}
		held[id] = j
	}
	if err := post(); err != nil || len(waiting) == 0 {
		return nil, err
	}
	whole, err = partslist.Arrived(ctx, tx, waiting)
	if err != nil {
		return nil, err
	}
	for _, id := range whole {
		if err := held[id].wait(ctx, tx, by, nil); err != nil {
			return nil, err
		}
	}
	return whole, nil
}

// NeedPart has an open job need an item that somebody adds by hand.
func NeedPart(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, w partslist.Want) error {
	return ChangeNeeds(ctx, tx, by, jobID, func() error { return partslist.Add(ctx, tx, by, jobID, w) })
}

// ChangeNeeds lets change do what it does to the needs of an open job, and has the
// job wait for what is lacking then, or no longer.
func ChangeNeeds(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, change func() error) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if err := change(); err != nil {
		return err
	}
	return j.waitAsItIs(ctx, tx, by)
}

// waitAsItIs has the job wait for what it lacks now.
func (j locked) waitAsItIs(ctx context.Context, tx pgx.Tx, by history.By) error {
	lacks, err := partslist.Lacking(ctx, tx, j.id)
	if err != nil {
		return err
	}
	return j.wait(ctx, tx, by, lacks)
}

// UseParts lets use post what a job took, also of one that is closed: what was used
// before the ledger had it is posted once that is put right.
func UseParts(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, use func() error) error {
	j, err := lock(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if err := use(); err != nil || isClosed(j.stage) {
		return err
	}
	return j.waitAsItIs(ctx, tx, by)
}

// SetAsideOfUnit does SetPartsAside for the open job of a unit, if there is one: its
// model may be known better now.
func SetAsideOfUnit(ctx context.Context, tx pgx.Tx, by history.By, unitID int64) error {
	rows, err := tx.Query(ctx, "select id from job where unit_id = $1 and closed_at is null", unitID)
	list, err := db.All[struct{ ID int64 }](rows, err)
	if err != nil {
		return fmt.Errorf("set parts aside: %w", err)
	}
	for _, j := range list {
		if err := SetPartsAside(ctx, tx, by, j.ID); err != nil {
			return err
		}
	}
	return nil
}
