package job_test

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// addSteps gives the job a sheet of n steps, the last with a second check.
func addSteps(t *testing.T, tx pgx.Tx, by history.By, jobID int64, n int) []int64 {
	t.Helper()
	rows, err := tx.Query(ctx, `insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, second_check, intent_id, at)
		select $1, n, 'W', 'Lowers', 'W' || n, 'check', 'Step', 'Do it', n = $2, $3, $4 from generate_series(1, $2::int) n returning id`,
		jobID, n, by.Intent, by.At)
	if err != nil {
		t.Fatal(err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		t.Fatal(err)
	}
	return ids
}

func sign(t *testing.T, tx pgx.Tx, by history.By, step int64) (id int64) {
	t.Helper()
	err := tx.QueryRow(ctx, `insert into signoff (step_id, role, how, actor_id, intent_id, at)
		values ($1, 'done', 'seen', $2, $3, $4) returning id`, step, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func exec(t *testing.T, tx pgx.Tx, sql string, args ...any) {
	t.Helper()
	if _, err := tx.Exec(ctx, sql, args...); err != nil {
		t.Fatal(err)
	}
}

func TestBoard(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	before, err := job.Board(ctx, tx, job.BoardFilter{})
	if err != nil || len(before) != 0 {
		t.Fatalf("the board of an empty shop = %+v, %v", before, err)
	}
	later, sooner := d.dropOff(d.fork), d.dropOff(d.addFork("Orrery Node"), d.addFork("Halvard Sill"))
	sooner.PromisedAt = d.by.At.Add(time.Hour)
	sooner.Units[1].MechanicID = d.mechanic.Staff
	for _, drop := range []job.DropOff{later, sooner} {
		if _, err := job.TakeIn(ctx, tx, d.by, drop); err != nil {
			t.Fatal(err)
		}
	}
	rows, err := job.Board(ctx, tx, job.BoardFilter{})
	if err != nil || len(rows) != 3 {
		t.Fatalf("Board = %+v, %v; want three rows", rows, err)
	}
	for i, unit := range []string{"Orrery Node", "Halvard Sill", "Tindra Lode"} {
		if rows[i].Unit != unit {
			t.Errorf("row %d is %s, want %s", i, rows[i].Unit, unit)
		}
	}
	r := rows[1]
	if r.Complaint() != "sticky at the top" || len(r.Services) != 1 || r.Services[0] != "Lower-leg service" || r.Customer != "Odette Marsh" ||
		r.Mechanic == "" || r.Stage != job.DroppedOff || !r.StageAt.Equal(d.by.At) || r.Steps != 0 {
		t.Errorf("row = %+v", r)
	}
	nobody := int64(0)
	for name, c := range map[string]struct {
		f    job.BoardFilter
		want int
	}{
		"of a mechanic":    {job.BoardFilter{Mechanic: &d.mechanic.Staff}, 1},
		"of nobody":        {job.BoardFilter{Mechanic: &nobody}, 2},
		"at the counter":   {job.BoardFilter{Stage: job.DroppedOff}, 3},
		"waiting on parts": {job.BoardFilter{Stage: job.WaitingOnParts}, 0},
	} {
		if rows, err := job.Board(ctx, tx, c.f); err != nil || len(rows) != c.want {
			t.Errorf("Board %s: %d rows, %v; want %d", name, len(rows), err, c.want)
		}
	}
	if err := job.Hold(ctx, tx, d.by, r.ID, job.WaitingOnParts, "", nil); err != nil {
		t.Fatal(err)
	}
	rows, err = job.Board(ctx, tx, job.BoardFilter{})
	counts := job.Tally(rows)
	if err != nil || counts.Open != 3 || len(counts.Mechanics) != 2 || len(counts.Stages) != 2 || counts.Stages[1] != (job.StageCount{Stage: job.WaitingOnParts, N: 1}) {
		t.Errorf("Tally = %+v, %v", counts, err)
	}
}

func TestBoardCountsStepsThatAreSigned(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	d.bring(id, job.OnBench)
	steps := addSteps(t, tx, d.mechanic, id, 5)
	want := func(signed int) {
		t.Helper()
		rows, err := job.Board(ctx, tx, job.BoardFilter{})
		if err != nil || len(rows) != 1 || rows[0].Signed != signed || rows[0].Steps != 5 {
			t.Errorf("Board = %+v, %v; want step %d of 5", rows, err, signed)
		}
	}
	want(0)
	first := sign(t, tx, d.mechanic, steps[0])
	sign(t, tx, d.mechanic, steps[1])
	want(2)
	exec(t, tx, `insert into cross_out (signoff_id, step_id, role, reason, intent_id, at) values ($1, $2, 'done', 'wrong', $3, $4)`,
		first, steps[0], d.mechanic.Intent, d.mechanic.At)
	want(1)
	last := sign(t, tx, d.mechanic, steps[4]) // done, but not checked
	want(1)
	exec(t, tx, `insert into signoff (step_id, role, how, of_id, of_actor_id, actor_id, intent_id, at)
		values ($1, 'checked', 'seen', $2, $3, $4, $5, $6)`,
		steps[4], last, d.mechanic.Staff, d.by.Staff, d.by.Intent, d.by.At)
	want(2)
}
