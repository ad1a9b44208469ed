package erase_test

import (
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// freeText is every column that can hold words: text, texts in lists, JSON and
// bytes, but for those whose values a check lists or a key of another table does.
const freeText = `select c.relname::text as tab, a.attname::text as col
	from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
	where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace and c.relname not in ('schema_migrations', 'migration_mark')
		and a.atttypid in ('text'::regtype, 'varchar'::regtype, 'text[]'::regtype, 'json'::regtype, 'jsonb'::regtype, 'bytea'::regtype, 'xml'::regtype)
		and not exists (select from pg_constraint k where k.conrelid = c.oid and k.conkey = array[a.attnum]
			and (k.contype = 'f' or k.contype = 'c' and (pg_get_constraintdef(k.oid) ~ (a.attname || ' = ANY \(ARRAY\[|' || a.attname || ' <@ ARRAY\[|\^\[A-Z\]'))))`

// A column that nobody has thought of fails here: say in internal/db/words.sql
// whether it holds a person's words, and what becomes of them.
func TestEveryFreeTextIsAPersonsOrStays(t *testing.T) {
	tx := dbtest.Tx(t)
	listed := map[string]bool{}
	rows, err := tx.Query(t.Context(), "select tab || '.' || col from erasable()")
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if listed[name] {
			t.Errorf("%s is listed twice", name)
		}
		listed[name] = true
	}
	if rows, err = tx.Query(t.Context(), freeText); err != nil {
		t.Fatal(err)
	}
	type column struct{ Tab, Col string }
	columns, err := pgx.CollectRows(rows, pgx.RowToStructByName[column])
	if err != nil || len(columns) < 200 {
		t.Fatalf("%d columns, %v", len(columns), err)
	}
	for _, c := range columns {
		if !listed[c.Tab+".*"] && !listed[c.Tab+"."+c.Col] {
			t.Errorf("internal/db/words.sql does not say what becomes of %s.%s when a customer is erased", c.Tab, c.Col)
		}
	}
	for name := range listed {
		tab, col, _ := strings.Cut(name, ".")
		var there bool
		err := tx.QueryRow(t.Context(), `select exists (select from information_schema.columns where table_schema = 'public' and table_name = $1 and (column_name = $2 or $2 = '*'))`, tab, col).Scan(&there)
		if err != nil || !there {
			t.Errorf("internal/db/words.sql speaks of %s, which there is not (%v)", name, err)
		}
	}
}

// What is blanked has its rows named, and no table by halves.
func TestEveryTableWithWordsSaysWhoseRowsTheyAre(t *testing.T) {
	tx := dbtest.Tx(t)
	rows, err := tx.Query(t.Context(), "select distinct tab from erasable() where becomes is not null and tab not in (select tab from erasable_rows())")
	if err != nil {
		t.Fatal(err)
	}
	if list, err := pgx.CollectRows(rows, pgx.RowTo[string]); err != nil || len(list) > 0 {
		t.Errorf("nobody says which rows of %v are a person's, %v", list, err)
	}
}

// Which texts name Odette Marsh-Vale, 07700 900118 (a number reserved for
// fiction), odette@example.com: her name as it is written, the number in any way
// of writing it, the address in any case.
func TestWhatNamesSomebody(t *testing.T) {
	tx := dbtest.Tx(t)
	const name, phone, mail = "Odette Marsh-Vale", "700900118", "odette@example.com"
	for words, want := range map[string]bool{
		"Marsh says it sticks": true, "rang odette marsh-vale": true, "ring +44 (0)7700 900-118": true, "wrote to ODETTE@example.com": true,
		"mud as from a marsh": false, "Marshal arms": false, "serial 7009001": false, "": false,
	} {
		var got bool
		if err := tx.QueryRow(t.Context(), "select names_them($1, name_pattern($2), $3, $4)", words, []string{name}, []string{phone}, []string{mail}).Scan(&got); err != nil || got != want {
			t.Errorf("%q names her: %v, want %v; %v", words, got, want, err)
		}
	}
}
