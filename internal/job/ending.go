package job

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/partslist"
)

// Done is the ending of a job that was handed over ready.
const Done = "done"

// Ending is a way for a job to end other than done. What is said of it is
// common practice (no source).
type Ending struct {
	Name    string
	Warning string // printed for the customer
	// Words, if not empty, asks for the words without which it cannot end so.
	Words string
	// Booked says that only what never came in ends so.
	Booked bool
}

// Endings in the order they are offered.
var Endings = []Ending{
	{Name: "returned undone", Warning: "Nothing was done: whatever was wrong still is."},
	{Name: "returned in parts, not rideable", Warning: "In parts and not rideable. Do not ride it."},
	{Name: "not worth repairing", Warning: "Not worth repairing. Do not ride it as it is."},
	{Name: "no fault found", Warning: "No fault was found. Stop riding and bring it back if it shows again."},
	{Name: "no parts", Warning: "Not repaired for want of parts: whatever was wrong still is."},
	{Name: "left for scrap", Warning: "Left here for scrap. It is not ridden again.",
		Words: "Say who agreed to scrap it, when and how: it takes the customer’s written yes."},
	{Name: NotBrought, Warning: "It was booked and never brought: whatever was wrong still is.", Booked: true},
}

// EndingOf finds an ending by its name.
func EndingOf(name string) (Ending, bool) {
	i := slices.IndexFunc(Endings, func(e Ending) bool { return e.Name == name })
	if i < 0 {
		return Ending{}, false
	}
	return Endings[i], true
}

// HandOver gives a job that is ready to its customer, done; takenBy is whoever
// took it, if somebody else did.
func HandOver(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, takenBy string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	takenBy = strings.TrimSpace(takenBy)
	if utf8.RuneCountInString(takenBy) > maxShort {
		return fault.Field("takenby", tooLong(maxShort))
	}
	if err := j.leave(ctx, tx, by, PickedUp, false, false); err != nil {
		return err
	}
	if err := j.setWords(ctx, tx, "taken_by", takenBy); err != nil {
		return err
	}
	return j.append(ctx, tx, by, "job handed over", map[string]any{"how": PickedUp})
}

// Cancel ends a job otherwise than done and ends whatever it waited for. words
// are for the shop: why, and what was agreed.
func Cancel(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, ending, words string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	words = strings.TrimSpace(words)
	e, known := EndingOf(ending)
	switch {
	case !known:
		return fault.Field("ending", "Choose how the job ends.")
	case e.Booked != (j.stage == Booked):
		return fault.Field("ending", "What is booked and not here ends as “"+NotBrought+"”, and nothing else does.")
	case e.Words != "" && words == "":
		return fault.Field("words", e.Words)
	case utf8.RuneCountInString(words) > maxLong:
		return fault.Field("words", tooLong(maxLong))
	}
	if _, err := legal(j.stage, Cancelled, by.Roles); err != nil {
		return err
	}
	if err := j.endHolds(ctx, tx, by); err != nil {
		return err
	}
	if err := j.close(ctx, tx, by, Cancelled, ending); err != nil {
		return err
	}
	if err := j.setWords(ctx, tx, "ending_words", words); err != nil {
		return err
	}
	if err := tellReady(ctx, tx, by, j.visitID); err != nil {
		return err
	}
	return j.append(ctx, tx, by, "job cancelled", map[string]any{"from": j.stage, "ending": ending})
}

func (j locked) close(ctx context.Context, tx pgx.Tx, by history.By, stage, ending string) error {
	batch := &pgx.Batch{}
	j.record(batch, by, stage, "")
	batch.Queue(`update job set stage = $2, ending = $3, closed_at = $4, version = version + 1
		where id = $1`, j.id, stage, ending, by.At)
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("close job: %w", db.Translate(err))
	}
	items, err := partslist.Release(ctx, tx, j.id)
	if err != nil {
		return err
	}
	return shareOut(ctx, tx, by, items)
}

// LastDone is the day, in that zone, on which a unit was last back from a job
// that ended done; ever is false when it never was.
func LastDone(ctx context.Context, q db.Querier, unitID int64, zone *time.Location) (day time.Time, ever bool, err error) {
	days, err := lastDone(ctx, q, []int64{unitID}, zone)
	if err != nil {
		return day, false, fmt.Errorf("read last service: %w", err)
	}
	day, ever = days[unitID]
	return day, ever, nil
}

func lastDone(ctx context.Context, q db.Querier, units []int64, zone *time.Location) (map[int64]time.Time, error) {
	type last struct {
		UnitID   int64
		ClosedAt time.Time
	}
	rows, err := q.Query(ctx, `select unit_id, max(closed_at) as closed_at from job
		where unit_id = any ($1) and ending = $2 group by unit_id`, units, Done)
	list, err := db.All[last](rows, err)
	days := map[int64]time.Time{}
	for _, l := range list {
		days[l.UnitID] = interval.Day(l.ClosedAt, zone)
	}
	return days, err
}
