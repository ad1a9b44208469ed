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
			exists (select from sheet_step where job_id = $1),
			array(select key from sheet_step s where job_id = $1 and not exists (select from signoff g where g.step_id = s.id and g.role = 'done'
				and not exists (select from cross_out x where x.signoff_id = g.id)))
		from unit u where u.id = $2`, j.id, j.unitID).Scan(&p.ModelID, &p.Services, &p.Sheet, &p.Steps)
	if err != nil {
		return fmt.Errorf("set parts aside: %w", err)
	}
	return j.changing(ctx, tx, by, func() error {
		_, err := partslist.Settle(ctx, tx, p)
		return err
	})
}

// changing lets change do what it does to the needs of a job, gives what that puts back
// to the jobs that wait for it, and has this one wait for what it lacks then.
func (j locked) changing(ctx context.Context, tx pgx.Tx, by history.By, change func() error) error {
	before, err := partslist.Aside(ctx, tx, j.id)
	if err != nil {
		return err
	}
	if err := change(); err != nil {
		return err
	}
	if len(before) > 0 {
		after, err := partslist.Aside(ctx, tx, j.id)
		if err != nil {
			return err
		}
		var back []int64
		for item, qty := range before {
			if after[item] < qty {
				back = append(back, item)
			}
		}
		if err := shareOut(ctx, tx, by, back); err != nil {
			return err
		}
	}
	return j.waitAsItIs(ctx, tx, by)
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

// hold locks the rows of open jobs, in the order of their ids as everywhere, and gives
// them back in the order they came in. One that was closed meanwhile is left out.
func hold(ctx context.Context, tx pgx.Tx, jobs []int64) (list []locked, ids []int64, err error) {
	rows := map[int64]locked{}
	for _, id := range slices.Sorted(slices.Values(jobs)) {
		if rows[id], err = lock(ctx, tx, id); err != nil {
			return nil, nil, err
		}
	}
	for _, id := range jobs {
		if !isClosed(rows[id].stage) {
			list, ids = append(list, rows[id]), append(ids, id)
		}
	}
	return list, ids, nil
}

func waitAll(ctx context.Context, tx pgx.Tx, by history.By, jobs []locked) error {
	for _, j := range jobs {
		if err := j.waitAsItIs(ctx, tx, by); err != nil {
			return err
		}
	}
	return nil
}

// AwaitAnew has the jobs that want items wait until those can be here now: an order
// went out, came short or was put off.
func AwaitAnew(ctx context.Context, tx pgx.Tx, by history.By, items []int64) error {
	waiting, err := partslist.Waiting(ctx, tx, items...)
	if err != nil {
		return err
	}
	jobs, _, err := hold(ctx, tx, waiting)
	if err != nil {
		return err
	}
	return waitAll(ctx, tx, by, jobs)
}

// Supply has items come in or go out by post, and shares them out among the jobs that
// want them or have them aside, in the order of their promise. A job that lacks nothing
// any more waits on parts no longer, and one that lost what lay aside waits. The rows of
// the jobs are held before the items, as everywhere.
func Supply(ctx context.Context, tx pgx.Tx, by history.By, items []int64, post func() error) error {
	concerned, err := partslist.Concerned(ctx, tx, items...)
	if err != nil {
		return err
	}
	jobs, ids, err := hold(ctx, tx, concerned)
	if err != nil {
		return err
	}
	if err := post(); err != nil {
		return err
	}
	if err := partslist.Share(ctx, tx, items, ids); err != nil {
		return err
	}
	return waitAll(ctx, tx, by, jobs)
}

// shareOut gives what a job put back to those that wait for it. A job whose row is held
// by somebody else is passed over: nobody waits here for its lock.
func shareOut(ctx context.Context, tx pgx.Tx, by history.By, items []int64) error {
	if len(items) == 0 {
		return nil
	}
	waiting, err := partslist.Waiting(ctx, tx, items...)
	if err != nil || len(waiting) == 0 {
		return err
	}
	rows, err := tx.Query(ctx, "select id from job where id = any ($1) and closed_at is null order by id for no key update skip locked", waiting)
	free, err := db.All[struct{ ID int64 }](rows, err)
	if err != nil {
		return fmt.Errorf("share out parts: %w", err)
	}
	waiting = slices.DeleteFunc(waiting, func(id int64) bool {
		return !slices.ContainsFunc(free, func(f struct{ ID int64 }) bool { return f.ID == id })
	})
	jobs, ids, err := hold(ctx, tx, waiting)
	if err != nil {
		return err
	}
	if err := partslist.Share(ctx, tx, items, ids); err != nil {
		return err
	}
	return waitAll(ctx, tx, by, jobs)
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
	return j.changing(ctx, tx, by, change)
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
