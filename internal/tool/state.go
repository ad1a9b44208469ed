package tool

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The states of a tool. Only one in use serves.
const (
	InUse     = "in use"
	Away      = "away" // it comes back, such as from its calibration
	Withdrawn = "withdrawn"
)

// States lists the states.
var States = []string{InUse, Away, Withdrawn}

// SetState changes how a tool stands, with a reason. Fields of fault.Invalid
// are "state" and "reason".
func SetState(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, state, reason string) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	t, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	reason = strings.TrimSpace(reason)
	switch {
	case !slices.Contains(States, state):
		return fault.Field("state", "Choose how the tool stands.")
	case reason == "":
		return fault.Field("reason", "Say why in a few words.")
	case t.State == state && t.Version == version:
		return fault.Conflict("The tool is " + state + " already.")
	}
	tag, err := tx.Exec(ctx, "update tool set state = $3, version = version + 1 where id = $1 and version = $2", id, version, state)
	if err = db.Changed(tag, err); err == nil {
		_, err = tx.Exec(ctx, `insert into tool_state (tool_id, state, reason, actor_id, intent_id, at)
			values ($1, $2, $3, nullif($4, 0), $5, $6)`, id, state, reason, by.Staff, by.Intent, by.At)
	}
	if err != nil {
		return fmt.Errorf("set state of tool %d: %w", id, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "tool", SubjectID: id, Kind: "tool state set", Detail: map[string]any{"state": state},
	})
}

// StateChange is one change of a tool's state.
type StateChange struct {
	State  string
	Reason string
	By     string // empty for the program itself
	At     time.Time
}

// StateChanges lists those of a tool, newest first.
func StateChanges(ctx context.Context, q db.Querier, toolID int64) ([]StateChange, error) {
	rows, err := q.Query(ctx, `select c.state, c.reason, coalesce(s.name, '') as by, c.at
		from tool_state c left join staff s on s.id = c.actor_id where c.tool_id = $1 order by c.id desc`, toolID)
	list, err := db.All[StateChange](rows, err)
	if err != nil {
		return nil, fmt.Errorf("states of tool %d: %w", toolID, err)
	}
	return list, nil
}
