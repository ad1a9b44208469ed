package spec

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// CheckDraft puts a draft in force once somebody has compared every difference
// to the sheet in force with its source: compared has the Difference.ID of each.
// A draft that was changed meanwhile, or that changes nothing, is a Conflict;
// what was not compared is a fault.Invalid on "compared".
func CheckDraft(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int, compared []string) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	draft, err := lockVersion(ctx, tx, sheetID, version)
	if err != nil {
		return err
	}
	before, err := Current(ctx, tx, draft.ModelID)
	if err != nil && !errors.As(err, new(fault.NotFound)) {
		return err
	}
	differences := Differences(before, draft)
	if len(differences) == 0 {
		return fault.Conflict("This draft says what the sheet in force says; there is nothing to check.")
	}
	left := slices.DeleteFunc(differences, func(d Difference) bool { return slices.Contains(compared, d.ID()) })
	if len(left) > 0 {
		return fault.Field("compared", fmt.Sprintf("Compare each line with its source and tick it; %d of them are not ticked.", len(left)))
	}
	return CheckSheet(ctx, tx, by, sheetID)
}

// CheckSheet puts a draft in force after comparing it with its sources; the
// sheet in force before becomes past. Somebody who wrote nothing in it checks,
// unless no such mechanic or owner works here: then the sheet says so.
func CheckSheet(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	draft, err := lockDraft(ctx, tx, sheetID)
	if err != nil {
		return err
	}
	if len(draft.Values) == 0 {
		return fault.Conflict("A spec sheet needs at least one value.")
	}
	if len(draft.Setup.Rows) > 0 {
		draft.Setup.Sure = true // it was asked when it was written
		if err := draft.Setup.faultsOn(ctx, tx, draft); err != nil {
			return fault.Conflict("The set-up chart no longer fits the sheet: look at it on the draft again.")
		}
	}
	alone, err := Alone(ctx, tx, sheetID, by.Staff)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, "update sheet set state = 'past' where model_id = $1 and state = 'current'", draft.ModelID)
	if err == nil {
		_, err = tx.Exec(ctx, "update sheet set state = 'current', checked_by = $2, alone = $3, checked_at = $4 where id = $1",
			sheetID, by.Staff, alone, by.At)
	}
	if err != nil {
		return fmt.Errorf("check sheet %d: %w", sheetID, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "model", SubjectID: draft.ModelID, Kind: "sheet checked",
		Detail: map[string]any{"sheet": sheetID, "alone": alone},
	})
}

// Alone reports whether somebody who checks a sheet now does so alone, having
// written in it and being without anybody else to ask. Where there is such a
// person it is a Conflict that says so.
func Alone(ctx context.Context, q db.Querier, sheetID, staffID int64) (bool, error) {
	var wrote, others bool
	err := q.QueryRow(ctx, `select exists (select from sheet_editor where sheet_id = $1 and staff_id = $2),
		exists (select from staff s where left_on is null and roles && array['mechanic', 'owner']
			and not exists (select from sheet_editor where sheet_id = $1 and staff_id = s.id))`, sheetID, staffID).Scan(&wrote, &others)
	switch {
	case err != nil:
		return false, fmt.Errorf("look for a second person: %w", err)
	case wrote && others:
		return false, fault.Conflict("Another person than those who wrote the sheet checks it.")
	}
	return wrote, nil
}
