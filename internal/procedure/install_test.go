package procedure

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func install(t *testing.T) (context.Context, pgx.Tx, history.By) {
	t.Helper()
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	by.Staff = 0
	if err := Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	return ctx, tx, by
}

func tally(t *testing.T, tx pgx.Tx) (n [4]int) {
	t.Helper()
	err := tx.QueryRow(context.Background(), `select (select count(*) from block), (select count(*) from step),
		(select count(*) from service), (select count(*) from event where kind = 'block installed')`).Scan(&n[0], &n[1], &n[2], &n[3])
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestInstalledBlocksReadBackAsShipped(t *testing.T) {
	ctx, tx, _ := install(t)
	list, err := Services(ctx, tx)
	if err != nil {
		t.Fatal(err)
	}
	blocks, err := Current(ctx, tx, list)
	if err != nil {
		t.Fatal(err)
	}
	shipped, services := Shipped()
	if len(blocks) != len(shipped) || len(list) != len(services) {
		t.Fatalf("%d blocks and %d services, want %d and %d", len(blocks), len(list), len(shipped), len(services))
	}
	wanted := map[string]Block{}
	for _, b := range shipped {
		wanted[b.Code] = b
		if blocks[b.Code].Revision != b.Revision || blocks[b.Code].Title != b.Title {
			t.Errorf("block %s: got %q, revision %d", b.Code, blocks[b.Code].Title, blocks[b.Code].Revision)
		}
	}
	notForks := func(s Service) bool { return !s.For("fork") }
	list, services = slices.DeleteFunc(list, notForks), slices.DeleteFunc(services, notForks)
	f := airFork
	f.Stated = []string{"cartridge from the top"}
	got, err := Merge(list, blocks, f)
	if err != nil {
		t.Fatal(err)
	}
	want, err := Merge(services, wanted, f)
	if err != nil {
		t.Fatal(err)
	}
	for i := range got {
		if got[i].ID == 0 {
			t.Errorf("%s has no id", got[i].Key)
		}
		got[i].ID, want[i].Fasteners = 0, max(1, want[i].Fasteners)
		got[i].Grades, want[i].Grades = list0(got[i].Grades), list0(want[i].Grades)
		got[i].Conditions, want[i].Conditions = list0(got[i].Conditions), list0(want[i].Conditions)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("merged from the database:\n got %+v\nwant %+v", got, want)
	}
}

// list0 makes no difference between an empty list and none.
func list0(words []string) []string { return append([]string{}, words...) }

func TestInstallTwiceChangesNothing(t *testing.T) {
	ctx, tx, by := install(t)
	before := tally(t, tx)
	if err := Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	if after := tally(t, tx); after != before {
		t.Errorf("blocks, steps, services, events: %v became %v", before, after)
	}
	if n := before[0]; n != before[3] || n == 0 {
		t.Errorf("%d blocks with %d events", n, before[3])
	}
}

func TestOnlyANewerShippedBlockReplaces(t *testing.T) {
	ctx, tx, by := install(t)
	newer := forForks(strip)
	newer.Revision++
	newer.Steps = newer.Steps[:4]
	older := forForks(strip)
	older.Revision--
	for _, b := range []Block{newer, older} {
		if err := installBlock(ctx, tx, by, b); err != nil {
			t.Fatal(err)
		}
	}
	named := []Service{{Blocks: []string{"S1-4 only if shared oil", "? if air"}}}
	blocks, err := Current(ctx, tx, named)
	if len(blocks) != 1 {
		t.Errorf("%d blocks, want the one that is named", len(blocks))
	}
	if err != nil || blocks["S"].Revision != newer.Revision || len(blocks["S"].Steps) != 4 {
		t.Errorf("in force: revision %d with %d steps, %v", blocks["S"].Revision, len(blocks["S"].Steps), err)
	}
	var past int
	err = tx.QueryRow(ctx, "select count(*) from block where code = 'S' and state = 'past'").Scan(&past)
	if err != nil || past != 1 {
		t.Errorf("%d past revisions, want 1 (%v)", past, err)
	}
}

func TestInstallLeavesAServiceTheShopChanged(t *testing.T) {
	ctx, tx, by := install(t)
	if _, err := tx.Exec(ctx, "update service set name = 'Lowers', version = 2 where code = 'lower-leg'"); err != nil {
		t.Fatal(err)
	}
	if err := Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	if list, err := Services(ctx, tx); err != nil || list[0].Name != "Lowers" {
		t.Errorf("got %+v, %v", list, err)
	}
}
