package work

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/mail/mailtest"
	"damperdesk/internal/message"
	"damperdesk/internal/procedure"
)

// What says nothing any more by the time it is written is dropped, and the next
// one goes out.
func TestWhatIsMootIsDropped(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	moot, next := o.posts("moot"), o.posts("next")
	write := o.post.Write
	o.post.Write = func(ctx context.Context, tx pgx.Tx, by history.By, m message.Message) (message.Letter, error) {
		if m.ID == moot {
			return message.Letter{}, message.ErrMoot
		}
		return write(ctx, tx, by, m)
	}
	o.works()
	o.wants(moot, message.Dropped, message.Overtaken, 1)
	o.wants(next, message.Sent, "", 1)
	if got := server.Received(); len(got) != 1 {
		t.Errorf("%d were sent, want the one that says something", len(got))
	}
}

// The job of a day tells it once, also where it is tried again or comes twice.
func TestWhatIsStillHereIsToldOnceAnInterval(t *testing.T) {
	t.Parallel()
	o := newOffice(t, mailtest.Start(t, mailtest.Settings{}))
	var visit int64
	o.write(func(tx pgx.Tx) (err error) {
		by := dbtest.Act(t, tx, o.by)
		by.At, by.Roles = time.Now().AddDate(0, 0, -8), []string{"desk", "mechanic"}
		if err := procedure.Install(t.Context(), tx, by); err != nil {
			return err
		}
		visit, err = job.TakeIn(t.Context(), tx, by, job.DropOff{CustomerID: o.customer, PromisedAt: by.At.Add(time.Hour), Currency: "GBP",
			Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "Sill 34"}, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}}})
		if err != nil {
			return err
		}
		v, err := job.Visit(t.Context(), tx, visit)
		for _, stage := range []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready} {
			if err == nil {
				err = job.Move(t.Context(), tx, by, v.Jobs[0].ID, stage, "")
			}
		}
		return err
	})
	remind := func(id int64) {
		t.Helper()
		row := &rivertype.JobRow{ID: id, CreatedAt: time.Now(), EncodedArgs: []byte("{}")}
		if err := (&reminder{pool: o.pool}).Work(t.Context(), &river.Job[still]{JobRow: row}); err != nil {
			t.Fatal(err)
		}
	}
	remind(501)
	remind(501)
	remind(502)
	notes, err := message.Notes(t.Context(), o.pool, visit)
	if err != nil || len(notes[visit]) != 3 || notes[visit][0].Kind != message.StillHere {
		t.Errorf("the outbox holds %+v, %v; want one that it is still here", notes[visit], err)
	}
	o.write(func(tx pgx.Tx) error { // it has no sheet, which a job that is ready has
		by := dbtest.Act(t, tx, o.by)
		by.At, by.Roles = time.Now(), []string{"desk"}
		v, err := job.Visit(t.Context(), tx, visit)
		if err == nil {
			err = job.Cancel(t.Context(), tx, by, v.Jobs[0].ID, "no parts", "")
		}
		return err
	})
}
