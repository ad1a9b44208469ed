package bench

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
	"damperdesk/internal/procedure"
	"damperdesk/internal/tool"
)

// AllowTool lets a torque tool that does not suit be used for one step all the
// same: the owner's word, with a reason, which goes into the sign-off. Fields of
// fault.Invalid are "allow" and "allow_reason".
func AllowTool(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, stepID, toolID int64, reason string) error {
	if !by.Has("owner") {
		return fault.Forbidden("Only the owner lets a tool be used that does not suit.")
	}
	sheet, err := readByStep(ctx, tx, stepID)
	if err != nil {
		return err
	}
	step := sheet.Find(stepID)
	if step.Kind != procedure.Torque || step.Done != nil || !open(sheet.Job.Stage) {
		return fault.Conflict("There is no torque to sign here now.")
	}
	choices, err := Wrenches(ctx, tx, *step, by.At.In(zone))
	if err != nil {
		return err
	}
	reason = strings.TrimSpace(reason)
	i := slices.IndexFunc(choices, func(c tool.Choice) bool { return c.Tool.ID == toolID })
	switch {
	case i < 0:
		return fault.Field("allow", "Choose the tool.")
	case choices[i].Usable:
		return fault.Field("allow", choices[i].Tool.Name+" suits this torque as it is.")
	case choices[i].Allowed != "":
		return fault.Field("allow", choices[i].Tool.Name+" may be used here already.")
	case reason == "":
		return fault.Field("allow_reason", "Say why it may be used.")
	case utf8.RuneCountInString(reason) > mostFound:
		return fault.Field("allow_reason", fmt.Sprintf("Write at most %d characters.", mostFound))
	}
	_, err = tx.Exec(ctx, "insert into tool_allowed (step_id, tool_id, reason, actor_id, intent_id, at) values ($1, $2, $3, $4, $5, $6)",
		stepID, toolID, reason, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("allow a tool: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, sheet.event("tool allowed", map[string]any{"step": stepID, "tool": toolID}))
}

// Allowance is a tool that the owner let be used for a step, and in whose words.
type Allowance struct {
	ToolID int64
	Words  string
}

// allow marks the tools that the owner let be used for the step.
func (s Step) allow(choices []tool.Choice) []tool.Choice {
	for _, a := range s.Allowed {
		for i := range choices {
			if c := &choices[i]; c.Tool.ID == a.ToolID && !c.Usable {
				c.Allowed = a.Words
			}
		}
	}
	return choices
}
