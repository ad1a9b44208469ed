package job_test

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

func TestTheNewestPinHoldsUntilItIsLifted(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	j := d.takeIn()
	today := d.by.At.UTC().Truncate(24 * time.Hour)
	held := func(want string) job.Pin {
		t.Helper()
		pins, err := job.Pins(ctx, tx)
		if err != nil || pins[j.ID].Kind != want {
			t.Fatalf("pinned %+v, %v; want %q", pins[j.ID], err, want)
		}
		return pins[j.ID]
	}
	held("")
	for _, p := range []job.Pin{{JobID: j.ID, Kind: job.PinnedToDay, Day: &today, Reason: " race on Sunday "}, {JobID: j.ID, Kind: job.NextUp, Day: &today}} {
		if err := job.PinJob(ctx, tx, d.by, p); err != nil {
			t.Fatal(err)
		}
		if got := held(p.Kind); p.Kind == job.PinnedToDay && (!got.Day.Equal(today) || got.Reason != "race on Sunday" || got.By == "") {
			t.Errorf("pinned %+v", got)
		} else if p.Kind == job.NextUp && got.Day != nil {
			t.Errorf("next up has the day %v", got.Day)
		}
	}
	if got := d.get(j.ID); got.Version != j.Version+2 {
		t.Errorf("version %d after two pins, before %d", got.Version, j.Version)
	}
	d.wantLast(j.ID, "job pinned")
	if err := job.PinJob(ctx, tx, d.by, job.Pin{JobID: j.ID, Kind: job.Lifted}); err != nil {
		t.Fatal(err)
	}
	held("")
	past := today.AddDate(0, 0, -2)
	for field, p := range map[string]job.Pin{"day": {Kind: job.PinnedToDay}, "pin": {Kind: "soon"}} {
		p.JobID = j.ID
		if err := job.PinJob(ctx, tx, d.by, p); !isInvalid(err, field) {
			t.Errorf("%+v: %v, want a sentence beside %s", p, err, field)
		}
	}
	if err := job.PinJob(ctx, tx, d.by, job.Pin{JobID: j.ID, Kind: job.PinnedToDay, Day: &past}); !isInvalid(err, "day") {
		t.Errorf("a day that is over: %v", err)
	}
	d.bring(j.ID, job.InQueue, job.OnBench, job.FinalCheck, job.Ready)
	if err := job.PinJob(ctx, tx, d.by, job.Pin{JobID: j.ID, Kind: job.NextUp}); !isConflict(err) {
		t.Errorf("a job that is ready was pinned: %v", err)
	}
}

func TestMinutesAreReadFromFinalChecks(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	state := func(minutes int, crossed bool) {
		t.Helper()
		d.fork = d.addFork("Tindra Lode")
		j := d.takeIn()
		var step, id int64
		row(t, tx, &step, `insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, intent_id, at)
			values ($1, 1, 'V', 'Prove', 'V9', 'reading', 'Verdict', 'Say it', $2, $3) returning id`, j.ID, d.mechanic.Intent, d.mechanic.At)
		row(t, tx, &id, `insert into signoff (step_id, role, how, count, actor_id, intent_id, at)
			values ($1, 'done', 'seen', $2, $3, $4, $5) returning id`, step, minutes, d.mechanic.Staff, d.mechanic.Intent, d.mechanic.At)
		if crossed {
			exec(t, tx, "insert into cross_out (signoff_id, step_id, role, reason, actor_id, intent_id, at) values ($1, $2, 'done', 'wrong', $3, $4, $5)",
				id, step, d.mechanic.Staff, d.mechanic.Intent, d.mechanic.At)
		}
		exec(t, tx, "update job set stage = $2 where id = $1", j.ID, job.Ready)
	}
	for range job.LeastStated {
		state(90, false)
	}
	state(600, true)
	times, err := job.Minutes(ctx, tx)
	if err != nil {
		t.Fatal(err)
	}
	l := times.Learnt("test-lower", 0)
	if minutes, n := times.For(job.Work{Services: []string{"test-lower"}}); l.N != job.LeastStated || l.Ratio <= 1 || l.Ratio >= 1.5 || n != l.N || minutes <= 60 {
		t.Errorf("learnt %+v, which makes %v minutes by %d jobs", l, minutes, n)
	}
}

func TestBookTimesAreSetOverWhatWasSeen(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	owner := dbtest.By(t, tx, "owner")
	set := func(code string, minutes, was int) error {
		return job.SetBookTimes(ctx, tx, owner, []job.BookChange{{BookTime: job.BookTime{Service: code, Minutes: minutes}, Was: was}})
	}
	want := func(code string, minutes int, own bool) {
		t.Helper()
		times, err := job.Minutes(ctx, tx)
		if got, set := times.Minutes(code, 0); err != nil || got != minutes || set != own {
			t.Errorf("%s books %d, set %v, %v; want %d, %v", code, got, set, err, minutes, own)
		}
	}
	want("test-lower", 60, false)
	for _, code := range []string{"test-lower", job.Refit} {
		if err := set(code, 45, 0); err != nil {
			t.Fatal(err)
		}
		want(code, 45, true)
	}
	if err := set("test-lower", 50, 0); !isConflict(err) {
		t.Errorf("over minutes that were not seen: %v", err)
	}
	if err := set("test-lower", 0, 45); err != nil {
		t.Fatal(err)
	}
	want("test-lower", 60, false)
	if err := set("test-air", 1441, 0); !isInvalid(err, job.BookField("test-air")) {
		t.Errorf("more than a day: %v", err)
	}
	if err := job.SetBookTimes(ctx, tx, d.by, nil); !isForbidden(err) {
		t.Errorf("the desk: %v", err)
	}
}

func row(t *testing.T, tx pgx.Tx, id *int64, sql string, args ...any) {
	t.Helper()
	if err := tx.QueryRow(ctx, sql, args...).Scan(id); err != nil {
		t.Fatal(err)
	}
}
