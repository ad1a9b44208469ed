// Package tool keeps the torque tools of the shop and says which of them may
// be trusted with a given torque.
package tool

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
)

// Tool is a torque tool. Its range is in N·m; its graduation is in Unit, the
// unit on its scale.
type Tool struct {
	ID             int64
	Name           string
	Kind           string // "click wrench", "click screwdriver", "beam wrench", "dial wrench", "electronic wrench"
	RangeMinNm     float64
	RangeMaxNm     float64
	Unit           quantity.Unit
	Graduation     float64
	Serial         string
	State          string     // "in use", "away", "withdrawn"
	LastCalibrated *time.Time // the day of the newest calibration, nil before the first
	Passed         bool       // how that one ended
	Version        int
}

// Kinds lists the kinds of torque tool.
var Kinds = []string{"click wrench", "click screwdriver", "beam wrench", "dial wrench", "electronic wrench"}

// clicks reports whether the tool is set to a mark and clicks there, so that it
// gives no reading.
func (t Tool) clicks() bool { return strings.HasPrefix(t.Kind, "click") }

const selectTool = `select t.id, t.name, t.kind, t.range_min_nm, t.range_max_nm, t.unit, t.graduation, t.serial,
		t.state, c.done_on as last_calibrated, coalesce(c.passed, false) as passed, t.version
	from tool t left join lateral (
		select done_on, passed from calibration where tool_id = t.id order by done_on desc, id desc limit 1) c on true`

// List gives every tool by name, those in use first.
func List(ctx context.Context, q db.Querier) ([]Tool, error) {
	rows, err := q.Query(ctx, selectTool+" order by t.state <> 'in use', lower(t.name)")
	list, err := db.All[Tool](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list tools: %w", err)
	}
	return list, nil
}

// Get reads one tool.
func Get(ctx context.Context, q db.Querier, id int64) (Tool, error) {
	rows, err := q.Query(ctx, selectTool+" where t.id = $1", id)
	t, err := db.One[Tool](rows, err, "tool")
	if err != nil {
		return Tool{}, fmt.Errorf("get tool %d: %w", id, err)
	}
	return t, nil
}

// Add puts a tool in use; ID, State, Version and calibration are not taken from
// t. Until it is calibrated it serves for nothing.
func Add(ctx context.Context, tx pgx.Tx, by history.By, t Tool) (int64, error) {
	t.Name = strings.TrimSpace(t.Name)
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	if err := t.valid(); err != nil {
		return 0, err
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into tool (name, kind, range_min_nm, range_max_nm, unit, graduation, serial)
		values ($1, $2, $3, $4, $5, $6, $7) returning id`,
		t.Name, t.Kind, t.RangeMinNm, t.RangeMaxNm, t.Unit, t.Graduation, strings.TrimSpace(t.Serial)).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add tool: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "tool", SubjectID: id, Kind: "tool added"})
}

// valid names the fields "name", "kind", "unit", "range_min", "range_max" and
// "graduation".
func (t Tool) valid() error {
	fields := map[string]string{}
	above := func(x, limit float64) bool { return x > limit && !math.IsInf(x, 1) }
	if t.Name == "" {
		fields["name"] = "Give the tool the name that stands on it."
	}
	if !slices.Contains(Kinds, t.Kind) {
		fields["kind"] = "Choose the kind of tool."
	}
	if t.Unit.Kind() != quantity.KindTorque {
		fields["unit"] = "Choose the unit on its scale, such as N·m."
	}
	if !above(t.RangeMinNm, 0) {
		fields["range_min"] = "Give the smallest torque on its scale, above zero."
	}
	if !above(t.RangeMaxNm, t.RangeMinNm) {
		fields["range_max"] = "Give the largest torque on its scale, above the smallest."
	}
	if !above(t.Graduation, 0) {
		fields["graduation"] = "Give the step between two marks of its scale, above zero."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

func mayWrite(by history.By) error {
	if by.Has("mechanic") || by.Has("owner") {
		return nil
	}
	return fault.Forbidden("Torque tools are kept by a mechanic or the owner.")
}

// Calibrate records that a tool was calibrated on a day, and how it ended.
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
