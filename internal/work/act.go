package work

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
)

// acts is what the ids of acts of jobs are made under.
var acts = uuid.MustParse("6e2f0c1d-9b1a-4c57-8f43-2d7a5be0c916")

// act is how a worker writes, the twin of act in web: one transaction under an
// act of the program's own. The same job has the same act of that name at
// every try and on every server, so that what was committed is not done again.
// A job that writes several times gives each its name.
func act(ctx context.Context, pool *db.Pool, job *rivertype.JobRow, name string, do func(pgx.Tx, history.By) error) error {
	by := history.By{At: time.Now().UTC(), Intent: actID(job, name)}
	a := intent.Act{ID: by.Intent, Kind: "work: " + name, Fingerprint: job.EncodedArgs, At: by.At}
	_, err := intent.Do(ctx, pool, a, func(tx pgx.Tx) (string, error) {
		if err := do(tx, by); err != nil {
			return "", err
		}
		return "", due.Settle(ctx, tx, by.At)
	})
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// actID is made of the job's number and of when it was handed over: numbers
// begin again where River's tables were made anew.
func actID(job *rivertype.JobRow, name string) uuid.UUID {
	return uuid.NewSHA1(acts, fmt.Appendf(nil, "%d %d %s", job.ID, job.CreatedAt.UnixMicro(), name))
}
