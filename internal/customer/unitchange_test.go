package customer_test

import (
	"errors"
	"testing"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/reconcile"
)

// A model of the library and own words are one field, so that neither takes the
// other away unseen.
func TestAModelChosenMeanwhileClashesWithOtherWords(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	who, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh"})
	if err != nil {
		t.Fatal(err)
	}
	id, err := customer.AddUnit(ctx, tx, by, who, customer.UnitDetails{Kind: "fork", ModelWords: "grey fork"})
	if err != nil {
		t.Fatal(err)
	}
	var model int64
	err = tx.QueryRow(ctx, `insert into model (kind, maker, name, years, spring, damper, lowers, adjusters)
		values ('fork', 'Halvard', 'Sill', '', 'air', 'sealed', '', '{}') returning id`).Scan(&model)
	if err != nil {
		t.Fatal(err)
	}
	u, err := customer.GetUnit(ctx, tx, id)
	if err != nil {
		t.Fatal(err)
	}
	was := u.Facts()
	edit := func(field, text string) customer.UnitEdit {
		mine := u.Facts()
		mine[field] = text
		return customer.UnitEdit{Was: was, Mine: mine}
	}
	if _, err := customer.ChangeUnit(ctx, tx, dbtest.Act(t, tx, by), id, edit("model", customer.ModelFact(model, ""))); err != nil {
		t.Fatal(err)
	}
	var differ reconcile.Differ
	if _, err = customer.ChangeUnit(ctx, tx, dbtest.Act(t, tx, by), id, edit("model", customer.ModelFact(0, "grey fork, air"))); !errors.As(err, &differ) || len(differ.Clashes) != 1 {
		t.Errorf("other words after a model was chosen: %v, want a clash", err)
	}
	others, err := customer.ChangeUnit(ctx, tx, dbtest.Act(t, tx, by), id, edit("serial", "HS-1"))
	if u, _ = customer.GetUnit(ctx, tx, id); err != nil || len(others) != 1 || u.ModelID != model || u.Serial != "HS-1" {
		t.Errorf("beside a model chosen meanwhile: %v, others %q, %+v", err, others, u)
	}
}

func TestNoOwnWordsAreTakenForAModel(t *testing.T) {
	for _, words := range []string{"", "grey fork", "library:12", "words:grey fork", "words:"} {
		if id, got := customer.ModelOf(customer.ModelFact(0, words)); id != 0 || got != words {
			t.Errorf("%q comes back as model %d, words %q", words, id, got)
		}
	}
	if id, words := customer.ModelOf(customer.ModelFact(12, "grey fork")); id != 12 || words != "" {
		t.Errorf("a model comes back as %d, words %q", id, words)
	}
}
