package tool

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
)

const (
	// Calibration is good for 12 months unless the firm has a control procedure
	// of its own: ISO 6789-1:2017, by a calibration laboratory's page on it.
	calibratedMonths = 12
	// Time to send a tool away and get it back: common practice (no source).
	soonDays = 30
)

// Due is the last day on which the last calibration is good; nil for a tool
// that was never calibrated or did not pass.
func (t Tool) Due() *time.Time {
	if t.LastCalibrated == nil || !t.Passed {
		return nil
	}
	due := interval.AddMonths(date(*t.LastCalibrated), calibratedMonths)
	return &due
}

// DueSoon reports whether a tool that is calibrated has to go within 30 days.
func (t Tool) DueSoon(today time.Time) bool {
	due, day := t.Due(), date(today)
	return due != nil && !day.After(*due) && due.Sub(day) <= soonDays*24*time.Hour
}

// Trouble says why the tool serves for no torque at all on that day; empty for
// one that serves.
func (t Tool) Trouble(today time.Time) string {
	due := t.Due()
	switch {
	case t.State == Away:
		return "It is away."
	case t.State != InUse:
		return "It is withdrawn from use."
	case t.LastCalibrated == nil:
		return "It has never been calibrated."
	case due == nil:
		return "It did not pass its last calibration on " + words(*t.LastCalibrated) + "."
	case date(today).After(*due):
		return "It was last calibrated on " + words(*t.LastCalibrated) + ", more than 12 months ago."
	}
	return ""
}

// Calibration is one calibration of a tool as it was recorded.
type Calibration struct {
	ID          int64
	DoneOn      time.Time
	Certificate string
	Passed      bool
	By          string // who recorded it, empty for the program itself
	At          time.Time
}

// Calibrations lists those of a tool, the one that counts first.
func Calibrations(ctx context.Context, q db.Querier, toolID int64) ([]Calibration, error) {
	rows, err := q.Query(ctx, `select c.id, c.done_on, c.certificate, c.passed, coalesce(s.name, '') as by, c.at
		from calibration c left join staff s on s.id = c.actor_id
		where c.tool_id = $1 order by c.done_on desc, c.id desc`, toolID)
	list, err := db.All[Calibration](rows, err)
	if err != nil {
		return nil, fmt.Errorf("calibrations of tool %d: %w", toolID, err)
	}
	return list, nil
}

// Doubt is the day since when what a tool was used for is in doubt: it did not
// pass, and passed last on that day; the zero time when it never did. ok is
// false for a tool that passed or was never calibrated. The list is that of
// Calibrations.
func Doubt(list []Calibration) (since time.Time, ok bool) {
	if len(list) == 0 || list[0].Passed {
		return time.Time{}, false
	}
	for _, c := range list {
		if c.Passed {
			return c.DoneOn, true
		}
	}
	return time.Time{}, true
}

// Calibrate records that a tool was calibrated on a day, and how it ended. Of
// two on one day the one recorded later counts.
func Calibrate(ctx context.Context, tx pgx.Tx, by history.By, toolID int64, doneOn time.Time, certificate string, passed bool) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	const aheadOfUTC = 14 * time.Hour // of the earliest zone on Earth
	if doneOn.After(by.At.Add(aheadOfUTC)) {
		return fault.Field("done_on", "That day has not come yet.")
	}
	var found int64
	err := tx.QueryRow(ctx, "select id from tool where id = $1", toolID).Scan(&found)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound("There is no such tool.")
	}
	if err == nil {
		_, err = tx.Exec(ctx, `insert into calibration (tool_id, done_on, certificate, passed, actor_id, intent_id, at)
			values ($1, $2, $3, $4, nullif($5, 0), $6, $7)`,
			toolID, doneOn, strings.TrimSpace(certificate), passed, by.Staff, by.Intent, by.At)
	}
	if err != nil {
		return fmt.Errorf("calibrate tool %d: %w", toolID, err)
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "tool", SubjectID: toolID, Kind: "tool calibrated", Detail: map[string]any{"passed": passed},
	})
}
