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
	"damperdesk/internal/quantity"
)

// PutUnitValue writes a value for one unit alone, over the one of that key and
// place. Its SourceWords name the document and page, say how it was measured, or
// what a judgement compares with. Fields are those of PutValue without
// "document"; m is the unit's model, or one of its kind alone.
func PutUnitValue(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, m Model, v Value) error {
	v.SourceWords = strings.TrimSpace(v.SourceWords)
	if err := mayWrite(by); err != nil {
		return err
	}
	if err := v.faultsAlone(m); err != nil {
		return err
	}
	if err := insertUnitValue(ctx, tx, by, unitID, v, &v.NominalSI); err != nil {
		return err
	}
	return ofUnit(ctx, tx, by, unitID, "own value put", map[string]any{"key": v.Key, "place": v.Place, "si": v.NominalSI})
}

// RemoveUnitValue takes a value of one unit back; its spec sheet's counts again.
func RemoveUnitValue(ctx context.Context, tx pgx.Tx, by history.By, unitID, valueID int64) error {
	if err := mayWrite(by); err != nil {
		return err
	}
	in, err := InsideOf(ctx, tx, unitID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(in.Values, func(v UnitValue) bool { return v.ID == valueID })
	if i < 0 {
		return fault.Conflict("That value was changed or taken back already; look again.")
	}
	v := in.Values[i].Value
	if err := insertUnitValue(ctx, tx, by, unitID, v, nil); err != nil {
		return err
	}
	return ofUnit(ctx, tx, by, unitID, "own value taken back", map[string]any{"key": v.Key, "place": v.Place})
}

func insertUnitValue(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, v Value, nominal *float64) error {
	_, err := tx.Exec(ctx, `insert into unit_value (unit_id, key, place, nominal_si, minus_si, plus_si, shown_unit, entered, fluid,
			source_kind, source_words, actor_id, intent_id, at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)`,
		unitID, v.Key, v.Place, nominal, v.MinusSI, v.PlusSI, v.ShownUnit, strings.TrimSpace(v.Entered), strings.TrimSpace(v.Fluid),
		v.SourceKind, v.SourceWords, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("write a value of unit %d: %w", unitID, db.Translate(err))
	}
	return nil
}

func (v Value) faultsAlone(m Model) error {
	fields := v.figureFaults(m)
	v.sourceLengths(fields)
	k, _ := Find(v.Key)
	if k.Kind == quantity.KindVolume && strings.TrimSpace(v.Fluid) == "" {
		fields["fluid"] = "Say which fluid it is."
	}
	switch fault := k.SourceFault(v.SourceKind); {
	case !slices.Contains([]string{FromDocument, FromMeasuring, FromJudgement}, v.SourceKind):
		fields["source"] = "Say where the value comes from."
	case fault != "":
		fields["source"] = fault
	case v.SourceKind == FromDocument && v.SourceWords == "":
		fields["words"] = "Say which document, and the page if it has one."
	case v.SourceKind == FromJudgement && v.SourceWords == "":
		fields["words"] = "Say what you compare with."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// ofUnit appends an event of a unit and whoever brings it.
func ofUnit(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, kind string, detail map[string]any) error {
	var customer int64
	if err := tx.QueryRow(ctx, "select customer_id from unit where id = $1", unitID).Scan(&customer); err != nil {
		return fmt.Errorf("whose unit is %d: %w", unitID, err)
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "unit", SubjectID: unitID, Customer: customer, Unit: unitID, Kind: kind, Detail: detail,
	})
}
