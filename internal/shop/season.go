package shop

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// YearDay is a day of every year; the zero one is none.
type YearDay struct {
	Month time.Month
	Day   int
}

// ParseYearDay reads a day as Settings has it, "03-01"; none of what is not one.
func ParseYearDay(text string) YearDay {
	at, err := time.Parse("01-02", text)
	if err != nil {
		return YearDay{}
	}
	return YearDay{at.Month(), at.Day()}
}

// text is the day as Settings has it.
func (d YearDay) text() string {
	if d == (YearDay{}) {
		return ""
	}
	return fmt.Sprintf("%02d-%02d", d.Month, d.Day)
}

// in is the day in a year without a leap day, which no day may be of every year.
func (d YearDay) in(year int) time.Time {
	return time.Date(year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
}

// plainYear has no 29 February.
const plainYear = 2026

// checkSeason says by field what is no season; both days none is as the hemisphere
// has it.
func checkSeason(from, to YearDay) map[string]string {
	wrong := map[string]string{}
	if from == (YearDay{}) && to == (YearDay{}) {
		return wrong
	}
	for field, d := range map[string]YearDay{"season_from": from, "season_to": to} {
		at := d.in(plainYear)
		switch {
		case d == (YearDay{}):
			wrong[field] = "Give both days, or neither."
		case d.Month == time.February && d.Day == 29:
			wrong[field] = "Not every year has a 29 February: take 28 February or 1 March."
		case d.Month < 1 || d.Month > 12 || at.Month() != d.Month || at.Day() != d.Day:
			wrong[field] = "That month has no such day."
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	next := to.in(plainYear).AddDate(0, 0, 1)
	switch {
	case from == to:
		wrong["season_to"] = "The season begins and ends on the same day: give its last day."
	case next.Month() == from.Month && next.Day() == from.Day:
		wrong["season_to"] = "That leaves no off-season: end it sooner."
	}
	return wrong
}

// SetSeason keeps over the version that was read when people ride, both days
// none for what the hemisphere has. Fields of fault.Invalid are season_from and
// season_to.
func SetSeason(ctx context.Context, tx pgx.Tx, by history.By, version int, from, to YearDay) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if wrong := checkSeason(from, to); len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	err := db.Changed(tx.Exec(ctx, "update shop set season_from = $1, season_to = $2, version = version + 1 where version = $3", from.text(), to.text(), version))
	if err != nil {
		return fmt.Errorf("set the season: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": version + 1})
}
