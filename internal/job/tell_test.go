package job_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
)

// outbox is what is in the outbox for a visit, the oldest first: "ready
// waiting", "promise moved dropped overtaken".
func (d desk) outbox(visit int64) (list []string) {
	d.t.Helper()
	notes, err := message.Notes(ctx, d.tx, visit)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, n := range slices.Backward(notes[visit]) {
		words := fmt.Sprint(n.Kind, " ", n.State)
		if n.Why != "" {
			words += fmt.Sprint(" ", n.Why)
		}
		list = append(list, words)
	}
	return list
}

func (d desk) wantOutbox(rule string, visit int64, want ...string) {
	d.t.Helper()
	if got := d.outbox(visit); !slices.Equal(got, want) {
		d.t.Errorf("%s: the outbox holds %q, want %q", rule, got, want)
	}
}

// at is an act of the desk or the bench some time after dbtest.Now.
func (d desk) at(by history.By, after time.Duration) history.By {
	by = dbtest.Act(d.t, d.tx, by)
	by.At = by.At.Add(after)
	return by
}

func (d desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

// withMail is a desk whose customer has an address, with two forks taken in.
func withMail(t *testing.T) (d desk, visit int64, jobs []job.Job) {
	t.Helper()
	d = newDesk(t, dbtest.Tx(t))
	if _, err := d.tx.Exec(ctx, "update customer set mail = 'odette@example.com' where id = $1", d.customer); err != nil {
		t.Fatal(err)
	}
	visit, err := job.TakeIn(ctx, d.tx, d.at(d.by, 0), d.dropOff(d.fork, d.addFork("Second Lode")))
	d.must(err)
	v, err := job.Visit(ctx, d.tx, visit)
	d.must(err)
	return d, visit, v.Jobs
}

var toReady = []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready}

// What is told of the way of two forks through the shop; the causes are those of
// the trade: common practice (no source).
func TestEachCauseIsToldOnce(t *testing.T) {
	d, visit, jobs := withMail(t)
	d.wantOutbox("dropped off", visit, "received waiting")
	d.bring(jobs[0].ID, toReady...)
	d.wantOutbox("the first of two is ready", visit, "received waiting")
	d.bring(jobs[1].ID, toReady...)
	d.wantOutbox("both are ready", visit, "received waiting", "ready waiting")
	d.must(job.Move(ctx, d.tx, d.mechanic, jobs[1].ID, job.FinalCheck, "it weeps"))
	d.must(job.Move(ctx, d.tx, d.mechanic, jobs[1].ID, job.Ready, ""))
	d.wantOutbox("ready anew", visit, "received waiting", "ready dropped overtaken", "ready waiting")
	by := d.at(d.by, time.Hour)
	for _, j := range jobs {
		d.must(job.HandOver(ctx, d.tx, by, j.ID, ""))
	}
	d.wantOutbox("handed over: nobody asked to hear of it later", visit,
		"received waiting", "ready dropped overtaken", "ready waiting", "after the first ride dropped not wanted")
}

func TestAnEndingOtherThanDoneAsksNothingOfTheFirstRide(t *testing.T) {
	d, visit, jobs := withMail(t)
	d.must(message.Say(ctx, d.tx, d.at(d.by, 0), d.customer, message.FirstRide, true, "desk"))
	d.bring(jobs[0].ID, toReady...)
	d.must(job.Cancel(ctx, d.tx, d.at(d.by, 0), jobs[1].ID, "returned undone", ""))
	d.wantOutbox("what is left is ready", visit, "received waiting", "ready waiting")
	by := d.at(d.by, time.Hour)
	d.must(job.HandOver(ctx, d.tx, by, jobs[0].ID, ""))
	d.wantOutbox("handed over done", visit, "received waiting", "ready waiting", "after the first ride waiting")
	notes, err := message.Notes(ctx, d.tx, visit)
	d.must(err)
	if got, want := notes[visit][0].NotBefore, by.At.AddDate(0, 0, 10); !got.Equal(want) {
		t.Errorf("it goes out from %s on, want ten days after hand-over, %s", got, want)
	}
	s := message.Setting{FirstRideDays: 0, StillHereDays: 7}
	owner := history.By{At: by.At, Roles: []string{"owner"}}
	d.must(message.SetSetting(ctx, d.tx, dbtest.Act(t, d.tx, owner), s))
	d2 := d.takeIn()
	d.bring(d2.ID, toReady...)
	d.must(job.HandOver(ctx, d.tx, d.at(d.by, 2*time.Hour), d2.ID, ""))
	d.wantOutbox("0 days is never", d2.VisitID, "received waiting", "ready waiting")
}

func TestABookingIsToldOnlyWhenItComes(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	drop := d.dropOff(d.fork)
	day := dbtest.Now.Truncate(24 * time.Hour)
	drop.BookedFor = &day
	visit, err := job.TakeIn(ctx, d.tx, d.by, drop)
	d.must(err)
	d.wantOutbox("booked", visit)
	d.must(job.ComeIn(ctx, d.tx, d.at(d.by, time.Hour), visit, job.Coming{}))
	d.wantOutbox("come in, without an address", visit, "received dropped no address")
}

func TestAMovedPromiseOvertakesTheMoveBefore(t *testing.T) {
	d, visit, _ := withMail(t)
	move := func(days int) {
		t.Helper()
		v, err := job.Visit(ctx, d.tx, visit)
		d.must(err)
		d.must(job.MovePromise(ctx, d.tx, d.at(d.by, 0), visit, v.Version, dbtest.Now.AddDate(0, 0, days), "parts", job.Foreseen{}, time.UTC))
	}
	move(3)
	move(4)
	d.wantOutbox("moved twice", visit, "received waiting", "promise moved dropped overtaken", "promise moved waiting")
	move(3)
	d.wantOutbox("and back to a day that it had", visit, "received waiting",
		"promise moved dropped overtaken", "promise moved dropped overtaken", "promise moved waiting")
	keys, err := message.OvertakenKeys(ctx, d.tx, message.Moved, visit)
	var given []string
	rows, _ := d.tx.Query(ctx, "select id::text from promise where visit_id = $1 order by id", visit)
	given, err2 := pgx.CollectRows(rows, pgx.RowTo[string])
	if err := errors.Join(err, err2); err != nil || !slices.Equal(keys, given[1:3]) {
		t.Errorf("overtaken are %q, %v; want the promises %q", keys, err, given[1:3])
	}
}

func TestWhatIsStillHereIsToldThreeTimes(t *testing.T) {
	d, visit, jobs := withMail(t)
	d.bring(jobs[0].ID, toReady...)
	told := func(day int) int {
		t.Helper()
		n, err := job.TellStillHere(ctx, d.tx, d.at(d.by, time.Duration(day)*24*time.Hour))
		d.must(err)
		return n
	}
	if n := told(30); n != 0 {
		t.Errorf("while one of two is to be done %d are told", n)
	}
	d.bring(jobs[1].ID, toReady...)
	var days []int
	for day := range 60 {
		if day == 21 { // the computer was off
			continue
		}
		for range told(day) + told(day) {
			days = append(days, day)
		}
	}
	if want := []int{7, 14, 22}; !slices.Equal(days, want) {
		t.Errorf("told on the days %v, want %v: every seven, three times", days, want)
	}
	if got := d.outbox(visit)[2:]; !slices.Equal(got, []string{"still here dropped overtaken", "still here dropped overtaken", "still here waiting"}) {
		t.Errorf("the outbox holds %q", got)
	}
	d.must(job.HandOver(ctx, d.tx, d.at(d.by, 100*24*time.Hour), jobs[0].ID, ""))
	d.must(job.HandOver(ctx, d.tx, d.at(d.by, 100*24*time.Hour), jobs[1].ID, ""))
	if n := told(120); n != 0 {
		t.Errorf("after it was fetched %d are told", n)
	}
}

func TestWhatGoesBackByPostIsNotCalledStillHere(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	drop := d.dropOff(d.fork)
	drop.GoesBack = "post"
	visit, err := job.TakeIn(ctx, d.tx, d.by, drop)
	d.must(err)
	v, err := job.Visit(ctx, d.tx, visit)
	d.must(err)
	d.bring(v.Jobs[0].ID, toReady...)
	if n, err := job.TellStillHere(ctx, d.tx, d.at(d.by, 240*time.Hour)); n != 0 || err != nil {
		t.Errorf("%d are told, %v", n, err)
	}
}

func TestWhatIsToldByVoiceIsNotSent(t *testing.T) {
	d, visit, jobs := withMail(t)
	notes, err := message.Notes(ctx, d.tx, visit)
	d.must(err)
	id := notes[visit][0].ID
	if err := message.Tell(ctx, d.tx, d.mechanic, id); !isForbidden(err) {
		t.Errorf("a mechanic keeps that it was told: %v", err)
	}
	if err := message.TellUncaused(ctx, d.tx, d.at(d.by, 0), visit+1, message.Received); !isNotFound(err) {
		t.Errorf("of another visit: %v", err)
	}
	by := d.at(d.by, time.Hour)
	d.must(message.Tell(ctx, d.tx, by, id))
	d.wantOutbox("told", visit, "received dropped told by voice")
	if notes, err = message.Notes(ctx, d.tx, visit); err != nil || !notes[visit][0].Heard() || !notes[visit][0].ToldAt.Equal(by.At) {
		t.Errorf("who told it and when: %+v, %v", notes, err)
	}
	d.must(message.TellUncaused(ctx, d.tx, d.at(d.by, 0), visit, message.Ready))
	d.wantOutbox("told before anything caused it", visit, "received dropped told by voice", "ready dropped told by voice")
	d.bring(jobs[0].ID, toReady...)
	d.bring(jobs[1].ID, toReady...)
	d.wantOutbox("then it is caused", visit, "received dropped told by voice", "ready dropped told by voice", "ready waiting")
}

func TestDueSoonIsToldOnceForEachTimeItWasDone(t *testing.T) {
	d, _, _ := withMail(t)
	d.must(message.Say(ctx, d.tx, d.at(d.by, 0), d.customer, message.DueSoon, true, "desk"))
	day := dbtest.Now.Truncate(24 * time.Hour)
	for _, c := range []struct {
		rule    string
		service string
		last    time.Time
		asked   time.Time
		want    bool
	}{
		{"the first time", "test-lower", day, time.Time{}, true},
		{"again", "test-lower", day, time.Time{}, false},
		{"another service", "test-air", day, time.Time{}, true},
		{"done once more since", "test-lower", day.AddDate(1, 0, 0), time.Time{}, true},
		{"never done here", "test-lower", time.Time{}, time.Time{}, true},
		{"never done, and it was crashed", "test-lower", time.Time{}, day, true},
		{"of that crash again", "test-lower", time.Time{}, day, false},
		{"of a later one", "test-lower", time.Time{}, day.AddDate(0, 0, 9), true},
	} {
		state, err := remind(d, c.service, message.Since{Done: c.last, Asked: c.asked})
		if posted := state == message.Waiting; posted != c.want || err != nil {
			t.Errorf("%s: posted %q, %v; want %v", c.rule, state, err, c.want)
		}
	}
	if _, err := message.PostDueSoon(ctx, d.tx, d.at(d.by, 0), message.Reminder{UnitID: 1 << 40, Service: "test-lower", Since: message.Since{Done: day}}); !isNotFound(err) {
		t.Errorf("of no unit: %v", err)
	}
	buyer, err := customer.Add(ctx, d.tx, d.at(d.by, 0), customer.Details{Name: "Ilmari Brook", Mail: "ilmari@example.com"})
	d.must(err)
	d.must(message.Say(ctx, d.tx, d.at(d.by, 0), buyer, message.DueSoon, true, "desk"))
	invites := func(rule string, want message.State) {
		t.Helper()
		if state, err := remind(d, "test-lower", message.Since{Done: day}); state != want || err != nil {
			t.Errorf("%s: posted %q, %v; want %q", rule, state, err, want)
		}
	}
	_, err = d.tx.Exec(ctx, "update unit set customer_id = $1, bike_id = null where id = $2", buyer, d.fork)
	d.must(err)
	invites("whoever bought it", message.Waiting)
	again, err := customer.Add(ctx, d.tx, d.at(d.by, 0), customer.Details{Name: "I. Brook", Mail: "ilmari@example.com"})
	d.must(err)
	_, err = d.tx.Exec(ctx, "update customer set merged_into = $1 where id = $2", again, buyer)
	d.must(err)
	invites("whoever bought it, merged since", "")
}

// remind posts that a service of the fork comes due, and gives the state of the one
// letter; empty for none.
func remind(d desk, service string, since message.Since) (message.State, error) {
	letters, err := message.PostDueSoon(ctx, d.tx, d.at(d.by, 0), message.Reminder{UnitID: d.fork, Service: service, Since: since})
	for state := range letters {
		return state, err
	}
	return "", err
}

// Whoever was invited and not reached is invited again, as things stand then;
// whoever was told is not.
func TestAnInvitationThatReachedNobodyIsMadeAgain(t *testing.T) {
	d, _, _ := withMail(t)
	invites := func(rule string, want message.State) {
		t.Helper()
		if state, err := remind(d, "test-lower", message.Since{Done: dbtest.Now}); state != want || err != nil {
			t.Errorf("%s: %q, %v; want %q", rule, state, err, want)
		}
	}
	invites("not wanted", message.Dropped)
	invites("still not wanted", message.Dropped)
	d.must(message.Say(ctx, d.tx, d.at(d.by, 0), d.customer, message.DueSoon, true, "desk"))
	invites("wanted by now", message.Waiting)
	invites("on its way", "")
	var id int64
	d.must(d.tx.QueryRow(ctx, "select id from message where kind = 'due soon'").Scan(&id))
	d.must(message.Drop(ctx, d.tx, d.at(d.by, 0), id))
	invites("dropped at the desk", message.Waiting)
	d.must(message.Tell(ctx, d.tx, d.at(d.by, 0), id))
	invites("told by voice", "")
}

// Two mechanics finish the two forks of a visit at the same time: each sees the
// other's fork unready when it begins.
func TestTheLastTwoAtOnceMakeOneMessage(t *testing.T) {
	pool, d, units := committed(t, 2)
	var v job.VisitWithJobs
	write(t, pool, func(tx pgx.Tx) error {
		d.tx = tx
		visit, err := job.TakeIn(ctx, tx, d.by, d.dropOff(units...))
		d.must(err)
		v, err = job.Visit(ctx, tx, visit)
		for _, j := range v.Jobs {
			d.bring(j.ID, toReady[:3]...)
		}
		return err
	})
	for _, err := range atOnce(t, pool, d.mechanic, 2, func(i int, tx pgx.Tx, by history.By) error {
		return job.Move(ctx, tx, by, v.Jobs[i].ID, job.Ready, "")
	}) {
		d.must(err)
	}
	notes, err := message.Notes(ctx, pool, v.ID)
	if d.must(err); len(notes[v.ID]) != 2 || notes[v.ID][0].Kind != message.Ready {
		t.Errorf("the outbox holds %+v, want one that it is ready", notes[v.ID])
	}
	write(t, pool, func(tx pgx.Tx) error { // they have no sheets, which a job that is ready has
		d.must(job.Cancel(ctx, tx, dbtest.Act(t, tx, d.by), v.Jobs[0].ID, "no parts", ""))
		return job.Cancel(ctx, tx, dbtest.Act(t, tx, d.by), v.Jobs[1].ID, "no parts", "")
	})
}
