package picture

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

// Picture is a row: what is known of a picture beside its files.
type Picture struct {
	ID       int64
	JobID    int64
	StepID   *int64 // nil: apart from the steps
	SHA      string
	ThumbSHA string
	Bytes    int
	Width    int
	Height   int
	Shown    bool // the customer may see it
	Actor    string
	At       time.Time
}

// mostOfJob is how many pictures a job may have.
const mostOfJob = 200

// filesLock is held in common by whoever adds pictures, and alone by whoever
// removes files, so that none goes between its writing and its row.
const filesLock = "hashtext('files of pictures')"

// Add keeps a picture of a job that has not left the shop, at a step of its
// sheet unless that is nil, and returns its id.
func Add(ctx context.Context, tx pgx.Tx, by history.By, f *Folder, jobID int64, stepID *int64, m Made) (int64, error) {
	if stepID != nil && !by.Has("mechanic") {
		return 0, fault.Forbidden("Only a mechanic takes pictures at the bench.")
	}
	e, err := lockJob(ctx, tx, jobID)
	if err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock_shared("+filesLock+")"); err != nil {
		return 0, db.Translate(err)
	}
	p := Picture{JobID: jobID, StepID: stepID, Bytes: len(m.Full), Width: m.Width, Height: m.Height}
	if p.SHA, err = f.keep(m.Full); err != nil {
		return 0, err
	}
	if p.ThumbSHA, err = f.keep(m.Thumb); err != nil {
		return 0, err
	}
	return p.insert(ctx, tx, by, e)
}

// lockJob holds the row of a job and returns what an event of it begins with.
func lockJob(ctx context.Context, tx pgx.Tx, jobID int64) (history.Event, error) {
	e := history.Event{SubjectKind: "job", SubjectID: jobID, Job: jobID}
	var closed bool
	var had int
	err := tx.QueryRow(ctx, `select v.customer_id, j.unit_id, j.closed_at is not null, (select count(*) from picture where job_id = j.id)
		from job j join visit v on v.id = j.visit_id where j.id = $1 for no key update of j`, jobID).Scan(&e.Customer, &e.Unit, &closed, &had)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return e, fault.NotFound("There is no such job.")
	case err != nil:
		return e, db.Translate(err)
	case closed:
		return e, fault.Conflict("This job has left the shop; its pictures stay as they are.")
	case had >= mostOfJob:
		return e, refuse("This job has %d pictures, which is the most.", mostOfJob)
	}
	return e, nil
}

func (p Picture) insert(ctx context.Context, tx pgx.Tx, by history.By, e history.Event) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into picture (job_id, step_id, sha, thumb_sha, bytes, width, height, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) returning id`,
		p.JobID, p.StepID, p.SHA, p.ThumbSHA, p.Bytes, p.Width, p.Height, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("store picture: %w", db.Translate(err))
	}
	e.Kind, e.Detail = "picture taken", map[string]any{"picture": id}
	if p.StepID != nil {
		e.Detail["step"] = *p.StepID
	}
	return id, history.Append(ctx, tx, by, e)
}

// Show says whether the customer may see a picture of the job. The newest word
// counts.
func Show(ctx context.Context, tx pgx.Tx, by history.By, jobID, id int64, shown bool) error {
	if !by.Has("mechanic") && !by.Has("owner") {
		return fault.Forbidden("A mechanic or an owner says what the customer sees.")
	}
	p, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	if p.JobID != jobID {
		return errNone
	}
	if p.Shown == shown {
		return nil
	}
	_, err = tx.Exec(ctx, "insert into picture_shown (picture_id, shown, actor_id, intent_id, at) values ($1, $2, $3, $4, $5)",
		id, shown, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("show picture: %w", db.Translate(err))
	}
	kind := "picture shown"
	if !shown {
		kind = "picture no longer shown"
	}
	e := history.Event{SubjectKind: "job", SubjectID: jobID, Job: jobID, Kind: kind, Detail: map[string]any{"picture": id}}
	err = tx.QueryRow(ctx, "select v.customer_id, j.unit_id from job j join visit v on v.id = j.visit_id where j.id = $1", jobID).Scan(&e.Customer, &e.Unit)
	if err != nil {
		return fmt.Errorf("show picture: %w", err)
	}
	return history.Append(ctx, tx, by, e)
}

var errNone = fault.NotFound("There is no such picture.")

const pictureSQL = `select p.id, p.job_id, p.step_id, p.sha, p.thumb_sha, p.bytes, p.width, p.height,
		coalesce((select shown from picture_shown where picture_id = p.id order by id desc limit 1), false) as shown, a.name as actor, p.at
	from picture p join staff a on a.id = p.actor_id `

// kept leaves out the rows of pictures that were erased.
const kept = " and p.sha <> '' "

// OfJob lists the pictures of a job, oldest first.
func OfJob(ctx context.Context, q db.Querier, jobID int64) (list []Picture, err error) {
	var b pgx.Batch
	QueueOfJob(&b, jobID, &list)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("read pictures: %w", err)
	}
	return list, nil
}

// ByID lists pictures of any job, oldest first.
func ByID(ctx context.Context, q db.Querier, ids []int64) ([]Picture, error) {
	rows, err := q.Query(ctx, pictureSQL+"where p.id = any ($1)"+kept+"order by p.id", ids)
	list, err := db.All[Picture](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read pictures: %w", err)
	}
	return list, nil
}

// OfCustomers lists the pictures of the jobs of these customers, oldest first.
func OfCustomers(ctx context.Context, q db.Querier, ids []int64) ([]Picture, error) {
	rows, err := q.Query(ctx, pictureSQL+"join job j on j.id = p.job_id join visit v on v.id = j.visit_id where v.customer_id = any ($1)"+kept+"order by p.id", ids)
	list, err := db.All[Picture](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read pictures: %w", err)
	}
	return list, nil
}

// QueueOfJob adds the question of OfJob to a batch.
func QueueOfJob(b *pgx.Batch, jobID int64, list *[]Picture) {
	db.Queue(b, list, pictureSQL+"where p.job_id = $1"+kept+"order by p.id", jobID)
}

// Get reads one picture.
func Get(ctx context.Context, q db.Querier, id int64) (Picture, error) {
	rows, err := q.Query(ctx, pictureSQL+"where p.id = $1"+kept, id)
	return db.One[Picture](rows, err, "picture")
}

// ForCustomer reads a picture of a visit that its customer may see.
func ForCustomer(ctx context.Context, q db.Querier, visitID, id int64) (Picture, error) {
	var of bool
	err := q.QueryRow(ctx, "select exists (select from picture p join job j on j.id = p.job_id where p.id = $1 and j.visit_id = $2)", id, visitID).Scan(&of)
	if err != nil {
		return Picture{}, fmt.Errorf("read picture: %w", err)
	}
	p, err := Get(ctx, q, id)
	if err == nil && (!of || !p.Shown) {
		err = errNone
	}
	return p, err
}
