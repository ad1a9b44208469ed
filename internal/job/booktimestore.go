package job

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
)

// statedSQL is every finished job whose minutes were given with its final check;
// a bike's time to refit is in them.
const statedSQL = `select array(select service_code from job_service where job_id = j.id order by service_code) as services,
		coalesce(u.model_id, 0) as model_id, j.came_as = 'whole bike' as whole_bike, o.count as minutes
	from job j join unit u on u.id = j.unit_id
	join sheet_step t on t.job_id = j.id and t.key = 'V9'
	join signoff o on o.step_id = t.id and o.role = 'done' and o.count > 0
	where not exists (select from cross_out x where x.signoff_id = o.id)
		and j.stage in ('ready for pickup', 'picked up', 'sent back') and coalesce(j.ending, 'done') = 'done'
	order by o.id desc limit 2000`

const bookedSQL = "select coalesce(service_code, $1) as service, coalesce(model_id, 0) as model_id, minutes from book_time order by service_code, model_id"

// BookTimes reads the book times alone, not corrected by what was stated: what a
// customer is charged by follows from what the owner set.
func BookTimes(ctx context.Context, q db.Querier) (Times, error) {
	rows, err := q.Query(ctx, bookedSQL, Refit)
	set, err := db.All[BookTime](rows, err)
	if err != nil {
		return Times{}, fmt.Errorf("read book times: %w", err)
	}
	return Book(nil, set, nil), nil
}

// Minutes reads how long work takes, by the newest 2,000 finished jobs.
func Minutes(ctx context.Context, q db.Querier) (Times, error) {
	var (
		set    []BookTime
		stated []struct {
			Services  []string
			ModelID   int64
			WholeBike bool
			Minutes   int
		}
		b pgx.Batch
	)
	db.Queue(&b, &set, bookedSQL, Refit)
	db.Queue(&b, &stated, statedSQL)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Times{}, fmt.Errorf("read book times: %w", err)
	}
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return Times{}, fmt.Errorf("read book times: %w", err)
	}
	list := make([]Stated, len(stated))
	for i, s := range stated {
		list[i] = Stated{Work{s.Services, s.ModelID, s.WholeBike}, s.Minutes}
	}
	return Book(services, set, list), nil
}

// BookChange sets a book time over the minutes that were seen; 0 stands for the
// shipped ones, or for those of the service where it is for a model.
type BookChange struct {
	BookTime
	Was int
}

// Fault says what is wrong with the minutes; empty for nothing.
func (t BookTime) Fault() string {
	if t.Minutes < 0 || t.Minutes > mostMinutes {
		return fmt.Sprintf("Type minutes from 1 to %d, or leave it empty.", mostMinutes)
	}
	return ""
}

// BookField names the field that asks for the minutes of a service.
func BookField(code string) string { return "minutes." + code }

// SetBookTimes sets them all or none.
func SetBookTimes(ctx context.Context, tx pgx.Tx, by history.By, changes []BookChange) error {
	if !by.Has("owner") {
		return fault.Forbidden("What a service takes is set by an owner.")
	}
	faults := map[string]string{}
	for _, c := range changes {
		if says := c.Fault(); says != "" {
			faults[BookField(c.Service)] = says
		}
	}
	if len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	if _, err := tx.Exec(ctx, "lock table book_time in share row exclusive mode"); err != nil {
		return fmt.Errorf("set book times: %w", err)
	}
	n := 0
	for _, c := range changes {
		if c.Minutes == c.Was {
			continue
		}
		if err := setBookTime(ctx, tx, c); err != nil {
			return err
		}
		n++
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "book times set", Detail: map[string]any{"changed": n}})
}

func setBookTime(ctx context.Context, tx pgx.Tx, c BookChange) error {
	const here = "service_code is not distinct from nullif($1, $2) and model_id is not distinct from nullif($3, 0::bigint)"
	var stands int
	err := tx.QueryRow(ctx, "select coalesce((select minutes from book_time where "+here+"), 0)", c.Service, Refit, c.ModelID).Scan(&stands)
	switch {
	case err != nil:
		return fmt.Errorf("set book time: %w", err)
	case stands != c.Was:
		return fault.Conflict("Somebody else changed these times since you opened them; look again.")
	}
	if _, err := tx.Exec(ctx, "delete from book_time where "+here, c.Service, Refit, c.ModelID); err != nil {
		return fmt.Errorf("set book time: %w", err)
	}
	if c.Minutes == 0 {
		return nil
	}
	_, err = tx.Exec(ctx, "insert into book_time (service_code, model_id, minutes) values (nullif($1, $2), nullif($3, 0::bigint), $4)",
		c.Service, Refit, c.ModelID, c.Minutes)
	if err != nil {
		return fmt.Errorf("set book time: %w", err)
	}
	return nil
}
