package job

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// BoardRow is an open job on the board.
type BoardRow struct {
	ID         int64
	Number     int
	VisitID    int64
	CustomerID int64
	Customer   string
	UnitID     int64
	Unit       string // maker and model, or own words
	Kind       string
	Services   []string // names
	Symptoms   []string // codes, in the order of Symptoms
	MechanicID *int64
	Mechanic   string // empty: nobody yet
	Stage      string
	StageAt    time.Time // when it reached the stage
	PromisedAt time.Time
	BookedFor  *time.Time // the day it is to come, while it is booked; nil for what is or was never so
	GoesBack   string
	Signed     int    // steps of the bench sheet with nothing left to sign
	Steps      int    // 0: work has not started
	Found      int    // findings that stand
	Worst      string // what the gravest of them asks; empty for none
	NextStep   string // what the sheet goes on at; empty before work starts and when all is signed
	HangsAt    string
	OpenedAt   time.Time
	Version    int
	Unopened   bool // a warranty claim that may not be begun until it is authorised

	Holds []Wait `db:"-"` // open ones, oldest first
	Pin   Pin    `db:"-"` // zero where its promise alone counts
}

// Complaint is the words of the first symptom; empty for none.
func (r BoardRow) Complaint() string {
	if len(r.Symptoms) == 0 {
		return ""
	}
	s, _ := SymptomOf(r.Symptoms[0])
	return s.Words
}

// Standing is where the job is said to stand: what it has waited for longest,
// else its stage.
func (r BoardRow) Standing() string {
	if len(r.Holds) > 0 {
		return r.Holds[0].Kind
	}
	return r.Stage
}

// BoardFilter picks rows; the zero value picks all.
type BoardFilter struct {
	Mechanic *int64    // 0: those nobody has
	Stage    string    // of Standing, so a stage or a kind of hold; empty: any
	From, To time.Time // promised from the one until before the other; zero: any
	Words    string    // each of them somewhere in the row; empty: any
}

// Keeps reports whether the filter picks the row.
func (f BoardFilter) Keeps(r BoardRow) bool {
	switch {
	case f.Stage != "" && f.Stage != r.Standing():
		return false
	case !f.From.IsZero() && r.PromisedAt.Before(f.From), !f.To.IsZero() && !r.PromisedAt.Before(f.To), !f.says(r):
		return false
	case f.Mechanic == nil:
		return true
	case *f.Mechanic == 0:
		return r.MechanicID == nil
	}
	return r.MechanicID != nil && *r.MechanicID == *f.Mechanic
}

// says is whether a row has all the words, whatever their case and accents.
func (f BoardFilter) says(r BoardRow) bool {
	row := fold.Text(strings.Join(slices.Concat([]string{
		strconv.Itoa(r.Number), r.Unit, r.Customer, r.Mechanic, r.HangsAt, r.Complaint(), r.Pin.Reason}, r.Services), " "))
	for word := range strings.FieldsSeq(fold.Text(f.Words)) {
		if !strings.Contains(row, word) {
			return false
		}
	}
	return true
}

// Board lists the open jobs the filter picks, in promised order, the older
// ticket first.
func Board(ctx context.Context, q db.Querier, f BoardFilter) ([]BoardRow, error) {
	rows, err := q.Query(ctx, boardSQL, PaysWarranty)
	list, err := db.All[BoardRow](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read board: %w", err)
	}
	ids := make([]int64, len(list))
	for i, r := range list {
		ids[i] = r.ID
	}
	holds, err := openHolds(ctx, q, ids)
	if err != nil {
		return nil, fmt.Errorf("read board: %w", err)
	}
	pins, err := Pins(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read board: %w", err)
	}
	for i := range list {
		list[i].Holds, list[i].Pin = holds[list[i].ID], pins[list[i].ID]
		sortSymptoms(list[i].Symptoms)
	}
	return slices.DeleteFunc(list, func(r BoardRow) bool { return !f.Keeps(r) }), nil
}

// The sheet goes on at the first step that is not done, or at a stop-here before
// it that nobody has checked; else at a second check that was left.
//
// A step counts as signed as the bench counts it: done, and checked where it
// needs a second check.
const boardSQL = `with step as (
		select t.id, t.job_id, t.rank, t.title, t.stop_here, t.second_check from job j join sheet_step t on t.job_id = j.id where j.closed_at is null
			and coalesce((select asked from step_asked k where k.step_id = t.id order by k.id desc limit 1), true)),
	signed as (
		select o.step_id, bool_or(o.role = 'checked') as checked
		from step t join signoff o on o.step_id = t.id
		where not exists (select from cross_out x where x.signoff_id = o.id)
		group by o.step_id having bool_or(o.role = 'done')),
	progress as (
		select t.job_id, count(*) as steps, count(g.step_id) filter (where g.checked or not t.second_check) as signed,
			(array_agg(t.title order by g.step_id is not null and not t.stop_here, t.rank)
				filter (where g.step_id is null or t.second_check and not g.checked))[1] as next_step
		from step t left join signed g on g.step_id = t.id group by t.job_id)
	select j.id, j.number, j.visit_id, c.now_id as customer_id, c.name as customer, j.unit_id,
		coalesce(m.maker || ' ' || m.name, u.model_words) as unit, u.kind,
		array(select name from job_service o join service e on e.code = o.service_code where o.job_id = j.id order by e.seq, code) as services,
		array(select symptom from job_symptom where job_id = j.id) as symptoms,
		j.mechanic_id, coalesce(p.name, '') as mechanic, j.stage, s.at as stage_at, v.promised_at, v.booked_for, v.goes_back,
		coalesce(g.signed, 0) as signed, coalesce(g.steps, 0) as steps, f.found, f.worst,
		coalesce(g.next_step, '') as next_step, j.hangs_at, j.opened_at, j.version,
		j.payer = $1 and j.authorised_at is null and j.started_at is null as unopened
	from job j
	join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id
	join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
	left join staff p on p.id = j.mechanic_id left join progress g on g.job_id = j.id
	cross join lateral (select count(*) as found,
		coalesce((array_agg(f.grade order by array_position(array['do not ride', 'needs doing', 'keep an eye on'], f.grade) nulls last))[1], '') as worst
		from finding f where f.job_id = j.id and not exists (select from finding_answer w where w.finding_id = f.id)) f
	cross join lateral (select at from stage_change where job_id = j.id order by seq desc limit 1) s
	where j.closed_at is null
	order by v.promised_at, j.number`

// MechanicCount is how many open jobs one person has; nobody's have id 0.
type MechanicCount struct {
	ID   int64
	Name string
	N    int
}

// StageCount is how many open jobs stand somewhere, as Standing says.
type StageCount struct {
	Stage string
	N     int
}

// Count is what stands beside the filters of the board. Every open job is once
// in each of the two lists; empty counts are left out.
type Count struct {
	Open      int
	Mechanics []MechanicCount // by name, nobody last
	Stages    []StageCount    // stages first, then holds
}

// Tally counts rows that Board has read without a filter.
func Tally(rows []BoardRow) Count {
	c := Count{Open: len(rows)}
	for _, r := range rows {
		var id int64
		if r.MechanicID != nil {
			id = *r.MechanicID
		}
		i := slices.IndexFunc(c.Mechanics, func(m MechanicCount) bool { return m.ID == id })
		if i < 0 {
			i = len(c.Mechanics)
			c.Mechanics = append(c.Mechanics, MechanicCount{ID: id, Name: r.Mechanic})
		}
		c.Mechanics[i].N++
	}
	slices.SortFunc(c.Mechanics, func(a, b MechanicCount) int {
		switch {
		case a.ID == 0:
			return 1
		case b.ID == 0:
			return -1
		}
		return cmp.Compare(a.Name, b.Name)
	})
	standing := map[string]int{}
	for _, r := range rows {
		standing[r.Standing()]++
	}
	for _, stage := range slices.Concat(OpenStages, HoldKinds) {
		if n := standing[stage]; n > 0 {
			c.Stages = append(c.Stages, StageCount{stage, n})
		}
	}
	return c
}
