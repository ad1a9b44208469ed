package erase_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
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
	"damperdesk/internal/job"
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

// made is the customer that is erased: with somebody merged into them, a draft, a
// link, and words of theirs wherever words can be.
func made(t *testing.T, pool *pgxpool.Pool, dir string) (id int64) {
	t.Helper()
	id = ask[int64](t, pool, busiest, []int64{})
	other := ask[int64](t, pool, busiest, []int64{id})
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		for who, d := range map[int64]customer.Details{
			id:    {Name: theirName, Phone: theirPhone, Mail: theirMail, Address: "3 Reedbank, Otterham"},
			other: {Name: otherName, Phone: "07700 900978", Mail: "fen@example.org"},
		} {
			c, err := customer.Get(t.Context(), tx, who)
			if err != nil {
				return err
			}
			if err := customer.Update(t.Context(), tx, by, who, c.Version, d); err != nil {
				return err
			}
		}
		a, err := customer.Get(t.Context(), tx, id)
		if err != nil {
			return err
		}
		b, err := customer.Get(t.Context(), tx, other)
		if err != nil {
			return err
		}
		return customer.Join(t.Context(), tx, by, customer.Merge{Into: id, From: other, IntoVersion: a.Version, FromVersion: b.Version})
	})
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		visit := ask[int64](t, tx, "select max(id) from visit where customer_id = $1", id)
		if _, err := link.Make(t.Context(), tx, by, key, visit, by.At.Add(time.Hour)); err != nil {
			return err
		}
		staff := ask[int64](t, tx, "select min(id) from staff")
		for i, fields := range []url.Values{{"customer": {fmt.Sprint(other)}}, {"name": {theirName}}, {"unit0.complaint": {"ring 07700 900977"}}, {"name": {"Somebody else"}}} {
			d := job.Draft{ID: uuid.New(), About: fmt.Sprint("form ", i), Fields: fields.Encode(), ActID: uuid.New(), StaffID: staff, KeptAt: by.At, Hand: uuid.New()}
			if _, err := job.KeepDraft(t.Context(), tx, d); err != nil {
				return err
			}
		}
		return nil
	})
	plant(t, pool, id)
	fillWords(t, pool, id)
	plantPictures(t, pool, id, dir)
	return id
}

// plantPictures gives them a picture of their own, and one that somebody else has
// too, content for content.
func plantPictures(t *testing.T, pool *pgxpool.Pool, id int64, dir string) {
	t.Helper()
	sum := sha256.Sum256([]byte("a scratch"))
	sha := hex.EncodeToString(sum[:])
	if err := os.WriteFile(filepath.Join(dir, sha+".jpg"), []byte("a scratch"), 0o600); err != nil {
		t.Fatal(err)
	}
	asOwner(t, pool, func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `with j as (select max(j.id) as id from job j join visit v on v.id = j.visit_id where v.customer_id = $1)
			insert into picture (job_id, sha, thumb_sha, bytes, width, height, actor_id, intent_id, at)
			select j.id, $2, $2, 9, 4, 3, (select min(id) from staff), (select max(intent_id::text) from event)::uuid, now() from j
			union all select j.id, p.sha, p.thumb_sha, p.bytes, p.width, p.height, p.actor_id, p.intent_id, p.at from j, (select * from picture order by id limit 1) p`, id, sha)
		return err
	})
}

// planted are rows of which the invented shop has none of that customer. In each,
// @ is who and when, and $1 a job of theirs.
var planted = []string{
	"insert into handed_on (job_id, to_id, words, @) select $1, (select min(id) from staff), 'ring', # ",
	"insert into hold (job_id, kind, tray, @) select $1, 'waiting on parts', 'tray 4', #",
	"insert into hold_end (hold_id, @) select max(id), # from hold",
	"insert into pin (job_id, kind, reason, @) select $1, 'next up', 'race', #",
	"insert into job_mark (job_id, place, words, @) select $1, 'crown', 'nick', #",
	"insert into job_answer (job_id, symptom, question, words) select $1, 'knock', 'when', 'always'",
	"insert into service_taken_off (job_id, service_code, reason, @) select $1, (select min(code) from service), 'dear', #",
	"insert into finding (job_id, grade, cause, words, @) select $1, 'do not ride', 'found so', 'crack', #",
	"insert into finding_told (finding_id, told, @) select max(id), 'them', # from finding",
	"insert into finding_answer (finding_id, words, kind, @) select max(id), 'put right', 'put right', # from finding",
	"insert into proposal (finding_id, job_id, words, minor, currency, total_minor, ahead, @) select max(id), $1, 'new crown', 100, 'EUR', 100, false, # from finding",
	"insert into proposal_answer (proposal_id, yes, how, who, @) select max(id), true, 'by phone', 'them', # from proposal",
	"insert into proposal_call (proposal_id, who, words, intent_id, at) select max(id), 'them', 'after six', (select max(intent_id::text) from event)::uuid, now() from proposal",
	"insert into proposal_reminder (proposal_id, how, who, @) select max(id), 'by phone', 'them', # from proposal",
	"insert into tool_allowed (step_id, tool_id, reason, @) select min(s.id), (select min(id) from tool), 'none else', # from sheet_step s where job_id = $1",
	"insert into unit_inside (unit_id, replaces, notes, @) select unit_id, (select max(id) from unit_inside i where i.unit_id = job.unit_id), 'as found', # from job where id = $1",
	"insert into unit_value (unit_id, key, nominal_si, shown_unit, entered, fluid, source_kind, source_words, @) select unit_id, 'foot bolt', 7, 'N·m', '7', 'x', 'judgement', 'felt', # from job where id = $1",
	"insert into waste (kind, amount, container, job_id, @) select 'used oil', 5, 'can 2', $1, #",
	"insert into waste (kind, amount, container, job_id, reverses, reason, @) select kind, -amount, 'can 2', job_id, id, 'wrong', # from waste where job_id = $1",
	"insert into estimate (visit_id, currency, total_minor, tax_minor, tax_included, @) select visit_id, 'EUR', 0, 0, true, # from job where id = $1 on conflict do nothing",
	"insert into estimate_share (estimate_id, payer, payer_words, total_minor, tax_minor, intent_id) select max(e.id), 'warranty', 'claim 7', 0, 0, (select max(intent_id::text) from event)::uuid from estimate e join job j on j.visit_id = e.visit_id where j.id = $1",
	"insert into estimate_line (estimate_id, job_id, service_code, words, payer, payer_words, intent_id) select max(e.id), $1, (select min(code) from service), 'x', 'warranty', 'claim 7', (select max(intent_id::text) from event)::uuid from estimate e join job j on j.visit_id = e.visit_id where j.id = $1",
	"insert into bill_line (visit_id, payer, payer_words, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, tax_by_line, discount_minor, discount_reason, @) select visit_id, 'warranty', 'claim 7', 'other', 'crown', 1000, 900, (select currency from visit where id = job.visit_id), (select min(id) from tax_rate), true, coalesce((select bool_or(tax_by_line) from bill_line l where l.visit_id = job.visit_id), false), 100, 'a friend', # from job where id = $1",
	"insert into bill_line (visit_id, payer, payer_words, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, tax_by_line, discount_minor, discount_reason, reverses, reason, @) select visit_id, payer, payer_words, kind, words, -1000, 900, currency, tax_id, true, tax_by_line, -100, 'a friend', id, 'wrong', # from bill_line where id = (select max(id) from bill_line)",
	"insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, @) select visit_id, 'card', 'paid', 100, currency, 0, 'warranty', 'claim 7', # from bill_line where id = (select max(id) from bill_line)",
	"insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, reverses, reason, @) select visit_id, kind, words, -100, currency, -100, payer, payer_words, id, 'wrong', # from payment where id = (select max(id) from payment)",
	"insert into purchase_line (purchase_id, item_id, job_id, qty, pack) select max(p.id), (select min(id) from item), $1, 1, 1 from purchase p where sent_at is null",
	"update purchase set note = 'for the crown' where id in (select purchase_id from purchase_line where job_id = $1)",
	"insert into purchase_short (line_id, kind, words, cancelled, @) select max(id), 'broken', 'bent', 0, # from purchase_line where job_id = $1",
	"insert into delivery (purchase_id, begun_at) select max(purchase_id), now() from purchase_line where job_id = $1",
	"insert into delivery_line (delivery_id, item_id, line_id, qty, words) select (select max(id) from delivery), item_id, id, 1, 'bent' from purchase_line where job_id = $1",
}

func plant(t *testing.T, pool *pgxpool.Pool, id int64) {
	t.Helper()
	jobID := ask[int64](t, pool, `select max(j.id) from job j join visit v on v.id = j.visit_id
		where v.customer_id = $1 and exists (select from sheet_step s where s.job_id = j.id)`, id)
	who := strings.NewReplacer("@", "actor_id, intent_id, at", "#", "(select min(id) from staff), (select max(intent_id::text) from event)::uuid, now()")
	asOwner(t, pool, func(tx pgx.Tx) error {
		for _, sql := range planted {
			sql = who.Replace(sql)
			args := []any{jobID}
			if !strings.Contains(sql, "$1") {
				args = nil
			}
			if _, err := tx.Exec(t.Context(), sql, args...); err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		return nil
	})
}

// fillWords writes words of theirs into every column that the list blanks, past
// the triggers, as many rows as the constraints let.
func fillWords(t *testing.T, pool *pgxpool.Pool, id int64) {
	t.Helper()
	filled := map[string]int64{}
	asOwner(t, pool, func(tx pgx.Tx) error {
		rows, err := tx.Query(t.Context(), "select tab, col, named, condition from erasable() join erasable_rows() using (tab) where becomes is not null and tab not in ('customer', 'picture')")
		if err != nil {
			return err
		}
		type column struct {
			Tab, Col, Condition string
			Named               bool
		}
		columns, err := pgx.CollectRows(rows, pgx.RowToStructByName[column])
		if err != nil {
			return err
		}
		const of = "(select id from customer where id = $1 or merged_into = $1)"
		whose := strings.NewReplacer("any ($1)", "any (array"+of+")", "any ($2)", "any (array(select id from visit where customer_id in "+of+"))",
			"any ($3)", "any (array(select j.id from job j join visit v on v.id = j.visit_id where v.customer_id in "+of+"))",
			"any ($4)", "any (array(select id from unit where customer_id in "+of+"))")
		for _, c := range columns {
			words := "'" + always + " ' || " + c.Col + " || ' of " + c.Tab + "." + c.Col + ".'"
			if c.Named {
				words = c.Col + " || ' for Marshwiggle of " + c.Tab + "." + c.Col + ".'"
			}
			sql := fmt.Sprintf("update %s set %s = %s where %s", c.Tab, c.Col, words, whose.Replace(c.Condition))
			for _, only := range []string{"", fmt.Sprintf(" and %s <> ''", c.Col)} {
				err = pgx.BeginFunc(t.Context(), tx, func(tx pgx.Tx) error {
					if _, err := tx.Exec(t.Context(), "alter table "+c.Tab+" disable trigger user"); err != nil {
						return err
					}
					tag, err := tx.Exec(t.Context(), sql+only, id)
					filled[c.Tab+"."+c.Col] = tag.RowsAffected()
					if err == nil {
						_, err = tx.Exec(t.Context(), "alter table "+c.Tab+" enable trigger user")
					}
					return err
				})
				if err == nil {
					break
				}
			}
			if err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		// "enable trigger" alone leaves out what holds for replication too.
		_, err = tx.Exec(t.Context(), `do $$ declare r record; begin
			for r in select tgrelid::regclass as t, tgname from pg_trigger where tgname in ('append_only', 'append_only_all', 'frozen') loop
				execute format('alter table %s enable always trigger %I', r.t, r.tgname); end loop; end $$`)
		return err
	})
	var none []string
	for column, n := range filled {
		if n == 0 {
			none = append(none, column)
		}
	}
	slices.Sort(none)
	t.Logf("words in %d columns; none in %v", len(filled)-len(none), none)
	if len(none) > 0 {
		t.Error("a column that is blanked has no words to blank: plant a row")
	}
}

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
		if p, err = erase.Look(t.Context(), tx, id); err != nil {
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
		switch grown := strings.HasPrefix(table, "public.event") || table == "public.intent" || table == "public.picture_gone" || table == "public.draft"; {
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
		"taken apart": func(tx pgx.Tx, by history.By) error { return customer.Part(t.Context(), tx, by, gone) },
	} {
		if err := try(t, pool, do); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("somebody erased is %s: %v", name, err)
		}
	}
}

// Whoever serves can blank nothing by other means than the one function, and the
// owner of the tables nothing but words, whatever they set.
func TestOnlyTheOneFunctionBlanksAndOnlyWords(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "mechanic", "desk")
	if err := history.Append(t.Context(), tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "test"}); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		"insert into customer (name, name_key) values ('A', 'a')",
		"insert into unit (kind, customer_id, model_words) select 'fork', max(id), 'grey' from customer",
		"insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at) select max(id), now(), 'counter', 'pickup', 'GBP', now() from customer",
		"insert into job (visit_id, unit_id, stage, opened_at) select (select max(id) from visit), (select max(id) from unit), 'in the queue', now()",
		"insert into finding (job_id, grade, cause, words, actor_id, intent_id, at) select max(id), 'note', 'found so', 'a scratch', " + fmt.Sprint(by.Staff) + ", '" + by.Intent.String() + "', now() from job",
		"select set_config('damperdesk.erasing', 'on', true)",
	} {
		if _, err := tx.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	refused := func(sql string) string {
		err := pgx.BeginFunc(t.Context(), tx, func(tx pgx.Tx) error {
			if _, err := tx.Exec(t.Context(), sql); err != nil {
				return err
			}
			return errors.New("done")
		})
		var pg *pgconn.PgError
		if errors.As(err, &pg) {
			return pg.Code
		}
		return err.Error()
	}
	if code := refused("update finding set words = 'erased'"); code != "42501" {
		t.Errorf("whoever serves blanks a finding: %s, want no permission", code)
	}
	if code := refused(fmt.Sprintf("select erase_customer((select max(id) from customer), %d, '%s', now())", by.Staff, by.Intent)); code != "23514" {
		t.Errorf("with an open job: %s, want a refusal", code)
	}
	if _, err := tx.Exec(t.Context(), "reset role"); err != nil {
		t.Fatal(err)
	}
	for sql, want := range map[string]string{
		"update finding set words = 'erased'":                   "done", // what the function itself does
		"update finding set words = 'no scratch'":               "23001",
		"update finding set words = 'erased', grade = 'note'":   "done", // the same grade
		"update finding set grade = 'needs doing'":              "23001",
		"update finding set words = 'erased', cause = 'erased'": "23001",
		"delete from finding":                                   "23001",
		"update event set kind = 'erased'":                      "23001",
		"update event set detail = '{}'":                        "done", // as it is
		"truncate finding cascade":                              "23001",
	} {
		if code := refused(sql); code != want {
			t.Errorf("the owner, while erasing, %s: %s, want %s", sql, code, want)
		}
	}
	if _, err := tx.Exec(t.Context(), "select set_config('damperdesk.erasing', '', true)"); err != nil {
		t.Fatal(err)
	}
	if code := refused("update finding set words = 'erased'"); code != "23001" {
		t.Errorf("the owner, not erasing: %s, want the trigger's refusal", code)
	}
}

// A login that may make no roles, and so serves as the owner of its tables, with
// the triggers alone to guard them, erases like any other.
func TestErasingWhereTriggersAloneGuard(t *testing.T) {
	address := dbtest.EmptyURL(t)
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	admin, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	name := strings.TrimPrefix(u.Path, "/")
	login := "plain_" + name
	for _, sql := range []string{
		"create role " + login + " login password 'plain' nosuperuser nocreatedb nocreaterole",
		"alter database " + name + " owner to " + login, "alter schema public owner to " + login,
	} {
		if _, err := admin.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	t.Cleanup(func() {
		admin, err := pgx.Connect(context.Background(), address)
		if err != nil {
			return
		}
		defer admin.Close(context.Background())
		admin.Exec(context.Background(), "reassign owned by "+login+" to current_user; drop owned by "+login+"; drop role "+login)
	})
	with := u.Query()
	with.Set("role", login) // from the first statement on, whatever lets it in
	u.RawQuery = with.Encode()
	if err := db.Migrate(t.Context(), u.String()); err != nil {
		t.Fatal(err)
	}
	pool, err := db.Open(t.Context(), u.String())
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if role := ask[string](t, pool, "select current_user::text"); role != login {
		t.Fatalf("it serves as %s", role)
	}
	var id int64
	write(t, pool, func(tx pgx.Tx, by history.By) (err error) {
		id, err = customer.Add(t.Context(), tx, by, customer.Details{Name: theirName, Phone: theirPhone})
		return err
	})
	write(t, pool, func(tx pgx.Tx, by history.By) error { return erase.Customer(t.Context(), tx, by, id) })
	if text, _ := whole(t, pool); len(found(text)) > 0 {
		t.Errorf("left: %v", found(text))
	}
}
