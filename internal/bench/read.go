package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
)

// Sheet is the bench sheet of one job; without steps work has not started.
type Sheet struct {
	Job      job.Job
	Steps    []Step
	NotAsked []Step            // of services taken off again; nothing was ever signed on them
	Findings []Finding         // answered ones too, oldest first
	Pictures []picture.Picture // oldest first
}

// Get reads the sheet of a job with every sign-off, crossing-out and finding on
// it.
func Get(ctx context.Context, q db.Querier, jobID int64) (Sheet, error) {
	return get(ctx, q, jobID, &pgx.Batch{})
}

// Open is Get for a mechanic, with the other sheets that lie parked on their
// bench, those promised sooner first.
func Open(ctx context.Context, q db.Querier, jobID, mechanicID int64) (Sheet, []Parked, error) {
	var (
		b     pgx.Batch
		lines []parkedLine
	)
	queueParked(&b, mechanicID, jobID, &lines)
	sheet, err := get(ctx, q, jobID, &b)
	return sheet, park(lines), err
}

// get reads a sheet in one go with what the batch asks already.
func get(ctx context.Context, q db.Querier, jobID int64, b *pgx.Batch) (Sheet, error) {
	j, err := job.Get(ctx, q, jobID)
	if err != nil {
		return Sheet{}, fmt.Errorf("read bench sheet: %w", err)
	}
	sheet := Sheet{Job: j}
	var (
		steps    []Step
		signoffs []signoffRow
		found    []UnitFinding
	)
	queueSteps(b, jobID, &steps)
	queueSignoffs(b, jobID, &signoffs)
	queueFindings(b, jobID, &found)
	picture.QueueOfJob(b, jobID, &sheet.Pictures)
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return Sheet{}, fmt.Errorf("read bench sheet: %w", err)
	}
	for _, step := range steps {
		if !step.Asked {
			sheet.NotAsked = append(sheet.NotAsked, step)
			continue
		}
		step.Seq = len(sheet.Steps) + 1
		sheet.Steps = append(sheet.Steps, step)
	}
	for _, row := range signoffs {
		sheet.Find(row.StepID).add(row)
	}
	sheet.Findings = ofOneJob(found)
	sheet.hangPictures()
	return sheet, nil
}

// queueSteps asks for the steps with the value that counts: the copied one, else
// the newest given at the bench. The ceiling of a pressure is the unit's
// own maximum, else the one on the spec sheet that the job was filled from, the
// lowest where it was filled from two.
func queueSteps(b *pgx.Batch, jobID int64, list *[]Step) {
	db.Queue(b, list, `select s.id, s.rank, s.block, s.block_title, s.key, s.kind, s.title, s.text, s.caution, s.place,
			s.spec_key, s.quantity, s.grades, s.grp, s.stop_here, s.second_check, s.may_be_unknown, s.unsure, s.sheet_value_id,
			s.tools, s.parts, s.minutes, s.fasteners, coalesce((select json_agg(json_build_object('ToolID', a.tool_id, 'Words', p.name || ' allows it: ' || a.reason))
				from tool_allowed a join staff p on p.id = a.actor_id where a.step_id = s.id), '[]') as allowed,
			(select at from wait_begun where step_id = s.id order by id desc limit 1) as begun,
			coalesce(added.name, '') as added_for, coalesce(k.asked, true) as asked,
			coalesce(s.nominal_si, v.nominal_si) as nominal_si,
			case when s.nominal_si is null then coalesce(v.minus_si, 0) else s.minus_si end as minus_si,
			case when s.nominal_si is null then coalesce(v.plus_si, 0) else s.plus_si end as plus_si,
			case when s.nominal_si is null then coalesce(v.shown_unit, s.shown_unit) else s.shown_unit end as shown_unit,
			case when s.nominal_si is null then coalesce(v.fluid, s.fluid) else s.fluid end as fluid,
			case when s.nominal_si is null then coalesce(v.source, s.source) else s.source end as source,
			s.nominal_si is null and v.id is not null as given_here,
			case when s.key = $2 then coalesce(
				(select u.nominal_si from unit_value u join job j on j.unit_id = u.unit_id
					where j.id = s.job_id and u.key = $3 and u.at <= s.at order by u.id desc limit 1),
				(select min(m.nominal_si) from sheet_step o
					join sheet_value f on f.id = o.sheet_value_id
					join sheet_value m on m.sheet_id = f.sheet_id and m.key = $3
					where o.job_id = s.job_id)) end as ceiling_si
		from sheet_step s
		left join lateral (select asked, service_code from step_asked where step_id = s.id order by id desc limit 1) k on true
		left join service added on added.code = coalesce(k.service_code, s.added_for)
		left join lateral (select * from step_value where step_id = s.id order by id desc limit 1) v on true
		where s.job_id = $1 order by s.rank`, jobID, keyPressureOut, specMaximumPressure)
}

// signoffRow is a sign-off with the crossing-out that answers it, if any.
type signoffRow struct {
	Signoff
	OutID    *int64
	Why      *string
	OutBy    *string
	OutAt    *time.Time
	Replaced bool

	AddedService string
}

func queueSignoffs(b *pgx.Batch, jobID int64, list *[]signoffRow) {
	db.Queue(b, list, `select o.id, o.step_id, o.role, o.outcome, o.how, o.value_si, o.count, o.grade, o.entered,
			o.shown_unit, o.instrument, o.tool_id, coalesce(t.name, '') as tool, o.fluid, o.in_window, o.reason, o.together, o.alone,
			o.actor_id, a.name as actor, coalesce(d.name, '') as device, o.at,
			c.id as out_id, c.reason as why, w.name as out_by, c.at as out_at,
			exists (select from signoff r where r.replaces = c.id) as replaced, coalesce(c.added_service, '') as added_service
		from signoff o join sheet_step s on s.id = o.step_id join staff a on a.id = o.actor_id
		join intent i on i.id = o.intent_id left join device d on d.id = i.device_id
		left join tool t on t.id = o.tool_id
		left join cross_out c on c.signoff_id = o.id left join staff w on w.id = c.actor_id
		where s.job_id = $1 order by o.id`, jobID)
}

func (s *Step) add(row signoffRow) {
	switch {
	case row.OutID != nil:
		crossed := Crossed{Signoff: row.Signoff, OutID: *row.OutID, Why: *row.Why, OutAt: *row.OutAt, Replaced: row.Replaced,
			AddedService: row.AddedService}
		if row.OutBy != nil {
			crossed.OutBy = *row.OutBy
		}
		s.Crossed = append(s.Crossed, crossed)
	case row.Role == RoleDone:
		s.Done = &row.Signoff
	default:
		s.Checked = &row.Signoff
	}
}

// replaces is the crossing-out that a new sign-off in that role stands for; 0
// for the first sign-off.
func (s Step) replaces(role string) int64 {
	for _, c := range s.Crossed {
		if c.Role == role && !c.Replaced {
			return c.OutID
		}
	}
	return 0
}

// lockSheet reads the sheet of a job for a mechanic who will write to it, after
// whoever writes to it now.
func lockSheet(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) (Sheet, error) {
	if err := mechanicOnly(by); err != nil {
		return Sheet{}, err
	}
	if _, err := tx.Exec(ctx, "select from job where id = $1 for no key update", jobID); err != nil {
		return Sheet{}, db.Translate(err)
	}
	return Get(ctx, tx, jobID)
}

// lockByStep is lockSheet for the job of a step.
func lockByStep(ctx context.Context, tx pgx.Tx, by history.By, stepID int64) (Sheet, error) {
	jobID, err := jobOf(ctx, tx, stepID)
	if err != nil {
		return Sheet{}, err
	}
	return lockSheet(ctx, tx, by, jobID)
}

// readByStep is Get for the job of a step.
func readByStep(ctx context.Context, q db.Querier, stepID int64) (Sheet, error) {
	jobID, err := jobOf(ctx, q, stepID)
	if err != nil {
		return Sheet{}, err
	}
	return Get(ctx, q, jobID)
}

func jobOf(ctx context.Context, q db.Querier, stepID int64) (jobID int64, err error) {
	err = q.QueryRow(ctx, "select job_id from sheet_step where id = $1", stepID).Scan(&jobID)
	if err == pgx.ErrNoRows {
		return 0, fault.NotFound("There is no such step.")
	}
	return jobID, err
}

// event is an event of the sheet's job.
func (s Sheet) event(kind string, detail map[string]any) history.Event {
	return history.Event{
		SubjectKind: "job", SubjectID: s.Job.ID, Customer: s.Job.CustomerID, Unit: s.Job.UnitID, Job: s.Job.ID,
		Kind: kind, Detail: detail,
	}
}
