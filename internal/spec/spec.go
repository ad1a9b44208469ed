// Package spec holds the models of forks, shocks and seatposts, and the
// revisioned sheet of values of each model with the source of every value. A
// sheet is frozen once another person has checked it.
package spec

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Model is a fork, rear shock or seatpost as its maker built it.
type Model struct {
	ID        int64
	Kind      string // "fork", "rear shock", "seatpost"
	Maker     string
	Name      string
	Years     string
	TravelMM  *int
	Spring    string // "air", "coil", "none"
	Damper    string // "shared oil", "sealed", "cartridge", "none"
	SpringLeg string // "left", "right", empty when not known or neither
	DamperLeg string
	Lowers    string   // "arch front", "arch back", empty when not known
	Adjusters []string // of "rebound", "compression", "lockout"
	Version   int
	Revision  int // of the current spec sheet, 0 for none
}

// Title is how a model is spoken of.
func (m Model) Title() string { return m.Maker + " " + m.Name }

const selectModel = `select m.id, m.kind, m.maker, m.name, m.years, m.travel_mm, m.spring, m.damper,
		coalesce(m.spring_leg, '') as spring_leg, coalesce(m.damper_leg, '') as damper_leg,
		m.lowers, m.adjusters, m.version, coalesce(s.revision, 0) as revision
	from model m left join sheet s on s.model_id = m.id and s.state = 'current'`

// Models lists the library by maker and name.
func Models(ctx context.Context, q db.Querier) ([]Model, error) {
	rows, err := q.Query(ctx, selectModel+" order by lower(m.maker), lower(m.name), m.years, m.id")
	list, err := db.All[Model](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list models: %w", err)
	}
	return list, nil
}

// GetModel reads one model.
func GetModel(ctx context.Context, q db.Querier, id int64) (Model, error) {
	rows, err := q.Query(ctx, selectModel+" where m.id = $1", id)
	m, err := db.One[Model](rows, err, "model")
	if err != nil {
		return Model{}, fmt.Errorf("get model %d: %w", id, err)
	}
	return m, nil
}

// AddModel puts a model into the library. ID, Version and Revision are not
// taken from m.
func AddModel(ctx context.Context, tx pgx.Tx, by history.By, m Model) (int64, error) {
	m.Maker, m.Name, m.Years = strings.TrimSpace(m.Maker), strings.TrimSpace(m.Name), strings.TrimSpace(m.Years)
	if err := mayWrite(by); err != nil {
		return 0, err
	}
	if err := m.valid(); err != nil {
		return 0, err
	}
	if m.Adjusters == nil {
		m.Adjusters = []string{}
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into model
		(kind, maker, name, years, travel_mm, spring, damper, spring_leg, damper_leg, lowers, adjusters)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8, ''), nullif($9, ''), $10, $11) returning id`,
		m.Kind, m.Maker, m.Name, m.Years, m.TravelMM, m.Spring, m.Damper, m.SpringLeg, m.DamperLeg, m.Lowers, m.Adjusters).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add model: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "model", SubjectID: id, Kind: "model added"})
}

// valid names the fields as a form does: "kind", "maker", "name", "travel",
// "spring", "damper", "spring_leg", "damper_leg", "lowers", "adjusters".
func (m Model) valid() error {
	fields := map[string]string{}
	refuse := func(wrong bool, field, sentence string) {
		if wrong {
			fields[field] = sentence
		}
	}
	legs := []string{"", "left", "right"}
	refuse(!slices.Contains([]string{"fork", "rear shock", "seatpost"}, m.Kind), "kind", "Choose fork, rear shock or seatpost.")
	refuse(m.Maker == "", "maker", "Say who makes it.")
	refuse(m.Name == "", "name", "Say what the model is called.")
	refuse(m.TravelMM != nil && (*m.TravelMM < 1 || *m.TravelMM > 400), "travel", "Give the travel in millimetres, from 1 to 400.")
	refuse(!slices.Contains([]string{"air", "coil", "none"}, m.Spring), "spring", "Choose air, coil or none.")
	refuse(!slices.Contains([]string{"shared oil", "sealed", "cartridge", "none"}, m.Damper), "damper", "Choose shared oil, sealed, cartridge or none.")
	refuse(!slices.Contains(legs, m.SpringLeg), "spring_leg", "Choose left or right, as the rider sees it.")
	refuse(!slices.Contains(legs, m.DamperLeg), "damper_leg", "Choose left or right, as the rider sees it.")
	refuse(!slices.Contains([]string{"", "arch front", "arch back"}, m.Lowers), "lowers", "Choose arch in front or arch behind.")
	for _, a := range m.Adjusters {
		refuse(!slices.Contains([]string{"rebound", "compression", "lockout"}, a), "adjusters", "Choose from rebound, compression and lockout.")
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// mayWrite: the library is the mechanics' and the owner's.
func mayWrite(by history.By) error {
	if by.Has("mechanic") || by.Has("owner") {
		return nil
	}
	return fault.Forbidden("Models and spec sheets are changed by a mechanic or the owner.")
}

// Document is a publication of the maker that values are taken from.
type Document struct {
	ID      int64
	ModelID int64
	Title   string
	Edition string
}

// Documents lists what a model's values may be taken from.
func Documents(ctx context.Context, q db.Querier, modelID int64) ([]Document, error) {
	rows, err := q.Query(ctx, "select id, model_id, title, edition from document where model_id = $1 order by title, edition", modelID)
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
	if title == "" {
		return 0, fault.Field("title", "Say what the document is called.")
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
