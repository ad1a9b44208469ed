package job

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// HandedOn is what whoever was given a job should know of it.
type HandedOn struct {
	ToID  int64
	Words string
	By    string
	At    time.Time
}

const handedOnSQL = `select h.to_id, h.words, coalesce(p.name, '') as by, h.at
	from handed_on h left join staff p on p.id = h.actor_id`

// HandOn is Assign with what the mechanic should know of the job, which may be
// empty. Fields of fault.Invalid are "mechanic" and "know".
func HandOn(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, version int, staffID int64, words string) error {
	words = strings.TrimSpace(words)
	if utf8.RuneCountInString(words) > maxLong {
		return fault.Field("know", tooLong(maxLong))
	}
	if err := Assign(ctx, tx, by, jobID, version, &staffID); err != nil || words == "" {
		return err
	}
	_, err := tx.Exec(ctx, "insert into handed_on (job_id, to_id, words, actor_id, intent_id, at) values ($1, $2, $3, nullif($4, 0), $5, $6)",
		jobID, staffID, words, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("hand job on: %w", err)
	}
	return nil
}

// Told is what whoever has the job now was told of it, nil for nothing.
func (j Job) Told() *HandedOn {
	if j.HandedOn == nil || j.MechanicID == nil || *j.MechanicID != j.HandedOn.ToID {
		return nil
	}
	return j.HandedOn
}
