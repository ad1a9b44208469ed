package tool

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The mishaps after which a tool is calibrated at once: a fall (FAA
// AC 43.13-1B, 7-40), and an overload (ISO 6789-1:2017 by a calibration
// laboratory's page: of more than a quarter; nobody at a bench measures that, so
// any counts).
const (
	Dropped    = "dropped"
	Overloaded = "overloaded"
)

var mishapWords = map[string]string{Dropped: "fell", Overloaded: "was overloaded"}

// Mishap records that a tool fell or was overloaded on a day of the shop. It
// serves for nothing until it is calibrated.
func Mishap(ctx context.Context, tx pgx.Tx, by history.By, id int64, kind, words string, on time.Time) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	if mishapWords[kind] == "" {
		return fault.Field("state", "Choose what happened to it.")
	}
	if _, err := Get(ctx, tx, id); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `insert into tool_mishap (tool_id, kind, words, happened_on, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0), $6, $7)`, id, kind, strings.TrimSpace(words), date(on), by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("mishap of tool %d: %w", id, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "tool", SubjectID: id, Kind: "tool " + kind})
}
