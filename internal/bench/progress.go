package bench

import (
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// Progress is how far the sheet of a job is.
type Progress struct {
	Signed, Steps int
	Stands        []Stand // in the order of the sheet
}

// Stand is an open wait whose length is known.
type Stand struct {
	Before  int       // open steps that come before it
	Minutes int       // 0: overnight
	From    time.Time // when it began; zero: it has not
}

// StepLine is as much of a step of a sheet as says how far it is.
type StepLine struct {
	JobID       int64
	ID          int64
	Block       string
	Kind        procedure.Kind
	SecondCheck bool
	SpecKey     string
	Minutes     int
	Begun       *time.Time
	DoneAt      *time.Time
	Checked     bool
}

// QueueProgress asks for the lines of all jobs that are begun and not ready.
func QueueProgress(b *pgx.Batch, list *[]StepLine) {
	db.Queue(b, list, `with step as (
			select t.id, t.job_id, t.rank, t.block, t.kind, t.second_check, t.spec_key, t.minutes
			from job j join sheet_step t on t.job_id = j.id where j.closed_at is null and j.stage <> $1
				and coalesce((select asked from step_asked k where k.step_id = t.id order by k.id desc limit 1), true)),
		signed as (
			select o.step_id, max(o.at) filter (where o.role = 'done') as done_at, bool_or(o.role = 'checked') as checked
			from step t join signoff o on o.step_id = t.id
			where not exists (select from cross_out x where x.signoff_id = o.id) group by o.step_id)
		select t.job_id, t.id, t.block, t.kind, t.second_check, t.spec_key, t.minutes,
			case when t.kind = 'wait' then (select at from wait_begun where step_id = t.id order by id desc limit 1) end as begun,
			g.done_at, coalesce(g.checked, false) as checked
		from step t left join signed g on g.step_id = t.id order by t.job_id, t.rank`, job.Ready)
}

// ProgressOf reads off lines how far each job is.
func ProgressOf(lines []StepLine) map[int64]Progress {
	all := map[int64]Progress{}
	for len(lines) > 0 {
		n := 1
		for n < len(lines) && lines[n].JobID == lines[0].JobID {
			n++
		}
		all[lines[0].JobID] = asSheet(lines[:n]).progress()
		lines = lines[n:]
	}
	return all
}

func asSheet(lines []StepLine) (s Sheet) {
	for i, l := range lines {
		step := Step{ID: l.ID, Seq: i + 1, Block: l.Block, Kind: l.Kind, SecondCheck: l.SecondCheck, SpecKey: l.SpecKey, Minutes: l.Minutes, Begun: l.Begun}
		if l.DoneAt != nil {
			step.Done = &Signoff{At: *l.DoneAt}
		}
		if l.Checked {
			step.Checked = &Signoff{}
		}
		s.Steps = append(s.Steps, step)
	}
	return s
}

func (s Sheet) progress() Progress {
	p := Progress{Steps: len(s.Steps), Signed: s.Signed()}
	open := 0
	for i := range s.Steps {
		step := &s.Steps[i]
		if step.Done == nil && step.stands() {
			p.Stands = append(p.Stands, Stand{Before: open, Minutes: step.Minutes, From: s.waitFrom(step)})
		}
		if !step.Live() {
			open++
		}
	}
	return p
}

// stands is whether the unit stands for a known time before the step is signed.
func (s Step) stands() bool {
	return s.Minutes > 0 || procedure.Step{SpecKey: s.SpecKey}.Overnight()
}
