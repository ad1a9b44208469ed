package bench

import (
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
)

// Parked is another sheet of the same person on the bench.
type Parked struct {
	JobID  int64
	Number int
	Unit   string
	Signed int
	Steps  int
	NextID int64      // the step it goes on with, 0 for none
	Till   *time.Time // until when the unit has to stand, nil for one that does not
}

// parkedLine is a line of such a sheet.
type parkedLine struct {
	StepLine
	Number int
	Unit   string
}

// queueParked asks for the lines of the sheets that a mechanic has on the bench,
// one job's left out.
func queueParked(b *pgx.Batch, mechanicID, exceptJob int64, list *[]parkedLine) {
	db.Queue(b, list, `select j.id as job_id, j.number, coalesce(m.maker || ' ' || m.name, u.model_words) as unit,
			t.id, t.block, t.kind, t.second_check, t.spec_key, t.minutes,
			(select at from wait_begun where step_id = t.id order by id desc limit 1) as begun,
			o.done_at, coalesce(o.checked, false) as checked
		from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
		join sheet_step t on t.job_id = j.id
		left join lateral (
			select max(at) filter (where role = 'done') as done_at, bool_or(role = 'checked') as checked
			from signoff where step_id = t.id and not exists (select from cross_out x where x.signoff_id = signoff.id)) o on true
		where j.mechanic_id = $1 and j.id <> $2 and j.stage in ($3, $4)
			and coalesce((select asked from step_asked k where k.step_id = t.id order by k.id desc limit 1), true)
		order by v.promised_at, j.number, t.rank`, mechanicID, exceptJob, job.OnBench, job.FinalCheck)
}

// park gathers the lines of each sheet.
func park(lines []parkedLine) []Parked {
	var list []Parked
	for len(lines) > 0 {
		n := 1
		for n < len(lines) && lines[n].JobID == lines[0].JobID {
			n++
		}
		list = append(list, parked(lines[:n]))
		lines = lines[n:]
	}
	return list
}

// parked reads off the lines of one sheet how far it is.
func parked(lines []parkedLine) Parked {
	var bare []StepLine
	for _, l := range lines {
		bare = append(bare, l.StepLine)
	}
	sheet := asSheet(bare)
	p := Parked{JobID: lines[0].JobID, Number: lines[0].Number, Unit: lines[0].Unit, Signed: sheet.Signed(), Steps: len(sheet.Steps)}
	for _, step := range sheet.Steps {
		if step.Done == nil {
			p.NextID = step.ID
			break
		}
	}
	if wait := sheet.Waiting(); wait != nil {
		till, _ := sheet.WaitTill(wait)
		p.Till = &till
	}
	return p
}
