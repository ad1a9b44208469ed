package simulate

import (
	"strings"
	"testing"

	"damperdesk/internal/check"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/staff"
)

func TestMain(m *testing.M) {
	staff.Thrifty()
	dbtest.Main(m)
}

// A short run comes to its end, every job of it is counted once, with each step
// of its sheet signed, and what must always hold does. What months say is the
// command's to print.
func TestARunEndsAndCountsEveryJobOnce(t *testing.T) {
	const jobs = 40
	url := dbtest.EmptyURL(t)
	if err := db.Migrate(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	pool, err := db.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	r, err := Run(t.Context(), pool, Options{Jobs: jobs, Seed: 1, Load: 0.8})
	if err != nil {
		t.Fatal(err)
	}
	if n := r.Proposed.N + r.Early.N + r.Squeezed.N; n != jobs || r.Jobs != jobs+r.Again.N || r.Same.N != r.Proposed.N {
		t.Errorf("%+v: %d jobs counted, want %d", r, n, jobs)
	}
	var open, promises int
	err = pool.QueryRow(t.Context(), "select (select count(*) from job where ready_at is null), (select count(*) from promise)").Scan(&open, &promises)
	if err != nil || open != 0 || promises != r.Jobs {
		t.Errorf("%d jobs are not ready and %d promises kept, %v; want none and %d", open, promises, err, r.Jobs)
	}
	var unsigned int
	err = pool.QueryRow(t.Context(), "select count(*) from sheet_step t where not exists (select from signoff where step_id = t.id)").Scan(&unsigned)
	if err != nil || unsigned != 0 {
		t.Errorf("%d steps are not signed, %v", unsigned, err)
	}
	broken, err := check.Run(t.Context(), pool)
	if err != nil || len(broken) != 0 {
		t.Errorf("what must always hold does not: %v, %v", broken, err)
	}
	var out strings.Builder
	r.Print(&out)
	if !strings.Contains(out.String(), "seed 1: 40 jobs") {
		t.Errorf("printed %s", out.String())
	}
}
