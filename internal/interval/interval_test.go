package interval

import (
	"context"
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func installed(t *testing.T) (context.Context, pgx.Tx, history.By) {
	t.Helper()
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	if err := procedure.Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := Install(ctx, tx, by); err != nil {
			t.Fatal(err)
		}
	}
	return ctx, tx, by
}

func newModel(t *testing.T, ctx context.Context, tx pgx.Tx, by history.By, values ...spec.Value) int64 {
	t.Helper()
	id, err := spec.AddModel(ctx, tx, by, spec.Model{Kind: "fork", Maker: "Halvard", Name: t.Name(), Spring: "air", Damper: "cartridge"})
	if err != nil {
		t.Fatal(err)
	}
	if len(values) == 0 {
		return id
	}
	sheet, err := spec.DraftSheet(ctx, tx, by, id, values)
	if err != nil {
		t.Fatal(err)
	}
	if err := spec.CheckSheet(ctx, tx, dbtest.By(t, tx, "mechanic"), sheet); err != nil {
		t.Fatal(err)
	}
	return id
}

func expect(t *testing.T, ctx context.Context, tx pgx.Tx, code string, modelID int64, want Rule) {
	t.Helper()
	rules, err := ReadRules(ctx, tx)
	if err != nil {
		t.Fatal(err)
	}
	got, ok := rules.For(code, modelID)
	got.Version = 0
	if !ok || got != want {
		t.Errorf("interval of %s for model %d: got %+v, %v; want %+v", code, modelID, got, ok, want)
	}
}

// Lower legs every 50 h or yearly: common practice (no source).
func TestEveryModelHasTheShippedInterval(t *testing.T) {
	ctx, tx, by := installed(t)
	want := Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12}
	expect(t, ctx, tx, "lower-leg", 0, want)
	expect(t, ctx, tx, "lower-leg", newModel(t, ctx, tx, by), want)
	rules, err := ReadRules(ctx, tx)
	if r, ok := rules.For("polish", 0); err != nil || ok {
		t.Errorf("a service nobody knows: got %+v, %v, %v", r, ok, err)
	}
}

func TestTheModelsOwnIntervalComesFirst(t *testing.T) {
	ctx, tx, by := installed(t)
	hours := spec.Value{Key: "lower-leg service hours", NominalSI: 30, ShownUnit: spec.Hours,
		SourceKind: spec.FromMeasuring, SourceWords: "on 12 forks"}
	id := newModel(t, ctx, tx, by, hours)
	expect(t, ctx, tx, "lower-leg", id, Rule{ServiceCode: "lower-leg", ModelID: id, Hours: 30})
	if _, err := tx.Exec(ctx, "insert into interval_rule (service_code, model_id, hours) values ('lower-leg', $1, 25)", id); err != nil {
		t.Fatal(err)
	}
	expect(t, ctx, tx, "lower-leg", id, Rule{ServiceCode: "lower-leg", ModelID: id, Hours: 25})
	expect(t, ctx, tx, "lower-leg", 0, Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12})
}

func TestInstallLeavesTheShopsInterval(t *testing.T) {
	ctx, tx, by := installed(t)
	if _, err := tx.Exec(ctx, "update interval_rule set hours = 40, months = null where service_code = 'lower-leg'"); err != nil {
		t.Fatal(err)
	}
	if err := Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	expect(t, ctx, tx, "lower-leg", 0, Rule{ServiceCode: "lower-leg", Hours: 40})
}

// kinds are what happened under an act.
func kinds(t *testing.T, ctx context.Context, tx pgx.Tx, by history.By) []string {
	t.Helper()
	rows, err := tx.Query(ctx, "select kind from event where intent_id = $1 order by id", by.Intent)
	if err != nil {
		t.Fatal(err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestEveryChangeOfAnIntervalWritesAnEvent(t *testing.T) {
	ctx, tx, by := installed(t)
	if n := count(kinds(t, ctx, tx, by), "interval installed"); n != len(shipped) {
		t.Errorf("%d intervals installed are in the history, want %d", n, len(shipped))
	}
	owner := dbtest.By(t, tx, "owner")
	model := newModel(t, ctx, tx, by)
	steps := []struct {
		do   func() error
		kind string
	}{
		{func() error {
			return Set(ctx, tx, owner, Rule{ServiceCode: "lower-leg", Hours: 45, Months: 6, Version: 1})
		}, "interval set"},
		{func() error { return Set(ctx, tx, owner, Rule{ServiceCode: "lower-leg", ModelID: model, Season: true}) }, "interval set"},
		{func() error { return Drop(ctx, tx, owner, Rule{ServiceCode: "lower-leg", ModelID: model, Version: 1}) }, "interval dropped"},
	}
	for i, s := range steps {
		if err := s.do(); err != nil {
			t.Fatalf("step %d: %v", i+1, err)
		}
		if got := kinds(t, ctx, tx, owner); len(got) != i+1 || got[i] != s.kind {
			t.Errorf("after step %d the history has %v, want %q last", i+1, got, s.kind)
		}
	}
	expect(t, ctx, tx, "lower-leg", model, Rule{ServiceCode: "lower-leg", Hours: 45, Months: 6})
}

func count(list []string, kind string) int {
	n := 0
	for _, k := range list {
		if k == kind {
			n++
		}
	}
	return n
}

func TestIntervalsThatAreRefused(t *testing.T) {
	ctx, tx, by := installed(t)
	owner := dbtest.By(t, tx, "owner")
	for _, c := range []struct {
		name  string
		by    history.By
		rule  Rule
		field string // empty: refused whole
	}{
		{"by a mechanic", by, Rule{ServiceCode: "lower-leg", Hours: 45, Version: 1}, ""},
		{"seen before somebody else's change", owner, Rule{ServiceCode: "lower-leg", Hours: 45, Version: 7}, ""},
		{"there is one", owner, Rule{ServiceCode: "lower-leg", Hours: 45}, ""},
		{"hours below zero", owner, Rule{ServiceCode: "lower-leg", Hours: -1, Version: 1}, "hours"},
		{"too many hours", owner, Rule{ServiceCode: "lower-leg", Hours: 2001, Version: 1}, "hours"},
		{"too many months", owner, Rule{ServiceCode: "lower-leg", Months: 121, Version: 1}, "months"},
		{"no such service", owner, Rule{ServiceCode: "polish", Months: 12}, "service"},
		{"no such model", owner, Rule{ServiceCode: "lower-leg", ModelID: 999999, Months: 12}, "model"},
	} {
		sp, err := tx.Begin(ctx)
		if err != nil {
			t.Fatal(err)
		}
		err = Set(ctx, sp, c.by, c.rule)
		var invalid *fault.Invalid
		_, safe := fault.Sentence(err)
		switch {
		case !safe:
			t.Errorf("%s: got %v, want a refusal that people read", c.name, err)
		case c.field != "" && (!errors.As(err, &invalid) || invalid.Fields[c.field] == ""):
			t.Errorf("%s: got %v, want it beside %q", c.name, err, c.field)
		}
		if err := sp.Rollback(ctx); err != nil {
			t.Fatal(err)
		}
	}
	expect(t, ctx, tx, "lower-leg", 0, Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12})
}

func TestARuleOfNothingNeverMakesAServiceDue(t *testing.T) {
	ctx, tx, by := installed(t)
	owner := dbtest.By(t, tx, "owner")
	model := newModel(t, ctx, tx, by)
	if err := Set(ctx, tx, owner, Rule{ServiceCode: "lower-leg", ModelID: model}); err != nil {
		t.Fatal(err)
	}
	expect(t, ctx, tx, "lower-leg", model, Rule{ServiceCode: "lower-leg", ModelID: model})
	if (Rule{ServiceCode: "lower-leg", ModelID: model}).Counts() {
		t.Error("a rule of nothing counts")
	}
}
