package job

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
)

// ComebackDays is within how many of the shop's days from its hand-over a unit
// that is here again is asked about the same complaint: common practice (no
// source).
const ComebackDays = 90

// Recent is the job with which a unit last left, done, not longer ago than
// ComebackDays.
type Recent struct {
	UnitID   int64
	JobID    int64
	Number   int
	LeftAt   time.Time
	Services []string // names
	Symptoms []string // codes
}

// RecentOf reads it for those units that have one; today is a day as
// interval.Day makes it in the zone.
func RecentOf(ctx context.Context, q db.Querier, units []int64, today time.Time, zone *time.Location) (map[int64]Recent, error) {
	rows, err := q.Query(ctx, `select distinct on (j.unit_id) j.unit_id, j.id as job_id, j.number, h.at as left_at,
			array(select name from job_service o join service e on e.code = o.service_code where o.job_id = j.id order by e.seq, code) as services,
			array(select symptom from job_symptom where job_id = j.id) as symptoms
		from hand_over h join job j on j.id = h.job_id where j.unit_id = any ($1) order by j.unit_id, h.id desc`, units)
	list, err := db.All[Recent](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read who was here lately: %w", err)
	}
	recent := map[int64]Recent{}
	for _, r := range list {
		sortSymptoms(r.Symptoms)
		if isRecent(r.LeftAt, today, zone) {
			recent[r.UnitID] = r
		}
	}
	return recent, nil
}

func isRecent(left, today time.Time, zone *time.Location) bool {
	return today.Sub(interval.Day(left, zone)) <= ComebackDays*24*time.Hour
}

// SetWhyBack keeps in words why a comeback came back, in place of what was
// there; also once it has left.
func SetWhyBack(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, why string) error {
	j, err := lock(ctx, tx, jobID)
	if err != nil {
		return err
	}
	why = strings.TrimSpace(why)
	switch {
	case !by.Has("mechanic") && !by.Has("owner"):
		return fault.Forbidden("Why it came back is said by a mechanic or the owner.")
	case utf8.RuneCountInString(why) > maxLong:
		return fault.Field("why", tooLong(maxLong))
	}
	var comeback bool
	if err := tx.QueryRow(ctx, "select comeback_of is not null from job where id = $1", jobID).Scan(&comeback); err != nil {
		return fmt.Errorf("read comeback: %w", err)
	}
	if !comeback {
		return fault.Conflict("This job is no comeback.")
	}
	if err := j.setWords(ctx, tx, "why_back", why); err != nil {
		return err
	}
	if err := j.raise(ctx, tx); err != nil {
		return fmt.Errorf("keep why it came back: %w", err)
	}
	return j.append(ctx, tx, by, "comeback explained", map[string]any{"characters": utf8.RuneCountInString(why)})
}

// comebackOf is the job that a comeback is about; nil for what is none.
func (u DropOffUnit) comebackOf(k known) *int64 {
	r, ok := k.recent[u.UnitID]
	if !u.Comeback || !ok {
		return nil
	}
	return &r.JobID
}
