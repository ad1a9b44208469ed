package spec

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Sheet is a revision of a model's values. Only a draft may change; it becomes
// current when it is checked, and past when a later one does.
type Sheet struct {
	ID        int64
	ModelID   int64
	Revision  int
	State     string // "draft", "checked", "current", "past"
	DraftedBy string
	CheckedBy string // empty while a draft
	Alone     bool   // checked by somebody who wrote in it
	At        time.Time
	CheckedAt *time.Time // nil while a draft, and where it was not kept
	Version   int        // of a draft; every change raises it
	Values    []Value    `db:"-"`
	Setup     Setup      `db:"-"`
}

// Value finds a value by key and place. A value of both legs or of the whole
// unit answers for each leg; the exact place comes first.
func (s Sheet) Value(key, place string) (Value, bool) {
	best, found := Value{}, 0
	for _, v := range s.Values {
		if v.Key != key {
			continue
		}
		if n := closeness(v.Place, place); n > found {
			best, found = v, n
		}
	}
	return best, found > 0
}

// closeness of a value's place to a wanted one: 3 the same, 2 one of several,
// 1 the whole unit, 0 elsewhere.
func closeness(have, want string) int {
	switch {
	case have == want:
		return 3
	case want != "" && have != "" && containsPlace(have, want):
		return 2
	case have == "":
		return 1
	}
	return 0
}

// containsPlace reports whether every place wanted is among those had.
func containsPlace(have, want string) bool {
	had := map[string]bool{}
	for p := range strings.FieldsSeq(have) {
		had[p] = true
	}
	for p := range strings.FieldsSeq(want) {
		if !had[p] {
			return false
		}
	}
	return true
}

const selectSheet = `select s.id, s.model_id, s.revision, s.state, d.name as drafted_by,
		coalesce(c.name, '') as checked_by, s.alone, s.at, s.checked_at, s.version
	from sheet s join staff d on d.id = s.drafted_by left join staff c on c.id = s.checked_by`

// valueColumns are what a value is read from, with its source.
const valueColumns = `v.id, v.key, v.place, v.nominal_si, v.minus_si, v.plus_si, v.shown_unit, v.entered, v.fluid,
		v.source_kind, v.document_id, v.page, v.source_words,
		coalesce(d.title, '') as document_title, coalesce(d.edition, '') as document_edition, b.name as by
	from sheet_value v join staff b on b.id = v.by_id left join document d on d.id = v.document_id`

// Current reads the sheet in force for a model; NotFound when it has none.
func Current(ctx context.Context, q db.Querier, modelID int64) (Sheet, error) {
	rows, err := q.Query(ctx, selectSheet+" where s.model_id = $1 and s.state = 'current'", modelID)
	return withValues(ctx, q, rows, err)
}

// GetSheet reads any revision.
func GetSheet(ctx context.Context, q db.Querier, id int64) (Sheet, error) {
	rows, err := q.Query(ctx, selectSheet+" where s.id = $1", id)
	return withValues(ctx, q, rows, err)
}

// Revision reads a revision of a model by its number.
func Revision(ctx context.Context, q db.Querier, modelID int64, revision int) (Sheet, error) {
	rows, err := q.Query(ctx, selectSheet+" where s.model_id = $1 and s.revision = $2", modelID, revision)
	return withValues(ctx, q, rows, err)
}

// Revisions lists the sheets of a model without their values, newest first.
func Revisions(ctx context.Context, q db.Querier, modelID int64) ([]Sheet, error) {
	rows, err := q.Query(ctx, selectSheet+" where s.model_id = $1 order by s.revision desc", modelID)
	list, err := db.All[Sheet](rows, err)
	if err != nil {
		return nil, fmt.Errorf("revisions of model %d: %w", modelID, err)
	}
	return list, nil
}

func withValues(ctx context.Context, q db.Querier, rows pgx.Rows, err error) (Sheet, error) {
	s, err := db.One[Sheet](rows, err, "spec sheet")
	if err != nil {
		return Sheet{}, fmt.Errorf("read sheet: %w", err)
	}
	rows, err = q.Query(ctx, "select "+valueColumns+" where v.sheet_id = $1 order by v.id", s.ID)
	s.Values, err = db.All[Value](rows, err)
	if err != nil {
		return Sheet{}, fmt.Errorf("read sheet %d: %w", s.ID, err)
	}
	s.Setup, err = SetupOf(ctx, q, s.ID)
	return s, err
}

// DraftSheet writes the next revision of a model's sheet as a draft. Fields of
// fault.Invalid are "value0.key", ".place", ".unit", ".nominal", ".window",
// ".source", ".document", ".words", by index.
func DraftSheet(ctx context.Context, tx pgx.Tx, by history.By, modelID int64, values []Value) (int64, error) {
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	m, err := GetModel(ctx, tx, modelID)
	if err != nil {
		return 0, err
	}
	documents, err := Documents(ctx, tx, modelID)
	if err != nil {
		return 0, err
	}
	if err := valid(values, m, documents); err != nil {
		return 0, err
	}
	id, err := insertDraft(ctx, tx, by, modelID)
	if err != nil {
		return 0, fmt.Errorf("draft sheet: %w", db.Translate(err))
	}
	if err := insertValues(ctx, tx, by, id, modelID, values); err != nil {
		return 0, fmt.Errorf("draft sheet: %w", db.Translate(err))
	}
	return id, drafted(ctx, tx, by, modelID, id)
}

// insertDraft adds the next revision, without values yet.
func insertDraft(ctx context.Context, tx pgx.Tx, by history.By, modelID int64) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into sheet (model_id, revision, state, drafted_by, at)
		select $1, coalesce(max(revision), 0) + 1, 'draft', $2, $3 from sheet where model_id = $1
		returning id`, modelID, by.Staff, by.At).Scan(&id)
	if err != nil {
		return 0, err
	}
	return id, addEditor(ctx, tx, id, by.Staff)
}

func addEditor(ctx context.Context, tx pgx.Tx, sheetID, staffID int64) error {
	_, err := tx.Exec(ctx, "insert into sheet_editor (sheet_id, staff_id) values ($1, $2) on conflict do nothing", sheetID, staffID)
	return err
}

func drafted(ctx context.Context, tx pgx.Tx, by history.By, modelID, sheetID int64) error {
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "model", SubjectID: modelID, Kind: "sheet drafted", Detail: map[string]any{"sheet": sheetID},
	})
}

func insertValues(ctx context.Context, tx pgx.Tx, by history.By, sheetID, modelID int64, values []Value) error {
	batch := &pgx.Batch{}
	for _, v := range values {
		batch.Queue(`insert into sheet_value (sheet_id, model_id, key, place, nominal_si, minus_si, plus_si,
				shown_unit, entered, fluid, source_kind, document_id, page, source_words, by_id)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)`, v.columns(sheetID, modelID, by.Staff)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// columns are the columns of a value as it is stored, by_id last.
func (v Value) columns(sheetID, modelID, staffID int64) []any {
	return []any{sheetID, modelID, v.Key, v.Place, v.NominalSI, v.MinusSI, v.PlusSI, v.ShownUnit, strings.TrimSpace(v.Entered),
		strings.TrimSpace(v.Fluid), v.SourceKind, v.DocumentID, strings.TrimSpace(v.Page), strings.TrimSpace(v.SourceWords), staffID}
}
