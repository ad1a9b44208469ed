package customer

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/reconcile"
)

// UnitFields are what may be corrected of a unit, in the order of the form. A
// model of the library and own words are one field: either takes the place of
// the other.
var UnitFields = []string{"model", "serial", "tag", "bike", "colour", "frame"}

// How the field "model" begins: each of the two has a beginning, so that no words
// can be taken for a model.
const ofLibrary, ownWords = "library:", "words:"

// ModelFact is a model, or the own words, as the field "model" has it.
func ModelFact(modelID int64, words string) string {
	if modelID != 0 {
		return ofLibrary + strconv.FormatInt(modelID, 10)
	}
	return ownWords + words
}

// ModelOf takes a ModelFact apart.
func ModelOf(fact string) (modelID int64, words string) {
	if number, ok := strings.CutPrefix(fact, ofLibrary); ok {
		modelID, _ = strconv.ParseInt(number, 10, 64)
		return modelID, ""
	}
	return 0, strings.TrimPrefix(fact, ownWords)
}

// Facts is how a unit stands, as its form has it.
func (u Unit) Facts() reconcile.Facts {
	return reconcile.Facts{"model": ModelFact(u.ModelID, u.Name), "serial": u.Serial, "tag": u.Tag,
		"bike": u.BikeWords, "colour": u.BikeColour, "frame": u.FrameNo}
}

// UnitEdit is what somebody opened and what they typed.
type UnitEdit struct {
	Was, Mine  reconcile.Facts
	SerialSure bool
	Moved      bool // to another bike
}

func (e UnitEdit) details(kind string, f reconcile.Facts) UnitDetails {
	d := UnitDetails{Kind: kind, Serial: f["serial"], SerialSure: e.SerialSure, Tag: f["tag"], BikeWords: f["bike"], BikeColour: f["colour"], FrameNo: f["frame"]}
	d.ModelID, d.ModelWords = ModelOf(f["model"])
	return d
}

// ChangeUnit keeps what somebody corrected of a unit, beside what others did
// meanwhile; others names those fields. Where both changed one it is refused as
// a reconcile.Differ, and nothing is kept.
func ChangeUnit(ctx context.Context, tx pgx.Tx, by history.By, id int64, e UnitEdit) (others []string, err error) {
	if _, err := tx.Exec(ctx, "select from unit where id = $1 for no key update", id); err != nil {
		return nil, fmt.Errorf("change unit: %w", db.Translate(err))
	}
	u, err := GetUnit(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	theirs := u.Facts()
	merged, clashes, others := reconcile.Fields(UnitFields, e.Was, theirs, e.Mine)
	d := e.details(u.Kind, merged)
	faults, err := CheckUnit(ctx, tx, id, d)
	if err != nil {
		return nil, err
	}
	if err := invalid(faults); err != nil {
		return nil, err
	}
	if len(clashes) > 0 {
		return nil, reconcile.Differ{Clashes: clashes, Merged: merged, Now: theirs}
	}
	if !e.Moved && len(merged.Changed(UnitFields, theirs)) == 0 {
		return others, nil
	}
	return others, UpdateUnit(ctx, tx, by, id, u.Version, d, e.Moved)
}
