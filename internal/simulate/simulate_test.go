package simulate

import (
	"strings"
	"testing"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/staff"
)

func TestMain(m *testing.M) {
	staff.Thrifty()
	dbtest.Main(m)
}

// A short run comes to its end, and every job of it is counted once. What months
// say is the command's to print.
func TestARunEndsAndCountsEveryJobOnce(t *testing.T) {
	const jobs = 40
	url := dbtest.EmptyURL(t) // unchecked: nothing is signed in a run, and no customer has a link
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
	if n := r.Proposed.N + r.Early.N + r.Squeezed.N; n != jobs || r.Jobs != jobs || r.Same.N != r.Proposed.N {
		t.Errorf("%+v: %d jobs counted, want %d", r, n, jobs)
	}
	var open, promises int
	err = pool.QueryRow(t.Context(), "select (select count(*) from job where ready_at is null), (select count(*) from promise)").Scan(&open, &promises)
	if err != nil || open != 0 || promises != jobs {
		t.Errorf("%d jobs are not ready and %d promises kept, %v; want none and %d", open, promises, err, jobs)
	}
	var out strings.Builder
	r.Print(&out)
	if !strings.Contains(out.String(), "seed 1: 40 jobs") {
		t.Errorf("printed %s", out.String())
	}
}
