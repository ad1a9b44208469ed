package spec

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// setupColumnsSQL are the source of a chart as that of a value.
const setupColumnsSQL = `c.pressure_unit as shown_unit, c.source_kind, c.document_id, c.page, c.source_words,
		coalesce(d.title, '') as document_title, coalesce(d.edition, '') as document_edition, b.name as by,
		0::bigint as id, '' as key, '' as place, 0::float8 as nominal_si, 0::float8 as minus_si, 0::float8 as plus_si, '' as entered, '' as fluid
	from setup_chart c join staff b on b.id = c.by_id left join document d on d.id = c.document_id`

// SetupOf reads the set-up chart of a sheet; without one it has no rows.
func SetupOf(ctx context.Context, q db.Querier, sheetID int64) (Setup, error) {
	var s Setup
	rows, err := q.Query(ctx, "select "+setupColumnsSQL+" where c.sheet_id = $1", sheetID)
	s.From, err = db.One[Value](rows, err, "set-up chart")
	if errors.As(err, new(fault.NotFound)) {
		return Setup{}, nil
	}
	if err != nil {
		return Setup{}, fmt.Errorf("read set-up chart of sheet %d: %w", sheetID, err)
	}
	s.Unit = s.From.ShownUnit
	rows, err = q.Query(ctx, "select rider_kg, pressure_pa, rebound, compression, spacers from setup_row where sheet_id = $1 order by rider_kg", sheetID)
	s.Rows, err = db.All[SetupRow](rows, err)
	if err != nil {
		return Setup{}, fmt.Errorf("read set-up chart of sheet %d: %w", sheetID, err)
	}
	return s, nil
}

// PutSetup writes the set-up chart of a draft over the one that is there; one
// without rows takes it off. Fields are those of Setup: "row0.kg" and so on, in
// the order given.
func PutSetup(ctx context.Context, tx pgx.Tx, by history.By, sheetID int64, version int, s Setup) error {
	draft, err := edit(ctx, tx, by, sheetID, version)
	if err != nil {
		return err
	}
	slices.SortStableFunc(s.Rows, func(a, b SetupRow) int { return cmp.Compare(a.RiderKG, b.RiderKG) })
	if len(s.Rows) > 0 {
		if err := s.faultsOn(ctx, tx, draft); err != nil {
			return err
		}
	}
	if err := writeSetup(ctx, tx, by, draft, s); err != nil {
		return fmt.Errorf("put set-up chart on sheet %d: %w", sheetID, db.Translate(err))
	}
	return edited(ctx, tx, by, draft, "set-up chart put", map[string]any{"rows": len(s.Rows)})
}

func (s Setup) faultsOn(ctx context.Context, q db.Querier, draft Sheet) error {
	m, err := GetModel(ctx, q, draft.ModelID)
	if err != nil {
		return err
	}
	documents, err := Documents(ctx, q, draft.ModelID)
	if err != nil {
		return err
	}
	if fields := s.faults(draft, m, documents); len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

func writeSetup(ctx context.Context, tx pgx.Tx, by history.By, draft Sheet, s Setup) error {
	batch := &pgx.Batch{}
	batch.Queue("delete from setup_row where sheet_id = $1", draft.ID)
	batch.Queue("delete from setup_chart where sheet_id = $1", draft.ID)
	if len(s.Rows) > 0 {
		batch.Queue(`insert into setup_chart (sheet_id, model_id, pressure_unit, source_kind, document_id, page, source_words, by_id)
			values ($1, $2, $3, $4, $5, $6, $7, $8)`, draft.ID, draft.ModelID, s.Unit, s.From.SourceKind, s.From.DocumentID,
			strings.TrimSpace(s.From.Page), strings.TrimSpace(s.From.SourceWords), by.Staff)
	}
	for _, r := range s.Rows {
		batch.Queue("insert into setup_row (sheet_id, rider_kg, pressure_pa, rebound, compression, spacers) values ($1, $2, $3, $4, $5, $6)",
			draft.ID, r.RiderKG, r.PressurePa, r.Rebound, r.Compression, r.Spacers)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// copySetup takes the chart of the sheet in force over into a new draft.
func copySetup(ctx context.Context, tx pgx.Tx, modelID, draftID int64) error {
	_, err := tx.Exec(ctx, `insert into setup_chart (sheet_id, model_id, pressure_unit, source_kind, document_id, page, source_words, by_id)
		select $1, c.model_id, c.pressure_unit, c.source_kind, c.document_id, c.page, c.source_words, c.by_id
		from setup_chart c join sheet s on s.id = c.sheet_id where s.model_id = $2 and s.state = 'current'`, draftID, modelID)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into setup_row (sheet_id, rider_kg, pressure_pa, rebound, compression, spacers)
		select $1, r.rider_kg, r.pressure_pa, r.rebound, r.compression, r.spacers
		from setup_row r join sheet s on s.id = r.sheet_id where s.model_id = $2 and s.state = 'current'`, draftID, modelID)
	return err
}
