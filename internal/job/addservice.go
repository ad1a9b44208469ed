package job

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
)

// CheckService says why a service cannot be added to a job, on the field
// "service"; else its name. That the job has it already is a Conflict.
func CheckService(ctx context.Context, q db.Querier, j Job, code string) (name string, err error) {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return "", fmt.Errorf("check service: %w", err)
	}
	s, offered := procedure.ByCode(services, code)
	refusal := s.Refusal(services, j.Kind, j.Spring)
	switch {
	case code == "":
		return "", fault.Field("service", "Choose a service.")
	case !offered || s.OutOfUse:
		return "", fault.Field("service", "That service is not offered any more: choose again.")
	case slices.Contains(j.Services, code):
		return "", fault.Conflict(fmt.Sprintf("This job has “%s” already.", s.Name))
	case refusal != "":
		return "", fault.Field("service", refusal)
	}
	return s.Name, nil
}

// AddService writes a service to an open job that may have it. What it means
// for a bench sheet is the bench's to say.
func AddService(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, code string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(anybody, by.Has) {
		return fault.Forbidden("A service is added by the desk or a mechanic.")
	}
	now, err := Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if _, err := CheckService(ctx, tx, now, code); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, "insert into job_service (job_id, service_code, origin) values ($1, $2, 'added')", jobID, code)
	if err != nil {
		return fmt.Errorf("add service: %w", db.Translate(err))
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("add service: %w", err)
	}
	if err := j.append(ctx, tx, by, "service added", map[string]any{"service": code}); err != nil {
		return err
	}
	return j.setPartsAside(ctx, tx, by)
}
