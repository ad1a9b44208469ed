package plan

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// task is an open job as the line needs it.
type task struct {
	ID         int64
	Number     int
	VisitID    int64
	Stage      string
	MechanicID int64 // 0: nobody yet
	ModelID    int64 // 0: not known
	Services   []string
	Kind       string // of the unit, and how it is inside; empty: not known
	Spring     string
	Damper     string
	CameAs     string
	LosesAir   bool
	PromisedAt time.Time
	BookedFor  *time.Time // a day at midnight UTC; nil: it is not booked ahead
	OpenedAt   time.Time
	Unopened   bool // a warranty claim that may not be begun until it is authorised

	more     agreed
	holds    []wait
	pin      *job.Pin
	progress bench.Progress
	stands   []stand
}

func (t task) facts() procedure.Facts {
	f := procedure.Facts{Kind: t.Kind, Spring: t.Spring, Damper: t.Damper, CameAs: t.CameAs}
	if t.LosesAir {
		f.Symptoms = []string{procedure.LosesAir}
	}
	return f
}

// wait is an open hold.
type wait struct {
	JobID      int64
	Kind       string
	ExpectedOn *time.Time // a day at midnight UTC; nil: not known
	At         time.Time
}

// agreed is what goes ahead for a job beyond what it is here for.
type agreed struct {
	JobID   int64
	Minutes int        // of what is not on its sheet
	PartsOn *time.Time // the last day that parts of it are expected, at midnight UTC; nil: none are
}

// facts are what the database has for a plan.
type facts struct {
	mechanics []struct {
		ID   int64
		Name string
	}
	tasks    []task
	more     map[int64]agreed
	progress map[int64]bench.Progress
	outline  procedure.Outline
	holds    map[int64][]wait
	kept     []outcome
	answers  []answered
}

// A job that is ready has left the line.
const taskSQL = `select j.id, j.number, j.visit_id, j.stage, coalesce(j.mechanic_id, 0) as mechanic_id, coalesce(u.model_id, 0) as model_id,
		array(select service_code from job_service where job_id = j.id order by service_code) as services,
		u.kind, coalesce(i.spring, m.spring, '') as spring, coalesce(i.damper, m.damper, '') as damper, j.came_as,
		exists (select from job_symptom where job_id = j.id and symptom = $2) as loses_air, v.promised_at, v.booked_for,
		j.opened_at, j.payer = $3 and j.authorised_at is null and j.started_at is null as unopened
	from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
	left join lateral (select spring, damper from unit_inside where unit_id = u.id order by id desc limit 1) i on true
	where j.closed_at is null and j.stage <> $1 order by j.id`

// What was put right, or is on the job as a service, is not to come.
const agreedSQL = `select p.job_id, max(p.parts_on) as parts_on, (coalesce(sum(p.minutes) filter (where not exists (
			select from job_service o where o.job_id = p.job_id and o.service_code = p.service_code)), 0))::int as minutes
	from job j join proposal p on p.job_id = j.id
	where j.closed_at is null and (p.minutes is not null or p.parts_on is not null)
		and not exists (select from proposal r where r.replaces = p.id)
		and not exists (select from finding_answer w where w.finding_id = p.finding_id)
		and coalesce((select a.yes from proposal_answer a where a.proposal_id = p.id
			and not exists (select from proposal_answer r where r.replaces = a.id)), p.ahead)
	group by p.job_id`

// The first promise of each of the newest visits, with when the last of its
// jobs was ready; nothing is ready before all that was not cancelled is.
const keptSQL = `select p.expected_at as expected, case when not w.open then w.ready end as ready
	from promise p cross join lateral (
		select bool_or(closed_at is null and ready_at is null) as open, max(ready_at) as ready,
			bool_or(stage = 'booked') as booked from job where visit_id = p.visit_id) w
	where p.expected_at is not null and not exists (select from promise o where o.visit_id = p.visit_id and o.id < p.id)
		and (w.open or w.ready is not null) and not w.booked
	order by p.id desc limit $1`

func readFacts(ctx context.Context, q db.Querier, promises int) (f facts, err error) {
	var b pgx.Batch
	var (
		holds []wait
		lines []bench.StepLine
		more  []agreed
	)
	db.Queue(&b, &f.mechanics, "select id, name from staff where 'mechanic' = any (roles) and left_on is null order by id")
	db.Queue(&b, &f.tasks, taskSQL, job.Ready, procedure.LosesAir, job.PaysWarranty)
	bench.QueueProgress(&b, &lines)
	f.outline.Queue(&b)
	db.Queue(&b, &holds, `select h.job_id, h.kind, h.expected_on, h.at from hold h join job j on j.id = h.job_id
		where j.closed_at is null and not exists (select from hold_end e where e.hold_id = h.id) order by h.id`)
	db.Queue(&b, &more, agreedSQL)
	db.Queue(&b, &f.kept, keptSQL, promises)
	db.Queue(&b, &f.answers, `select h.at as asked, e.at as given from hold h join hold_end e on e.hold_id = h.id
		where h.kind = $1 order by e.id desc limit $2`, job.WaitingOnCustomer, outcomes)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return facts{}, err
	}
	f.progress, f.holds, f.more = bench.ProgressOf(lines), map[int64][]wait{}, map[int64]agreed{}
	for _, m := range more {
		f.more[m.JobID] = m
	}
	for _, h := range holds {
		f.holds[h.JobID] = append(f.holds[h.JobID], h)
	}
	return f, nil
}
