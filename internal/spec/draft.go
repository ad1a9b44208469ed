package spec

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
)

// Draft reads the draft of a model's next revision; NotFound when nobody is at
// one.
func Draft(ctx context.Context, q db.Querier, modelID int64) (Sheet, error) {
	rows, err := q.Query(ctx, selectSheet+" where s.model_id = $1 and s.state = 'draft'", modelID)
	return withValues(ctx, q, rows, err)
}

// Editors are the names of those who wrote in a sheet.
func Editors(ctx context.Context, q db.Querier, sheetID int64) ([]string, error) {
	rows, err := q.Query(ctx, "select s.name from sheet_editor e join staff s on s.id = e.staff_id where e.sheet_id = $1 order by s.name", sheetID)
	var names []string
	if err == nil {
		names, err = pgx.CollectRows(rows, pgx.RowTo[string])
	}
	if err != nil {
		return nil, fmt.Errorf("editors of sheet %d: %w", sheetID, err)
	}
	return names, nil
}

// BeginDraft begins the next revision of a model's sheet, with the values and
// the set-up chart of the one in force where fromCurrent, each as its source and its author have it.
func BeginDraft(ctx context.Context, tx pgx.Tx, by history.By, modelID int64, fromCurrent bool) (int64, error) {
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	if _, err := GetModel(ctx, tx, modelID); err != nil {
		return 0, err
	}
	id, err := insertDraft(ctx, tx, by, modelID)
	if err == nil && fromCurrent {
		_, err = tx.Exec(ctx, `insert into sheet_value (sheet_id, model_id, key, place, nominal_si, minus_si, plus_si,
				shown_unit, entered, fluid, source_kind, document_id, page, source_words, by_id)
			select $1, v.model_id, v.key, v.place, v.nominal_si, v.minus_si, v.plus_si,
				v.shown_unit, v.entered, v.fluid, v.source_kind, v.document_id, v.page, v.source_words, v.by_id
			from sheet_value v join sheet s on s.id = v.sheet_id
			where s.model_id = $2 and s.state = 'current' order by v.id`, id, modelID)
		if err == nil {
			err = copySetup(ctx, tx, modelID, id)
		}
	}
	if err != nil {
		return 0, fmt.Errorf("begin draft: %w", db.Translate(err))
	}
	return id, drafted(ctx, tx, by, modelID, id)
}

// PutValue writes a value into a draft, over the one of valueID if that is not
// 0. Fields of fault.Invalid are "key", "place", "unit", "nominal", "sure",
// "window", "fluid", "source", "document" and "words".
func PutValue(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int, valueID int64, v Value) error {
	draft, err := edit(ctx, tx, by, sheetID, version)
	if err != nil {
		return err
	}
	old := slices.IndexFunc(draft.Values, func(o Value) bool { return o.ID == valueID })
	if valueID != 0 && old < 0 {
		return fault.NotFound("That value is not on the draft any more.")
	}
	if old >= 0 && draft.Values[old].sameFigures(v) {
		v.Sure = true
	}
	documents, err := Documents(ctx, tx, draft.ModelID)
	if err != nil {
		return err
	}
	m, err := GetModel(ctx, tx, draft.ModelID)
	if err != nil {
		return err
	}
	if err := v.faultsIn(draft, valueID, m, documents); err != nil {
		return err
	}
	if valueID == 0 {
		err = insertValues(ctx, tx, by, sheetID, draft.ModelID, []Value{v})
	} else {
		_, err = tx.Exec(ctx, `update sheet_value set key = $3, place = $4, nominal_si = $5, minus_si = $6, plus_si = $7, shown_unit = $8,
				entered = $9, fluid = $10, source_kind = $11, document_id = $12, page = $13, source_words = $14, by_id = $15
			where sheet_id = $1 and model_id = $2 and id = $16`, append(v.columns(sheetID, draft.ModelID, by.Staff), valueID)...)
	}
	if err != nil {
		return fmt.Errorf("put value on sheet %d: %w", sheetID, db.Translate(err))
	}
	return edited(ctx, tx, by, draft, "sheet value put", map[string]any{"key": v.Key, "place": v.Place, "si": v.NominalSI})
}

// faultsIn says what is wrong with a value for a place on a draft. A volume
// without its fluid is none.
func (v Value) faultsIn(draft Sheet, valueID int64, m Model, documents []Document) error {
	fields := v.faults(m, documents)
	k, _ := Find(v.Key)
	if k.Kind == quantity.KindVolume && strings.TrimSpace(v.Fluid) == "" {
		fields["fluid"] = "Say which fluid it is."
	}
	twice := func(o Value) bool { return o.ID != valueID && o.Key == v.Key && o.Place == v.Place }
	if slices.ContainsFunc(draft.Values, twice) {
		fields["place"] = "The draft has this value there already; change that one."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// RemoveValue takes a value off a draft.
func RemoveValue(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int, valueID int64) error {
	draft, err := edit(ctx, tx, by, sheetID, version)
	if err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "delete from sheet_value where sheet_id = $1 and id = $2", sheetID, valueID)
	if err != nil {
		return fmt.Errorf("remove value from sheet %d: %w", sheetID, db.Translate(err))
	}
	if tag.RowsAffected() == 0 {
		return fault.NotFound("That value is not on the draft any more.")
	}
	return edited(ctx, tx, by, draft, "sheet value removed", nil)
}

// DropDraft throws a draft away, with all that was written in it.
func DropDraft(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int) error {
	draft, err := edit(ctx, tx, by, sheetID, version)
	if err != nil {
		return err
	}
	batch := &pgx.Batch{}
	batch.Queue("delete from setup_row where sheet_id = $1", sheetID)
	batch.Queue("delete from setup_chart where sheet_id = $1", sheetID)
	batch.Queue("delete from sheet_value where sheet_id = $1", sheetID)
	batch.Queue("delete from sheet_editor where sheet_id = $1", sheetID)
	batch.Queue("delete from sheet where id = $1", sheetID)
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("drop draft %d: %w", sheetID, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "model", SubjectID: draft.ModelID, Kind: "sheet draft dropped", Detail: map[string]any{"sheet": sheetID},
	})
}

// edit locks a draft for a change by somebody who saw that version of it.
func edit(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int) (Sheet, error) {
	if err := mayWrite(by); err != nil {
		return Sheet{}, err
	}
	return lockVersion(ctx, tx, sheetID, version)
}

func edited(ctx context.Context, tx pgx.Tx, by history.By, draft Sheet, kind string, detail map[string]any) error {
	_, err := tx.Exec(ctx, "update sheet set version = version + 1 where id = $1", draft.ID)
	if err == nil {
		err = addEditor(ctx, tx, draft.ID, by.Staff)
	}
	if err != nil {
		return fmt.Errorf("change draft %d: %w", draft.ID, db.Translate(err))
	}
	if detail == nil {
		detail = map[string]any{}
	}
	detail["sheet"] = draft.ID
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "model", SubjectID: draft.ModelID, Kind: kind, Detail: detail})
}

func lockVersion(ctx context.Context, tx pgx.Tx, sheetID int64, version int) (Sheet, error) {
	draft, err := lockDraft(ctx, tx, sheetID)
	if err == nil && draft.Version != version {
		err = fault.Conflict("Somebody else changed this draft since you opened it; look again.")
	}
	return draft, err
}

// lockDraft reads a draft and keeps it from everybody else.
func lockDraft(ctx context.Context, tx pgx.Tx, sheetID int64) (Sheet, error) {
	var state string
	err := tx.QueryRow(ctx, "select state from sheet where id = $1 for update", sheetID).Scan(&state)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return Sheet{}, fault.NotFound("There is no such spec sheet.")
	case err != nil:
		return Sheet{}, fmt.Errorf("lock sheet %d: %w", sheetID, db.Translate(err))
	case state != "draft":
		return Sheet{}, fault.Conflict("This spec sheet is checked already and stays as it is.")
	}
	return GetSheet(ctx, tx, sheetID)
}
