package tool

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/torque"
)

const (
	// Calibration is good for 12 months unless the firm has a control procedure
	// of its own: ISO 6789-1:2017, by a calibration laboratory's page on it.
	calibratedMonths = 12
	// Or for 5,000 operations, whichever is first (same page).
	calibratedUses = 5000
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
	case t.Mishap != "":
		return "It " + mishapWords[t.Mishap] + " on " + words(*t.MishapOn) + " and was not calibrated since."
	case date(today).After(*due):
		return "It was last calibrated on " + words(*t.LastCalibrated) + ", more than 12 months ago."
	case t.Uses >= calibratedUses:
		return fmt.Sprintf("It was used %d times since its last calibration, which is good for %d.", t.Uses, calibratedUses)
	}
	return ""
}

// Calibration is one calibration of a tool as it was recorded.
type Calibration struct {
	ID          int64
	DoneOn      time.Time
	Certificate string
	Passed      bool
	Share       *float64 // permissible deviation that it states; nil: none
	SetNm       []float64
	ReferenceNm []float64 // of each SetNm
	By          string    // who recorded it, empty for the program itself
	At          time.Time
}

// Points are the points of a calibration that were typed, judged by what the
// tool may be off.
func (c Calibration) Points(share float64) ([]torque.Result, error) {
	var list []torque.Point
	for i, set := range c.SetNm {
		list = append(list, torque.Point{Set: set, Reference: c.ReferenceNm[i]})
	}
	return torque.Judge(list, share)
}

// Calibrations lists those of a tool, the one that counts first.
func Calibrations(ctx context.Context, q db.Querier, toolID int64) ([]Calibration, error) {
	rows, err := q.Query(ctx, `select c.id, c.done_on, c.certificate, c.passed, c.share, c.set_nm, c.reference_nm, coalesce(s.name, '') as by, c.at
		from calibration c left join staff s on s.id = c.actor_id
		where c.tool_id = $1 order by c.done_on desc, c.id desc`, toolID)
	list, err := db.All[Calibration](rows, err)
	if err != nil {
		return nil, fmt.Errorf("calibrations of tool %d: %w", toolID, err)
	}
	return list, nil
}

// Doubt is the time whose work with a tool is in doubt: since it last passed
// before it was found out, till the day it failed. Since is the zero time for a
// tool that never passed before, till for one that has not passed after.
type Doubt struct{ Since, Till time.Time }

// Doubted is the newest such time; ok is false for a tool that never failed. The
// list is that of Calibrations.
func Doubted(list []Calibration) (d Doubt, ok bool) {
	failed := slices.IndexFunc(list, func(c Calibration) bool { return !c.Passed })
	if failed < 0 {
		return Doubt{}, false
	}
	if failed > 0 {
		d.Till = list[failed].DoneOn
	}
	for _, c := range list[failed:] {
		if c.Passed {
			d.Since = c.DoneOn
			break
		}
	}
	return d, true
}

// NewCalibration is what a certificate says. Share and the points may be left
// out.
type NewCalibration struct {
	DoneOn      time.Time
	Certificate string
	Passed      bool
	Share       *float64 // permissible deviation
	Points      []torque.Point
}

// check says by field what cannot stand: "done_on", "share", "passed", and
// "set0" and on for the points.
func (c NewCalibration) check(t Tool, now time.Time) error {
	const aheadOfUTC = 14 * time.Hour // of the earliest zone on Earth
	if c.DoneOn.After(now.Add(aheadOfUTC)) {
		return fault.Field("done_on", "That day has not come yet.")
	}
	t.Certified = c.Share
	share, _ := t.Deviation()
	if torque.Permissible(share) != nil {
		return fault.Field("share", fmt.Sprintf("Type what it may be off in per cent, above 0 and at most %v.", 100*torque.MostShare))
	}
	for i, p := range c.Points {
		field := fmt.Sprintf("set%d", i)
		list, err := torque.Judge([]torque.Point{p}, share)
		if err != nil {
			return fault.Field(field, "What it was set to and what was applied lie above zero.")
		}
		switch r := list[0]; {
		case r.Set > t.RangeMaxNm*(1+slack) || r.Set < t.RangeMinNm*(1-slack):
			return fault.Field(field, t.show(r.Set)+" is not on its scale, "+t.Span()+".")
		case c.Passed && !r.Passed:
			return fault.Field("passed", fmt.Sprintf("Set to %s it is %s off, more than the %s it may be: that did not pass.",
				t.show(r.Set), PerCent(math.Abs(r.Deviation)), PerCent(share)))
		}
	}
	return nil
}

// Calibrate records that a tool was calibrated on a day, and how it ended. Of
// two on one day the one recorded later counts.
func Calibrate(ctx context.Context, tx pgx.Tx, by history.By, toolID int64, c NewCalibration) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	t, err := Get(ctx, tx, toolID)
	if err != nil {
		return err
	}
	if err := c.check(t, by.At); err != nil {
		return err
	}
	set, reference := []float64{}, []float64{}
	for _, p := range c.Points {
		set, reference = append(set, p.Set), append(reference, p.Reference)
	}
	_, err = tx.Exec(ctx, `insert into calibration (tool_id, done_on, certificate, passed, share, set_nm, reference_nm, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8, 0), $9, $10)`,
		toolID, c.DoneOn, strings.TrimSpace(c.Certificate), c.Passed, c.Share, set, reference, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("calibrate tool %d: %w", toolID, err)
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "tool", SubjectID: toolID, Kind: "tool calibrated", Detail: map[string]any{"passed": c.Passed},
	})
}
