package spec

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Document is a publication of the maker that values are taken from.
type Document struct {
	ID      int64
	ModelID int64
	Title   string
	Edition string
	Used    bool // by a value of any revision
}

// Documents lists what a model's values may be taken from.
func Documents(ctx context.Context, q db.Querier, modelID int64) ([]Document, error) {
	rows, err := q.Query(ctx, `select id, model_id, title, edition, exists (select from sheet_value where document_id = d.id) as used
		from document d where model_id = $1 order by title, edition`, modelID)
	list, err := db.All[Document](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list documents of model %d: %w", modelID, err)
	}
	return list, nil
}

// AddDocument names a publication of the maker.
func AddDocument(ctx context.Context, tx pgx.Tx, by history.By, modelID int64, title, edition string) (int64, error) {
	title, edition = strings.TrimSpace(title), strings.TrimSpace(edition)
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	if err := documentFault(title, edition); err != nil {
		return 0, err
	}
	if _, err := GetModel(ctx, tx, modelID); err != nil {
		return 0, err
	}
	var id int64
	err := tx.QueryRow(ctx, "insert into document (model_id, title, edition) values ($1, $2, $3) returning id",
		modelID, title, edition).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add document: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{
		SubjectKind: "model", SubjectID: modelID, Kind: "document added", Detail: map[string]any{"document": id},
	})
}

// mostLetters is how long a title, an edition or a model's name may be; the
// database keeps none of some thousands once only.
const mostLetters = 200

var tooLong = fmt.Sprintf("At most %d characters fit here.", mostLetters)

func documentFault(title, edition string) error {
	switch {
	case title == "":
		return fault.Field("title", "Say what the document is called.")
	case utf8.RuneCountInString(title) > mostLetters:
		return fault.Field("title", tooLong)
	case utf8.RuneCountInString(edition) > mostLetters:
		return fault.Field("edition", tooLong)
	}
	return nil
}

// RemoveDocument takes a document away that no value was ever taken from.
func RemoveDocument(ctx context.Context, tx pgx.Tx, by history.By, modelID, id int64) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `delete from document d where id = $1 and model_id = $2
		and not exists (select from sheet_value where document_id = d.id)`, id, modelID)
	if err != nil {
		return fmt.Errorf("remove document %d: %w", id, db.Translate(err))
	}
	if tag.RowsAffected() == 0 {
		return fault.Conflict("Values are taken from that document, or it is not there any more.")
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "model", SubjectID: modelID, Kind: "document removed", Detail: map[string]any{"document": id},
	})
}
