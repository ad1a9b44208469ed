package spec

import (
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// refused tries a statement in a part of the transaction that is undone.
func (d desk) refused(sql string, args ...any) error {
	undone := errors.New("undone")
	var result error
	err := pgx.BeginFunc(d.ctx, d.tx, func(tx pgx.Tx) error {
		_, result = tx.Exec(d.ctx, sql, args...)
		return undone
	})
	if !errors.Is(err, undone) {
		return err
	}
	return db.Translate(result)
}

func TestTheDatabaseFreezesACheckedSheet(t *testing.T) {
	d := withModel(t)
	sheet, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err != nil {
		t.Fatal(err)
	}
	other := dbtest.By(t, d.tx, "owner")
	const add = `insert into sheet_value (sheet_id, model_id, key, nominal_si, shown_unit, source_kind, by_id) values ($1, $2, 'travel', 0.14, 'mm', 'measured', $3)`
	changes := []struct {
		name, sql string
		args      []any
	}{
		{"a value changed", "update sheet_value set nominal_si = 8 where sheet_id = $1", []any{sheet}},
		{"a value's source changed", "update sheet_value set page = '42' where sheet_id = $1", []any{sheet}},
		{"a value taken away", "delete from sheet_value where sheet_id = $1", []any{sheet}},
		{"a value added", add, []any{sheet, d.model, d.by.Staff}},
		{"a writer added", "insert into sheet_editor values ($1, $2)", []any{sheet, other.Staff}},
		{"the drafter changed", "update sheet set drafted_by = checked_by, alone = true where id = $1", []any{sheet}},
	}
	for _, c := range changes[:5] {
		if err := d.refused(c.sql, c.args...); err != nil {
			t.Errorf("%s on a draft: %v, want taken", c.name, err)
		}
	}
	if err := CheckSheet(d.ctx, d.tx, other, sheet); err != nil {
		t.Fatal(err)
	}
	draft, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{judged("knob screw", 1.1, quantity.NewtonMetre)})
	if err != nil {
		t.Fatal(err)
	}
	changes = append(changes, []struct {
		name, sql string
		args      []any
	}{
		{"a value moved away", "update sheet_value set sheet_id = $2 where sheet_id = $1", []any{sheet, draft}},
		{"a value moved in", "update sheet_value set sheet_id = $2 where sheet_id = $1", []any{draft, sheet}},
		{"made a draft again", "update sheet set state = 'draft' where id = $1", []any{sheet}},
		{"deleted", "with v as (delete from sheet_value where sheet_id = $1) delete from sheet where id = $1", []any{sheet}},
	}...)
	for _, state := range []string{"current", "past"} {
		if _, err := d.tx.Exec(d.ctx, "update sheet set state = $2 where id = $1", sheet, state); err != nil {
			t.Fatalf("from current to %s: %v", state, err)
		}
		for _, c := range changes {
			var conflict fault.Conflict
			if err := d.refused(c.sql, c.args...); !errors.As(err, &conflict) || conflict.Error() != "This spec sheet is checked already and stays as it is." {
				t.Errorf("%s on a %s sheet: %v, want refused", c.name, state, err)
			}
		}
	}
}
