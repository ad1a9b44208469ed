// Package tool keeps the torque tools of the shop and says which of them may
// be trusted with a given torque.
package tool

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

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
	Lives          string     // where it hangs when nobody uses it
	State          string     // one of States
	LastCalibrated *time.Time // the day of the newest calibration, nil before the first
	Passed         bool       // how that one ended
	Certified      *float64   // permissible deviation by its certificate, a share; nil: it says none
	Confirmed      *float64   // the same by the shop's table; nil: not confirmed
	Uses           int        // fasteners signed with it since that day
	Mishap         string     // the last one of Mishaps since then; empty: none
	MishapOn       *time.Time
	Version        int
}

// Kinds lists the kinds of torque tool.
var Kinds = []string{"click wrench", "click screwdriver", "beam wrench", "dial wrench", "electronic wrench"}

// clicks reports whether the tool is set to a mark and clicks there, so that it
// gives no reading.
func (t Tool) clicks() bool { return strings.HasPrefix(t.Kind, "click") }

// A mishap is over with a calibration that was recorded after it and not done
// before it.
const selectTool = `select t.id, t.name, t.kind, t.range_min_nm, t.range_max_nm, t.unit, t.graduation, t.serial, t.lives,
		t.state, c.done_on as last_calibrated, coalesce(c.passed, false) as passed, c.share as certified, l.share as confirmed,
		(select coalesce(sum(st.fasteners), 0) from signoff s join sheet_step st on st.id = s.step_id
			where s.tool_id = t.id and s.at >= coalesce(c.done_on, '-infinity')) as uses,
		coalesce(m.kind, '') as mishap, m.happened_on as mishap_on, t.version
	from tool t left join lateral (
		select done_on, passed, share from calibration where tool_id = t.id order by done_on desc, id desc limit 1) c on true
	left join tool_limit l on l.kind = t.kind and l.small = (t.range_max_nm <= 10)
	left join lateral (
		select kind, happened_on from tool_mishap h where h.tool_id = t.id and not exists (
			select from calibration a where a.tool_id = t.id and a.at >= h.at and a.done_on >= h.happened_on)
		order by h.id desc limit 1) m on true`

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
	err := tx.QueryRow(ctx, `insert into tool (name, kind, range_min_nm, range_max_nm, unit, graduation, serial, lives)
		values ($1, $2, $3, $4, $5, $6, $7, $8) returning id`,
		t.Name, t.Kind, t.RangeMinNm, t.RangeMaxNm, t.Unit, t.Graduation, strings.TrimSpace(t.Serial), strings.TrimSpace(t.Lives)).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add tool: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "tool", SubjectID: id, Kind: "tool added"})
}

// Change corrects what stands on a tool; its calibrations and sign-offs stay
// with it. State and calibration are not taken from t.
func Change(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, t Tool) error {
	t.Name = strings.TrimSpace(t.Name)
	if err := mayWrite(by); err != nil {
		return err
	}
	if err := t.valid(); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `update tool set name = $3, kind = $4, range_min_nm = $5, range_max_nm = $6, unit = $7,
			graduation = $8, serial = $9, lives = $10, version = version + 1
		where id = $1 and version = $2`,
		id, version, t.Name, t.Kind, t.RangeMinNm, t.RangeMaxNm, t.Unit, t.Graduation, strings.TrimSpace(t.Serial), strings.TrimSpace(t.Lives))
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("change tool %d: %w", id, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "tool", SubjectID: id, Kind: "tool changed", Detail: map[string]any{
		"range_min_nm": t.RangeMinNm, "range_max_nm": t.RangeMaxNm, "graduation": t.Graduation,
	}})
}

// How long what names a tool may be, in characters.
const mostNamed = 80

// valid names the fields "name", "serial", "lives", "kind", "range" and
// "graduation".
func (t Tool) valid() error {
	fields := map[string]string{}
	for name, words := range map[string]string{"name": t.Name, "serial": t.Serial, "lives": t.Lives} {
		if utf8.RuneCountInString(words) > mostNamed {
			fields[name] = fmt.Sprintf("At most %d characters fit here.", mostNamed)
		}
	}
	above := func(x, limit float64) bool { return x > limit && !math.IsInf(x, 1) }
	if t.Name == "" {
		fields["name"] = "Give the tool the name that stands on it."
	}
	if !slices.Contains(Kinds, t.Kind) {
		fields["kind"] = "Choose the kind of tool."
	}
	switch {
	case t.Unit.Kind() != quantity.KindTorque:
		fields["range"] = "Give the range in a unit of torque, such as N·m."
	case !above(t.RangeMinNm, 0):
		fields["range"] = "The smallest torque on its scale lies above zero."
	case !above(t.RangeMaxNm, t.RangeMinNm):
		fields["range"] = "The largest torque on its scale lies above the smallest."
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
