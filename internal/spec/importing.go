package spec

import (
	"context"
	"fmt"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// LibraryFile is a CSV file that a person brought to look at what it would do.
type LibraryFile struct {
	ID      int64
	StaffID int64
	Name    string
	Content []byte
	At      time.Time
}

// MostFile is the most bytes of a file that are read.
const MostFile = 4 << 20

// BringFile keeps a file for whoever brings it, in place of the one they brought
// before. One that cannot be read is a fault.Invalid on "file".
func BringFile(ctx context.Context, tx pgx.Tx, by history.By, name string, content []byte) (int64, error) {
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	if len(content) > MostFile {
		return 0, fault.Field("file", fmt.Sprintf("The file has more than %d MB: bring it in parts.", MostFile>>20))
	}
	if _, err := readCSV(content, func(int, string, string) {}); err != nil {
		return 0, err
	}
	if utf8.RuneCountInString(name) > mostLetters || !utf8.ValidString(name) {
		name = "library.csv"
	}
	if _, err := tx.Exec(ctx, "lock table library_file in share row exclusive mode"); err != nil {
		return 0, db.Translate(err)
	}
	if _, err := tx.Exec(ctx, "delete from library_file where staff_id = $1", by.Staff); err != nil {
		return 0, fmt.Errorf("keep library file: %w", err)
	}
	var id int64
	err := tx.QueryRow(ctx, "insert into library_file (staff_id, name, content, at) values ($1, $2, $3, $4) returning id", by.Staff, name, content, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep library file: %w", db.Translate(err))
	}
	return id, nil
}

// GetFile reads a file that a person brought; those of others are not there.
func GetFile(ctx context.Context, q db.Querier, id, staffID int64) (LibraryFile, error) {
	rows, err := q.Query(ctx, "select id, staff_id, name, content, at from library_file where id = $1 and staff_id = $2", id, staffID)
	f, err := db.One[LibraryFile](rows, err, "file; it was taken in already, or another one brought")
	if err != nil {
		return LibraryFile{}, fmt.Errorf("read library file %d: %w", id, err)
	}
	return f, nil
}

// Import does what a plan of the file showed, which mark is of; where the library
// has changed since it is a Conflict. Models and documents are in force at once;
// values and charts come on the draft of their model, a new one of what is in
// force where nobody is at one, and wait for a second person.
func Import(ctx context.Context, tx pgx.Tx, by history.By, fileID int64, mark string) (Plan, error) {
	if err := mayWrite(by); err != nil {
		return Plan{}, err
	}
	if _, err := tx.Exec(ctx, "lock table model, sheet in share row exclusive mode"); err != nil {
		return Plan{}, db.Translate(err)
	}
	file, err := GetFile(ctx, tx, fileID, by.Staff)
	if err != nil {
		return Plan{}, err
	}
	plan, err := PlanImport(ctx, tx, file.Content)
	if err != nil {
		return Plan{}, err
	}
	if plan.Mark != mark {
		return Plan{}, fault.Conflict("The library changed since you looked at what the file does. Nothing was taken in: look again.")
	}
	if !plan.Any() {
		return Plan{}, fault.Conflict("The file changes nothing.")
	}
	for _, m := range plan.Models {
		if m.any() {
			if err := m.apply(ctx, tx, by); err != nil {
				return Plan{}, fmt.Errorf("import %s: %w", m.Model.Title(), err)
			}
		}
	}
	_, err = tx.Exec(ctx, "delete from library_file where id = $1", fileID)
	return plan, err
}

func (m ModelPlan) apply(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	id := m.Model.ID
	switch m.State {
	case RowNew:
		id, err = AddModel(ctx, tx, by, m.Model)
	case RowChanged:
		err = ChangeModel(ctx, tx, by, id, m.Model.Version, m.Model)
	}
	if err != nil || !m.drafts() {
		return err
	}
	real := map[int64]int64{}
	for _, d := range m.Documents {
		if real[d.ID], err = AddDocument(ctx, tx, by, id, d.Title, d.Edition); err != nil {
			return err
		}
	}
	settle := func(v *Value) {
		if v.DocumentID != nil && *v.DocumentID < 0 {
			added := real[*v.DocumentID]
			v.DocumentID = &added
		}
	}
	draft, err := m.draft(ctx, tx, by, id)
	if err != nil {
		return err
	}
	n, err := m.putValues(ctx, tx, by, draft, settle)
	if err != nil {
		return err
	}
	if m.Chart == RowNew || m.Chart == RowChanged {
		settle(&m.Setup.From)
		if err := writeSetup(ctx, tx, by, draft, m.Setup); err != nil {
			return db.Translate(err)
		}
	}
	return edited(ctx, tx, by, draft, "sheet imported", map[string]any{"values": n, "rows": len(m.Setup.Rows)})
}

// draft is the one somebody is at, else a new one of what is in force.
func (m ModelPlan) draft(ctx context.Context, tx pgx.Tx, by history.By, modelID int64) (Sheet, error) {
	if m.Sheet.State == "draft" {
		return lockVersion(ctx, tx, m.Sheet.ID, m.Sheet.Version)
	}
	id, err := BeginDraft(ctx, tx, by, modelID, true)
	return Sheet{ID: id, ModelID: modelID}, err
}

func (m ModelPlan) putValues(ctx context.Context, tx pgx.Tx, by history.By, draft Sheet, settle func(*Value)) (n int, err error) {
	batch := &pgx.Batch{}
	for _, v := range m.Values {
		if v.State == RowUnchanged {
			continue
		}
		n++
		settle(&v.Value)
		batch.Queue(`insert into sheet_value (sheet_id, model_id, key, place, nominal_si, minus_si, plus_si,
				shown_unit, entered, fluid, source_kind, document_id, page, source_words, by_id)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
			on conflict (sheet_id, key, place) do update set nominal_si = $5, minus_si = $6, plus_si = $7, shown_unit = $8, entered = $9,
				fluid = $10, source_kind = $11, document_id = $12, page = $13, source_words = $14, by_id = $15`,
			v.Value.columns(draft.ID, draft.ModelID, by.Staff)...)
	}
	return n, db.Translate(tx.SendBatch(ctx, batch).Close())
}
