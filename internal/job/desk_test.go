package job_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// desk is what a test of this package starts from: people, a customer with a
// fork, and a service.
type desk struct {
	t        *testing.T
	tx       pgx.Tx
	by       history.By // front desk
	mechanic history.By
	customer int64
	fork     int64
}

func newDesk(t *testing.T, tx pgx.Tx) desk {
	t.Helper()
	d := desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk"), mechanic: dbtest.By(t, tx, "mechanic")}
	_, err := tx.Exec(ctx, `insert into service (code, name, blocks, seq) values
		('test-lower', 'Lower-leg service', '{A,S,W,Z,V}', 901), ('test-air', 'Air-spring service', '{P}', 902) on conflict do nothing`)
	if err != nil {
		t.Fatal(err)
	}
	d.customer, err = customer.Add(ctx, tx, d.by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
	if err != nil {
		t.Fatal(err)
	}
	d.fork = d.addFork("Tindra Lode")
	return d
}

func (d desk) addFork(words string) int64 {
	d.t.Helper()
	id, err := customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: words})
	if err != nil {
		d.t.Fatal(err)
	}
	return id
}

// dropOff is a plain one of these units, promised for tomorrow.
func (d desk) dropOff(units ...int64) job.DropOff {
	drop := job.DropOff{CustomerID: d.customer, PromisedAt: d.by.At.Add(24 * time.Hour), Currency: "GBP"}
	for _, id := range units {
		drop.Units = append(drop.Units, job.DropOffUnit{UnitID: id, Services: []string{"test-lower"}, Symptoms: []string{"harsh", "sticky"}})
	}
	return drop
}

// takeIn takes in the fork and returns its job.
func (d desk) takeIn() job.Job {
	d.t.Helper()
	visit, err := job.TakeIn(ctx, d.tx, d.by, d.dropOff(d.fork))
	if err != nil {
		d.t.Fatal(err)
	}
	v, err := job.Visit(ctx, d.tx, visit)
	if err != nil || len(v.Jobs) != 1 {
		d.t.Fatalf("Visit = %+v, %v", v, err)
	}
	return v.Jobs[0]
}

// bring moves a job through stages for the bench.
func (d desk) bring(id int64, stages ...string) {
	d.t.Helper()
	for _, stage := range stages {
		if err := job.Move(ctx, d.tx, d.mechanic, id, stage, ""); err != nil {
			d.t.Fatalf("to %s: %v", stage, err)
		}
	}
}

func (d desk) get(id int64) job.Job {
	d.t.Helper()
	j, err := job.Get(ctx, d.tx, id)
	if err != nil {
		d.t.Fatal(err)
	}
	return j
}

// wantStage checks the stage and that it is the one of the last stage change.
func (d desk) wantStage(id int64, stage string) job.Job {
	d.t.Helper()
	j := d.get(id)
	var last string
	err := d.tx.QueryRow(ctx, "select stage from stage_change where job_id = $1 order by seq desc limit 1", id).Scan(&last)
	if err != nil || j.Stage != stage || last != stage {
		d.t.Errorf("stage %q, last stage change %q, %v; want %q", j.Stage, last, err, stage)
	}
	return j
}

// wantLast checks the kind of the newest event of a job.
func (d desk) wantLast(id int64, kind string) {
	d.t.Helper()
	entries, err := history.Read(ctx, d.tx, history.OfJob, id, 0)
	if err != nil || len(entries) == 0 || entries[0].Kind != kind {
		d.t.Errorf("history begins %+v, %v; want %q", entries, err, kind)
	}
}

func isConflict(err error) bool {
	var f fault.Conflict
	return errors.As(err, &f)
}

func isForbidden(err error) bool {
	var f fault.Forbidden
	return errors.As(err, &f)
}

func isNotFound(err error) bool {
	var f fault.NotFound
	return errors.As(err, &f)
}

func isInvalid(err error, field string) bool {
	var f *fault.Invalid
	return errors.As(err, &f) && f.Fields[field] != ""
}
