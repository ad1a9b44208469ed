// Package job keeps visits and their jobs: taking units in at the counter,
// where each job stands and what it waits for, who works on it, and how it
// leaves the shop.
//
// Writers lock the row of the job they change, so that of two people who press
// at once the second acts on what the first has done. The stage kept with a job
// is always the one of its last stage change.
package job

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Job is one unit in one visit, with what a page about it shows.
type Job struct {
	ID         int64
	Number     int // the ticket
	VisitID    int64
	UnitID     int64
	CustomerID int64

	Stage      string
	StageAt    time.Time // when it reached the stage
	Ending     string    // empty while open
	MechanicID *int64    // nil: nobody yet
	Mechanic   string

	CameAs       string // unit only, unit and wheel, whole bike
	HangsAt      string
	RiderKG      *float64 // with kit; nil: not known
	RiderEntered string   // the weight as typed
	Riding       string
	EBike        bool
	OldParts     string // bin, give back
	ComebackOf   *int64 // the job it is about again; nil: none
	ComebackNo   int    // its ticket
	Payer        string // of Payers
	PayerWords   string
	AuthorisedAt *time.Time // of a warranty claim
	WhyBack      string
	LeftOn       string // what was left on it
	Complaint    string
	RiderNote    string
	Carrier      string // of what was sent back
	Tracking     string
	Unpaid       string // why it was sent before it was paid
	AirOut       bool   // sent without air, a tag at it
	TakenBy      string // who took it when it left
	EndingWords  string
	Symptoms     []string // codes, in the order of Symptoms
	Services     []string // codes
	ServiceNames []string

	Customer   string
	Phone      string
	Mail       string
	Address    string
	Unit       string // maker and model, or own words
	Kind       string
	ModelID    *int64
	Serial     string
	Tag        string
	BikeWords  string
	BikeColour string
	TravelMM   int // 0: not known
	Spring     string

	PromisedAt time.Time
	BookedFor  *time.Time // nil: never booked
	Came       string
	GoesBack   string
	LimitMinor *int64 // nil: ask for everything
	Currency   string

	OpenedAt  time.Time
	StartedAt *time.Time
	ReadyAt   *time.Time
	ClosedAt  *time.Time
	Version   int

	Holds    []Wait     `db:"-"` // open ones, oldest first
	TakenOff []TakenOff `db:"-"` // services, oldest first; read with one job alone
	HandedOn *HandedOn  `db:"-"` // the newest; read with one job alone
	Answers  []Answer   `db:"-"` // as they are asked
	Marks    []Mark     `db:"-"` // as it came, as they were seen
}

const jobSQL = `select j.id, j.number, j.visit_id, j.unit_id, c.now_id as customer_id,
		j.stage, s.at as stage_at, coalesce(j.ending, '') as ending, j.mechanic_id, coalesce(p.name, '') as mechanic,
		j.came_as, j.hangs_at, j.rider_kg, j.rider_entered, j.riding, j.ebike, j.old_parts,
		j.comeback_of, coalesce((select number from job where id = j.comeback_of), 0) as comeback_no, j.payer, j.authorised_at,
		coalesce(w.payer_words, '') as payer_words, coalesce(w.why_back, '') as why_back, coalesce(w.left_on, '') as left_on,
		coalesce(w.complaint, '') as complaint, coalesce(w.rider_note, '') as rider_note,
		coalesce(w.carrier, '') as carrier, coalesce(w.tracking, '') as tracking, coalesce(w.unpaid_words, '') as unpaid, coalesce(h.air_out, false) as air_out,
		coalesce(w.taken_by, '') as taken_by, coalesce(w.ending_words, '') as ending_words,
		array(select symptom from job_symptom where job_id = j.id) as symptoms,
		array(select code from job_service o join service e on e.code = o.service_code where o.job_id = j.id order by e.seq, code) as services,
		array(select name from job_service o join service e on e.code = o.service_code where o.job_id = j.id order by e.seq, code) as service_names,
		c.name as customer, c.phone, c.mail, c.address,
		coalesce(m.maker || ' ' || m.name, u.model_words) as unit, u.kind, u.model_id, u.serial, u.tag,
		coalesce(b.words, '') as bike_words, coalesce(b.colour, '') as bike_colour,
		coalesce(i.travel_mm, m.travel_mm, 0) as travel_mm, coalesce(i.spring, m.spring, '') as spring,
		v.promised_at, v.booked_for, v.came, v.goes_back, v.limit_minor, v.currency,
		j.opened_at, j.started_at, j.ready_at, j.closed_at, j.version
	from job j
	join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id
	join unit u on u.id = j.unit_id
	left join model m on m.id = u.model_id
	left join lateral (select spring, travel_mm from unit_inside where unit_id = u.id order by id desc limit 1) i on true
	left join bike b on b.id = u.bike_id
	left join staff p on p.id = j.mechanic_id left join job_words w on w.job_id = j.id
	left join hand_over h on h.job_id = j.id
	cross join lateral (select at from stage_change where job_id = j.id order by seq desc limit 1) s`

// Get reads one job.
func Get(ctx context.Context, q db.Querier, id int64) (Job, error) {
	j, err := one(ctx, q, " where j.id = $1", id)
	if err != nil {
		return Job{}, fmt.Errorf("read job: %w", err)
	}
	return j, nil
}

// ByNumber reads the job with that ticket.
func ByNumber(ctx context.Context, q db.Querier, number int) (Job, error) {
	j, err := one(ctx, q, " where j.number = $1", number)
	if err != nil {
		return Job{}, fmt.Errorf("read job by ticket: %w", err)
	}
	return j, nil
}

// one reads a job with what stands in rows of its own in one go; where picks it
// by $1.
func one(ctx context.Context, q db.Querier, where string, arg any) (Job, error) {
	var (
		jobs  []Job
		holds []Wait
		off   []TakenOff
		told  []HandedOn
		said  []Answer
		marks []Mark
		b     pgx.Batch
	)
	db.Queue(&b, &jobs, jobSQL+where, arg)
	db.Queue(&b, &holds, openHoldSQL+" join job j on j.id = h.job_id"+where+" and e.id is null order by h.id", arg)
	db.Queue(&b, &off, takenOffSQL+" join job j on j.id = t.job_id"+where+" order by t.id", arg)
	db.Queue(&b, &told, handedOnSQL+" join job j on j.id = h.job_id"+where+" order by h.id desc limit 1", arg)
	db.Queue(&b, &said, answerSQL+" join job j on j.id = a.job_id"+where, arg)
	db.Queue(&b, &marks, markSQL+" join job j on j.id = k.job_id"+where+" order by k.id", arg)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Job{}, err
	}
	if len(jobs) == 0 {
		return Job{}, db.NotThere("job")
	}
	jobs[0].Holds, jobs[0].TakenOff = holds, off
	if len(told) > 0 {
		jobs[0].HandedOn = &told[0]
	}
	jobs[0].Answers, jobs[0].Marks = said, marks
	sortAnswers(said)
	sortSymptoms(jobs[0].Symptoms)
	return jobs[0], nil
}

// complete adds the open holds and how each came, and puts symptoms in order.
func complete(ctx context.Context, q db.Querier, list []Job) error {
	ids := make([]int64, len(list))
	for i, j := range list {
		ids[i] = j.ID
	}
	holds, err := openHolds(ctx, q, ids)
	if err != nil {
		return err
	}
	came, err := readCame(ctx, q, ids)
	if err != nil {
		return err
	}
	for i := range list {
		list[i].Holds = holds[list[i].ID]
		list[i].Answers, list[i].Marks = came[list[i].ID].answers, came[list[i].ID].marks
		sortSymptoms(list[i].Symptoms)
	}
	return nil
}

// Closed is one job of those that have left the shop, for a list.
type Closed struct {
	ID       int64
	Number   int
	Unit     string
	Services []string // names
	Ending   string
	OpenedAt time.Time
	ClosedAt time.Time
}

// ClosedPage is how many jobs ClosedOf returns at most.
const ClosedPage = 25

// ClosedOf lists the closed jobs of a customer or a unit (the other is 0), the
// newest first, at most ClosedPage; before is the id of the last one seen, 0 to
// begin.
func ClosedOf(ctx context.Context, q db.Querier, customerID, unitID, before int64) ([]Closed, error) {
	rows, err := q.Query(ctx, `select j.id, j.number, coalesce(m.maker || ' ' || m.name, u.model_words) as unit,
			array(select name from job_service o join service e on e.code = o.service_code where o.job_id = j.id order by e.seq, code) as services,
			j.ending, j.opened_at, j.closed_at
		from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
		where j.closed_at is not null and ($1 = 0 or v.customer_id in (select id from customer where id = $1 or merged_into = $1)) and ($2 = 0 or j.unit_id = $2)
			and ($3 = 0 or j.id < $3)
		order by j.id desc limit $4`, customerID, unitID, before, ClosedPage)
	list, err := db.All[Closed](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read closed jobs: %w", err)
	}
	return list, nil
}

// locked is what a writer knows of the job whose row it holds.
type locked struct {
	id, visitID, unitID, customerID int64
	stage                           string
	version                         int
}

func lock(ctx context.Context, tx pgx.Tx, id int64) (locked, error) {
	j := locked{id: id}
	err := tx.QueryRow(ctx, `select j.visit_id, j.unit_id, v.customer_id, j.stage, j.version
		from job j join visit v on v.id = j.visit_id where j.id = $1 for no key update of j`, id).
		Scan(&j.visitID, &j.unitID, &j.customerID, &j.stage, &j.version)
	if errors.Is(err, pgx.ErrNoRows) {
		return j, fault.NotFound("There is no such job.")
	}
	if err != nil {
		return j, fmt.Errorf("lock job: %w", err)
	}
	return j, nil
}

// lockOpen is lock for a job that has not left the shop.
func lockOpen(ctx context.Context, tx pgx.Tx, id int64) (locked, error) {
	j, err := lock(ctx, tx, id)
	if err == nil && isClosed(j.stage) {
		return j, fault.Conflict("This job is closed: it is " + j.stage + ".")
	}
	return j, err
}

func (j locked) append(ctx context.Context, tx pgx.Tx, by history.By, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, j.event(kind, detail))
}

func (j locked) event(kind string, detail map[string]any) history.Event {
	return history.Event{
		SubjectKind: "job", SubjectID: j.id, Customer: j.customerID, Unit: j.unitID, Job: j.id,
		Kind: kind, Detail: detail}
}

// raise counts the version up for a change that touches no column of the job.
func (j locked) raise(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, "update job set version = version + 1 where id = $1", j.id)
	return err
}
