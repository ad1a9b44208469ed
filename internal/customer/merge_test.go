package customer_test

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func mergeNow(t *testing.T, tx pgx.Tx, by history.By, into, from int64, theirs ...string) error {
	t.Helper()
	a, err := customer.Get(ctx, tx, into)
	if err != nil {
		t.Fatal(err)
	}
	b, err := customer.Get(ctx, tx, from)
	if err != nil {
		t.Fatal(err)
	}
	return customer.Join(ctx, tx, dbtest.Act(t, tx, by), customer.Merge{Into: into, From: from, IntoVersion: a.Version, FromVersion: b.Version, Theirs: theirs})
}

func id(n int64) string { return strconv.FormatInt(n, 10) }

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// belongings are the model words of the units of a customer.
func belongings(t *testing.T, tx pgx.Tx, id int64) string {
	t.Helper()
	units, err := customer.Units(ctx, tx, id)
	must(t, err)
	var words []string
	for _, u := range units {
		words = append(words, u.Name)
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

func TestTwoCustomersAreMergedAndTakenApart(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	into := addCustomer(t, tx, by, customer.Details{Name: "Odette Ellery", Phone: "07700 900118"})
	from := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh", Phone: "07700 900555", Mail: "odette@example.com"})
	add := func(owner int64, words, bike string) int64 {
		id, err := customer.AddUnit(ctx, tx, dbtest.Act(t, tx, by), owner, customer.UnitDetails{Kind: "fork", ModelWords: words, BikeWords: bike})
		must(t, err)
		return id
	}
	add(into, "old fork", "hardtail")
	add(from, "black fork", "hardtail")
	add(from, "grey fork", "")
	must(t, mergeNow(t, tx, by, into, from, "phone", "mail"))

	got, err := customer.Get(ctx, tx, from)
	if err != nil || got.ID != into || got.Name != "Odette Ellery" || got.Phone != "07700 900555" || got.Mail != "odette@example.com" {
		t.Errorf("the merged one is read as %+v, %v", got, err)
	}
	if all := belongings(t, tx, into); all != "black fork, grey fork, old fork" {
		t.Errorf("the units after the merge are %q", all)
	}
	list, err := customer.MergedInto(ctx, tx, into)
	if err != nil || len(list) != 1 || list[0].ID != from || list[0].Name != "Odette Marsh" {
		t.Errorf("merged into her are %+v, %v", list, err)
	}
	var conflict fault.Conflict
	if err := customer.Update(ctx, tx, by, from, 1, customer.Details{Name: "Odette"}); !errors.As(err, &conflict) {
		t.Errorf("changing the merged one: %v; want a Conflict", err)
	}
	add(from, "brought later", "") // by a page from before
	entries, err := history.Read(ctx, tx, history.OfCustomer, into, 0)
	if err != nil || !slices.ContainsFunc(entries, func(e history.Entry) bool { return e.Kind == "customer merged" }) || len(entries) != 8 {
		t.Errorf("the history of both has %d entries, %v; want all 8", len(entries), err)
	}

	must(t, customer.Part(ctx, tx, dbtest.Act(t, tx, by), from))
	if a, b := belongings(t, tx, into), belongings(t, tx, from); a != "brought later, old fork" || b != "black fork, grey fork" {
		t.Errorf("after taking them apart they have %q and %q", a, b)
	}
	one, err := customer.Get(ctx, tx, into)
	must(t, err)
	other, err := customer.Get(ctx, tx, from)
	must(t, err)
	if one.Phone != "07700 900118" || one.Mail != "" || other.ID != from || other.Phone != "07700 900555" {
		t.Errorf("after taking them apart they are %+v and %+v", one, other)
	}
	if err := customer.Part(ctx, tx, dbtest.Act(t, tx, by), from); !errors.As(err, &conflict) {
		t.Errorf("taking them apart twice: %v; want a Conflict", err)
	}
}

func TestWhatWasChangedSinceAMergeStays(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	into := addCustomer(t, tx, by, customer.Details{Name: "Odette Ellery", Phone: "07700 900118"})
	from := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh", Phone: "07700 900555"})
	must(t, mergeNow(t, tx, by, into, from, "name", "phone"))
	c, err := customer.Get(ctx, tx, into)
	must(t, err)
	must(t, customer.Update(ctx, tx, dbtest.Act(t, tx, by), into, c.Version, customer.Details{Name: c.Name, Phone: "07700 900999"}))
	must(t, customer.Part(ctx, tx, dbtest.Act(t, tx, by), from))
	if c, err = customer.Get(ctx, tx, into); err != nil || c.Name != "Odette Ellery" || c.Phone != "07700 900999" {
		t.Errorf("kept: %+v, %v; want her name from before and the new number", c, err)
	}
}

func TestAChainOfMergesLeadsToTheLast(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	var ids [3]int64
	for i, name := range []string{"Ana First", "Ana Second", "Ana Third"} {
		ids[i] = addCustomer(t, tx, by, customer.Details{Name: name})
		_, err := customer.AddUnit(ctx, tx, dbtest.Act(t, tx, by), ids[i], customer.UnitDetails{Kind: "fork", ModelWords: "fork of " + name})
		must(t, err)
	}
	must(t, mergeNow(t, tx, by, ids[1], ids[0]))
	must(t, mergeNow(t, tx, by, ids[2], ids[1]))
	for _, id := range ids {
		if c, err := customer.Get(ctx, tx, id); err != nil || c.ID != ids[2] {
			t.Errorf("customer %d is read as %d, %v; want %d", id, c.ID, err, ids[2])
		}
	}
	var conflict fault.Conflict
	if err := customer.Join(ctx, tx, dbtest.Act(t, tx, by), customer.Merge{Into: ids[0], From: ids[2]}); !errors.As(err, &conflict) {
		t.Errorf("a merge round in a ring: %v; want a Conflict", err)
	}
	must(t, customer.Part(ctx, tx, dbtest.Act(t, tx, by), ids[1]))
	if a, b := belongings(t, tx, ids[1]), belongings(t, tx, ids[2]); a != "fork of Ana First, fork of Ana Second" || b != "fork of Ana Third" {
		t.Errorf("taken apart they have %q and %q; want the first still with the second", a, b)
	}
	must(t, customer.Part(ctx, tx, dbtest.Act(t, tx, by), ids[0]))
	if a := belongings(t, tx, ids[0]); a != "fork of Ana First" {
		t.Errorf("the first has %q", a)
	}
}

func TestTheDatabaseRefusesARingOfMerges(t *testing.T) {
	for _, sql := range []string{
		"update customer set merged_into = id where id = $1",
		"update customer set merged_into = $2 where id = $3",
	} {
		tx := dbtest.Tx(t)
		by := dbtest.By(t, tx, "desk")
		a, b, c := addCustomer(t, tx, by, customer.Details{Name: "Ana"}), addCustomer(t, tx, by, customer.Details{Name: "Bea"}), addCustomer(t, tx, by, customer.Details{Name: "Cia"})
		must(t, mergeNow(t, tx, by, a, b))
		if _, err := tx.Exec(ctx, strings.NewReplacer("$1", id(a), "$2", id(b), "$3", id(c)).Replace(sql)); err == nil {
			t.Errorf("%s: taken; want it refused", sql)
		}
	}
}

func TestMergesThatCross(t *testing.T) {
	pool := dbtest.Clone(t)
	var by history.By
	var ids [2]int64
	var acts [2]history.By
	must(t, db.Write(ctx, pool, func(tx pgx.Tx) error {
		by = dbtest.By(t, tx, "desk")
		for i := range ids {
			ids[i] = addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh"})
			acts[i] = dbtest.Act(t, tx, by)
		}
		return nil
	}))
	var errs [2]error
	var all, open sync.WaitGroup
	open.Add(2)
	for i := range ids {
		arrived := sync.OnceFunc(open.Done)
		all.Go(func() {
			errs[i] = db.Write(ctx, pool, func(tx pgx.Tx) error {
				arrived()
				open.Wait()
				return customer.Join(ctx, tx, acts[i], customer.Merge{Into: ids[i], From: ids[1-i], IntoVersion: 1, FromVersion: 1})
			})
		})
	}
	all.Wait()
	var conflict fault.Conflict
	if (errs[0] == nil) == (errs[1] == nil) || !errors.As(errors.Join(errs[:]...), &conflict) {
		t.Errorf("two merges that cross: %v and %v; want one done, one refused", errs[0], errs[1])
	}
}
