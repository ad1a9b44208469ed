package shop

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
	"damperdesk/internal/worktime"
)

// Absence is somebody away from the bench, on a day or on days in a row the
// same hours of each. 0 to DayEnd is the whole day.
type Absence struct {
	ID      int64
	StaffID int64
	Break
	Words string // why; may be empty
}

// absenceRow is an absence as its columns are.
type absenceRow struct {
	ID, StaffID       int64
	FirstDay, LastDay time.Time
	FromMin, ToMin    int
	Words             string
}

func (r absenceRow) absence() Absence {
	return Absence{r.ID, r.StaffID, Break{r.FirstDay, r.LastDay, r.FromMin, r.ToMin}, r.Words}
}

const absenceSQL = "select id, staff_id, first_day, last_day, from_min, to_min, words from absence"

func (a Absence) closures() []worktime.Closure {
	var list []worktime.Closure
	for day := a.First; !day.After(a.Last); day = day.AddDate(0, 0, 1) {
		list = append(list, worktime.Closure{Day: day, Span: worktime.Span{From: a.FromMin, To: a.ToMin}})
	}
	return list
}

// AddAbsence keeps that a mechanic is away.
func AddAbsence(ctx context.Context, tx pgx.Tx, by history.By, a Absence) error {
	if err := mayRun(by); err != nil {
		return err
	}
	a.Words = strings.TrimSpace(a.Words)
	if utf8.RuneCountInString(a.Words) > 200 {
		return fault.Field("words", "Keep it under 200 characters.")
	}
	if err := a.Break.check(); err != nil {
		return err
	}
	if err := worksAtBench(ctx, tx, a.StaffID); err != nil {
		return err
	}
	err := tx.QueryRow(ctx, `insert into absence (staff_id, first_day, last_day, from_min, to_min, words)
		values ($1, $2, $3, $4, $5, $6) returning id`, a.StaffID, a.First, a.Last, a.FromMin, a.ToMin, a.Words).Scan(&a.ID)
	if err != nil {
		return fmt.Errorf("add absence: %w", err)
	}
	return tell(ctx, tx, by, "absence added", a.told())
}

// RemoveAbsence says that somebody is there after all.
func RemoveAbsence(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	if err := mayRun(by); err != nil {
		return err
	}
	rows, err := tx.Query(ctx, absenceSQL+" where id = $1 for update", id)
	list, err := db.All[absenceRow](rows, err)
	if err != nil {
		return fmt.Errorf("remove absence: %w", err)
	}
	if len(list) == 0 {
		return fault.Conflict("That absence is not on the list any more; look again.")
	}
	if _, err := tx.Exec(ctx, "delete from absence where id = $1", id); err != nil {
		return fmt.Errorf("remove absence: %w", err)
	}
	return tell(ctx, tx, by, "absence removed", list[0].absence().told())
}

func (a Absence) told() map[string]any {
	told := a.Break.detail()
	told["absence"], told["staff"] = a.ID, a.StaffID
	return told
}
