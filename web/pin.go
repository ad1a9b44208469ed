package web

import (
	"context"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func pinJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	day := f.day("day")
	if err := f.err(); err != nil {
		return err
	}
	return job.PinJob(ctx, tx, by, job.Pin{JobID: id, Kind: f.text("pin"), Day: day, Reason: f.text("reason")})
}
