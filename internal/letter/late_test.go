package letter_test

import (
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
)

// A mail server that was down for days lets out what waited: none of it may say what
// is over by then.
func TestWhatWaitedForDaysSaysNothingThatIsOver(t *testing.T) {
	d := open(t)
	d.late = 47 * time.Hour
	d.wants("before the promise", message.Received, "Weir Lane Cycles: we have your Sill 34 and Kelp 120")
	v, err := job.Visit(ctx, d.tx, d.visit)
	d.must(err)
	d.must(job.MovePromise(ctx, d.tx, d.act(), d.visit, v.Version, dbtest.Now.Add(72*time.Hour), "parts", job.Foreseen{}, time.UTC))
	d.wants("before the new one", message.Moved, "Weir Lane Cycles: a new day for your Sill 34 and Kelp 120")
	d.late = 73 * time.Hour
	d.wantsMoot("the promised day has passed", message.Received)
	d.wantsMoot("the new day has passed", message.Moved)
	for _, j := range d.jobs {
		d.bring(j, toReady...)
	}
	d.wants("late, and done", message.Ready, "Weir Lane Cycles: the work on your Sill 34 and Kelp 120 is done")
	d.late += 8 * 24 * time.Hour
	if n, err := job.TellStillHere(ctx, d.tx, d.act()); n != 1 || err != nil {
		t.Fatalf("%d are told that it is still here, %v", n, err)
	}
	d.late += 24 * time.Hour
	d.wants("a day late", message.StillHere, "Weir Lane Cycles: still here, your Sill 34 and Kelp 120")
	_, err = d.tx.Exec(ctx, "savepoint here")
	d.must(err)
	_, err = d.tx.Exec(ctx, "update visit set goes_back = 'post' where id = $1", d.visit)
	d.must(err)
	d.wantsMoot("it is to be sent", message.StillHere)
	_, err = d.tx.Exec(ctx, "rollback to here")
	d.must(err)
	d.bring(d.jobs[0], job.FinalCheck, job.Ready)
	d.wantsMoot("it was worked on since", message.StillHere)
	d.wants("and is ready again", message.Ready, "Weir Lane Cycles: the work on your Sill 34 and Kelp 120 is done")
}
