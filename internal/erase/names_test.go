package erase_test

import (
	"fmt"
	"net/url"
	"testing"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/erase"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
)

// What is written of a unit goes where it names the person who is erased, however
// they were typed, and stays where it does not.
func TestOfAUnitGoesWhatNamesThem(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "desk")
	for _, c := range []struct {
		name, words string
		goes        bool
	}{
		{"Bo Li", "Bo Li's spare fork", true},
		{"Bo Li", "the fork of bo  li", true},
		{"Bo Li", "BO LI", true},
		{"Bo Li", "spare_bo_li", true},
		{"Bo Li", "bold limiter", false},
		{"Bo Li", "turbo lift", false},
		{"Bo Li", "Li, Bo: green", true},
		{"Li, Bo", "green, of Bo Li", true},
		{"Mr Bo Li (club)", "green, of Bo Li", true},
		{"Bo", "BO: green", true},
		{"B", "B grade, grey", false},
		{"王小明", "王小明的前叉", true},
		{"王 小明", "前叉是王小明的", true},
		{"王小明", "前叉", false},
		{"Bo Li", "Bo Liさんのフォーク", true},
		{"佐々木 健", "佐々木さんのフォーク", true},
		{"สมชาย ใจดี", "โช้คของสมชายสีดำ", true},
		{"김민수", "김민수의 포크", true},
		{"jonas whitby", "Jonas Whitby: grey", true},
		{"jonas whitby", "Whitby's grey fork", true},
		{"jonas whitby", "jonas whitby, grey", true},
		{"jonas van der berg", "Der Lack ist grau", false},
		{"Jonas Whitby", "WHITBY, grey", true},
		{"JONAS WHITBY", "Whitby, grey", true},
		{"fergus mcdonald", "McDonald’s grey fork", true},
		{"Will Stone", "grey, will bind", false},
		{"Will Stone", "grey, of will stone", true},
		{"Will Stone", "it will, stone or not", false},
		{"Will Stone", "grey, Will says it binds", true},
		{"will stone", "grey, will bind on a stone", false},
		{"Odette Marsh-Vale", "odette marsh vale: grey", true},
		{"Odette Marsh-Vale", "Vale's grey fork", true},
		{"Niamh O'Brien", "NIAMH O’BRIEN: grey", true},
		{"élodie žižka", "Élodie: grey", true},
		{"ÉLODIE ŽIŽKA", "élodie žižka: grey", true},
		{"محمد علي", "شوكة محمد", true},
		{"דוד כהן", "של כהן, אפור", true},
		{"Ольга Ким", "вилка ольга ким", true},
		{"J.R. (Bob) [x]*", "grey, of j.r. (bob) [x]*", true},
		{"Bo.* Li", "Bold and Lime", false},
		{"C++ Rider|", "c++ rider|", true},
		{`Bo\m Li$`, `bo\m li$`, true},
		{"Shop", "from the shop", false},
	} {
		id, err := customer.Add(t.Context(), tx, by, customer.Details{Name: c.name, Phone: "07700 900118"})
		if err != nil {
			t.Fatalf("%q: %v", c.name, err)
		}
		unit, err := customer.AddUnit(t.Context(), tx, by, id, customer.UnitDetails{Kind: "fork", ModelWords: c.words})
		if err != nil {
			t.Fatal(err)
		}
		if err := erase.Customer(t.Context(), tx, by, id); err != nil {
			t.Fatalf("%q: %v", c.name, err)
		}
		want := c.words
		if c.goes {
			want = "erased"
		}
		if got := ask[string](t, tx, "select model_words from unit where id = $1", unit); got != want {
			t.Errorf("of %q: %q has become %q, want %q", c.name, c.words, got, want)
		}
	}
}

// A unit that was sold, and one that was bought and sold on, without a job here.
func TestOfUnitsTheySoldGoesWhatNamesThem(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "desk")
	add := func(name, phone string) int64 {
		t.Helper()
		id, err := customer.Add(t.Context(), tx, by, customer.Details{Name: name, Phone: phone})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	id, first, next := add("Ingrid Moss", "07700 900118"), add("Ada Rider", "07700 900119"), add("Nils Fenn", "07700 900120")
	unit := func(of int64, words string) int64 {
		t.Helper()
		unit, err := customer.AddUnit(t.Context(), tx, by, of, customer.UnitDetails{Kind: "fork", ModelWords: words})
		if err != nil {
			t.Fatal(err)
		}
		_, err = tx.Exec(t.Context(), `insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, actor_id, intent_id, at)
			values ($1, 'feedbeef', '2024-05-01', 'Moss and Sons', '[{"name": "lower leg service"}, {"name": "for ingrid moss"}]', '[]', '[]', '[]', $2, $3, $4)`, unit, by.Staff, by.Intent, by.At)
		if err != nil {
			t.Fatal(err)
		}
		return unit
	}
	sold, through := unit(id, "Ingrid Moss's spare fork"), unit(first, "Ingrid's red fork")
	others := unit(first, "Ingrid Moss rode it too")
	for _, s := range []struct{ unit, to int64 }{{sold, next}, {through, id}, {through, next}} {
		by = dbtest.Act(t, tx, by)
		if err := customer.Sell(t.Context(), tx, by, s.unit, s.to, time.UTC); err != nil {
			t.Fatal(err)
		}
	}
	if err := erase.Customer(t.Context(), tx, dbtest.Act(t, tx, by), id); err != nil {
		t.Fatal(err)
	}
	const is = "select model_words || ' / ' || words_key || ' / ' || e.shop || ' / ' || e.services from unit u join elsewhere_service e on e.unit_id = u.id where u.id = $1"
	const gone = `erased / erased / erased / [{"name": "lower leg service"}, {"name": "erased"}]`
	for unit, want := range map[int64]string{sold: gone, through: gone,
		others: `Ingrid Moss rode it too / ingrid moss rode it too / Moss and Sons / [{"name": "lower leg service"}, {"name": "for ingrid moss"}]`} {
		if got := ask[string](t, tx, is, unit); got != want {
			t.Errorf("unit %d is %s, want %s", unit, got, want)
		}
	}
}

// A form half filled in says the name inside other words, where a script has no
// spaces between them; a form that says nothing names nobody.
func TestADraftThatNamesThemIsThrownAway(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "desk")
	id, err := customer.Add(t.Context(), tx, by, customer.Details{Name: "王小明", Phone: "07700 900118"})
	if err != nil {
		t.Fatal(err)
	}
	for i, complaint := range []string{"王小明的前叉", "前叉", ""} {
		d := job.Draft{ID: uuid.New(), About: fmt.Sprint("form ", i), Fields: url.Values{"unit0.complaint": {complaint}}.Encode(),
			ActID: uuid.New(), StaffID: by.Staff, KeptAt: by.At, Hand: uuid.New()}
		if _, err := job.KeepDraft(t.Context(), tx, d); err != nil {
			t.Fatal(err)
		}
	}
	if err := erase.Customer(t.Context(), tx, by, id); err != nil {
		t.Fatal(err)
	}
	if got := ask[string](t, tx, "select string_agg(about, ', ' order by about) from draft"); got != "form 1, form 2" {
		t.Errorf("left are %s, want form 1, form 2", got)
	}
}

// What works still of what was made: a link to a visit and two to books, and
// neither one that is out of date nor one that was ended.
func TestTheLinksThatWouldEndAreCounted(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "desk")
	id, err := customer.Add(t.Context(), tx, by, customer.Details{Name: "Ingrid Moss", Phone: "07700 900118"})
	if err != nil {
		t.Fatal(err)
	}
	var units [3]int64
	for i := range units {
		if units[i], err = customer.AddUnit(t.Context(), tx, by, id, customer.UnitDetails{Kind: "fork", ModelWords: fmt.Sprint("fork ", i)}); err != nil {
			t.Fatal(err)
		}
		if _, err := link.MakeOfUnit(t.Context(), tx, by, key, units[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := link.RevokeOfUnit(t.Context(), tx, by, units[1]); err != nil {
		t.Fatal(err)
	}
	for _, lasts := range []time.Duration{time.Hour, 72 * time.Hour} {
		visit := ask[int64](t, tx, "insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at) values ($1, $2, 'counter', 'pickup', 'GBP', $2) returning id", id, by.At)
		if _, err := link.Make(t.Context(), tx, by, key, visit, by.At.Add(lasts)); err != nil {
			t.Fatal(err)
		}
	}
	p, err := erase.Look(t.Context(), tx, id, by.At.Add(2*time.Hour))
	if err != nil || p.Links != 3 {
		t.Errorf("%d links would end, want 3; %v", p.Links, err)
	}
}

// A file that was read in names them by letters that JSON may write as numbers.
func TestAFileThatNamesThemIsThrownAway(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "desk")
	id, err := customer.Add(t.Context(), tx, by, customer.Details{Name: "王小明", Phone: "07700 900118"})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, content string
		left          int
	}{
		{"a.json", `{"shop": "王小明的店"}`, 0},
		{"a.json", `{"shop": "\u738b\u5c0f\u660e"}`, 0},
		{"王小明.json", `{}`, 0},
		{"a.json", "no JSON: 王小明", 0},
		{"a.json", "\xff\xfe", 1},
		{"a.json", `{"shop": "Fork Loft"}`, 1},
	} {
		sp, err := tx.Begin(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := sp.Exec(t.Context(), "insert into book_file (staff_id, name, content, at) values ($1, $2, $3, $4)", by.Staff, c.name, []byte(c.content), by.At); err != nil {
			t.Fatal(err)
		}
		if err := erase.Customer(t.Context(), sp, by, id); err != nil {
			t.Fatal(err)
		}
		if n := ask[int](t, sp, "select count(*) from book_file"); n != c.left {
			t.Errorf("%d files are left of %s with %q, want %d", n, c.name, c.content, c.left)
		}
		if err := sp.Rollback(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
}
