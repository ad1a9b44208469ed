package bench

import (
	"context"
	"fmt"
	"slices"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/job"
)

// OpenFor lists the jobs a mechanic has on the bench, nil for everybody's, in
// the order of the board: by promise.
func OpenFor(ctx context.Context, q db.Querier, mechanic *int64) ([]job.BoardRow, error) {
	rows, err := job.Board(ctx, q, job.BoardFilter{Mechanic: mechanic})
	if err != nil {
		return nil, fmt.Errorf("list the bench: %w", err)
	}
	return slices.DeleteFunc(rows, func(r job.BoardRow) bool { return !open(r.Stage) }), nil
}

// OldestOpenFor is the job the mechanic should go on with: of those on the
// bench the one promised first. NotFound when there is none.
func OldestOpenFor(ctx context.Context, q db.Querier, mechanic int64) (job.BoardRow, error) {
	list, err := OpenFor(ctx, q, &mechanic)
	if err != nil {
		return job.BoardRow{}, err
	}
	if len(list) == 0 {
		return job.BoardRow{}, fault.NotFound("Nothing of yours is on the bench.")
	}
	return list[0], nil
}
