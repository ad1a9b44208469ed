package erase_test

import (
	"archive/zip"
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/bill"
	"damperdesk/internal/check"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/demo"
	"damperdesk/internal/erase"
	"damperdesk/internal/export"
	"damperdesk/internal/fault"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/staff"
)

var key = []byte("the shop's key of thirty-two bytes and more")

// demoShop is the invented shop with a folder of its pictures.
func demoShop(t *testing.T) (*pgxpool.Pool, *picture.Folder, string) {
	t.Helper()
	staff.Thrifty()
	pool, dir := dbtest.Clone(t), t.TempDir()
	folder, err := picture.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { folder.Close() })
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		if err := procedure.Install(t.Context(), tx, by); err != nil {
			return err
		}
		return interval.Install(t.Context(), tx, by)
	})
	if _, err := demo.Seed(t.Context(), pool, folder, key, dbtest.Now); err != nil {
		t.Fatal(err)
	}
	return pool, folder, dir
}

func write(t *testing.T, pool *pgxpool.Pool, do func(pgx.Tx, history.By) error) {
	t.Helper()
	if err := try(t, pool, do); err != nil {
		t.Fatal(err)
	}
}

func try(t *testing.T, pool *pgxpool.Pool, do func(pgx.Tx, history.By) error) error {
	t.Helper()
	return db.Write(t.Context(), pool, func(tx pgx.Tx) error {
		return do(tx, dbtest.Act(t, tx, history.By{At: dbtest.Now.Add(time.Hour), Roles: []string{"owner", "desk"}}))
	})
}

// asOwner does something with the rights of whoever owns the tables.
func asOwner(t *testing.T, pool *pgxpool.Pool, do func(pgx.Tx) error) {
	t.Helper()
	err := pgx.BeginFunc(t.Context(), pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(t.Context(), "reset role"); err != nil {
			return err
		}
		return do(tx)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func ask[T any](t *testing.T, q db.Querier, sql string, args ...any) T {
	t.Helper()
	var v T
	if err := q.QueryRow(t.Context(), sql, args...).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

// busiest is a customer with much behind them and nothing ahead: no open job,
// pictures, findings, payments.
const busiest = `select c.id from customer c where c.merged_into is null and c.id <> all ($1)
	and not exists (select from job j join visit v on v.id = j.visit_id join unit u on u.id = j.unit_id where c.id in (v.customer_id, u.customer_id) and j.closed_at is null)
	order by (select count(*) from picture p join job j on j.id = p.job_id join visit v on v.id = j.visit_id where v.customer_id = c.id) > 0 desc,
		(select count(*) from finding f join job j on j.id = f.job_id join visit v on v.id = j.visit_id where v.customer_id = c.id) desc,
		(select count(*) from visit v where v.customer_id = c.id) desc, c.id limit 1`

const (
	theirName  = "Quibella Marshwiggle"
	otherName  = "Q. Fenwhistle"
	theirPhone = "+44 (0)7700 900977" // of the range reserved for fiction
	theirMail  = "quibella@example.org"
	always     = "zebrawort"
)

// traces are what must not be found anywhere afterwards.
var traces = []string{"quibella", "marshwiggle", "fenwhistle", "900977", "900 977", always, "reedbank"}

// whole is every row of every table as text, and what of it is no words.
func whole(t *testing.T, pool *pgxpool.Pool) (text, facts map[string]string) {
	t.Helper()
	text, facts = map[string]string{}, map[string]string{}
	asOwner(t, pool, func(tx pgx.Tx) error {
		rows, err := tx.Query(t.Context(), `select (n.nspname || '.' || c.relname) as name, array(select col from erasable() where tab = c.relname and (becomes is not null or col in ('words_key', 'frame_key', 'grams', 'was', 'picked', 'name')))::text[] as words
			from pg_class c join pg_namespace n on n.oid = c.relnamespace where c.relkind = 'r' and n.nspname in ('public', 'river')`)
		if err != nil {
			return err
		}
		type table struct {
			Name  string
			Words []string
		}
		tables, err := pgx.CollectRows(rows, pgx.RowToStructByName[table])
		if err != nil {
			return err
		}
		for _, tab := range tables {
			if tab.Name == "public.message" { // how far one came that is not sent any more
				tab.Words = append(tab.Words, "state", "why", "lease", "leased_until", "handed_over_at")
			}
			less := append(tab.Words, "version", "keyed", "erased_at", "revoked_at", "rider_kg", "fingerprint")
			var all, rest string
			err := tx.QueryRow(t.Context(), fmt.Sprintf(`select coalesce(string_agg(r::text, E'\n'), ''), coalesce(string_agg((to_jsonb(r) - $1::text[])::text, E'\n' order by (to_jsonb(r) - $1::text[])::text), '') from %s r`, tab.Name), less).Scan(&all, &rest)
			if err != nil {
				return err
			}
			text[tab.Name], facts[tab.Name] = all, rest
		}
		return nil
	})
	return text, facts
}

// found lists the tables in which a trace stands, also as bytes in hexadecimal.
func found(text map[string]string) []string {
	var list []string
	for _, table := range slices.Sorted(maps.Keys(text)) {
		lower := strings.ToLower(text[table])
		for _, trace := range traces {
			asBytes := []string{hex.EncodeToString([]byte(trace)), hex.EncodeToString([]byte(strings.ToUpper(trace[:1]) + trace[1:]))}
			if strings.Contains(lower, trace) || strings.Contains(lower, asBytes[0]) || strings.Contains(lower, asBytes[1]) {
				list = append(list, table+": "+trace)
			}
		}
	}
	return list
}

// passing are the tables of which rows come or go with an erasing: what is theirs
// alone, what is still to be done, and units to be reckoned again.
var passing = []string{"intent", "picture_gone", "draft", "customer_way", "book_file", "due_stale"}

// The person goes and the work stays: no word of theirs is left in any table, no
// fact is changed, and what must hold of the data holds, the chain of the history
// with it.
func TestNothingOfAPersonIsLeft(t *testing.T) {
	t.Parallel()
	pool, folder, dir := demoShop(t)
	id := made(t, pool, dir)
	before, factsBefore := whole(t, pool)
	if n := len(found(before)); n < 50 {
		t.Fatalf("words of theirs stand in %d places alone", n)
	}
	t.Run("their file has every word that goes", func(t *testing.T) { fileHasAll(t, pool, folder, id) })
	head := ask[string](t, pool, "select encode(hash, 'hex') from event_chain order by seq desc limit 1")
	pictures := ask[[]string](t, pool, `select array_agg(distinct p.sha) from picture p join job j on j.id = p.job_id join visit v on v.id = j.visit_id
		join customer_now n on n.id = v.customer_id where n.now_id = $1`, id)
	serial := ask[string](t, pool, "select max(serial) from unit where customer_id = $1", id)
	files := len(entries(t, dir))

	var p erase.Person
	write(t, pool, func(tx pgx.Tx, by history.By) (err error) {
		if p, err = erase.Look(t.Context(), tx, id, by.At); err != nil {
			return err
		}
		return erase.Customer(t.Context(), tx, by, id)
	})
	if p.Merged != 1 || p.Units == 0 || p.Visits < 2 || p.Jobs < 2 || p.Pictures != 2 || p.Links == 0 || p.Lines == 0 {
		t.Errorf("what there was of them: %+v", p)
	}
	after, facts := whole(t, pool)
	if list := found(after); len(list) > 0 {
		t.Errorf("left of them: %v", list)
	}
	for _, table := range slices.Sorted(maps.Keys(facts)) {
		switch grown := strings.HasPrefix(table, "public.event") || slices.Contains(passing, strings.TrimPrefix(table, "public.")); {
		case grown || facts[table] == factsBefore[table]:
		default:
			t.Errorf("facts of %s have changed", table)
		}
	}
	if n := ask[int](t, pool, "select count(*) from draft where fields like '%Somebody%'"); n != 1 {
		t.Error("a draft of somebody else is gone")
	}
	if !ask[bool](t, pool, "select exists (select from event_chain where encode(hash, 'hex') = $1)", head) {
		t.Error("the chain of the history was begun anew")
	}
	broken, err := check.Run(t.Context(), pool)
	if err != nil || len(broken) > 0 {
		t.Errorf("check says %v, %v", broken, err)
	}
	c, err := customer.Get(t.Context(), pool, id)
	if err != nil || c.Name != fmt.Sprintf("erased customer %d", id) || c.ErasedAt == nil || c.Phone+c.Mail+c.Address != "" {
		t.Errorf("they are %+v, %v", c, err)
	}
	t.Run("nothing is sent to them any more", func(t *testing.T) { nothingIsSent(t, pool, id) })
	t.Run("what another shop did stays", func(t *testing.T) { elsewhereStays(t, pool) })
	t.Run("found by nothing but the serial", func(t *testing.T) { foundBySerialAlone(t, pool, id, serial) })
	t.Run("the files of their pictures go", func(t *testing.T) { filesGo(t, pool, folder, dir, pictures, files) })
	t.Run("once and for all", func(t *testing.T) { onceAndForAll(t, pool, id) })
}

// fileHasAll looks for each kind of word in the file for the person, so that what
// is blanked was handed out.
func fileHasAll(t *testing.T, pool *pgxpool.Pool, folder *picture.Folder, id int64) {
	var f export.File
	err := db.Read(t.Context(), pool, func(tx pgx.Tx) (err error) {
		f, err = export.Of(t.Context(), tx, id, dbtest.Now)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b, folder); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var pictures int
	for _, file := range z.File {
		if strings.HasPrefix(file.Name, "pictures/") {
			pictures++
		}
	}
	if pictures != 2 {
		t.Errorf("%d pictures in the file, want 2", pictures)
	}
	in, err := z.Open("data.json")
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	data, err := io.ReadAll(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{export.Format, theirName, theirPhone, theirMail, "Reedbank", otherName} {
		if !strings.Contains(string(data), words) {
			t.Errorf("the file says nothing of %q", words)
		}
	}
	missing := ask[[]string](t, pool, `select coalesce(array_agg(tab || '.' || col order by 1), '{}') from erasable() where becomes is not null and tab not in ('customer', 'picture')
		and position(' of ' || tab || '.' || col || '.' in $1) = 0`, string(data))
	if len(missing) > 0 {
		t.Errorf("the file has not the words of %v", missing)
	}
}

func entries(t *testing.T, dir string) []os.DirEntry {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func foundBySerialAlone(t *testing.T, pool *pgxpool.Pool, id int64, serial string) {
	for _, typed := range []string{"Marshwiggle", "quibella", "900977", "erased customer", "customer " + fmt.Sprint(id), "quibella@example.org"} {
		r, err := find.All(t.Context(), pool, typed)
		if err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(r.People(50), func(p find.Person) bool { return p.ID == id }) {
			t.Errorf("%q finds them", typed)
		}
	}
	if err := customer.Rekey(t.Context(), pool); err != nil {
		t.Fatal(err)
	}
	if r, err := find.All(t.Context(), pool, serial); err != nil || len(r.Units) == 0 {
		t.Errorf("the serial %q finds %+v, %v", serial, r, err)
	}
}

func filesGo(t *testing.T, pool *pgxpool.Pool, folder *picture.Folder, dir string, pictures []string, files int) {
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		_, err := picture.Sweep(t.Context(), tx, folder, by.At)
		return err
	})
	for _, sha := range pictures {
		if _, err := os.Stat(dir + "/" + sha + ".jpg"); err == nil && !ask[bool](t, pool, "select exists (select from picture where sha = $1)", sha) {
			t.Errorf("the file %s is still there", sha)
		}
	}
	if n := len(entries(t, dir)); n != files-1 {
		t.Errorf("%d files, there were %d: want the one gone that nobody else has", n, files)
	}
	if n := ask[int](t, pool, "select count(*) from picture_gone"); n != 0 {
		t.Errorf("%d files are still to go", n)
	}
	if broken, err := picture.Broken(t.Context(), pool, folder); err != nil || len(broken) > 0 {
		t.Errorf("pictures are broken: %v, %v", broken, err)
	}
}

func onceAndForAll(t *testing.T, pool *pgxpool.Pool, id int64) {
	err := try(t, pool, func(tx pgx.Tx, by history.By) error {
		if err := erase.Customer(t.Context(), tx, by, id); err != nil {
			return err
		}
		return history.Append(t.Context(), tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "test"})
	})
	if n := ask[int](t, pool, "select count(*) from event where customer_id = $1 and kind = 'customer erased'", id); err != nil || n != 1 {
		t.Errorf("erased %d times, %v", n, err)
	}
	other := ask[int64](t, pool, "select min(id) from customer where erased_at is null and merged_into is null")
	gone := ask[int64](t, pool, "select id from customer where merged_into = $1", id)
	for name, do := range map[string]func(tx pgx.Tx, by history.By) error{
		"changed": func(tx pgx.Tx, by history.By) error {
			return customer.Update(t.Context(), tx, by, id, ask[int](t, tx, "select version from customer where id = $1", id), customer.Details{Name: "Back Again"})
		},
		"taken in": func(tx pgx.Tx, by history.By) error {
			_, err := customer.AddUnit(t.Context(), tx, by, id, customer.UnitDetails{Kind: "fork", ModelWords: "grey"})
			return err
		},
		"merged": func(tx pgx.Tx, by history.By) error {
			v := func(id int64) int { return ask[int](t, tx, "select version from customer where id = $1", id) }
			return customer.Join(t.Context(), tx, by, customer.Merge{Into: other, From: id, IntoVersion: v(other), FromVersion: v(id)})
		},
		"given a link": func(tx pgx.Tx, by history.By) error {
			_, err := link.Make(t.Context(), tx, by, key, ask[int64](t, tx, "select max(id) from visit where customer_id = $1", id), by.At.Add(time.Hour))
			return err
		},
		"billed": func(tx pgx.Tx, by history.By) error {
			return bill.AddLine(t.Context(), tx, by, ask[int64](t, tx, "select max(id) from visit where customer_id = $1", id),
				bill.NewLine{Kind: "other", Words: "x", QtyMilli: 1000, UnitMinor: 1, TaxCode: "A"})
		},
		"given a way of reading": func(tx pgx.Tx, by history.By) error {
			return customer.SetWay(t.Context(), tx, by, id, customer.Way{Days: "month day"})
		},
		"taken apart": func(tx pgx.Tx, by history.By) error { return customer.Part(t.Context(), tx, by, gone) },
	} {
		if err := try(t, pool, do); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("somebody erased is %s: %v", name, err)
		}
	}
}
