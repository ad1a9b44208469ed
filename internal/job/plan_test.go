package job

import (
	"context"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
)

// A shop has a few dozen open jobs and, after years, tens of thousands of
// closed ones, each with its sheet.
func TestTheBoardReadsNoStepOfAClosedJob(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	// On small tables the planner reads all of them at once.
	if _, err := tx.Exec(ctx, "set local enable_seqscan = off; set local enable_hashjoin = off; set local enable_mergejoin = off"); err != nil {
		t.Fatal(err)
	}
	rows, err := tx.Query(ctx, "explain (costs off) "+boardSQL, PaysWarranty)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	scans := 0
	for i, line := range plan {
		if !strings.Contains(line, " on sheet_step ") {
			continue
		}
		scans++
		if !strings.Contains(plan[i+1], "Index Cond: (job_id = ") {
			t.Errorf("the board reads steps of other than open jobs: %s\n%s", line, plan[i+1])
		}
	}
	if scans == 0 {
		t.Errorf("the plan reads no steps:\n%s", strings.Join(plan, "\n"))
	}
}
